"""Explanations in words that one could use in front of an audience."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from circuitcheck.explain.circuit_reading import OutputReading, Reading, Timing
from circuitcheck.explain.compare import Comparison, Cost
from circuitcheck.explain.function import Function
from circuitcheck.explain.inversion import Inversion, Relation, Turn
from circuitcheck.explain.loops import LatchFacts, Loop, LoopKind
from circuitcheck.explain.mistakes import MOST_TOLD, Diagnosis
from circuitcheck.explain.moving_function import MovingFunction
from circuitcheck.explain.paths import SignalPath
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.duration import show
from circuitcheck.report.lines import Line, Piece, Style, line, safe, wrapped

MOST_PATHS_SHOWN = 4
MOST_TIMINGS_SHOWN = 24
MOST_CALLS_SHOWN = 3


def _name(text: str) -> str:
    return f"'{safe(text)}'"


def _heading(text: str) -> Line:
    return line(Piece(text, Style.STRONG))


# Inversion

SENTENCES = {
    Relation.SAME: "{output} is the same as {input}: on when it is on, off when it is off.",
    Relation.INVERTED: "{output} is the inverse of {input}: off when it is on, on when it is off.",
    Relation.BOTH: "{output} is sometimes the same as {input} and sometimes its inverse: the paths differ.",
    Relation.SAME_AT_TIMES: "{output} depends on other inputs too: where {input} counts, it is the same.",
    Relation.INVERTED_AT_TIMES: "{output} depends on other inputs too: where {input} counts, it is inverted.",
    Relation.NONE: "{output} does not depend on {input}, once settled.",
    Relation.REMEMBERED: "{output} is remembered (a latch, a loop or a lock): {input} alone does not decide it.",
    Relation.UNKNOWN: "How {output} stands to {input} was not computed.",
}


def inversion_lines(found: Inversion, alike: Sequence[str], width: int) -> Iterator[Line]:
    """The verdict on an output and an input, and each path between them, part by part; said once for inputs alike."""
    names = {"output": _name(found.output), "input": _name(found.input)}
    yield from wrapped(SENTENCES[found.relation].format(**names), width, "", style=Style.STRONG)
    if alike:
        yield from wrapped(f"The same goes for {', '.join(map(_name, alike))}, on similar paths.", width, "  ")
    if found.why_not:
        yield from wrapped(found.why_not, width, "  ")
    if not found.paths.paths:
        yield line("  no path leads from one to the other")
    for path in found.paths.paths[:MOST_PATHS_SHOWN]:
        yield from path_lines(path, width)
    left = found.paths.counted - min(found.paths.counted, MOST_PATHS_SHOWN)
    if left or not found.paths.complete:
        more = "" if found.paths.complete else ", and more that were not counted"
        yield line(f"  … {left} further paths{more}")
    yield line()


def path_lines(path: SignalPath, width: int, indent: str = "  ") -> Iterator[Line]:
    """One path between two signals, part by part."""
    result = "inverted" if path.inverted else "the same"
    yield line(f"{indent}a path of {show(path.lag)}, {result}:")
    longest = max([len(safe(hop.part)) for hop in path.hops] + [len(safe(path.start))])
    inverted, at = False, 0
    yield line(f"{indent}  {safe(path.start):<{longest}}")
    for hop in path.hops:
        inverted ^= hop.inverts
        at += hop.lag
        how = "inverts" if hop.inverts else "watches it change" if hop.watches else ""
        said = f"{hop.kind}{', ' + how if how else ''}"
        state = "inverted" if inverted else "the same"
        row = f"{safe(hop.part):<{longest}}  {said:<27} {state:<8} {show(at):>5}"
        too_long = len(row) + len(indent) + 2 > width
        yield from wrapped(row, width, f"{indent}  ", f"{indent}      ") if too_long else [line(f"{indent}  {row}")]


def turn_lines(found: Sequence[Turn], output: str, width: int) -> Iterator[Line]:
    """The cheapest ways to turn an output round, with their price."""
    yield _heading(f"To turn {_name(output)} round, cheapest first")
    for turn in found:
        yield from wrapped(f"{safe(turn.words)}: {_price(turn)}", width, "  ", "    ")


def _price(turn: Turn) -> str:
    parts = "no part more" if turn.parts == 0 else f"{abs(turn.parts)} part {'more' if turn.parts > 0 else 'less'}"
    if turn.lag is None:
        return f"{parts}, with times of its own"
    late = "as quick" if turn.lag == 0 else f"{show(abs(turn.lag))} {'later' if turn.lag > 0 else 'sooner'}"
    return f"{parts}, {late}"


# A circuit read


def reading_lines(found: Reading, circuit: Circuit, width: int) -> Iterator[Line]:
    """What a circuit is: loops, functions, paths in ticks, power that runs back, and what was left out."""
    title = f": {safe(circuit.title)}" if circuit.title else ""
    yield from wrapped(f"{safe(circuit.name)}{title}", width, "", "  ", Style.STRONG)
    inputs = ", ".join(safe(part.name) for part in circuit.inputs) or "none"
    yield from wrapped(f"{len(circuit.by_name)} parts; inputs: {inputs}", width, "  ", "    ")
    yield line()
    yield _heading("What its outputs are, once settled")
    if not found.outputs:
        yield line("  it has none")
    for output in found.outputs:
        yield from wrapped(f"{safe(output.output)}: {_computes(output)}", width, "  ", "    ")
    if found.clocks:
        ticking = ", ".join(f"'{safe(loop.parts[0])}' every {show(loop.period or 0)}" for loop in found.clocks)
        text = f"Without inputs, it does not come to rest: a clock ticks in it, {ticking}."
        yield from wrapped(text, width, "  ", "    ")
    yield line()
    yield _heading("Feedback")
    kept = ", ".join(f"'{safe(name)}'" for name in found.kept_by_blocks)
    if kept:
        text = (
            f"none in its wiring, but where blocks are is remembered: with the same inputs, {kept} may rest otherwise"
        )
        yield from wrapped(text, width, "  ", "    ")
    elif not found.loops and not found.locked:
        yield line("  none: nothing in it remembers")
    for name in found.locked:
        yield from wrapped(f"a lock: '{safe(name)}' keeps what it had while it is locked", width, "  ", "    ")
    for loop in found.loops:
        yield from _loop_lines(loop, width)
    yield line()
    yield from _timing_lines(found.timings, width)
    for finding in found.running_back:
        yield from wrapped(safe(finding.message), width, "  ", "    ")
    if found.left_out:
        if found.timings or found.running_back:
            yield line()
        yield _heading("Not computed")
        for text in found.left_out:
            yield from wrapped(safe(text), width, "  ", "    ")


def _computes(output: OutputReading) -> str:
    table = output.table
    if output.moving is not None:
        rests = f"{output.moving.rests} {'rest' if output.moving.rests == 1 else 'rests'}"
        faster = "; after faster changes it may rest otherwise" if output.moving.hurried else ""
        return f"{whole_words(output.moving)} (over {rests}, blocks moved or not{faster})"
    if not isinstance(table, Function):
        return f"not computed ({safe(table.why)})"
    if table.open and output.clock is not None:
        return f"it ticks with the clock of '{safe(output.clock.parts[0])}', every {show(output.clock.period or 0)}"
    if table.open:
        some = len(table.open) < len(table.rows)
        share = f" in {len(table.open)} of {len(table.rows)} rows of inputs" if some else ""
        return f"remembered{share}: it depends on earlier inputs"
    if output.formula.startswith("always") and table.inputs:
        return f"at rest {output.formula}, whatever its inputs are: what it gives are pulses"
    if output.formula:
        return f"on when {safe(output.formula)}" if not output.formula.startswith("always") else output.formula
    return f"on in {len(table.on)} of {len(table.rows)} rows of {len(table.inputs)} inputs; no short formula"


def whole_words(found: MovingFunction) -> str:
    """What an output is over all rests, in words."""
    table = found.whole
    if not isinstance(table, Function):
        return f"no table over all rests: {safe(table.why)}"
    if found.formula.startswith("always"):
        return f"{found.formula} at rest{': what it gives are pulses' if found.gives_pulses else ''}"
    if found.formula:
        return f"on when {safe(found.formula)}"
    if found.restless:
        return "at some settings the machine does not come to rest"
    if table.open:
        some = len(table.open) < len(table.rows)
        share = f" in {len(table.open)} of {len(table.rows)} rows of inputs" if some else ""
        return f"remembered{share}: it depends on earlier inputs"
    return f"on in {len(table.on)} of {len(table.rows)} rows of {len(table.inputs)} inputs; no short formula"


def _loop_lines(loop: Loop, width: int) -> Iterator[Line]:
    names = ", ".join(safe(name) for name in loop.parts[:8]) + (" …" if len(loop.parts) > 8 else "")
    what = {LoopKind.LATCH: "a latch", LoopKind.CLOCK: "a ring clock", LoopKind.UNKNOWN: "a loop"}[loop.kind]
    period = f", period {show(loop.period)}" if loop.period else ""
    if loop.latch is not None and len(loop.parts) > 2:
        what = "a loop with a latch in it"
    yield from wrapped(f"{what}{period}: {names}", width, "  ", "    ")
    if loop.latch is not None:
        yield from _latch_lines(loop.latch, width)


def _latch_lines(latch: LatchFacts, width: int) -> Iterator[Line]:
    yield from wrapped(
        f"its sides are '{safe(latch.side)}' and '{safe(latch.inverse)}'; the two by themselves, found by trying:",
        width,
        "    ",
    )
    yield line("      set   reset   what becomes of it")
    for set_on, reset_on, result in latch.table:
        yield line(f"      {set_on:<5} {reset_on:<7} {result}")
    for what, by_hand, by_part in (
        ("set", latch.set_by_hand, latch.set_by_part),
        ("reset", latch.reset_by_hand, latch.reset_by_part),
    ):
        text = f"a {what} pulse latches from {_length(by_part)} out of a detector, from {_length(by_hand)} by hand"
        yield from wrapped(text, width, "      ")


def _length(length: int | None) -> str:
    return "no length that was tried" if length is None else show(length)


def _timing_lines(timings: Sequence[Timing], width: int) -> Iterator[Line]:
    if not timings:
        return
    heading = "From input to output: at least, at most, and how close changes may follow one another"
    yield from wrapped(heading, width, "", "  ", Style.STRONG)
    rows: dict[tuple[str, str], list[str]] = {}
    for timing in timings:
        most = "a loop lies between" if timing.span.slowest is None else f"at most {show(timing.span.slowest.lag)}"
        spacing = "" if timing.spacing is None else f"; follows changes {show(timing.spacing)} apart"
        key = (safe(timing.output), f"{show(timing.span.fastest.lag):>5}  {most}{spacing}")
        rows.setdefault(key, []).append(safe(timing.input))
    to_width = max(len(output) for output, _ in rows)
    for (output, text), inputs in list(rows.items())[:MOST_TIMINGS_SHOWN]:
        yield from wrapped(f"{output:<{to_width}}  {text}; from {', '.join(inputs)}", width, "  ", " " * (to_width + 4))
    if len(rows) > MOST_TIMINGS_SHOWN:
        yield line(f"  … {len(rows) - MOST_TIMINGS_SHOWN} further rows")


# Mistakes


def diagnosis_lines(found: Diagnosis, why_calls: Sequence[str], width: int) -> Iterator[Line]:
    """The mistakes that fit what was seen, likeliest first, and the next thing to look at.

    `why_calls` are the calls that say why the design is so, where it looks as what was seen.
    """
    if found.sound:
        yield from _as_designed(why_calls, width)
    tried = f"{found.tried} single mistakes tried{'' if found.complete else ', and there are more'}"
    if found.unfollowed:
        tried += f"; {found.unfollowed} of them not computed, because open orders lead too far"
    if not found.fitting:
        look = "" if found.sound else " Look for two, or look again."
        yield from wrapped(f"No single mistake fits what was seen ({tried}).{look}", width, "")
        return
    count = f"{len(found.fitting)} single mistake{'s' if len(found.fitting) > 1 else ''}"
    fits = "would not show in it" if found.sound else "fit" if len(found.fitting) > 1 else "fits"
    heading = f"{count} {fits} ({tried})"
    if len(found.fitting) > 1:
        heading += "; likeliest first, as this program's author judges it (common practice, no source)"
    yield from wrapped(heading, width, "", "  ", Style.STRONG)
    for number, mistake in enumerate(found.fitting[:MOST_TOLD], 1):
        yield from wrapped(safe(mistake.words), width, f"  {number:>2}  ", "      ")
    if len(found.fitting) > MOST_TOLD:
        yield line(f"      … and {len(found.fitting) - MOST_TOLD} less likely ones")
    if found.question is not None:
        asked = found.question
        numbers = {mistake.words: number for number, mistake in enumerate(found.fitting, 1)}
        on, off = (", ".join(str(numbers[words]) for words in group) for group in (asked.if_on, asked.if_off))
        yield line()
        is_off = "is off, or not there" if asked.may_be_missing else "is off"
        text = f"Look next at {_name(asked.signal)} at {show(asked.at)}: if it is on, {on}; if it {is_off}, {off}."
        yield from wrapped(text, width, "")


def _as_designed(why_calls: Sequence[str], width: int) -> Iterator[Line]:
    text = (
        "The machine as it is written looks just so: the build may be right. If this is not what you want, the mistake "
        "is in the design."
    )
    yield from wrapped(text, width, "", style=Style.STRONG)
    yield line("Ask next why the design does this:")
    for call in why_calls[:MOST_CALLS_SHOWN]:
        yield line("    ", safe(call))  # in one line, so that it can be copied
    yield line()


# Comparison


def comparison_lines(found: Comparison, files: tuple[str, str], width: int) -> Iterator[Line]:
    """How two circuits compare."""
    if found.identical:
        text = (
            "they are the same circuit: the same parts, wired alike under the same rules, so no run can tell them apart"
        )
        yield from wrapped(text, width, "  ", "    ", Style.GOOD)
        yield line()
        if found.costs is not None:
            yield from _cost_lines(found.costs, files)
        return
    for difference in found.functions:
        row = ", ".join(f"{safe(name)} {'on' if on else 'off'}" for name, on in difference.row) or "no inputs"
        text = (
            f"'{safe(difference.output)}' differs, once settled: with {row} "
            f"it is {difference.first} in the first, {difference.second} in the second"
        )
        yield from wrapped(text, width, "  ", "    ", Style.BAD)
    if not found.functions:
        text = "once settled, their outputs are the same for every row of inputs that was computed"
        yield from wrapped(text, width, "  ", "    ")
    for text in found.unfilled:
        yield from wrapped(safe(text), width, "    ", "      ")
    reaction = found.reaction
    if found.unfollowed:
        text = (
            f"{found.unfollowed} of {found.series} series of actions were not followed to their end, "
            f"because {found.why_unfollowed}"
        )
        yield from wrapped(text, width, "  ", "    ", Style.DOUBT)
    if reaction is None and found.unfollowed < found.series:
        text = "to the series of actions that both were put through, they reacted alike, gt for gt"
        yield from wrapped(text, width, "  ", "    ")
    elif reaction is not None:
        done = (
            ", ".join(f"{safe(name)} {verb} at {show(at)}" for at, name, verb in reaction.actions[-6:])
            or "nothing done"
        )
        text = (
            f"they first react differently at {show(reaction.at)}: '{safe(reaction.output)}' is "
            f"at {_levels(reaction.first)} in the first, at {_levels(reaction.second)} in the second, after {done}"
        )
        yield from wrapped(text, width, "  ", "    ", Style.BAD)
    if found.costs is not None:
        yield line()
        yield from _cost_lines(found.costs, files)


def _levels(levels: Sequence[int]) -> str:
    """The levels that a signal may have; more than one where an order or a start is open."""
    return " or ".join(map(str, levels))


def _cost_lines(costs: tuple[Cost, Cost], files: tuple[str, str]) -> Iterator[Line]:
    longest = max(len(safe(file)) for file in files)
    yield line(f"  {'':<{longest}}  {'parts':>6}  {'dust':>6}  slowest path")
    for file, cost in zip(files, costs, strict=True):
        loops = "some paths through a loop" if cost.looped else ""
        slowest = ", ".join(filter(None, [show(cost.slowest) if cost.slowest is not None else "", loops])) or "no path"
        yield line(f"  {safe(file):<{longest}}  {cost.parts:>6}  {cost.dust:>6}  {slowest}")
