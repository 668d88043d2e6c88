"""The bytes of a circuit file as text. Imports nothing, as whoever only compares texts should not load a parser."""

from __future__ import annotations


def decoded(data: bytes) -> str:
    """The text of a file: UTF-8, with or without a byte-order mark, every kind of line end alike.

    Raises UnicodeDecodeError.
    """
    return plain(data.decode("utf-8-sig"))


def plain(text: str) -> str:
    """Text as it is read: every kind of line end alike, and no byte-order mark."""
    return text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
