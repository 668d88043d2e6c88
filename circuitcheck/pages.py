"""What a page shows of a file besides its verdicts, computed: runs, light, responses, drawings as powered.

A page lays out what stands here, and computes nothing of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import islice
from typing import NamedTuple

from circuitcheck.chance.first_edge.response import NoSensor, Response, respond
from circuitcheck.chance.light.budget import PlaceLight, budgets
from circuitcheck.chance.machine.joint import TooLarge
from circuitcheck.checks.finding import Finding
from circuitcheck.checks.outcome import StudyResult
from circuitcheck.checks.sensing import still
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.engine.start import OpenStart
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Atom, Study, Timely
from circuitcheck.runs_on_drawings import plans_of
from circuitcheck.runs_shown import counterexamples, runs_of
from circuitcheck.scenes import Scene, scene_of

MOST_RUNS = 60
"""How many runs are drawn on a page at most."""


class Lit(NamedTuple):
    """The light at the places of a circuit."""

    circuit: Circuit
    places: list[PlaceLight]
    still: list[Finding]
    """Cells that can never change where they are."""


class Answer(NamedTuple):
    """A response that the file claims, and what it comes to."""

    phase: str
    edge: Atom
    found: Response | None
    open_start: str = ""
    """Where none is found: which starts are not said."""
    too_large: str = ""
    """Where none is found: what is too large."""


class Contents(NamedTuple):
    """What a page shows of a file besides its verdicts."""

    runs: int
    """How many checks were run to be shown."""
    checks: int
    """How many checks there are, of which not all may be shown."""
    circuits: list[Circuit]
    """The file's own under its usual values, or, if it has none, each of its definitions once."""
    light: list[Lit]
    responses: list[Answer]
    scenes: list[Scene]


def contents(studies: Sequence[Study], results: Sequence[StudyResult] = ()) -> Contents:
    """All that a page shows of a file's studies, and of the runs that break their claims."""
    asked = ((study, check) for study in studies for check in study.checks)
    runs = list(runs_of(islice(asked, MOST_RUNS)))
    own = [study.circuit for study in studies if not study.label]
    circuits = own[:1] or list({study.circuit.name: study.circuit for study in reversed(studies)}.values())[::-1]
    return Contents(
        len(runs),
        sum(len(study.checks) for study in studies),
        circuits,
        [Lit(each, list(budgets(each)), list(still(each))) for each in circuits if each.places],
        [_answer(*claimed) for claimed in _claimed(studies)],
        list(map(scene_of, plans_of(studies, runs, list(counterexamples(results, runs))))),
    )


# Responses


def _claimed(studies: Sequence[Study]) -> list[tuple[Circuit, str, Atom]]:
    """Each response that a file claims, once, as it is in the file's own days."""
    found: dict[tuple[str, str, Atom], tuple[Circuit, str, Atom]] = {}
    for study in studies:
        for claim in study.claims:
            if isinstance(claim.body, Timely):
                edge = claim.body.edge._replace(span=NOWHERE)
                found.setdefault((study.label, claim.body.phase, edge), (study.circuit, claim.body.phase, edge))
    return list(found.values())


def _answer(circuit: Circuit, phase: str, edge: Atom) -> Answer:
    try:
        return Answer(phase, edge, respond(circuit, phase, edge))
    except OpenStart as many:
        return Answer(phase, edge, None, open_start=str(many))
    except TooLarge as large:
        return Answer(phase, edge, None, too_large=str(large))
    except NoSensor:
        return Answer(phase, edge, None)
