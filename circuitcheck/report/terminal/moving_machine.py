"""What an output computes in a machine that moves: over all rests, in each configuration, and what leads where."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from circuitcheck.explain.cause import sentence
from circuitcheck.explain.function import Function
from circuitcheck.explain.moving_function import HurriedRest, MovingFunction, RestingConfiguration, Switch
from circuitcheck.model.drawing import At, said
from circuitcheck.model.duration import show
from circuitcheck.report.lines import Line, Piece, Style, line, quoted, safe, wrapped
from circuitcheck.report.terminal.explained import SENTENCES, path_lines, turn_lines, whole_words

MOST_ROWS = 16
"""How many rows of a table are shown."""
MOST_SHOWN = 8
"""How many configurations, switches and paths are shown; how many there are besides is said."""
MOST_NAMES = 4


def moving_lines(found: MovingFunction, width: int, only: Sequence[str] = ()) -> Iterator[Line]:
    """All that was found of one output; how it stands to inputs of some inputs only, where these are named."""
    output = safe(found.output)
    rests = f"{found.rests} {'rest' if found.rests == 1 else 'rests'} in {_counted(len(found.configurations))}"
    title = f"'{output}' once settled, over every rest that single changes lead to ({rests})"
    yield from wrapped(title, width, "", "  ", Style.STRONG)
    yield from wrapped(whole_words(found), width, "  ", "    ")
    yield from _table(found)
    for name, relation in found.relations:
        if only and name not in only:
            continue
        names = {"output": f"'{output}'", "input": f"'{safe(name)}'"}
        yield from wrapped(SENTENCES[relation].format(**names), width, "  ", "    ")
    if found.inverse:
        text = f"At every rest '{output}' is the inverse of {_names(found.inverse)}."
        yield from wrapped(text, width, "  ", "    ")
    yield line()
    yield _heading("Where blocks are when it rests, and what the output is in that wiring")
    for each in found.configurations[:MOST_SHOWN]:
        yield from _configuration(found, each, width, only)
    yield from _left(len(found.configurations), "configuration")
    yield line()
    yield _heading("What a change at rest leads to")
    if not found.switches:
        yield line("  no change moves anything, or changes the output")
    for switch in found.switches[:MOST_SHOWN]:
        yield from _switch(found, switch, width)
    yield from _left(len(found.switches), "change")
    yield from _hurried(found, width)
    yield line()
    yield from turn_lines(found.turns, found.output, width)


def _heading(text: str) -> Line:
    return line(Piece(text, Style.STRONG))


def _counted(number: int) -> str:
    return f"{number} configuration{'' if number == 1 else 's'}"


def _left(number: int, what: str) -> Iterator[Line]:
    if number > MOST_SHOWN:
        more = number - MOST_SHOWN
        yield line(f"  … {more} further {what}{'' if more == 1 else 's'}")


def _names(names: Sequence[str]) -> str:
    """Names in a sentence; those of a row that follow each other by the first and the last of them."""
    groups: list[list[str]] = []
    for name in names:
        head, _, number = name.rpartition(".")
        before = groups[-1][-1] if groups else ""
        follows = number.isdecimal() and before == f"{head}.{int(number) - 1}"
        groups[-1].append(name) if follows else groups.append([name])
    shown = [f"'{safe(group[0])}' to '{safe(group[-1])}'" if len(group) > 2 else _listed(group) for group in groups]
    more = f" and {len(shown) - MOST_NAMES} more" if len(shown) > MOST_NAMES else ""
    return ", ".join(shown[:MOST_NAMES]) + more


def _listed(names: Sequence[str]) -> str:
    return ", ".join(f"'{safe(name)}'" for name in names)


def _table(found: MovingFunction) -> Iterator[Line]:
    """The table over all rests, a row for each setting of the inputs, with the configurations that it rests in."""
    table = found.whole
    if not isinstance(table, Function) or not table.inputs or len(table.rows) > MOST_ROWS:
        return
    heads = [*(safe(name) for name in table.inputs), safe(found.output), "configuration"]
    widths = [max(len(head), 3) for head in heads]
    yield line("    " + "  ".join(f"{head:<{wide}}" for head, wide in zip(heads, widths, strict=True)).rstrip())
    for row in table.rows:
        shown = ["on" if row >> bit & 1 else "off" for bit in range(len(table.inputs))]
        shown.append("?" if row in table.open else "on" if row in table.on else "off")
        shown.append(", ".join(str(each.number) for each in found.configurations if row in each.settings) or "no rest")
        yield line("    " + "  ".join(f"{cell:<{wide}}" for cell, wide in zip(shown, widths, strict=True)).rstrip())


def setting_words(inputs: Sequence[str], settings: frozenset[int]) -> str:
    """Settings of inputs in words, as far as they have inputs in common."""
    if not settings or not inputs:
        return ""
    common = [
        f"{safe(name)} is {'on' if next(iter(settings)) >> bit & 1 else 'off'}"
        for bit, name in enumerate(inputs)
        if len({row >> bit & 1 for row in settings}) == 1
    ]
    if len(settings) == 1 << (len(inputs) - len(common)):
        return " and ".join(common[: MOST_NAMES * 2])
    return f"in {len(settings)} of {1 << len(inputs)} settings of its inputs"


def where_words(out: Sequence[str], moved: Sequence[tuple[str, At]]) -> str:
    """What is not as it is drawn, in words."""
    parts = [f"{_names(out)} {'is' if len(out) == 1 else 'are'} out"] if out else []
    parts += [f"{safe(quoted(name))} is at {said(place)}" for name, place in moved[:MOST_NAMES]]
    if len(moved) > MOST_NAMES:
        parts.append(f"{len(moved) - MOST_NAMES} more things are moved")
    return ", ".join(parts) or "everything is where it is drawn"


def _configuration(
    found: MovingFunction, each: RestingConfiguration, width: int, only: Sequence[str]
) -> Iterator[Line]:
    setting = setting_words(found.inputs, each.settings)
    rests = "" if not setting else f"; it rests so {setting}" if setting.startswith("in") else f", while {setting}"
    yield from wrapped(f"{where_words(each.out, each.moved)}{rests}", width, f"  {each.number}  ", "     ")
    output, table = safe(found.output), each.table
    at_rest = " or ".join("on" if value else "off" for value in sorted(each.values))
    words = (
        f"not computed ({safe(table.why)}); at rest it is {at_rest}"
        if not isinstance(table, Function)
        else f"remembered in this wiring; at rest it is {at_rest}"
        if table.open
        else f"{each.formula} in this wiring"
        if each.formula.startswith("always")
        else f"on when {safe(each.formula)}"
        if each.formula
        else f"on in {len(table.on)} of {len(table.rows)} rows of {len(table.inputs)} inputs"
    )
    yield from wrapped(f"'{output}' is {words}", width, "     ", "       ")
    asked = [inversion for inversion in each.inversions if not only or inversion.input in only]
    for inversion in asked:
        if inversion.paths.paths:
            names = {"output": f"'{output}'", "input": f"'{safe(inversion.input)}'"}
            yield from wrapped(SENTENCES[inversion.relation].format(**names), width, "     ", "       ")
            for path in inversion.paths.paths[:2]:
                yield from path_lines(path, width, "       ")
    apart = [inversion.input for inversion in asked if not inversion.paths.paths]
    if apart:
        yield from wrapped(f"no path leads to it from {_names(apart)} in this wiring", width, "     ", "       ")


def _switch(found: MovingFunction, switch: Switch, width: int) -> Iterator[Line]:
    done = _action(switch.verb, switch.inputs)
    of_first = f" for '{safe(switch.inputs[0])}'" if len(switch.inputs) > 1 else ""
    by = f", by {_names(switch.pistons)}{of_first}" if switch.pistons else ""
    if switch.after is None:
        why = safe(switch.why) or "the machine does not come to rest"
        yield from wrapped(f"{done} in {switch.before}{by}: {why}", width, "  ", "    ")
        return
    leads = f"stays in {switch.before}" if switch.after == switch.before else f"{switch.before} to {switch.after}"
    output = f"'{safe(found.output)}'"
    goes = (
        f"{output} goes {'on' if switch.is_on else 'off'}"
        if switch.is_on is not switch.was_on
        else f"{output} is {'on' if switch.is_on else 'off'} again after {_times(switch.changes // 2)}"
        if switch.changes
        else f"{output} stays {'on' if switch.is_on else 'off'}"
    )
    yield from wrapped(f"{done}: {leads}{by}; {goes}", width, "  ", "    ")
    longest = max((len(safe(step.part)) for step in switch.steps), default=0)
    for step in switch.steps:
        text = f"{safe(step.part):<{longest}}  {safe(sentence(step))} ({step.rule})"
        yield from wrapped(text, width, f"    {show(step.at):>6}  ", " " * (14 + longest))


def _times(pulses: int) -> str:
    return "a pulse" if pulses == 1 else f"{pulses} pulses"


def _action(verb: str, names: Sequence[str]) -> str:
    if verb in ("press", "change"):
        return f"a {verb} of {_names(names)}"
    return f"{_names(names)} to another level" if verb == "is" else f"{_names(names)} {verb}"


def _hurried(found: MovingFunction, width: int) -> Iterator[Line]:
    yield line()
    yield _heading("Changes that follow each other before it rests")
    if found.hurried_ended:
        yield from wrapped(f"not all were tried: {safe(found.hurried_ended)}", width, "  ", "    ")
    elif not found.hurried and not found.ended:
        yield from wrapped("two that do, at any distance, leave the output as the table says", width, "  ", "    ")
    elif found.ended:
        yield line("  not tried")
    for each in found.hurried[:MOST_SHOWN]:
        yield from wrapped(_hurried_words(found, each), width, "  ", "    ")
    yield from _left(len(found.hurried), "such rest")


def _hurried_words(found: MovingFunction, each: HurriedRest) -> str:
    first, second = (_action(change.verb, [change.input]) for change in (each.by.first, each.by.second))
    setting = setting_words(found.inputs, frozenset({each.setting}))
    state = "on" if each.is_on else "off"
    while_ = f" while {setting}" if setting else ""
    where = where_words(each.out, each.moved)
    return f"{first}, and {second} {show(each.by.later)} later: '{safe(found.output)}' stays {state}{while_} ({where})"
