"""What the tests of kinds share."""

from __future__ import annotations

from functools import lru_cache

import pytest

from circuitcheck.language import parse
from circuitcheck.model.parts import KINDS

from .ember import KIND

with_embers = lru_cache(maxsize=1)(parse._parser.__wrapped__)
"""The parser of the grammar with the made-up kind's words in it, which takes a while to be made."""


@pytest.fixture
def ember(monkeypatch: pytest.MonkeyPatch) -> None:
    """The made-up kind is in the table, and the words of the grammar are read anew."""
    monkeypatch.setitem(KINDS, "ember", KIND)
    monkeypatch.setattr(parse, "_parser", with_embers)
