"""A drawing of a stuck piston that its own block arms again is the detector of a text that says so, and no other.

Common practice, no source; rule M12. The boxes are those that the plain stepper runs as the lines of its table.
"""

from __future__ import annotations

import pytest
from moving.engine_runs import circuit_of
from moving.plain.things import Settings, Thing, box
from moving.test_own_block_in_text import ROWS, TEXT, with_levers

from circuitcheck.checks.drawing.built import differences
from circuitcheck.language.load import load_text
from circuitcheck.model.circuit import Circuit

FORMS = [form for form in ROWS if ROWS[form][0] is not None]


def written(form: str, hears: str = "pond, feed") -> Circuit:
    """The circuit of a text, with a lamp behind the line through the block's out place."""
    loaded = load_text("language 1\ncircuit mill\n" + TEXT.format(hears=hears, form=form) + "lamp bell from flap\n")
    assert not loaded.diagnostics
    return loaded.studies[0].circuit


def drawn(form: str) -> Circuit:
    """The circuit of the drawing of a form; the line through the out place comes from a torch that is always on."""
    made = ROWS[form][0]
    assert made is not None
    made = with_levers(made)
    lamp = {(2, 4, 4): Thing("lamp"), (2, 7, 4): Thing("torch", level=15)}
    return circuit_of(box(made.size, {**made.things, **lamp}), Settings())


@pytest.mark.parametrize("form", FORMS)
def test_a_drawing_is_the_form_that_it_goes_by(form: str) -> None:
    assert differences(written(form), drawn(form)) == []


@pytest.mark.parametrize("form", FORMS)
def test_a_drawing_is_no_other_form(form: str) -> None:
    others = [other for other in ROWS if other != form]
    assert [other for other in others if not differences(written(other), drawn(form))] == []


def test_a_drawing_that_hears_more_than_its_text_is_not_it() -> None:
    assert differences(written("1t", hears="pond"), drawn("1t"))
