"""How far each setting of a circuit can be changed alone before something that is asked breaks."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

from circuitcheck.model.claims import Holding, Study
from circuitcheck.model.duration import GAME_TICKS_PER_TICK, show
from circuitcheck.model.parts.base import Adjustment, Part
from circuitcheck.sweeps.tasks import NOT_JUDGED, Sweep
from circuitcheck.sweeps.variants import Task, Verdicts, share_of, verdicts, work_for

MOST_TIMES = 16
"""For how many times of an assumption it is tried."""


class Setting(NamedTuple):
    """Something that can be set otherwise: what it is called, its value as it stands, and all that are tried."""

    name: str
    what: str
    chosen: int
    values: tuple[int, ...]
    timed: bool
    """Whether the values are times in gt; else plain numbers."""
    study: Callable[[int], Study]

    def shown(self, value: int) -> str:
        """A value with its unit."""
        return show(value) if self.timed else str(value)


class Tolerance(NamedTuple):
    """What became of one setting, value by value."""

    setting: Setting
    verdicts: tuple[Verdicts, ...]


def settings(study: Study) -> Iterator[Setting]:
    """Everything in a circuit and in what is assumed of its world that can be set otherwise."""
    for part in study.circuit.by_name.values():
        for each in part.adjustments():
            yield _field(study, part, each)
    yield from _assumed(study)


def _field(study: Study, part: Part, each: Adjustment) -> Setting:
    def changed(value: int) -> Study:
        return study._replace(circuit=study.circuit.with_part(part, part.adjusted(each, value)))

    values = tuple(sorted({*each.values, each.chosen}))
    return Setting(part.name, each.field, each.chosen, values, each.timed, changed)


def _assumed(study: Study) -> Iterator[Setting]:
    """The times of the assumptions: how much slower or quicker may the world be."""
    for place, each in enumerate(study.assumptions):
        chosen = each.at_least if isinstance(each, Holding) else each.within
        step = max(GAME_TICKS_PER_TICK, 2 * chosen // MOST_TIMES // GAME_TICKS_PER_TICK * GAME_TICKS_PER_TICK)
        values = tuple(sorted({*range(step, 2 * chosen + 1, step), chosen}))

        def changed(value: int, place: int = place) -> Study:
            assumptions = list(study.assumptions)
            before = assumptions[place]
            assumptions[place] = (
                before._replace(at_least=value) if isinstance(before, Holding) else before._replace(within=value)
            )
            return study._replace(assumptions=tuple(assumptions))

        yield Setting(each.words, "time", chosen, values, True, changed)


class Tolerances(Sweep[Task, Verdicts]):
    """Every value of every setting of a study: as it stands first, and then from the nearest values outwards."""

    def __init__(self, study: Study, states: int) -> None:
        self._settings = list(settings(study))
        tried = [
            (abs(each.values.index(value) - each.values.index(each.chosen)), number, value)
            for number, each in enumerate(self._settings)
            for value in each.values
            if value != each.chosen
        ]
        tried.sort(key=lambda each: each[:2])
        self._places = {(number, value): place for place, (_, number, value) in enumerate(tried, 1)}
        share = share_of(states, len(tried) + 1)
        others = [(self._settings[number].study(value), states, share) for _, number, value in tried]
        tasks = [(study, states, share), *others]
        super().__init__(verdicts, tasks, work_for(states))

    def found(self, left_out: str = NOT_JUDGED) -> list[Tolerance]:
        """What became of each setting so far; `left_out` is why values that were not judged were not."""
        without = Verdicts(None, reason=left_out, tried=False)
        return [
            Tolerance(
                each, tuple(self.results.get(self._places.get((number, value), 0), without) for value in each.values)
            )
            for number, each in enumerate(self._settings)
        ]
