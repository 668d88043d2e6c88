"""What every kind of part is asked when the table of kinds is built, and what is no answer.

A sample of each sort of part that a kind makes answers for all of that sort. What it says of itself is held against
what it does: its device is updated, called and worked on a bench, with every level that it can have at its inputs.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, MutableSequence, Sequence
from itertools import product
from types import MappingProxyType

from circuitcheck.model.parts.base import Conducts, Device, Part
from circuitcheck.model.parts.drawn_questions import wrong_in_drawings
from circuitcheck.model.parts.kinds import Kind
from circuitcheck.model.parts.waits import ALL_ELSE, CALLED, CLASS_BITS, LANDING, wait_of
from circuitcheck.model.rules import FULL_POWER, USUAL

ASKED = MappingProxyType(
    {
        "powered_by": "which of its fields name what powers it",
        "conducts": "what it passes on, and as what",
        "behaves": "whether it has a state of its own",
        "graded": "whether it gives levels between none and full",
        "measures": "whether it depends on how high a level is",
        "directed": "whether it points",
        "indicates": "whether people look at it",
        "burns_out": "whether it can burn out",
        "ends": "whether it need not feed anything",
        "light": "which level of light it gives",
        "faults": "which faults it can have",
        "mistakes": "which mistakes can be made with it",
        "adjustments": "what can be set at it",
    }
)
"""Every question by the name under which a part answers it."""
ORDER_CLASSES = range(1, LANDING + 1)


class KindError(Exception):
    """A kind of part leaves a question open, or answers one wrongly: a mistake of whoever adds the kind."""


def table_of(kinds: Iterable[Kind]) -> dict[str, Kind]:
    """The kinds by their words. Raises KindError, which says of which kind and which question."""
    table: dict[str, Kind] = {}
    for kind in kinds:
        if kind.word in table:
            raise KindError(f"there are two kinds called '{kind.word}'")
        wrong = list(faulty(kind))
        if wrong:
            raise KindError(f"the kind '{kind.word}': {'; '.join(wrong)}")
        table[kind.word] = kind
    return table


def faulty(kind: Kind) -> Iterator[str]:
    """Everything that is wrong with a kind's answers."""
    if not kind.samples:
        yield "it shows no sample of what it makes"
    if not kind.summary:
        yield "it does not say in a line what it is ('summary')"
    answered = bool(kind.samples)
    for part in kind.samples:
        sort = type(part).__name__
        unanswered = [f"{asked} ('{name}')" for name, asked in ASKED.items() if not _answers(part, name)]
        if unanswered:
            answered = False
            yield f"{sort} leaves open {'; '.join(unanswered)}"
            continue
        wrongs = [f"{sort}: {wrong}" for wrong in (*_wrong_facts(part), *_wrong_behaviour(part))]
        answered = answered and not wrongs
        yield from wrongs
    if answered:
        yield from wrong_in_drawings(kind)


def _answers(part: Part, name: str) -> bool:
    """Whether the part's class, or one between it and `Part`, says it."""
    above = type(part).__mro__
    return any(name in vars(each) for each in above[: above.index(Part)])


def _wrong_facts(part: Part) -> Iterator[str]:
    missing = [name for name in part.powered_by if not hasattr(part, name)]
    if missing:
        yield f"it has no field '{missing[0]}' to be powered by"
        return
    powering = {name for port in part.ports() if not port.watches for name in port.sources}
    if powering != set(part.powers):
        yield f"its ports are powered by {sorted(powering)}, and 'powered_by' says {sorted(part.powers)}"
    if not 0 <= part.light <= FULL_POWER:
        yield f"a level of light is from 0 to {FULL_POWER}, and not {part.light} ('light')"
    if (part.conducts is Conducts.LINE) is not (part.dust > 0):
        yield f"it is {part.dust} dust long ('dust'), and conducts {part.conducts.value}"
    if part.conducts is Conducts.RUN and not part.losses:
        yield "it conducts as dust in a drawing, and does not say what is lost ('losses')"
    if part.conducts is Conducts.NOTHING and not hasattr(part, "powerless"):
        yield "it conducts nothing, and does not say how messages put that ('powerless')"
    for each in part.adjustments():
        if getattr(part, each.field, None) != each.chosen:
            yield f"'{each.field}' is not {each.chosen}, as 'adjustments' says"
    for change in (*part.faults(), *part.mistakes()):
        if change.part.name != part.name or change.part == part:
            yield f"“{change.words}” is no change of it ('faults', 'mistakes')"


class NoOffs:
    """Of what is tried out no offs are remembered: one change alone burns nothing out (rule T4)."""

    def of(self, torch: int) -> list[int]:
        """The gt of a torch's latest offs."""
        return []

    def add(self, torch: int, now: int) -> list[int]:
        """The latest offs of a torch that goes off now."""
        return [now]


