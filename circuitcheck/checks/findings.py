"""Classic mistakes, found without being asked for: in the circuit as it stands, and in every run."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence, Set
from dataclasses import replace

from circuitcheck.checks.finding import Finding
from circuitcheck.checks.flashing import (
    HARMFUL_FLASHES,
    NO_FLASHES,
    Flashes,
    caution,
    changes_seen,
    gravest,
    lamps_of,
    most_flashes,
)
from circuitcheck.checks.outcome import Outcome, Race, Verdict
from circuitcheck.checks.race import tied
from circuitcheck.checks.run import Notebook, Run, Track, replay
from circuitcheck.checks.sensing import still
from circuitcheck.engine.power import Power, is_block, is_line
from circuitcheck.engine.program import Program
from circuitcheck.engine.settle import settle
from circuitcheck.engine.start import Start
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Check, Study, atoms, conditions
from circuitcheck.model.drawing import said
from circuitcheck.model.duration import show
from circuitcheck.model.parts.base import Part
from circuitcheck.model.parts.cells import cells_of
from circuitcheck.model.rules import CARRIES

MOST_REPLAYED = 50
"""On how many of a run's ways flashes are counted."""
MOST_DECISIVE = 50
"""How many parts with an open start are tried for the one whose start decides."""

NOTED: dict[str, tuple[str, str]] = {
    "T3": (
        "the torch swallows a pulse: it is over when the torch looks again",
        "lengthen the pulse with a repeater of 2t",
    ),
    "K1": ("the comparator swallows a pulse: it is over when the comparator looks again", "lengthen the pulse first"),
    "R4": (
        "the repeater swallows an off-gap that is no longer than its delay",
        "shorten its delay, or space the pulses",
    ),
    "D1": (
        "the detector misses a change: it still waits, pulses or rearms",
        "let less change, or watch with more detectors",
    ),
    "M1": (
        "more stands before the piston in a row than it can move: it stays home",
        "take something out of the row, or leave a gap in it",
    ),
    "D2": ("the stuck piston misses an update: it is still moving", "leave it 1.5t between updates"),
    "T4": ("the torch burns out: eighth off within the window", "slow the circuit down"),
    "L2": ("both inputs of the latch are on at once", "hold one input back while the other is on"),
}


class Found:
    """The findings of one study, each once, judged by what the file's author says of them."""

    def __init__(self, study: Study, program: Program) -> None:
        self._study = study
        self._machine = program
        self._findings: dict[tuple[str, str], Finding] = {}
        self._cautions: list[Finding] = []

    def add(self, findings: Iterable[Finding]) -> None:
        """Takes findings in; of several about one part and rule the first stays."""
        for finding in findings:
            self._findings.setdefault((finding.rule, finding.part), finding)

    def instead(self, findings: Iterable[Finding], gone: Collection[tuple[str, str]]) -> None:
        """Takes findings in that others, named by rule and part, follow from: those are reported no more."""
        self._findings = {key: each for key, each in self._findings.items() if key not in gone}
        self.add(findings)

    def open_start(self, all_starts: Sequence[Start]) -> None:
        """Reports what starts in more than one way (rule L5)."""
        if len(all_starts) > 1:
            circuit = self._study.circuit
            tried = [name for name, _ in all_starts[0].tried]
            decisive = [name for name in tried if name in circuit.latches] or [_decisive(self._machine, tried)]
            for name in decisive:
                what = "latch" if name in circuit.latches else "loop"
                message = f"the start of the {what} '{name}' is not declared: {len(all_starts)} starts are tried"
                self.add([Finding("L5", name, circuit.by_name[name].span, message, "add 'starts …' to it")])

    def noted(self, notebook: Notebook, check: Check, all_starts: Sequence[Start]) -> None:
        """Reports what parts noted of themselves in a check's run."""
        self.add(_notes(notebook, self._machine, check))
        widthless = _widthless(notebook, self._study, self._machine)
        if widthless:
            from circuitcheck.checks.widthless import widthless_findings  # few runs have any

            self.add(widthless_findings(self._machine, all_starts, check, widthless))

    def ending(self, run: Run, races: Sequence[Race]) -> None:
        """Reports an order that matters to where a run ends; of one that is among these races, with the cure tried."""
        if run.limit:
            return
        ends: dict[tuple[tuple[str, int], ...], Track] = {}
        for track in run.tracks:
            first = ends.setdefault(track.start.tried, track)
            if track.simulator.levels != first.simulator.levels:
                pairs = (tied(mine, other) for mine, other in zip(first.orders(), track.orders(), strict=False))
                pair = next((pair for pair in pairs if pair is not None), None)
                if pair is not None:
                    self.add([_order_matters(self._machine, run.check, pair, races)])

    def flashing(self, run: Run) -> None:
        """Reports lamps that flash too fast: the worst second of any way that the run can go."""
        if not lamps_of(run.program):
            return
        ways = (_flashes(run, track) for track in run.tracks[: min(MOST_REPLAYED, run.affordable)])
        worst = max(ways, key=lambda each: each.number, default=NO_FLASHES)
        if worst.number > HARMFUL_FLASHES:
            when = f'from {show(worst.begins)} to {show(worst.ends)} of "{run.check.title}"'
            self._cautions.append(caution(run.program, worst, when))

    def all(self) -> tuple[Finding, ...]:
        """Every finding, in the order of the file, with silence and prohibition applied."""
        return as_author_says(self._study, (*self._findings.values(), *gravest(self._cautions)))


