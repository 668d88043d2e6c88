"""Two circuits with the same inputs and outputs side by side: what they compute, how they react, what they cost."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from circuitcheck.diagnostics import NOWHERE
from circuitcheck.engine import work
from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.program import Program, read
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import starts
from circuitcheck.engine.step import Action, merge, run_game_tick
from circuitcheck.engine.work import Undecided
from circuitcheck.explain.circuit_reading import outputs_of
from circuitcheck.explain.function import Function, TooLarge, filled, inputs_of
from circuitcheck.explain.moving_function import moves, over_rests
from circuitcheck.explain.paths import Spans
from circuitcheck.model.circuit import Circuit

STIMULI = 40
"""How many series of actions both are put through."""
ACTIONS = 10
"""How many actions a series has."""
FARTHEST = 30
"""How many gt apart the actions of a series are at most."""
MOST_WORK = 12_000_000
"""How much work (`engine.work`) the tables of settled outputs take, and then the series of actions: as much again."""
SERIES_SHARE = 40
"""The part of it that one circuit may take for one series: one in so many."""
SEED = 1


_Tables = tuple[tuple[str, ...], Function | TooLarge, Function | TooLarge]


@dataclass(frozen=True, slots=True)
class FunctionDifference:
    """One output whose settled value differs, with the first row of inputs at which it does."""

    output: str
    row: tuple[tuple[str, bool], ...]
    first: str
    second: str


@dataclass(frozen=True, slots=True)
class ReactionDifference:
    """The first gt at which an output differs, under a series of actions."""

    output: str
    at: int
    first: tuple[int, ...]
    """The levels it may have in the first circuit: more than one where an order or a start is open."""
    second: tuple[int, ...]
    actions: tuple[tuple[int, str, str], ...]
    """(gt, input, what is done to it, a level included where one is set)."""


@dataclass(frozen=True, slots=True)
class Cost:
    """What a circuit takes to build and to run."""

    parts: int
    dust: int
    """Dust in all its lines."""
    slowest: int | None
    """The slowest path from an input to an output with no loop between, in gt; None if there is none."""
    looped: bool
    """Whether other paths lead through a loop."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """How two circuits compare."""

    mismatch: str
    """Why they can't be compared; empty if they can."""
    functions: tuple[FunctionDifference, ...] = ()
    unfilled: tuple[str, ...] = ()
    """Outputs whose functions were not computed or are remembered, with why."""
    reaction: ReactionDifference | None = None
    series: int = 0
    """How many series of actions both were to be put through."""
    unfollowed: int = 0
    """How many of them were not followed to their end, and why the first was not."""
    why_unfollowed: str = ""
    costs: tuple[Cost, Cost] | None = None
    identical: bool = False
    """Whether they are one circuit, with another name and written otherwise at most: then nothing was to be run."""

    @property
    def alike(self) -> bool:
        """Whether no difference was found in what they compute and in how they react."""
        return not self.mismatch and not self.functions and self.reaction is None


def compare(first: Circuit, second: Circuit, told: Callable[[int, int], None] = lambda done, of: None) -> Comparison:
    """Compares two circuits by the names of their inputs and outputs.

    `told` is called with how many of how many series of actions they have been put through.
    """
    inputs = [sorted(f"{part.word} '{part.name}'" for part in circuit.inputs) for circuit in (first, second)]
    outputs = [sorted(outputs_of(circuit)) for circuit in (first, second)]
    for what, (one, other) in (("inputs", inputs), ("outputs", outputs)):
        if one != other:
            own, others = (", ".join(sorted(set(a) - set(b))[:3]) or "nothing" for a, b in ((one, other), (other, one)))
            return Comparison(f"their {what} differ: only the first has {own}, only the second {others}")
    if same_circuit(first, second):
        cost = _cost(first, outputs[0])
        return Comparison("", costs=(cost, cost), identical=True)
    programs = (Program(first), Program(second))
    functions, unfilled = _functions(programs, outputs[0])
    reacted = _reactions(programs, outputs[0], told)
    costs = (_cost(first, outputs[0]), _cost(second, outputs[0]))
    return Comparison("", functions, unfilled, *reacted, costs)


