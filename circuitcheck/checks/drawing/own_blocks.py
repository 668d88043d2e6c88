"""Drawn pistons that arm themselves again through their own block, seen as the detectors of a text that do (rule M12).

At home such a piston looks like any stuck one. What its block does shows in the wirings of its stroke: what is cut
while the block is on its way goes through the block's home, and what is joined once it has landed goes through its out
place. So one piston becomes the three parts that its text has: what its block gives, the piston, and the line through
the block's home. A piston of which more than that changes stays as it is.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from circuitcheck.checks.drawing.wiring_graph import Inputs, Wiring, label
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, Drawing
from circuitcheck.model.making import Options, made
from circuitcheck.model.parts.base import Part
from circuitcheck.space import wirings as space
from circuitcheck.space.configuration import AT_HOME, Stroke
from circuitcheck.space.strokes import Step, Strokes

Port = tuple[str, str]
"""A device and the name of a port of it."""


class Cut(NamedTuple):
    """What a stroke out does to wiring."""

    lost: dict[Port, frozenset[str]]
    """What a port does not read any more from the start on."""
    joined: dict[Port, frozenset[str]]
    """What a port reads from the landing on."""
    heard: frozenset[str]
    """What the piston hears on its way out, when nothing comes through its block."""
    heard_by_head: frozenset[str]
    """What it hears besides once its head has landed."""


def with_own_blocks(drawn: Circuit, graph: Wiring, shown: frozenset[str]) -> Wiring:
    """The wiring graph of a drawn circuit, each piston that arms itself again as the parts that its text would have."""
    drawing = drawn.drawing
    if drawing is None or not drawn.rules.power_above_piston:
        return graph
    strokes, wirings = Strokes(drawing, drawn.rules), space.Wirings(drawing, drawn.rules, shown)
    for piston in strokes.pistons:
        part = drawn.by_name.get(drawing.name(piston))
        if part is not None and part.stuck and "sticky" in drawing.things[piston].flags:
            cut = _cut(strokes, wirings, drawing, piston)
            graph = graph if cut is None else _rewired(graph, part.name, cut)
    return graph


def _cut(strokes: Strokes, wirings: space.Wirings, drawing: Drawing, piston: At) -> Cut | None:
    """What the stroke of a piston that moves one block does; None if it is no such stroke, or does more."""
    step = strokes.start_out(AT_HOME, piston)
    if not isinstance(step, Step) or [drawing.things[home].word for home, _ in step.after.places] != ["block"]:
        return None
    going = wirings.wiring(step.after)
    out = wirings.wiring(strokes.land(step.after, Stroke(piston, True)).after)
    if isinstance(going, space.TooMany) or isinstance(out, space.TooMany):
        return None
    name, home = drawing.name(piston), wirings.home
    lost, joined = _differing(home, going), _differing(out, going)
    if _differing(going, home) or _differing(going, out):
        return None
    hears = [_heard(wiring.of(name)) for wiring in (going, out)]
    if hears[0] is None or hears[1] is None:
        return None
    return Cut(lost, joined, hears[0], hears[1] - hears[0])


def _differing(before: space.Wiring, after: space.Wiring) -> dict[Port, frozenset[str]]:
    """What each port reads before, and not after."""
    found: dict[Port, frozenset[str]] = {}
    for device in {*before.changed, *after.changed}:
        left = {port: {source for source, _ in drivers} for port, drivers in after.of(device).ports}
        for port, drivers in before.of(device).ports:
            gone = frozenset(source for source, _ in drivers) - left.get(port, set())
            if gone:
                found[device, port] = gone
    return found


def _heard(inputs: space.Inputs) -> frozenset[str] | None:
    """The devices that a piston hears; None if it hears several as one."""
    if any(len(drivers) > 1 for drivers in inputs.hears):
        return None
    return frozenset(source for drivers in inputs.hears for source, _ in drivers)


def _rewired(graph: Wiring, piston: str, cut: Cut) -> Wiring:
    """The graph with one piston as the parts that its text would have; as it is, if it does not arm itself again."""
    arms = [source for port, source in graph.inputs[piston] if port == "arming"]
    arming = {frozenset(sources) for sources in cut.lost.values()}
    if len(arming) != 1 or len(arms) != 1 or any(reader == piston for reader, _ in cut.joined):
        return graph
    (through,) = arming
    delay = 0 if (piston, "above") in cut.lost else _delay(graph, arms[0], cut)
    joined = frozenset().union(*cut.joined.values())
    others = cut.heard_by_head - {arms[0]} - cut.heard
    if delay is None or not all(_always_on(graph, each) for each in (*joined, *others)):
        return graph
    flags = set()
    if delay and arms[0] in cut.heard:
        flags.add("hears_itself")
    elif delay and arms[0] in cut.heard_by_head and delay > 2:
        flags.add("head_hears")
    hears = cut.heard - {arms[0]} if delay else cut.heard
    sources = {"arming": tuple(sorted(through)), "hears": tuple(sorted(hears))}
    parts = made("detector", piston, Options(sources=sources, numbers={"own_block": delay}, flags=frozenset(flags)))
    return _pruned(_put(graph, piston, cut, parts, arms[0] if delay else f"{piston}.line"), joined)


def _delay(graph: Wiring, repeater: str, cut: Cut) -> int | None:
    """The delay of what stands between the block and the place above, if that is one repeater."""
    word, told, *_ = graph.labels[repeater]
    inputs = {port for port, _ in graph.inputs[repeater]}
    if word != "repeater" or inputs != {"back"} or (repeater, "back") not in cut.lost:
        return None
    assert isinstance(told, tuple)
    delay = dict(told)["delay"]
    return delay if isinstance(delay, int) else None


def _always_on(graph: Wiring, name: str) -> bool:
    """Whether something is on whatever happens: a torch that nothing powers, or a repeater that only such feed."""
    word, inputs = graph.labels[name][0], graph.inputs[name]
    if word == "torch":
        return not inputs
    return (
        word == "repeater"
        and {port for port, _ in inputs} == {"back"}
        and all(_always_on(graph, source) for _, source in inputs if source != name)
    )


def _put(graph: Wiring, piston: str, cut: Cut, parts: tuple[Part, ...], above: str) -> Wiring:
    """The graph with parts in place of a piston: what is cut reads the line, what is joined reads the block."""
    inputs = {name: dict(each) for name, each in graph.inputs.items() if name != piston}
    labels = {name: each for name, each in graph.labels.items() if name != piston}
    for sources, instead in ((cut.lost, f"{piston}.line"), (cut.joined, piston)):
        for (reader, port), gone in sources.items():
            if reader != piston:
                read = inputs[reader]
                inputs[reader] = {key: lost for key, lost in read.items() if key[0] != port or key[1] not in gone}
                inputs[reader][port, instead] = (0,)
    for part in parts:
        if part.name != f"{piston}.above":
            labels[part.name] = label(part, False)
            inputs[part.name] = dict(_read(part, f"{piston}.above", above))
    return Wiring(labels, inputs)


def _read(part: Part, name: str, instead: str) -> Iterator[tuple[Port, tuple[int, ...]]]:
    """What a part reads, with one name instead of another."""
    for port in part.ports():
        for source in port.sources:
            yield (port.name, instead if source == name else source), (0,)


def _pruned(graph: Wiring, joined: frozenset[str]) -> Wiring:
    """The graph without what is always on and was only there to be joined."""
    labels, inputs, waiting = dict(graph.labels), dict[str, Inputs](graph.inputs), sorted(joined)
    while waiting:
        name = waiting.pop()
        if name in labels and not any(source == name for each in inputs.values() for _, source in each):
            waiting += [source for _, source in inputs[name]]
            del labels[name], inputs[name]
    return Wiring(labels, inputs)
