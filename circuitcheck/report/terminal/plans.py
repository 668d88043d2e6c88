"""Plans for people: footprint, what to bring, the order of building, checkpoints, what is heard, and copies."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import Any

from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, Drawing, Thing, said
from circuitcheck.plans.building import Built, Checkpoint
from circuitcheck.plans.changes import Changed
from circuitcheck.plans.hearing import Listener
from circuitcheck.plans.hearing_as_moved import AsMoved, Otherwise
from circuitcheck.plans.staging import Stage, bill, turn_of
from circuitcheck.plans.tiling import Meddling, Offset
from circuitcheck.report.lines import Line, Piece, Style, line, quoted, safe, wrapped
from circuitcheck.report.sheet import described, numbered, sheet_lines

MOST_NAMED = 12


def footprint(drawing: Drawing) -> str:
    """How large a build is."""
    layers, rows, columns = drawing.size
    return f"{columns} wide (west to east), {rows} deep (north to south), {layers} high; {len(drawing.things):,} things"


def plan_lines(circuit: Circuit, drawing: Drawing, built: Built, width: int) -> Iterator[Line]:
    """The whole plan: a stage a layer, with its sheet, what to bring, and what must be lit after it."""
    yield from wrapped(safe(circuit.title or circuit.name), width, "", style=Style.STRONG)
    yield from wrapped(footprint(drawing), width, "  ")
    everything = bill(drawing, tuple(drawing.things))
    yield from wrapped(f"bring in all: {_listed(everything)}", width, "  ", "    ")
    yield from wrapped(
        "place things of one kind row by row from the north, in a row from the west", width, "  ", "    "
    )
    yield line()
    for checkpoint in built.checkpoints:
        yield from _stage(drawing, checkpoint, built, width)
    yield from early_lines(built, width)


def _stage(drawing: Drawing, checkpoint: Checkpoint, built: Built, width: int) -> Iterator[Line]:
    stage = checkpoint.stage
    yield from sheet_lines(drawing, stage.layer, width)
    for words in drawing.words.get(stage.layer, ()):
        yield from wrapped(safe(f"“{words}”"), width, "  ", "   ")
    for words, style in stage_words(drawing, checkpoint, built):
        yield from wrapped(safe(words), width, "  ", "    ", style)
    yield line()


def stage_words(drawing: Drawing, checkpoint: Checkpoint, built: Built) -> Iterator[tuple[str, Style]]:
    """What to bring for a stage, in which order things are placed, and what must be lit after it."""
    stage = checkpoint.stage
    yield f"bring: {_listed(bill(drawing, stage.places))}", Style.PLAIN
    groups = _groups(drawing, stage)
    if len(groups) > 1:
        yield f"in this order: {'; '.join(groups)}", Style.PLAIN
    hanging = [place for place in built.helpers if place in stage.places]
    if hanging:
        where = _where(sorted(hanging), stage.layer)
        yield (
            f"with a helper block, taken away again, as they have no side to be placed against (W1): {where}",
            Style.DOUBT,
        )
    others = [place for place in stage.places if place[0] != stage.layer]
    if others:
        where = "; ".join(f"'{drawing.name(place)}', {said(place)}" for place in others[:MOST_NAMED])
        yield f"now also what this layer holds, or gives a side to: {where}", Style.PLAIN
    # Of more ways than were followed nothing is sure.
    must = "may well" if built.cut else "must"
    pistons = {drawing.name(at) for at, thing in drawing.things.items() if thing.pushes}
    for lit, out, names in (
        (f"this {must} light", f"this {must} be out", checkpoint.lit),
        (f"this {must} be dark", f"this {must} be home", checkpoint.dark),
        ("this may be either", "this may be out or home", checkpoint.either),
    ):
        for words, among in ((lit, set(names) - pistons), (out, set(names) & pistons)):
            if among:
                yield f"{words}: {_names([name for name in names if name in among])}", Style.PLAIN
    if not checkpoint.looked_at:
        yield "what must light here was not simulated: the build is too large", Style.DOUBT
    if checkpoint.restless:
        yield "it does not come to rest, as a clock does not", Style.DOUBT


def early_lines(built: Built, width: int) -> Iterator[Line]:
    """What must not be placed early, and whether latches stand as they are to at the end."""
    if built.coarse:
        text = "too large to be simulated after each thing placed: what must not be placed early was not looked for"
        yield from wrapped(text, width, "  ", style=Style.DOUBT)
    yield from _placing_lines(built, width)
    for early in built.early:
        text = f"not early: '{early.name}' at {said(early.place)} would throw over '{early.upsets}'; {early.hint}"
        yield from wrapped(safe(text), width, "  ", "    ", Style.BAD)
    if built.cut:
        text = "orders that nothing decides lead to more traces than were followed: the stages may lack some findings"
        yield from wrapped(text, width, "  ", style=Style.DOUBT)
    if built.astray:
        names = _names(built.astray)
        text = f"once all is built, these need not stand as they start: {names}; work the inputs until they do"
        yield from wrapped(safe(text), width, "  ", "    ", Style.DOUBT)
    elif built.compared:
        yield from wrapped("once all is built in this order, everything stands as it starts", width, "  ")


def _placing_lines(built: Built, width: int) -> Iterator[Line]:
    """What can't be placed, or not be worked by hand, as it stands."""
    for places, words in (
        (built.shut_in, "no hand comes to it when its turn comes: place it before what shuts it in (W1)"),
        (built.out_of_reach, "it is worked by hand, and no hand comes to it from outside (W1)"),
    ):
        if places:
            more = f" and {len(places) - MOST_NAMED} more" if len(places) > MOST_NAMED else ""
            where = "; ".join(map(said, places[:MOST_NAMED]))
            yield from wrapped(f"{words}: {where}{more}", width, "  ", "    ", Style.DOUBT)


