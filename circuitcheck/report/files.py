"""Output files and folders: written beside and renamed, so that the old one or the whole new one is there."""

from __future__ import annotations

import contextlib
import os
import shutil
import stat
import tempfile
from collections.abc import Iterator, Mapping


class CannotWrite(Exception):
    """An output file can't be written; the text says which and why."""


def write_whole(path: str, text: str | bytes) -> None:
    """Writes a file all at once. Raises CannotWrite.

    A link stays, and what it leads to is written; so is what is no file that could be replaced, such as a pipe. A file
    that is replaced passes on who may read and write it.
    """
    # Half a letter, which only a name of the file system can hold, is written as its number.
    data = text if isinstance(text, bytes) else text.encode("utf-8", "backslashreplace")
    try:
        target = os.path.realpath(path)
        mode = _mode(target)
        if mode is not None and not stat.S_ISREG(mode):
            with open(target, "wb") as stream:
                stream.write(data)
        else:
            _replace(target, data, 0o666 & ~_mask() if mode is None else stat.S_IMODE(mode))
    except OSError as failure:
        reason = (failure.strerror or "unknown reason").lower()
        raise CannotWrite(f"{path} can't be written: {reason}") from failure
    except ValueError as failure:
        # A path with a NUL in it is refused before the system is asked.
        raise CannotWrite(f"{path} can't be written: there is no such path") from failure


def refuse_unwritable(path: str) -> None:
    """Refuses a new file that can't be written, by making it and taking it away again. Raises CannotWrite.

    A name may be too long, or its file system take no files: nobody should hear of that after hours of work.
    """
    try:
        os.close(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL))
        os.unlink(path)
    except OSError as failure:
        raise CannotWrite(f"{path} can't be written: {(failure.strerror or 'unknown reason').lower()}") from failure
    except ValueError as failure:
        raise CannotWrite(f"{path} can't be written: there is no such path") from failure


def write_private(path: str, text: str) -> None:
    """Writes a file that only its user may read and write, all at once, its folder as well. Raises CannotWrite.

    Whatever stands there is replaced and never written to: a link is not followed.
    """
    try:
        os.makedirs(os.path.dirname(path), mode=0o700, exist_ok=True)
        _replace(path, text.encode("utf-8", "backslashreplace"), 0o600)
    except OSError as failure:
        raise CannotWrite(f"{path} can't be written: {(failure.strerror or 'unknown reason').lower()}") from failure


def refuse_folder(path: str) -> None:
    """Refuses a folder to be written that is there already and not empty. Raises CannotWrite."""
    try:
        with os.scandir(path) as found:
            if next(found, None) is not None:
                raise CannotWrite(f"{path} can't be written: it is there already; name a folder that is new or empty")
    except FileNotFoundError:
        parent = os.path.dirname(os.path.abspath(path))
        if not os.path.isdir(parent):
            raise CannotWrite(f"{path} can't be written: there is no folder {parent}") from None
    except NotADirectoryError:
        raise CannotWrite(f"{path} can't be written: it is no folder") from None
    except OSError as failure:
        raise CannotWrite(f"{path} can't be written: {(failure.strerror or 'unknown reason').lower()}") from failure
    except ValueError as failure:
        raise CannotWrite(f"{path} can't be written: there is no such path") from failure


class GrowingFolder:
    """A new folder that grows by one folder after the other, each written whole.

    If its first files can't be written, nothing is left of it; what can't be written later leaves it as it was.
    """

    def __init__(self, path: str, files: Mapping[str, str]) -> None:
        """Begins the folder with some files, by their paths in it. Raises CannotWrite."""
        refuse_folder(path)
        self._path = path
        self._target = os.path.abspath(path)
        with self._writing():
            _write_beside(self._target, files)

    def grow(self, name: str, files: Mapping[str, str], about: Mapping[str, str]) -> None:
        """Adds a folder, if it has files, and replaces the files that say what is in them all. Raises CannotWrite."""
        own = os.path.join(self._target, name)
        if files:
            with self._writing():
                _write_beside(own, files)
        try:
            with self._writing():
                _replace_together(self._target, about)
        except CannotWrite:
            if files:
                shutil.rmtree(own, ignore_errors=True)
            raise

    @contextlib.contextmanager
    def _writing(self) -> Iterator[None]:
        try:
            yield
        except OSError as failure:
            reason = (failure.strerror or "unknown reason").lower()
            raise CannotWrite(f"{self._path} can't be written: {reason}") from failure


def _write_beside(target: str, files: Mapping[str, str]) -> None:
    """Writes a new folder all at once, of files by their paths in it. Raises OSError."""
    beside = tempfile.mkdtemp(dir=os.path.dirname(target), prefix=".circuitcheck-")
    try:
        _write_into(beside, files)
        os.chmod(beside, 0o777 & ~_mask())
        os.replace(beside, target)
    finally:
        if os.path.isdir(beside):
            shutil.rmtree(beside, ignore_errors=True)


def _replace_together(target: str, files: Mapping[str, str]) -> None:
    """Replaces files of a folder, all of which are written before the first is replaced. Raises OSError."""
    beside = tempfile.mkdtemp(dir=os.path.dirname(target), prefix=".circuitcheck-")
    try:
        _write_into(beside, files)
        for name in files:
            os.replace(os.path.join(beside, name), os.path.join(target, name))
    finally:
        shutil.rmtree(beside, ignore_errors=True)


def _write_into(folder: str, files: Mapping[str, str]) -> None:
    for name, text in files.items():
        own = os.path.join(folder, *name.split("/"))
        os.makedirs(os.path.dirname(own), exist_ok=True)
        with open(own, "wb") as stream:
            stream.write(text.encode("utf-8", "backslashreplace"))
            stream.flush()
            os.fsync(stream.fileno())


def _mode(target: str) -> int | None:
    """What a file is and who may use it; None where there is none. Raises OSError if it is not to be written."""
    try:
        mode = os.stat(target).st_mode
    except FileNotFoundError:
        return None
    if stat.S_ISDIR(mode):
        raise IsADirectoryError(21, "it is a folder")
    if not mode & 0o222:
        # A rename would replace it all the same, against its owner's word.
        raise PermissionError(13, "it is read-only")
    return mode


def _replace(target: str, data: bytes, mode: int) -> None:
    number, beside = tempfile.mkstemp(dir=os.path.dirname(target), prefix=".circuitcheck-")
    try:
        with os.fdopen(number, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(beside, mode)
        os.replace(beside, target)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(beside)
        raise


def _mask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
