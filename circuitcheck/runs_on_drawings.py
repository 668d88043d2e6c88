"""Which runs are played on which drawing of a file, and which on a circuit in text alone.

A circuit in text whose parts are drawn has its checks run once more on what is drawn of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from circuitcheck.checks.drawing.built import started
from circuitcheck.engine.program import Program
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import LATCH_TESTS, Atom, Check, Study, atoms, conditions
from circuitcheck.model.drawing import Drawing
from circuitcheck.runs_shown import Counterexample, Ran, Shown, run_of

MOST_THINGS = 12_000
"""Of a larger drawing no sheets are put into a page."""


class Missing(NamedTuple):
    """A check that is not shown, since what it names is not drawn, or drawn as something that does not fit it."""

    title: str
    names: list[str]


class Plan(NamedTuple):
    """A drawing with the runs to show on it."""

    name: str
    drawing: Drawing
    circuit: Circuit
    runs: list[Shown]
    in_text: list[list[Missing]]
    """For each circuit in text whose checks were run on what is drawn of it: the checks that are not shown."""

    @property
    def too_large(self) -> bool:
        """Whether it is too large to be shown."""
        return len(self.drawing.things) > MOST_THINGS


NO_DRAWING = Drawing({}, {})


def plans_of(studies: Sequence[Study], runs: Sequence[Ran], broken: Sequence[Counterexample] = ()) -> list[Plan]:
    """Each drawing of a file, once; behind them the circuits in text whose runs no drawing shows."""
    drawn = _drawn(studies, runs)
    for plan in drawn:
        plan.runs.extend(each for each in broken if _fits(each, plan.circuit))
    shown = {each.title for plan in drawn if not plan.too_large for each in plan.runs}
    every: list[Shown] = [*runs, *broken]
    left = [each for each in every if each.title not in shown]
    return [*drawn, *_in_text(studies, left)]


def _fits(each: Shown, circuit: Circuit) -> bool:
    """Whether a run is one of the parts of a circuit."""
    return each.recording is not None and each.recording.program.circuit.by_name.keys() == circuit.by_name.keys()


def _in_text(studies: Sequence[Study], left: Sequence[Shown]) -> Iterator[Plan]:
    """Circuits without anything drawn, with the runs that no drawing shows."""
    found: dict[tuple[str, ...], Plan] = {}
    for study in studies:
        mine = [each for each in left if _of(each, study)]
        if mine:
            key = (study.label, *study.circuit.by_name)
            plan = Plan(study.label or study.circuit.name, NO_DRAWING, study.circuit, [], [])
            found.setdefault(key, plan).runs.extend(mine)
    yield from found.values()


def _of(each: Shown, study: Study) -> bool:
    if isinstance(each, Ran):
        return each.study is study
    return each.label == study.label and _fits(each, study.circuit)


def _drawn(studies: Sequence[Study], runs: Sequence[Ran]) -> list[Plan]:
    found: dict[int, Plan] = {}
    for study in studies:
        circuit = study.circuit if study.circuit.drawing is not None else study.drawn
        if circuit is None or circuit.drawing is None:
            continue
        key, mine = id(circuit.drawing), [ran for ran in runs if ran.study is study]
        plan = found.setdefault(key, Plan(study.label or study.circuit.name, circuit.drawing, circuit, [], []))
        if circuit is study.circuit:
            plan.runs.extend(mine)
        else:
            drawn = started(study.circuit, circuit)
            found[key] = plan._replace(circuit=drawn)
            if mine:
                plan.in_text.append(list(_on_the_drawing(plan, drawn, mine)))
    return list(found.values())


def _on_the_drawing(plan: Plan, drawn: Circuit, runs: Iterable[Ran]) -> Iterator[Missing]:
    """Runs the checks of a circuit in text on what is drawn of it, but for those that name what is not drawn."""
    program = Program(drawn)
    for ran in runs:
        missing = _missing(ran.check, drawn)
        if missing:
            yield Missing(ran.title, missing)
        else:
            plan.runs.append(run_of(ran.study._replace(circuit=drawn), ran.check, program))


def _missing(check: Check, drawn: Circuit) -> list[str]:
    """What a check works or asks about that is not drawn, or drawn as something of which that can't be asked."""
    asked = [each.condition for each in check.expectations]
    asked += [condition for claim in check.throughout for condition in conditions(claim.body)]
    questions = (atom for condition in asked for atom in atoms(condition))
    verbs = {name: part.verbs for name, part in drawn.by_name.items()}
    worked = (act.name for act in check.acts if act.verb not in verbs.get(act.name, ()))
    return list(dict.fromkeys([*worked, *(each.name for each in questions if not _can_be_asked(each, drawn))]))


def _can_be_asked(atom: Atom, drawn: Circuit) -> bool:
    return atom.name in (drawn.latches if atom.test in LATCH_TESTS else drawn.by_name)