def same_circuit(first: Circuit, second: Circuit) -> bool:
    """Whether two circuits have the same parts, wired and placed alike under the same rules: then they behave alike."""
    return _meaning(first) == _meaning(second)


def _meaning(circuit: Circuit) -> tuple[object, ...]:
    """All of a circuit that can have a say in what it does: not where it stands in its file, nor its letters."""
    drawing = circuit.drawing
    things = () if drawing is None else ({at: replace(each, letter="") for at, each in drawing.things.items()},)
    drawn = () if drawing is None else (drawing.names, drawing.starts, drawing.size, circuit.where)
    return (
        tuple(replace(part, span=NOWHERE) for part in circuit.parts),
        tuple((output.name, output.source) for output in circuit.outputs),
        circuit.rules,
        circuit.places,
        circuit.cycle,
        *things,
        *drawn,
    )


def _signal(program: Program, name: str) -> str:
    return program.circuit.signal(name) or name


def _functions(
    programs: tuple[Program, Program], outputs: Sequence[str]
) -> tuple[tuple[FunctionDifference, ...], tuple[str, ...]]:
    tables = _tables(programs, outputs)
    found, unfilled = [], []
    for output in outputs:
        names, one, other = tables[output]
        if isinstance(one, TooLarge) or isinstance(other, TooLarge):
            too_large = one if isinstance(one, TooLarge) else other
            assert isinstance(too_large, TooLarge)
            unfilled.append(f"'{output}': {too_large.why}")
            continue
        row = next((row for row in one.rows if _value(one, row) != _value(other, row)), None)
        if row is not None:
            setting = tuple((name, bool(row >> bit & 1)) for bit, name in enumerate(names))
            found.append(FunctionDifference(output, setting, _value(one, row), _value(other, row)))
        elif one.open:
            unfilled.append(f"'{output}': it is remembered in {len(one.open)} of {len(one.rows)} rows, in both alike")
    return tuple(found), tuple(unfilled)