def as_author_says(study: Study, findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings in the order of the file, with their places, and with silence and prohibition applied."""
    judged = (_judged(study, _placed(study, finding)) for finding in findings)
    return tuple(sorted(judged, key=_in_file_order))


def _in_file_order(each: Finding) -> tuple[str, int, str, int, str]:
    return each.span.file, each.span.line, each.rule, each.span.column, each.part


def with_caution(study: Study, findings: Sequence[Finding], found: Finding) -> tuple[Finding, ...]:
    """The findings of a study and a caution that was found elsewhere."""
    cautions = gravest([*(each for each in findings if each.cautions), found])
    return as_author_says(study, (*(each for each in findings if not each.cautions), *cautions))


def _placed(study: Study, finding: Finding) -> Finding:
    place = study.circuit.where.get(finding.part)
    return finding if place is None or finding.where else replace(finding, where=said(place))


def _judged(study: Study, finding: Finding) -> Finding:
    for silence in study.silences:
        # A caution about several lamps is silenced only where all of them are.
        if silence.rule == finding.rule and (not silence.names or set(finding.parts) <= set(silence.names)):
            return replace(finding, silenced=silence.reason)
    return replace(finding, forbidden=any(finding.rule == each.rule for each in study.forbidden))


def _decisive(program: Program, tried: Sequence[str]) -> str:
    """A part whose declared start settles all the others; the first where no single one does."""
    declared = {n: device.part.start for n, device in enumerate(program.devices) if device.part.start is not None}
    for name in tried[:MOST_DECISIVE]:
        bounds = settle(program, {**declared, program.number[name]: 0})
        if all(bounds.known(number) for number in range(len(program.devices))):
            return name
    return tried[0]


def rules_at_work(run: Run, outcome: Outcome) -> set[str]:
    """Every rule at work against a check: noted by a part upstream of what broke, by then, or behind the verdict."""
    program, failure = run.program, outcome.failure
    rules: set[str] = set()
    if failure is not None:
        upstream = set(program.circuit.upstream(failure.signals))
        notes = run.notebook.first.items()
        rules |= {rule for (device, rule), at in notes if at <= failure.at and program.names[device] in upstream}
        static = static_findings(Study(program.circuit, (), ()), program)
        rules |= {finding.rule for finding in static if finding.part in upstream}
    if outcome.verdict is Verdict.RACE:
        rules |= {"C5", "L4"} if program.circuit.latches else {"C5"}
    if outcome.verdict is Verdict.OPEN_START:
        rules |= {"L5", "C6"}
    return rules


# Found in a run


def _notes(notebook: Notebook, program: Program, check: Check) -> Iterator[Finding]:
    """What parts noted of themselves in a check's run, as findings."""
    for (device, rule), at in sorted(notebook.first.items(), key=lambda item: item[1]):
        if rule in NOTED:  # a lock that holds is no mistake
            message, hint = NOTED[rule]
            name, where = program.names[device], program.devices[device].part.span
            yield Finding(rule, name, where, f"'{name}', at {show(at)} of \"{check.title}\": {message}", hint)


def _widthless(notebook: Notebook, study: Study, program: Program) -> dict[int, int]:
    """The devices that felt a pulse of no width, where something could read it, with the first gt in which they did.

    The side of a latch takes over from its input in the gt in which that goes, which is none.
    """
    noted = {device: at for (device, rule), at in sorted(notebook.first.items()) if rule == "V3"}
    if not noted:
        return noted
    sides = {side for latch in program.circuit.latches.values() for side in (latch.name, latch.inverse)}
    read = _read_of(study)
    return {device: at for device, at in noted.items() if program.names[device] in read - sides}


def _order_matters(program: Program, check: Check, pair: tuple[int, int], races: Sequence[Race]) -> Finding:
    first, second = (program.names[device] for device in pair)
    cures = (race.cure for race in races if {race.first, race.second} == {first, second})
    tried = next((cure.words for cure in cures if cure is not None), "put a repeater before one of them")
    message = f"where \"{check.title}\" ends depends on whether '{first}' or '{second}' comes first"
    return Finding("C5", first, program.devices[pair[0]].part.span, message, tried)


def _flashes(run: Run, track: Track) -> Flashes:
    """The second in which most flashes on one way of a run; of a run that was given up, as far as it was followed."""
    return most_flashes(changes_seen(replay(run, track, run.seen_until)))


# Found in the circuit as it stands


def static_findings(study: Study, program: Program) -> Iterator[Finding]:
    """Long lines, dead ends, weakly powered blocks beside dust, idle parts, and where power runs back."""
    circuit, power = study.circuit, program.power
    yield from _lines(circuit, power)
    yield from _dead_ports(program)
    if circuit.drawing is None:
        yield from _idle(study)
    else:
        yield from _idle_where_drawn(study)
    yield from _running_back(circuit, power)
    yield from still(circuit)
    drawn = study.drawn or circuit
    if drawn.drawing is not None:
        from circuitcheck.checks.drawing.unmodelled import drawn_findings  # only a circuit that is drawn has any

        yield from drawn_findings(drawn, drawn.drawing, None if study.drawn is None else circuit)


def _idle_where_drawn(study: Study) -> Iterator[Finding]:
    """Idle parts of a drawing: not those that dead dust, or what a stroke joins, would feed or read."""
    from circuitcheck.checks.drawing.unmodelled import lit  # only a circuit that is drawn has dust that lies there

    lighted = study._replace(circuit=lit(study.circuit))
    if study.circuit.things_move:
        from circuitcheck.checks.drawing.after_strokes import after_strokes  # nor do strokes join anything elsewhere

        moved = after_strokes(study.circuit)
        yield from _idle(lighted, moved.fed, moved.read)
    else:
        yield from _idle(lighted)


def _lines(circuit: Circuit, power: Power) -> Iterator[Finding]:
    for part in circuit.parts:
        if not is_line(part):
            continue
        if _too_long(part):
            message = f"the line '{part.name}' is {part.dust} dust long, and 15 carry: the {CARRIES + 1}th is dead"
            yield Finding("P2", part.name, part.span, message, "put a repeater after at most 15 dust")
        for source in part.powers:
            if is_block(circuit.by_name[source]) and power.feeds((source,)) and not power.into_dust((source,)):
                message = (
                    f"'{part.name}' is dust beside '{source}', a block that only dust powers: "
                    "weak power does not light dust"
                )
                yield Finding("P4", part.name, part.span, message, "put a repeater behind the block or between them")


def _dead_ports(program: Program) -> Iterator[Finding]:
    """Parts that no power can reach along a line: one part for each stretch of dead lines, whoever else reads there."""
    circuit, power = program.circuit, program.power
    seen: set[str] = set()
    for number, port in enumerate(program.ports):
        part = program.devices[program.port_device[number]].part
        for source in port.sources:
            if is_line(circuit.by_name[source]) and not power.at_end(source) and source not in seen:
                dead, touches = _dead_before(circuit, power, source, seen)
                lit = any(
                    power.into_dust(line.powers) or any(map(power.at_end, _lines_of(circuit, line))) for line in dead
                )
                # What nothing lights has another mistake; a line that is too long by itself is reported as a line.
                if lit and not touches and not any(map(_too_long, dead)):
                    message = f"no power reaches '{part.name}' along '{source}': it is over 15 dust from what feeds it"
                    yield Finding("P2", part.name, part.span, message, "put a repeater into the line")


def _dead_before(circuit: Circuit, power: Power, name: str, seen: set[str]) -> tuple[list[Part], bool]:
    """A dead line and the dead ones that it comes from, and whether one of those was seen before; all are seen then."""
    line = circuit.by_name[name]
    found, touches = [line], False
    mine = {name}
    for each in found:
        for source in _lines_of(circuit, each):
            other = circuit.by_name[source]
            if source in seen:
                touches = True
            elif source not in mine and is_line(other) and not power.at_end(source):
                mine.add(source)
                found.append(other)
    seen |= mine
    return found, touches


def _lines_of(circuit: Circuit, line: Part) -> list[str]:
    """The lines that a line comes from."""
    return [source for source in line.powers if is_line(circuit.by_name[source])]


def _too_long(part: Part) -> bool:
    return part.dust > CARRIES


def _joined_before(circuit: Circuit, line: Part) -> list[str]:
    """The line and all the lines that it comes from, nearest first."""
    found = {line.name: line}
    queue = [line]
    for each in queue:
        for source in each.powers:
            part = circuit.by_name[source]
            if is_line(part) and source not in found:
                found[source] = part
                queue.append(part)
    return list(found)


def _idle(study: Study, fed: Set[str] = frozenset(), reads: Set[str] = frozenset()) -> Iterator[Finding]:
    """Parts that drive nothing or are driven by nothing, but for what is so only while everything is at home."""
    circuit, read = study.circuit, _read_of(study) | reads
    for part in circuit.parts:
        if not part.powers and part.name not in fed and any(port.inverts for port in part.ports()):
            message = f"the {part.word} '{part.name}' is driven by nothing: it is always on"
            yield Finding(
                "V2", part.name, part.span, message, "say what powers its block, or silence this if it is meant"
            )
        if part.ends or (part.stuck and part.name in circuit.where):
            continue  # what a piston that is drawn does is a stroke
        family = {part.name, part.name.removesuffix(".inverse"), f"{part.name}.inverse"}
        if not family & read:
            yield _drives_nothing(part)


def _read_of(study: Study) -> set[str]:
    """Everything that a part reads, an output gives, light depends on, or a check or claim refers to."""
    circuit = study.circuit
    read = {source for part in circuit.parts for port in part.ports() for source in port.sources}
    read |= {output.source for output in circuit.outputs} | _asked(study)
    read |= {source for cell in cells_of(circuit.parts) for source in cell.grows}
    return read | {name for place in circuit.places for name in place.parts}


def _asked(study: Study) -> set[str]:
    """Every signal that a check or claim refers to."""
    asked = [each.condition for check in study.checks for each in check.expectations]
    claims = [*study.claims, *(claim for check in study.checks for claim in check.throughout)]
    asked += [condition for claim in claims for condition in conditions(claim.body)]
    return {atom.name for condition in asked for atom in atoms(condition)}


def _drives_nothing(part: Part) -> Finding:
    message = f"the {part.word} '{part.name}' drives nothing, and no check reads it"
    return Finding("V1", part.name, part.span, message, "wire it, ask for it in a check, or take it out")


def _running_back(circuit: Circuit, power: Power) -> Iterator[Finding]:
    """Rule P5: readers of a line that feel a source which was joined further on."""
    joined = {source for part in circuit.parts if is_line(part) for source in part.powers}
    for part in circuit.parts:
        if is_line(part) or part.latch is not None:
            continue  # the two torches of a latch are looked at, and not its name
        for port in part.ports():
            for source in port.sources:
                line = circuit.by_name.get(source)
                if line is not None and is_line(line) and source in joined:
                    back = sorted(set(power.at_end(source)) - _forward(circuit, power, line))
                    if back:
                        names = ", ".join(f"'{name}'" for name in back[:3])
                        message = f"power from {names} runs back along '{source}' to '{part.name}'"
                        yield Finding(
                            "P5", part.name, part.span, message, "a repeater in the line lets power one way only"
                        )


def _forward(circuit: Circuit, power: Power, line: Part) -> set[str]:
    """The devices that feed a line from its own beginning or from the lines it comes from."""
    found: set[str] = set()
    for name in _joined_before(circuit, line):
        each = circuit.by_name[name]
        found |= set(power.into_dust(each.powers)) if is_line(each) else set()
    return found