def _groups(drawing: Drawing, stage: Stage) -> list[str]:
    """What is placed one after the other, alike things together, in the order in which a sheet is read.

    Torches are named, as their order can matter; where some things of a kind come before others, it is said where.
    """
    groups: list[list[At]] = []
    for _, alike in groupby(stage.places, key=lambda at: (drawing.things[at].called, turn_of(drawing.things[at]))):
        groups.append([])
        for place in alike:
            if groups[-1] and place < groups[-1][-1]:
                groups.append([])
            groups[-1].append(place)
    kinds = [drawing.things[group[0]].called for group in groups]
    found = []
    for number, (kind, group) in enumerate(zip(kinds, groups, strict=True)):
        words = numbered(len(group), kind)
        if drawing.things[group[0]].is_inverter:
            words += f" ({', '.join(drawing.name(at) for at in group)})"
        elif kind in kinds[number + 1 :]:
            words += f" ({_where(group, stage.layer)})"
        elif kind in kinds[:number]:
            words = f"the other {words.removeprefix('1 ')}"
        found.append(words)
    return found


def _where(places: Sequence[At], layer: int) -> str:
    """Places by row, in the order in which a sheet is read: "row 3 columns 4 to 6, row 4 column 2"."""
    rows = []
    for (in_layer, row), several in groupby(places, key=lambda at: at[:2]):
        columns = [column for _, _, column in several]
        # Numbers that follow one another are as far from their turn as each other.
        spans = [list(span) for _, span in groupby(columns, key=lambda column: column - columns.index(column))]
        told = " and ".join(str(span[0]) if len(span) == 1 else f"{span[0]} to {span[-1]}" for span in spans)
        above = "" if in_layer == layer else f"layer {in_layer} "
        rows.append(f"{above}row {row} column{'s' if len(columns) > 1 else ''} {told}")
    return ", ".join(rows)


def _names(names: Sequence[str]) -> str:
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return ", ".join(f"'{name}'" for name in names[:MOST_NAMED]) + more


def _listed(counted: dict[str, int]) -> str:
    return ", ".join(numbered(count, thing) for thing, count in counted.items()) or "nothing"


def change_lines(changes: Sequence[Changed], width: int) -> Iterator[Line]:
    """What changed between two versions."""
    if not changes:
        yield line("  nothing changed in the drawing")
    for change in changes:
        now, before = _thing(change.after), _thing(change.before)
        text = f"{said(change.place)}: {now} instead of {before}"
        yield from wrapped(safe(text), width, "  ", "    ")