class Bench:
    """What a device sees while it is tried out. It keeps what the device does."""

    def __init__(self, readings: Sequence[int], level: int, mark: int) -> None:
        self.now = 0
        self.levels: MutableSequence[int] = [level] * 3
        """Of the device, which is the one in the middle, and of those beside it, one of which it may move."""
        self.readings: MutableSequence[int] = list(readings)
        self.device_state: MutableSequence[int] = [mark] * 3
        self.waiting: MutableSequence[int] = [0] * 3
        self.offs = NoOffs()
        self.call = wait_of(0, CALLED)
        self.order_class = ALL_ELSE
        self.starting = False
        self.begun: list[int] = []
        self.given: list[int] = []

    def begin(self, device: int, wait: int) -> None:
        """A wait begins."""
        self.begun.append(wait)

    def set_level(self, device: int, level: int) -> None:
        """A level is given at once."""
        self.given.append(level)

    def show(self, device: int, level: int) -> None:
        """A level is shown."""

    def defer(self, device: int) -> None:
        """The device wants to be called once everyone has been updated."""

    def note(self, device: int, rule: str) -> None:
        """Something is noted."""

    def holds(self, device: int, wait: int) -> bool:
        """Whether the device holds that very wait."""
        return False

    def can_start(self, piston: int) -> bool:
        """Whether nothing stops a stroke out: nothing stands around the device."""
        return True

    def start_out(self, piston: int) -> bool:
        """A stroke out starts."""
        return True

    def start_home(self, piston: int, started_now: bool) -> None:
        """A stroke home starts."""

    def land(self, piston: int) -> None:
        """What is in motion lands."""

    def water_level(self, device: int) -> int:
        """The level that water takes."""
        return self.levels[device]

    def spread(self, device: int) -> None:
        """Water spreads."""


def _wrong_behaviour(part: Part) -> Iterator[str]:
    if not part.behaves:
        return
    ports = len(part.ports())
    device = part.device(1, range(ports), False, USUAL)
    if device.drawn is not (part.cell is not None):
        yield "it changes at random, and does not say on what conditions; or says so, and does not ('cell', 'drawn')"
    told, own = set(device.waits_on_change(None)), set(device.own_waits(None))
    for wait in sorted(told | own):
        yield from _wrong_wait(wait)
    if ports:
        yield from _wrong_lag(part, device, told)
    yield from dict.fromkeys(_tried(part, device, told, own))


def _delay(wait: int) -> int:
    return wait >> CLASS_BITS


def _order_class(wait: int) -> int:
    return wait - (_delay(wait) << CLASS_BITS)


def _wrong_wait(wait: int) -> Iterator[str]:
    if _order_class(wait) not in ORDER_CLASSES:
        yield f"there is no order class {_order_class(wait)} ('waits_on_change', 'own_waits')"
    elif _delay(wait) < 1 and _order_class(wait) != CALLED:
        yield f"a wait of {_delay(wait)} gt is none ('waits_on_change', 'own_waits')"


def _wrong_lag(part: Part, device: Device, told: Iterable[int]) -> Iterator[str]:
    """What it says of its delay, held against the waits that it begins; a piston is called first, and then travels."""
    waits = {_delay(wait) for wait in told if _order_class(wait) not in (CALLED, LANDING)}
    least, most = (0 if device.zero_delay else min(waits, default=part.lag)), max(waits, default=part.late)
    if (least, most) != (part.lag, part.late):
        yield f"it changes after {least} to {most} gt, and says after {part.lag} to {part.late} ('lag', 'late')"


def _tried(part: Part, device: Device, told: set[int], own: set[int]) -> Iterator[str]:
    """What a device does that it has not said of itself."""
    for level, mark, *readings in product((0, FULL_POWER), (0, 1), *[(0, FULL_POWER)] * len(part.ports())):
        bench = Bench(readings, level, mark)
        wait = device.on_input_change(bench)
        if bench.given and not device.zero_delay:
            yield "it changes during an update, and does not say so ('zero_delay')"
        if wait and wait not in told:
            yield f"after an update it waits {_delay(wait)} gt, and does not say so ('waits_on_change')"
        bench = Bench(readings, level, mark)
        given = {device.act(bench)}
        for verb in sorted(part.verbs):
            device.drive(bench, verb, level)
        given |= {*bench.given, *device.settled(dict(enumerate(readings)), dict(enumerate(readings)))}
        if not all(0 <= each <= FULL_POWER for each in given):
            yield f"it gives a level of {max(given)}, and levels are from 0 to {FULL_POWER}"
        elif not part.graded and given - {0, FULL_POWER}:
            yield "it gives levels between none and full, and does not say so ('graded')"
        for wait in bench.begun:
            if wait not in own | {bench.call}:
                yield f"it waits {_delay(wait)} gt of itself, and does not say so ('own_waits')"