def _tables(programs: tuple[Program, Program], outputs: Sequence[str]) -> dict[str, _Tables]:
    """The tables of each output: with a fair share of the work each; where that is too little, with what is left."""
    found: dict[str, _Tables] = {}
    left = MOST_WORK
    for _ in range(2):
        waiting = [each for each in outputs if each not in found or any(isinstance(t, TooLarge) for t in found[each])]
        for place, output in enumerate(waiting):
            begun = work.done()
            found[output] = _both(programs, output, left // (len(waiting) - place))
            left = max(left + begun - work.done(), 0)
    return found


def _both(programs: tuple[Program, Program], output: str, most: int) -> _Tables:
    """The inputs of an output's table, and the table in each of two circuits; with so much work for one at most."""
    moving = [over_rests(program, output, most) if moves(program) else None for program in programs]
    reaching = (_inputs(program, output, whole) for program, whole in zip(programs, moving, strict=True))
    names = tuple(dict.fromkeys(name for each in reaching for name in each))
    one, other = (
        filled(program, _signal(program, output), names, most)
        if whole is None
        else whole.over(names)
        if isinstance(whole, Function)
        else whole
        for program, whole in zip(programs, moving, strict=True)
    )
    return names, one, other


def _inputs(program: Program, output: str, whole: Function | TooLarge | None) -> Sequence[str]:
    """The inputs that an output depends on."""
    return whole.inputs if isinstance(whole, Function) else inputs_of(program.circuit, _signal(program, output))


def _value(table: Function, row: int) -> str:
    return "remembered" if row in table.open else "on" if row in table.on else "off"


def _reactions(
    programs: tuple[Program, Program], outputs: Sequence[str], told: Callable[[int, int], None]
) -> tuple[ReactionDifference | None, int, int, str]:
    """Puts both through the same drawn series of actions.

    Returns of all differences the one that comes soonest, how many series there were, how many of them were not
    followed to their end, and why the first was not.
    """
    draw = random.Random(SEED)
    inputs = list(programs[0].circuit.inputs)
    earliest: ReactionDifference | None = None
    reasons: list[str] = []
    left, series = MOST_WORK, STIMULI if inputs else 1
    for number in range(series):
        at, actions = 10, []
        for _ in range(ACTIONS if inputs else 0):
            part = draw.choice(inputs)
            verb = draw.choice(sorted(part.verbs))
            actions.append((at, part.name, verb, draw.randrange(16)))
            at += draw.randint(1, FARTHEST)
        begun = work.done()
        with work.bounded(left):
            runs = [_possible(program, actions, at + 2 * FARTHEST, outputs) for program in programs]
        reasons += [run.limit for run in runs if run.limit][:1]
        difference = _first_difference(runs, outputs, actions)
        if difference is not None and (earliest is None or difference.at < earliest.at):
            earliest = difference
        left = max(left + begun - work.done(), 0)
        told(number + 1, series)
    return earliest, series, len(reasons), reasons[0] if reasons else ""


@dataclass(slots=True)
class Possible:
    """What the outputs of one circuit may show under one series."""

    rows: dict[int, frozenset[tuple[int, ...]]]
    """At each gt at which something happens, every combination of levels that the outputs may have."""
    until: int = -1
    """The last gt up to which it was followed."""
    limit: str = ""
    """Why it was not followed to its end."""


def _possible(
    program: Program, actions: Sequence[tuple[int, str, str, int]], until: int, outputs: Sequence[str]
) -> Possible:
    """Runs over every open order and start, as far as the work for one series goes."""
    found = Possible({})
    try:
        with work.bounded(MOST_WORK // SERIES_SHARE):
            for at, rows in _shown(program, actions, until, outputs):
                found.until, found.rows[at] = at, rows
        found.until = until
    except (Undecided, TooManyOrders) as many:
        found.limit = str(many)
    return found


def _shown(
    program: Program, actions: Sequence[tuple[int, str, str, int]], until: int, outputs: Sequence[str]
) -> Iterator[tuple[int, frozenset[tuple[int, ...]]]]:
    probes = [program.probe(_signal(program, output)) for output in outputs]
    worked: dict[int, list[Action]] = {}
    for at, name, verb, level in actions:
        worked.setdefault(at, []).append(Action(program.number[name], verb, level))
    simulators = [each for start in starts(program) for each in Simulator(program, 0, start.levels).tell_everyone()]
    at = 0
    while at <= until:
        for simulator in simulators:
            simulator.now = at
        simulators = merge(run_game_tick(simulators, worked.get(at, [])))
        yield at, frozenset(tuple(read(probe, simulator.levels) for probe in probes) for simulator in simulators)
        due = [due for simulator in simulators if (due := simulator.next_due()) is not None]
        at = min([*due, *(time for time in worked if time > at), until + 1])


def _first_difference(
    runs: Sequence[Possible], outputs: Sequence[str], actions: Sequence[tuple[int, str, str, int]]
) -> ReactionDifference | None:
    """The first gt at which what one circuit may show is not what the other may show."""
    until = min(run.until for run in runs)
    now = [run.rows.get(0, frozenset()) for run in runs]
    for at in sorted(at for at in {*runs[0].rows, *runs[1].rows} if at <= until):
        now = [run.rows.get(at, before) for run, before in zip(runs, now, strict=True)]
        if now[0] != now[1]:
            done = tuple(
                (when, name, f"{verb} {level}" if verb == "is" else verb)
                for when, name, verb, level in actions
                if when <= at
            )
            each = [[tuple(sorted({row[place] for row in rows})) for rows in now] for place in range(len(outputs))]
            place = next((place for place, (one, other) in enumerate(each) if one != other), 0)
            return ReactionDifference(outputs[place], at, each[place][0], each[place][1], done)
    return None


def _cost(circuit: Circuit, outputs: Sequence[str]) -> Cost:
    dust = sum(part.dust for part in circuit.parts)
    if circuit.drawing is not None:
        dust = sum(thing.is_dust for thing in circuit.drawing.things.values())
    slowest, looped, spans = None, False, Spans(circuit)
    for part in circuit.inputs:
        for output in outputs:
            between = spans.span(part.name, circuit.signal(output) or output)
            if between is not None and between.slowest is not None:
                slowest = max(slowest or 0, between.slowest.lag)
            looped = looped or (between is not None and between.slowest is None)
    return Cost(len(circuit.by_name), dust, slowest, looped)
