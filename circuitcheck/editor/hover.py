"""What is said of a name when an editor points at it: what it is, how late it is, and what it computes."""

from __future__ import annotations

from collections.abc import Iterator

from circuitcheck.chance.light.budget import COLUMNS, budgets
from circuitcheck.diagnostics import article
from circuitcheck.editor.analysis import Analysis
from circuitcheck.engine.program import Program
from circuitcheck.explain.function import Function, TooLarge, formula, function
from circuitcheck.explain.moving_function import moves, moving_function
from circuitcheck.language.mentions import DEFINITION, PART, PLACE, Key, Mention
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Study
from circuitcheck.model.duration import show
from circuitcheck.model.parts import KINDS

MOST_PARTS = 2_000
"""In circuits larger than this no function is computed while someone waits."""
SOON = 100_000
"""How much work is done for the function of a machine that moves while someone waits (`engine.work`)."""


def hover(analysis: Analysis, mention: Mention) -> list[str]:
    """What there is to say of a name, line by line."""
    key = mention.key
    if key.space == DEFINITION:
        return list(_definition(analysis, key.name))
    declared = next(iter(analysis.declarations(key)), None)
    what = declared.what if declared is not None else ""
    if key.space == PLACE:
        return [f"{key.name}: a place", *_light(analysis, key)]
    if key.space != PART:
        return [f"{key.name}: {article(what or 'given value')}"]
    return list(_part(analysis, mention, what))


def _light(analysis: Analysis, key: Key) -> Iterator[str]:
    """The light at a place, by day and at night, for each state of the parts that it depends on."""
    study = _study(analysis, key)
    found = () if study is None else budgets(study.circuit)
    for setup in (setup for each in found if each.place.name == key.name for setup in each.setups):
        lights = dict(zip((name for name, _ in COLUMNS), setup.light, strict=True))
        when = " and ".join(f"{part} is {'on' if on else 'off'}" for part, on in setup.parts)
        yield f"light {lights['day']} by day, {lights['night']} at night{f' while {when}' if when else ''}"


def _definition(analysis: Analysis, name: str) -> Iterator[str]:
    definition = analysis.definitions.get(name)
    if definition is None:
        yield f"{name}: not defined here"
        return
    yield f"{name}: a definition"
    yield f"ports: {', '.join(port.text for port in definition.ports)}"
    if definition.parameters:
        yield f"values: {', '.join(f'{each.name.text} {each.amount.text}' for each in definition.parameters)}"
    yield f"gives: {', '.join(word.text for word in definition.gives)}"


def _part(analysis: Analysis, mention: Mention, what: str) -> Iterator[str]:
    study = _study(analysis, mention.key)
    name = mention.whole if mention.key.name == mention.whole.partition(".")[0] else mention.key.name
    kind = KINDS.get(what)
    yield f"{name}: {article(what)}" if what and not what.startswith("an ") else f"{name}: {what or 'a name'}"
    if kind is not None:
        yield kind.summary
    if study is None:
        return
    circuit = study.circuit
    with_values = f" (in {study.label})" if "," in study.label else ""
    names = list(dict.fromkeys(each for each in circuit.signals if each == name or _is_in_row(each, name)))
    parts = [circuit.by_name[each] for each in names if each in circuit.by_name]
    if parts and parts[0].late and (kind is None or any(each.late for each in kind.samples)):
        least, most = parts[0].lag, parts[0].late
        delay = show(least) if least == most else f"{show(least)} to {show(most)}"
        yield f"delay: {delay}{with_values}"
    if len(names) == 1 and what != "port" and not (kind is not None and kind.is_input):
        yield from (f"{row}{with_values}" for row in _function(circuit, names[0]))


def _study(analysis: Analysis, key: Key) -> Study | None:
    """The circuit that a name belongs to: the file's own, or a definition standing alone, under its usual values."""
    for study in analysis.sound.studies:
        # A definition's studies are labelled with its name, and with its values where there are several of them.
        if study.label.partition(",")[0] == key.definition:
            return study
    return None


def _is_in_row(each: str, name: str) -> bool:
    head, _, number = each.rpartition(".")
    return name.endswith(".*") and head == name.removesuffix(".*") and number.isdecimal()


def _settled(program: Program, signal: str) -> Function | TooLarge:
    """What a settled signal computes; of a machine that moves over all its rests, as far as they are soon found."""
    if not moves(program):
        return function(program, signal)
    found = moving_function(program, signal, (signal,), detailed=False, most=SOON)
    return found if isinstance(found, TooLarge) else found.whole


def _function(circuit: Circuit, name: str) -> Iterator[str]:
    if len(circuit.parts) > MOST_PARTS:
        return
    source = circuit.signal(name)
    found = None if source is None else _settled(Program(circuit), source)
    if isinstance(found, TooLarge):
        yield f"settled: not computed ({found.why})"
    elif found is not None and found.open:
        yield "settled: it remembers; its inputs alone do not decide it"
    elif found is not None:
        text = formula(found)
        yield f"settled: {text}" if text else f"settled: on in {len(found.on)} of {len(found.rows)} rows of its table"