def _thing(thing: Thing | None) -> str:
    return "air" if thing is None else described(thing)


def listener_lines(listeners: Iterable[Listener], width: int) -> Iterator[Line]:
    """What each detector and piston hears."""
    for listener in listeners:
        kind = "stuck piston" if listener.stuck else listener.word
        yield from wrapped(safe(f"{kind} '{listener.name}', {said(listener.place)}"), width, "", "  ", Style.STRONG)
        if not listener.heard:
            yield line(Piece("  hears nothing: what it stands at never changes", Style.DOUBT))
        for heard in listener.heard:
            mark, style = {True: ("meant", Style.GOOD), False: ("NOT meant", Style.BAD), None: ("heard", Style.PLAIN)}[
                heard.wanted
            ]
            rows = wrapped(safe(f"'{heard.what}', {said(heard.place)} ({heard.why})"), width - 13, "", " " * 13)
            for number, row in enumerate(rows):
                yield line("  ", Piece(f"{mark:<11}", style), *row) if number == 0 else row
        yield line()


def as_moved_lines(found: AsMoved | None, width: int) -> Iterator[Line]:
    """What is heard otherwise than at home, by configuration."""
    if found is None:
        return
    for each in (*found.otherwise, *found.otherwise_on_the_way):
        yield from _otherwise_lines(each, width)
    if found.ended:
        text = f"configurations in which it rests: {found.configurations} looked at, not all ({found.ended})"
        yield from wrapped(safe(text), width, "", "  ", Style.DOUBT)
    else:
        others = (
            "in all of them all is heard as above" if not found.otherwise else "but for these, all is heard as above"
        )
        count = "1 configuration" if found.configurations == 1 else f"{found.configurations} configurations"
        yield from wrapped(f"it rests in {count}: {others}", width, "", "  ")
    if found.on_the_way:
        moving = "strokes are under way in 1 configuration"
        if found.on_the_way > 1:
            moving = f"strokes are under way in {found.on_the_way} configurations"
        others = "but for these, all is heard as at rest" if found.otherwise_on_the_way else "all is heard as at rest"
        yield from wrapped(f"{moving} on the way: {others}", width, "", "  ")


def _otherwise_lines(each: Otherwise, width: int) -> Iterator[Line]:
    """What one listener hears otherwise in some configurations."""
    state = f", then at {said(each.place)}" if (each.listener, each.place) in each.moved else ""
    if each.listener in each.out:
        state = ", itself out"
    yield from wrapped(safe(f"'{each.listener}'{state}: {_when(each)}"), width, "", "  ", Style.STRONG)
    for mark, style, changing in (("hears too", Style.DOUBT, each.more), ("hears not", Style.DOUBT, each.fewer)):
        for name, at in changing:
            rows = wrapped(safe(f"'{name}', {said(at)}"), width - 13, "", " " * 13)
            for number, row in enumerate(rows):
                yield line("  ", Piece(f"{mark:<11}", style), *row) if number == 0 else row
    yield line()


def _when(each: Otherwise) -> str:
    """The configurations meant: what is not at home in the first, or moves there, and how many there are."""
    ways = [(name, "out") for name in each.going_out] + [(name, "home") for name in each.going_home]
    if ways:
        first = "while " + " and ".join(f"'{name}' moves {way}" for name, way in ways[:MOST_NAMED])
        return first if each.configurations == 1 else f"in {each.configurations} configurations, first {first}"
    out = ", ".join(f"'{name}'" for name in each.out[:MOST_NAMED])
    away = ", ".join(f"{quoted(name)} at {said(at)}" for name, at in each.moved[:MOST_NAMED])
    first = f"with {out} out" if out else f"with {away}"
    return first if each.configurations == 1 else f"in {each.configurations} configurations, first {first}"


