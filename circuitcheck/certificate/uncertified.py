"""Why a claim gets no certificate."""

from __future__ import annotations


class Uncertified(Exception):
    """A claim can't be certified; the text says why."""
