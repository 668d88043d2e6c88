"""A claim and the assumptions it is made under, in the formula of one gt: what is asked at the end of each gt."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from circuitcheck.checks.conditions import Holds
from circuitcheck.checks.watches import Broken, Watch, watch
from circuitcheck.checks.watches import State as WatchState
from circuitcheck.engine.program import PortDrivers
from circuitcheck.model.claims import AllOf, Assumption, Atom, Body, Condition, Not, Test
from circuitcheck.prove.interleavings import TooMuch
from circuitcheck.prove.symbolic.formula import FALSE, TRUE, Bits, Formula, code, thermometer, width_of
from circuitcheck.prove.symbolic.system import System
from circuitcheck.prove.world import Pace, hold_of, most_in_one_gt

MOST_COUNTED = 100
"""Up to so many states have a bit each, which suits counters; more are coded by the bits of a number."""
MOST_PACES = 1_000
"""How many states an assumption about pace may have."""


def claimed(system: System, body: Body) -> int:
    """Adds the watch of a claim to a system. Returns a literal, of a state, for: the claim is broken."""
    asked: list[Condition] = []

    def compiles(condition: Condition) -> Holds:
        number = len(asked)
        asked.append(condition)
        return lambda answers, _: bool(answers[number])

    made = watch(body, compiles)
    answers = [answered(system, condition) for condition in asked]
    rows, count = _tabulated(made, len(asked))
    return _finite(system, answers, rows, count)


def assumed(system: System, assumptions: Sequence[Assumption]) -> None:
    """Adds what is assumed of the inputs to a system: only such steps are allowed. Raises TooMuch."""
    paced(system, assumptions, alone_and_in_one_gt(system, assumptions))


def paced(system: System, assumptions: Sequence[Assumption], counts: Sequence[int]) -> None:
    """Adds how many inputs change in how many gt, out of what `alone_and_in_one_gt` returned."""
    formula = system.formula
    pace = Pace(assumptions)
    if not counts:
        return
    most = len(counts) - 1
    numbers: dict[tuple[int, ...], int] = {(): 0}
    moves: dict[tuple[int, Bits], int] = {}
    fits: dict[tuple[int, Bits], int] = {}
    queue: list[tuple[int, ...]] = [()]
    for recent in queue:
        for acts in range(most + 1):
            after = pace.after(recent, acts)
            key = (numbers[recent], tuple(int(acts > place) for place in range(most)))
            fits[key] = int(after is not None)
            if after is None:
                continue
            if after not in numbers:
                numbers[after] = len(numbers)
                queue.append(after)
                if len(numbers) > MOST_PACES:
                    raise TooMuch("the pace that is assumed remembers too much for the formula")
            moves[key] = numbers[after]
    last = len(numbers)
    moves, fits = ({(-state % last, bits): value for (state, bits), value in each.items()} for each in (moves, fits))
    moves = {key: -after % last for key, after in moves.items()}
    before = len(system.state)
    now = _finite_state(system, counts[:most], moves, last)
    system.paces += zip(now, system.following[before:], strict=True)
    rows = {(*_code(state, len(numbers)), *bits): fit for (state, bits), fit in fits.items()}
    system.require(formula.table([*now, *counts[:most]], rows))


def alone_and_in_one_gt(system: System, assumptions: Sequence[Assumption]) -> list[int]:
    """Adds how long each input keeps still, and how many change in one gt.

    Of each number that can change, and the one above, a literal for: more do; nothing where there is no pace.
    """
    driven = [part.driven for part in system.parts if part.driven != FALSE]
    for number, part in enumerate(system.parts):
        hold = hold_of(system.program.names[number], assumptions) if part.driven != FALSE else 0
        if hold > 1:
            _held(system, part.driven, hold)
    if Pace(assumptions).free or not driven:
        return []
    most = most_in_one_gt(assumptions)
    counts = _counted(system.formula, driven, most)
    system.require(-counts[most])
    return counts


def _counted(formula: Formula, literals: Iterable[int], most: int) -> list[int]:
    """For each number up to `most`, a literal for: more than so many are true."""
    more = [FALSE] * (most + 1)
    for literal in literals:
        for place in range(most, -1, -1):
            below = more[place - 1] if place else TRUE
            more[place] = formula.any((more[place], formula.both(literal, below)))
    return more


def _held(system: System, driven: int, hold: int) -> None:
    """An input keeps still for so many gt after each change; the state is for how many more."""
    moves: dict[tuple[int, Bits], int] = {(left, (0,)): max(left - 1, 0) for left in range(hold + 1)}
    moves |= {(left, (1,)): hold for left in range(hold + 1)}
    now = _finite_state(system, [driven], moves, hold + 1)
    fits = {(*_code(left, hold + 1), acts): int(not acts or left <= 1) for left in range(hold + 1) for acts in (0, 1)}
    system.require(system.formula.table([*now, driven], fits))


def _finite_state(system: System, inputs: Sequence[int], moves: dict[tuple[int, Bits], int], count: int) -> list[int]:
    """A small machine that begins in 0 and moves with some literals. Returns the literals of its state."""
    width = _bits(count)
    now = [system.formula.fresh() for _ in range(width)]
    rows = {(*_code(state, count), *bits): _code(after, count) for (state, bits), after in moves.items()}
    then = [
        system.formula.table([*now, *inputs], {key: after[place] for key, after in rows.items()})
        for place in range(width)
    ]
    system.keeps(now, then, _code(0, count))
    return now


def _bits(count: int) -> int:
    return count - 1 if count <= MOST_COUNTED else width_of(count)


def _code(state: int, count: int) -> Bits:
    return thermometer(state, count - 1) if count <= MOST_COUNTED else code(state, width_of(count))


def countdown(system: System, literal: int, most: int, begun: bool) -> int:
    """What counts down from the most after each gt in which a literal holds; `begun`, it does so from the start on.

    Returns a literal of a state for: it has come to nothing.
    """
    left: dict[tuple[int, Bits], int] = {(state, (0,)): max(state - 1, 0) for state in range(most + 1)}
    left |= {(state, (1,)): most for state in range(most + 1)}
    if begun:  # the first state has the number 0
        left = {(most - state, bits): most - after for (state, bits), after in left.items()}
    before = len(system.state)
    now = _finite_state(system, [literal], left, most + 1)
    sign = -1 if begun else 1
    system.counting += [(sign * each, sign * then) for each, then in zip(now, system.following[before:], strict=True)]
    nothing = most if begun else 0
    return system.formula.table(now, {_code(state, most + 1): int(state == nothing) for state in range(most + 1)})


def _finite(system: System, answers: Sequence[int], moves: dict[tuple[int, Bits], int], count: int) -> int:
    """A watch as a small machine. Returns a literal for: it is broken."""
    before = len(system.state)
    now = _finite_state(system, answers, moves, count + 1)
    system.watching += zip(now, system.following[before:], strict=True)
    return system.formula.table(now, {_code(state, count + 1): int(state == count) for state in range(count + 1)})


def _tabulated(made: Watch, width: int) -> tuple[dict[tuple[int, Bits], int], int]:
    """Every move of a watch under every set of answers, and how many states it has; the next number is: broken."""
    states: list[WatchState] = [made.start()]
    numbers = {made.start(): 0}
    found: dict[tuple[int, Bits], int | None] = {}
    for state in states:
        for bits in range(1 << width):
            answers = code(bits, width)
            after = made.step(state, 0, 1, answers, answers)
            key = (numbers[state], code(bits, width))
            if isinstance(after, Broken):
                found[key] = None
                continue
            if after not in numbers:
                numbers[after] = len(states)
                states.append(after)
            found[key] = numbers[after]
    for bits in range(1 << width):
        found[len(states), code(bits, width)] = None
    count = len(states)
    return {key: count if after is None else after for key, after in found.items()}, count


def answered(system: System, condition: Condition) -> int:
    """A literal for: a condition holds at the end of the gt."""
    if isinstance(condition, Atom):
        return _answer(system, condition)
    if isinstance(condition, Not):
        return -answered(system, condition.part)
    parts = [answered(system, part) for part in condition.parts]
    return system.formula.all(parts) if isinstance(condition, AllOf) else system.formula.any(parts)


def _answer(system: System, atom: Atom) -> int:
    """A literal for: a question is answered yes at the end of the gt."""
    formula, program = system.formula, system.program
    latch = program.circuit.latches.get(atom.name)
    if latch is not None and atom.test is Test.FORBIDDEN:
        both = (program.probe_sources(latch.set_by), program.probe_sources(latch.reset_by))
        return formula.all(system.reads(each, later=True) for each in both)
    if latch is not None and atom.test in (Test.SET, Test.RESET):
        side = system.reads(((program.number[atom.name], 0),), later=True)
        inverse = system.reads(((program.number[latch.inverse], 0),), later=True)
        return formula.all((side, -inverse) if atom.test is Test.SET else (-side, inverse))
    feeds = program.probe(atom.name)
    now, before = system.reads(feeds, later=True), system.reads(feeds)
    if atom.test is Test.CHANGES:
        return -formula.all(_same(system, feeds, level) for level in range(1, 16))
    answers = {
        Test.ON: lambda: now,
        Test.OFF: lambda: -now,
        Test.RISES: lambda: formula.both(now, -before),
        Test.FALLS: lambda: formula.both(-now, before),
        Test.AT_LEAST: lambda: system.reads(feeds, atom.level, later=True),
        Test.AT_MOST: lambda: -system.reads(feeds, atom.level + 1, later=True),
        Test.LEVEL: lambda: formula.both(
            system.reads(feeds, atom.level, later=True), -system.reads(feeds, atom.level + 1, later=True)
        ),
    }
    if atom.test not in answers:
        raise TooMuch(f"the formula does not know the question '{atom.test.value}'")
    return answers[atom.test]()


def _same(system: System, feeds: PortDrivers, level: int) -> int:
    return system.formula.same(system.reads(feeds, level, later=True), system.reads(feeds, level))