def as_moved_data(found: AsMoved | None) -> dict[str, Any]:
    """The same as data; nothing where nothing moves."""
    if found is None:
        return {}
    under_way = [
        {**_otherwise_data(each), "going_out": list(each.going_out), "going_home": list(each.going_home)}
        for each in found.otherwise_on_the_way
    ]
    return {
        "configurations": {
            "reached": found.configurations,
            "ended": found.ended,
            "otherwise": [_otherwise_data(each) for each in found.otherwise],
            "under_way": {"reached": found.on_the_way, "otherwise": under_way},
        }
    }


def _otherwise_data(each: Otherwise) -> dict[str, Any]:
    return {
        "listener": each.listener,
        "at": list(each.place),
        "more": [{"what": name, "at": list(at)} for name, at in each.more],
        "fewer": [{"what": name, "at": list(at)} for name, at in each.fewer],
        "configurations": each.configurations,
        "out": list(each.out),
        "moved": [{"what": name, "at": list(at)} for name, at in each.moved],
    }


def tiling_lines(offset: Offset, found: Sequence[Meddling], nearest: Offset | None, width: int) -> Iterator[Line]:
    """Whether a copy may stand at an offset, and why not."""
    where = offset_words(offset)
    if not found:
        yield from wrapped(f"yes: a copy {where} changes nothing in either", width, "  ", style=Style.GOOD)
        return
    yield from wrapped(f"no: a copy {where} does this:", width, "  ", style=Style.BAD)
    for each in found[:MOST_NAMED]:
        yield from wrapped(safe(f"{each.kind}: {each.words}"), width, "    ", "      ")
    if len(found) > MOST_NAMED:
        yield line(f"    and {len(found) - MOST_NAMED} more")
    if nearest is not None:
        yield from wrapped(f"the nearest further on that changes nothing: {offset_words(nearest)}", width, "  ")
    else:
        yield from wrapped("further on none was found that leaves both alone", width, "  ")


def offset_words(offset: Offset) -> str:
    """How a copy stands to its original."""
    ways = (("layer", "up", offset.layers), ("row", "south", offset.rows), ("column", "east", offset.columns))
    moved = ", ".join(f"{number} {what}{'s' if number > 1 else ''} {way}" for what, way, number in ways if number)
    return f"{'mirrored, ' if offset.mirrored else ''}{moved}"


# For machines


def plan_data(circuit: Circuit, drawing: Drawing, built: Built) -> dict[str, Any]:
    """The plan as data."""
    return {
        "circuit": circuit.name,
        "size": list(drawing.size),
        "bring": bill(drawing, tuple(drawing.things)),
        "stages": [_stage_data(drawing, each) for each in built.checkpoints],
        "early": [{"part": e.name, "at": list(e.place), "upsets": e.upsets, "mend": e.hint} for e in built.early],
        "order": [list(place) for place in built.order],
        "coarse": built.coarse,
        "cut": built.cut,
        "astray": list(built.astray),
        "compared": built.compared,
        "helpers": [list(place) for place in built.helpers],
        "shut_in": [list(place) for place in built.shut_in],
        "out_of_reach": [list(place) for place in built.out_of_reach],
    }


def _stage_data(drawing: Drawing, checkpoint: Checkpoint) -> dict[str, Any]:
    stage = checkpoint.stage
    return {
        "layer": stage.layer,
        "words": list(drawing.words.get(stage.layer, ())),
        "bring": bill(drawing, stage.places),
        "places": [list(place) for place in stage.places],
        "lit": list(checkpoint.lit),
        "dark": list(checkpoint.dark),
        "either": list(checkpoint.either),
        "restless": checkpoint.restless,
        "looked_at": checkpoint.looked_at,
    }


def change_data(change: Changed) -> dict[str, Any]:
    """One place that changed, as data."""
    return {"at": list(change.place), "before": _thing(change.before), "after": _thing(change.after)}


def listener_data(listener: Listener) -> dict[str, Any]:
    """What one detector or piston hears, as data."""
    heard = [{"what": h.what, "at": list(h.place), "why": h.why, "meant": h.wanted} for h in listener.heard]
    at: At = listener.place
    return {"name": listener.name, "at": list(at), "kind": listener.word, "stuck": listener.stuck, "heard": heard}
