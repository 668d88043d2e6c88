"""The parser of the grammar, with the tables that lark works out of it kept from one run to the next.

Working them out takes longer than all else that a small file needs. They are kept in the folder that the system has for
such things, under a name that says what they were worked out from; where that folder can't be used, or what stands
there isn't what was written, they are worked out again, and nothing is lost but the time.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import pickle
import sys
from io import BytesIO
from typing import Any

import lark

FOLDER = "circuitcheck"
"""The name of our folder within the system's."""


def parser_of(grammar: str, lexer: type, transformer: object) -> lark.Lark:
    """The parser of a grammar. `transformer` is asked for each node that is built, and isn't kept."""
    path = _path(f"{lark.__version__} {sys.version_info[:3]} {lexer} {grammar}")
    data = _kept(path) if path else None
    if data is not None:
        with contextlib.suppress(AttributeError, KeyError, TypeError):  # a lark that keeps them in another form
            return _loaded(data, transformer)
    made = lark.Lark(grammar, parser="lalr", lexer=lexer, transformer=transformer)
    if path:
        with contextlib.suppress(OSError):
            _keep(path, made)
    return made


def _loaded(data: bytes, transformer: object) -> lark.Lark:
    # `Lark.load` takes no transformer, and lark's own cache is not written whole: two first runs would mix theirs.
    made: Any = lark.Lark.__new__(lark.Lark)
    loaded: lark.Lark = made._load(pickle.loads(data), transformer=transformer)
    return loaded


def _path(made_from: str) -> str:
    """Where the tables that are made from all this are kept, or "" where the system has no folder for them."""
    home = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA") or os.path.expanduser("~/.cache")
    if not os.path.isabs(home):
        return ""
    return os.path.join(home, FOLDER, f"grammar-{hashlib.sha256(made_from.encode()).hexdigest()[:20]}.tables")


def _kept(path: str) -> bytes | None:
    """What is kept there, if it is ours and whole: what is unpickled can run code."""
    try:
        with open(path, "rb") as stream:
            if hasattr(os, "getuid") and os.fstat(stream.fileno()).st_uid != os.getuid():
                return None
            digest, data = stream.read(32), stream.read()
    except OSError:
        return None
    return data if hashlib.sha256(data).digest() == digest else None


def _keep(path: str, made: lark.Lark) -> None:
    """Writes tables all at once, so that whoever reads them meanwhile finds all or none. Raises OSError."""
    stream = BytesIO()
    made.save(stream, exclude_options=("transformer",))
    data = stream.getvalue()
    os.makedirs(os.path.dirname(path), mode=0o700, exist_ok=True)
    beside = f"{path}.{os.getpid()}"
    try:
        with open(beside, "wb") as written:
            written.write(hashlib.sha256(data).digest() + data)
        os.replace(beside, path)
    except OSError:
        with contextlib.suppress(OSError):
            os.remove(beside)
        raise
