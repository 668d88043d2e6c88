"""What the tests of kinds share."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from circuitcheck.language import parse
from circuitcheck.model.parts import KINDS

from .ember import KIND


@pytest.fixture
def ember(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The made-up kind is in the table, and the words of the grammar are read anew."""
    monkeypatch.setitem(KINDS, "ember", KIND)
    parse._parser.cache_clear()
    yield
    parse._parser.cache_clear()
