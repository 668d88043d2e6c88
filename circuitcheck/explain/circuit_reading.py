"""A circuit read without a check: its loops, its paths in ticks, how fast its outputs follow, what they compute."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from circuitcheck.checks.finding import Finding
from circuitcheck.checks.findings import static_findings
from circuitcheck.engine.program import Program
from circuitcheck.engine.record import edges_at, record
from circuitcheck.engine.start import TooManyStarts, starts
from circuitcheck.engine.step import Action
from circuitcheck.explain.function import Function, TooLarge, formula, function, rewired_by
from circuitcheck.explain.loops import Loop, LoopKind, loops
from circuitcheck.explain.moving_function import MovingFunction, moves, of_survey, survey
from circuitcheck.explain.paths import DelayRange, Spans
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Study

MOST_OUTPUTS = 24
"""How many outputs are read; the rest is said to be left out."""
MOST_SPANS = 200
"""How many pairs of input and output are timed."""
MOST_PARTS_TRIED = 300
"""In a larger circuit the spacing of input changes is not tried out."""
MOST_SPACINGS = 60
"""How many pairs of input and output the spacing is tried out for."""
MOST_ROWS_TRIED = 16
"""At how many settings of the other inputs the spacing is tried; with more it is left out."""
WIDEST = 40
"""The widest spacing of input changes that is tried, in gt."""
TOGGLES = 6


@dataclass(frozen=True, slots=True)
class Timing:
    """From an input to an output: the quickest and slowest path, and how close input changes may come (gt)."""

    input: str
    output: str
    span: DelayRange
    spacing: int | None
    """The least spacing from which on the output follows every change; None where that was not computed."""


@dataclass(frozen=True, slots=True)
class OutputReading:
    """What one output computes when it has settled."""

    output: str
    table: Function | TooLarge
    formula: str
    """Readable words; empty where there are none."""
    clock: Loop | None = None
    """A clock that it depends on, and with which it ticks."""
    moving: MovingFunction | None = None
    """Of a machine that moves: what it computes over all rests."""


@dataclass(frozen=True, slots=True)
class Reading:
    """Everything that was read, and what was left out and why."""

    loops: tuple[Loop, ...]
    outputs: tuple[OutputReading, ...]
    timings: tuple[Timing, ...]
    running_back: tuple[Finding, ...]
    locked: tuple[str, ...]
    """The repeaters that can be locked."""
    left_out: tuple[str, ...]

    @property
    def clocks(self) -> tuple[Loop, ...]:
        """The loops that never come to rest."""
        return tuple(loop for loop in self.loops if loop.kind is LoopKind.CLOCK)

    @property
    def kept_by_blocks(self) -> tuple[str, ...]:
        """The outputs that may rest otherwise with the same inputs though nothing is fed back: by where blocks are."""
        if self.loops or self.locked:
            return ()
        moving = ((each.output, each.moving) for each in self.outputs if each.moving is not None)
        return tuple(
            name for name, found in moving if found.hurried or (isinstance(found.whole, Function) and found.whole.open)
        )


def _is_kept(found: MovingFunction) -> bool:
    return bool(found.hurried) or (isinstance(found.whole, Function) and bool(found.whole.open))


def outputs_of(circuit: Circuit) -> list[str]:
    """The signals that a circuit gives to the outside: its outputs, its lamps, else what drives nothing else."""
    named = [output.name for output in circuit.own_outputs]
    named += [part.name for part in circuit.by_name.values() if part.indicates]
    if named:
        return list(dict.fromkeys(named))
    graph = circuit.graph
    return [name for name, part in circuit.by_name.items() if not part.verbs and not graph.out_degree(name)]


def read_circuit(program: Program, told: Callable[[str], None] = lambda what: None) -> Reading:
    """Reads a circuit. Everything that could take long is bounded, and what was left out is said.

    `told` is called with what is read next.
    """
    circuit = program.circuit
    left_out: list[str] = []
    names = outputs_of(circuit)
    if len(names) > MOST_OUTPUTS:
        left_out.append(f"{len(names) - MOST_OUTPUTS} of {len(names)} outputs: the first {MOST_OUTPUTS} are read")
    shown = names[:MOST_OUTPUTS]
    told("loops")
    found_loops = loops(program)
    outputs = tuple(_outputs(program, shown, found_loops, told))
    piston = rewired_by(program)
    if piston:
        left_out.append(f"loops, ways and times once '{piston}' has moved: they are read with every piston at home")
    left_out += [
        f"what the loop of '{loop.parts[0]}' does: {loop.why_unknown}" for loop in found_loops if loop.why_unknown
    ]
    left_out += [
        f"the function of '{each.output}': {each.table.why}" for each in outputs if isinstance(each.table, TooLarge)
    ]
    told("paths from inputs to outputs")
    timings = _timings(program, outputs, left_out)
    study = Study(circuit, (), ())
    back = tuple(finding for finding in static_findings(study, program) if finding.rule == "P5")
    locked = tuple(part.name for part in circuit.by_name.values() if part.lockable)
    return Reading(found_loops, outputs, timings, back, locked, tuple(left_out))


def _outputs(
    program: Program, names: Sequence[str], found_loops: tuple[Loop, ...], told: Callable[[str], None]
) -> Iterator[OutputReading]:
    if not moves(program):
        yield from (_output(program, name, found_loops, told) for name in names)
        return
    told("the rests of the machine")
    found = survey(program, names)
    for place, name in enumerate(names):
        if isinstance(found, TooLarge):
            yield OutputReading(name, found, "")
        else:
            moving = of_survey(program, names, place, found, detailed=False)
            yield OutputReading(name, moving.whole, moving.formula, moving=moving)


def _output(program: Program, name: str, found_loops: tuple[Loop, ...], told: Callable[[str], None]) -> OutputReading:
    told(f"what '{name}' is, once settled")
    signal = program.circuit.signal(name) or name
    table = function(program, signal)
    behind = set(program.circuit.upstream([signal]))
    clock = next((loop for loop in found_loops if loop.kind is LoopKind.CLOCK and loop.parts[0] in behind), None)
    return OutputReading(name, table, formula(table) if isinstance(table, Function) else "", clock)


def _timings(program: Program, outputs: tuple[OutputReading, ...], left_out: list[str]) -> tuple[Timing, ...]:
    circuit = program.circuit
    inputs = [part.name for part in circuit.inputs]
    pairs = [(name, each) for each in outputs for name in inputs]
    if len(pairs) > MOST_SPANS:
        left_out.append(f"the paths of {len(pairs) - MOST_SPANS} of {len(pairs)} pairs of input and output")
    tries = len(circuit.by_name) <= MOST_PARTS_TRIED
    if not tries:
        left_out.append(f"the spacing of input changes: it is tried out up to {MOST_PARTS_TRIED} parts")
    found: list[Timing] = []
    spans = Spans(circuit)
    for name, each in pairs[:MOST_SPANS]:
        between = spans.span(name, circuit.signal(each.output) or each.output)
        if between is not None:
            spacing = _spacing(program, name, each, between) if tries and len(found) < MOST_SPACINGS else None
            found.append(Timing(name, each.output, between, spacing))
    return tuple(found)


def _spacing(program: Program, name: str, output: OutputReading, between: DelayRange) -> int | None:
    """The least spacing from which on every change of an input shows at the output, found by trying."""
    if not isinstance(output.table, Function) or output.table.open or name not in output.table.inputs:
        return None
    verbs = program.devices[program.number[name]].part.verbs
    rows = _sensitive_rows(output.table, name)
    if not 0 < len(rows) <= MOST_ROWS_TRIED or "throw" not in verbs:
        return None
    # Changes farther apart than the slowest path find everything at rest: only closer ones need trying.
    widest = WIDEST if between.slowest is None else min(WIDEST, between.slowest.lag + 2)
    least = None
    for spacing in range(widest, 0, -1):
        if not all(_follows(program, output, name, row, spacing) for row in rows):
            break
        least = spacing
    return least


def _sensitive_rows(table: Function, name: str) -> list[int]:
    """The settings of the other inputs at which this one decides."""
    bit = 1 << table.inputs.index(name)
    return [row for row in table.rows if not row & bit and (row in table.on) is not (row | bit in table.on)]


def _follows(program: Program, output: OutputReading, name: str, row: int, spacing: int) -> bool:
    table = output.table
    assert isinstance(table, Function)
    try:
        start = starts(program)[0]
    except TooManyStarts:
        return False
    settled = 2 * WIDEST
    actions = [
        (1, Action(program.number[each], "on"))
        for bit, each in enumerate(table.inputs)
        if row >> bit & 1 and "on" in program.devices[program.number[each]].part.verbs
    ]
    actions += [(settled + spacing * turn, Action(program.number[name], "throw")) for turn in range(TOGGLES)]
    until = settled + spacing * TOGGLES + 2 * WIDEST
    recording = record(program, start.levels, actions, (), until)
    feeds = program.probe(program.circuit.signal(output.output) or output.output)
    return sum(1 for at, _ in edges_at(recording, feeds) if at >= settled) == TOGGLES
