"""What parts note of themselves, and when (common practice, no source; each case names its rule).

A note says that something was called and came to nothing, or that a torch burnt out; explanations and findings are
made of them.
"""

from __future__ import annotations

import pytest

import circuitcheck
from circuitcheck.engine.program import Program
from circuitcheck.engine.record import Recording, record
from circuitcheck.engine.start import starts
from circuitcheck.engine.step import Action, step

from .driving import HEADER, Act, gap, pulse
from .test_burn_out import TORCH, after_seven
from .test_waits import at_rest

Notes = list[tuple[int, str, str]]


def recorded(body: str, acts: list[Act], until: int = 60, orders: tuple[tuple[str, ...], ...] = ()) -> Recording:
    """The circuit of these lines, worked as said, with everything written down; `orders` make its open choices."""
    program = Program(circuitcheck.loads(HEADER + body).circuit)
    actions = [
        (at, Action(program.number[name], "is", int(verb)) if verb.isdecimal() else Action(program.number[name], verb))
        for at, name, verb in sorted(acts)
    ]
    script = [tuple(program.number[name] for name in order) for order in orders]
    return record(program, starts(program)[0].levels, actions, script, until)


def notes(recording: Recording) -> Notes:
    """The gt, the part and the rule of each note."""
    return [(note.at, recording.program.names[note.device], note.rule) for note in recording.notes]


def test_a_torch_notes_a_pulse_that_it_swallows() -> None:
    """Common practice, no source; rule T3: called at 10, it finds nothing at 12."""
    assert notes(recorded("lever pond\ntorch mill from pond\n", pulse("pond", 10, 1))) == [(12, "mill", "T3")]
    assert notes(recorded("lever pond starts on\ntorch mill from pond\n", gap("pond", 10, 1))) == [(12, "mill", "T3")]


def test_a_torch_notes_nothing_of_a_pulse_that_it_follows() -> None:
    """Common practice, no source; rule T3."""
    assert notes(recorded("lever pond\ntorch mill from pond\n", pulse("pond", 10, 3))) == []


def test_a_torch_notes_its_burn_out_but_not_the_look_after_it() -> None:
    """Common practice, no source; rule T4: dark at 72; at 232 its block is powered, but for no pulse."""
    assert notes(recorded(TORCH, after_seven(70), 400)) == [(72, "rope", "T4")]


def test_a_burnt_out_torch_still_notes_a_pulse_that_it_swallows() -> None:
    """Common practice, no source; rules T4 and T3: after its look at 232, a gap of 1 gt at 300."""
    found = notes(recorded(TORCH, after_seven(70, *gap("pond", 300, 1)), 400))
    assert found == [(72, "rope", "T4"), (302, "rope", "T3")]


def test_a_repeater_notes_a_gap_that_it_swallows() -> None:
    """Common practice, no source; rule R4: a gap of 3 gt at 2t."""
    body = "lever pond starts on\nrepeater mill from pond delay 2t\n"
    assert notes(recorded(body, gap("pond", 10, 3))) == [(14, "mill", "R4")]
    assert notes(recorded(body, gap("pond", 10, 5))) == []


def test_a_locked_repeater_notes_a_change_behind_it() -> None:
    """Common practice, no source; rule R5: locked 12–42, its input changes at 20."""
    body = "lever pond\nlever rope\nrepeater bolt from rope\nrepeater mill from pond locked by bolt\n"
    assert notes(recorded(body, [*pulse("rope", 10, 30), (20, "pond", "on")])) == [(20, "mill", "R5")]


def test_a_comparator_notes_a_pulse_that_it_swallows() -> None:
    """Common practice, no source; rule K1."""
    body = "lever pond\ncomparator mill from pond\n"
    assert notes(recorded(body, pulse("pond", 10, 1))) == [(12, "mill", "K1")]
    assert notes(recorded(body, pulse("pond", 10, 3))) == []


def test_a_detector_notes_the_changes_that_it_misses() -> None:
    """Common practice, no source; rule D1: a pulse of 12–14 for the change at 10; those of 11 and 13 are missed."""
    acts: list[Act] = [(at, "pond", "throw") for at in (10, 11, 13, 20)]
    found = notes(recorded("lever pond\ndetector ripple watches pond\n", acts))
    assert found == [(11, "ripple", "D1"), (13, "ripple", "D1")]


def test_a_stuck_piston_notes_an_update_that_it_loses_while_it_moves() -> None:
    """Common practice, no source; rule D2: it moves 11–14; the update at 12 is lost, those at 10 and 20 are not."""
    body = "lever pond\nlever race starts on\ndetector knock arming race hears pond\n"
    acts: list[Act] = [(at, "pond", "throw") for at in (10, 12, 20)]
    assert notes(recorded(body, acts)) == [(12, "knock", "D2")]


DROP = (
    "lever pond starts on\nlever race\nrepeater rope from pond\nrepeater bell from race\n"
    "junction row joins rope, bell\n"
)
"""The row's power is gone for a moment in the gt in which the rope goes off and the bell on (rule C3)."""


@pytest.mark.parametrize("kind", ["torch", "repeater", "comparator"])
def test_a_part_notes_a_pulse_of_no_width(kind: str) -> None:
    """Common practice, no source; rules V3 and C3: told twice in gt 12; the wait of the first call ends in nothing."""
    found = notes(recorded(f"{DROP}{kind} mill from row\n", [(10, "pond", "off"), (10, "race", "on")]))
    spent = {"torch": "T3", "repeater": "R4", "comparator": "K1"}[kind]
    assert found == [(12, "mill", "V3"), (14, "mill", spent)]


def test_a_step_passes_on_what_parts_note_in_it() -> None:
    """Common practice, no source; rule T3: a step counts its own gt as the first."""
    program, state = at_rest("lever pond\ntorch mill from pond\n")
    found: list[tuple[int, int, str]] = []
    for verb in ("on", "off", None):
        acts = [Action(program.number["pond"], verb)] if verb else []
        (outcome,) = step(program, state, acts, notes=lambda *note: found.append(note))
        state = outcome.state
    assert found == [(1, program.number["mill"], "T3")]
