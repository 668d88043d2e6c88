"""How far each setting of a circuit can be changed alone before something that is asked breaks."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from dataclasses import replace
from typing import NamedTuple

from circuitcheck.model.claims import Holding, Study
from circuitcheck.model.duration import GAME_TICKS_PER_TICK, show
from circuitcheck.model.parts.base import Part
from circuitcheck.model.parts.button import LONG_HOLD, SHORT_HOLD, Button
from circuitcheck.model.parts.detector import Detector
from circuitcheck.model.parts.dust import CARRIES, Dust
from circuitcheck.model.parts.repeater import LONGEST_DELAY, Repeater
from circuitcheck.prove.variants import Verdicts, carried_out, verdicts

LONGEST_PULSE = 4 * GAME_TICKS_PER_TICK
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
    ticks = tuple(range(GAME_TICKS_PER_TICK, LONGEST_DELAY + 1, GAME_TICKS_PER_TICK))
    for part in study.circuit.by_name.values():
        if isinstance(part, Repeater):
            yield _field(study, part, "delay", part.delay, ticks)
        elif isinstance(part, Detector):
            pulses = tuple(range(GAME_TICKS_PER_TICK, LONGEST_PULSE + 1, GAME_TICKS_PER_TICK))
            yield _field(study, part, "pulse", part.pulse, pulses)
        elif isinstance(part, Button):
            yield _field(study, part, "hold", part.hold, (SHORT_HOLD, LONG_HOLD))
        elif isinstance(part, Dust) and (part.length > 1 or len(part.feeds) == 1):
            yield _field(study, part, "length", part.length, tuple(range(1, CARRIES + 2)), timed=False)
    yield from _assumed(study)


def _field(study: Study, part: Part, field: str, chosen: int, values: tuple[int, ...], timed: bool = True) -> Setting:
    def changed(value: int) -> Study:
        other = replace(part, **{field: value})  # type: ignore[arg-type]
        return study._replace(circuit=study.circuit.with_part(part, other))

    return Setting(part.name, field, chosen, tuple(sorted({*values, chosen})), timed, changed)


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


def tolerances(
    study: Study, states: int, executor: Executor | None, done: Callable[[int, int], None] = lambda done, all: None
) -> list[Tolerance]:
    """Tries every value of every setting. `done` is told how many of how many have been tried."""
    found = list(settings(study))
    tasks = [(setting.study(value), states) for setting in found for value in setting.values]
    results = iter(carried_out(verdicts, tasks, executor, lambda count: done(count, len(tasks))))
    return [Tolerance(setting, tuple(next(results) for _ in setting.values)) for setting in found]
