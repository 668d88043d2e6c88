"""Which circuit files some paths name, what is in a file, and where a checkout begins.

Imports next to nothing, as a call that finds nothing to do must end at once.
"""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Callable, Iterable

SUFFIX = ".circuit"
LARGEST_FILE = 2_000_000
"""How many bytes a circuit file may have."""
MARKS = (".git", ".hg", ".svn", ".bzr")
"""What version control keeps in the topmost folder of a checkout."""


def regular_bytes(path: str, most: int, trusted: Callable[[os.stat_result], bool] | None = None) -> bytes:
    """What is in a file that is no pipe and no device, of which nothing is waited for and no more is read than `most`.

    Where only a trusted file will do, no link is one either. Raises OSError.
    """
    usual = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_BINARY", 0)
    number = os.open(path, usual | (getattr(os, "O_NOFOLLOW", 0) if trusted else 0))
    with os.fdopen(number, "rb") as stream:
        found = os.fstat(number)
        if not stat.S_ISREG(found.st_mode):
            raise OSError(errno.EINVAL, "it is not a plain file")
        if trusted is not None and not trusted(found):
            raise PermissionError(errno.EPERM, "others can write it")
        data = stream.read(most + 1)
    if len(data) > most:
        raise OSError(errno.EFBIG, f"it is larger than {most:,} bytes")
    return data


def checkout_of(path: str) -> str:
    """The folder that came along with a file or folder: that of its version control, or its own where there is none."""
    own = os.path.realpath(path)
    if not os.path.isdir(own):
        own = os.path.dirname(own)
    above = own
    while not any(os.path.lexists(os.path.join(above, mark)) for mark in MARKS):
        if above == os.path.dirname(above):
            return own
        above = os.path.dirname(above)
    return above


def home() -> str:
    """The user's folder as the system has it: a variable may name another."""
    try:
        import pwd
    except ImportError:
        return os.path.realpath(os.path.expanduser("~"))
    try:
        return os.path.realpath(pwd.getpwuid(os.getuid()).pw_dir)
    except KeyError:  # a user without an entry, as containers have them
        return ""


def same_file(path: str) -> str:
    """A path as it is for every way to write it: two files of one such path are one file.

    The name itself may be a link, and is kept: what a link leads to may be used out of another folder.
    """
    folder, name = os.path.split(path)
    return os.path.join(os.path.realpath(folder or "."), name)


def leads_out(path: str, root: str = "") -> bool:
    """Whether a path is a link to what lies outside a folder and all below it; without one, outside the path's own.

    What the system itself links to, such as standard input, is nothing that a checkout could have put there.
    """
    own = same_file(path)
    there = os.path.realpath(path)
    if there == own or own.startswith(("/dev/", "/proc/")):
        return False
    return not is_below(there, os.path.realpath(root or os.path.dirname(path) or "."))


def is_below(path: str, folder: str) -> bool:
    """Whether a path is a folder or lies below it; both as they are once links are resolved."""
    try:
        return os.path.commonpath([path, folder]) == folder
    except ValueError:  # on another drive
        return False


def circuit_files(paths: Iterable[str]) -> tuple[list[str], list[str]]:
    """The circuit files that some paths name, each once, in order; and the folders that hold none.

    Files stand for themselves, folders for all files below them; links to folders are not followed.
    """
    found: dict[str, str] = {}
    empty: list[str] = []
    for name in paths:
        if not os.path.isdir(name):
            found.setdefault(same_file(name), name)
            continue
        inside = sorted(
            path
            for folder, _, files in os.walk(name)
            for each in files
            if each.endswith(SUFFIX) and os.path.isfile(path := os.path.join(folder, each))
        )
        for path in inside:
            found.setdefault(same_file(path), path)
        if not inside:
            empty.append(name)
    return list(found.values()), empty


def cache_home() -> str:
    """The folder in which programs of this user keep what they can make again."""
    return os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA") or os.path.expanduser("~/.cache")
