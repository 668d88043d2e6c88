"""Output files: written beside and renamed, so that the old file or the whole new one is there, whatever happens."""

from __future__ import annotations

import contextlib
import os
import tempfile


class CannotWrite(Exception):
    """An output file can't be written; the text says which and why."""


def write_whole(path: str, text: str) -> None:
    """Writes a file all at once. A link stays, and what it leads to is written. Raises CannotWrite."""
    beside = ""
    try:
        target = os.path.realpath(path)
        folder = os.path.dirname(target)
        number, beside = tempfile.mkstemp(dir=folder, prefix=".circuitcheck-")
        with os.fdopen(number, "w", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        if os.path.isdir(target):
            raise IsADirectoryError(21, "it is a folder")
        if os.path.exists(target) and not os.stat(target).st_mode & 0o222:
            # A rename would replace it all the same, against its owner's word.
            raise PermissionError(13, "it is read-only")
        os.chmod(beside, 0o666 & ~_mask())
        os.replace(beside, target)
    except (OSError, ValueError) as failure:
        if beside:
            with contextlib.suppress(OSError):
                os.unlink(beside)
        # A path with a NUL in it is refused as a ValueError before the system is asked.
        reason = failure.strerror if isinstance(failure, OSError) else "there is no such path"
        raise CannotWrite(f"{path} can't be written: {(reason or 'unknown reason').lower()}") from failure


def _mask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
