"""What a kind is asked of the drawings in which it stands, and what is no answer: held against what its parts say."""

from __future__ import annotations

from collections.abc import Iterator

from circuitcheck.diagnostics import NOWHERE
from circuitcheck.model.block_type import (
    BY_POWER,
    BlockType,
    Gives,
    Joins,
    Placed,
    Reads,
    Tells,
    Wiring,
    answer_types,
    unanswered,
)
from circuitcheck.model.directions import Facing
from circuitcheck.model.light import THINGS
from circuitcheck.model.parts.base import Conducts
from circuitcheck.model.parts.kinds import Kind, Takes

NEEDS_FACING = frozenset({Gives.FRONT, Tells.FRONT, Tells.STROKE, Joins.ENDS, Joins.FRONT})
NEEDS_FACING_TO_READ = frozenset({Reads.BEHIND, Reads.SIDES, Reads.LOCKS, Reads.WATCHED})
NEEDS_HOLD = frozenset({Gives.AROUND_AND_HOLDER, Tells.HOLDER})


def wrong_in_drawings(kind: Kind) -> Iterator[str]:
    """Everything that is wrong with what a kind says of drawings; it has a sample of each sort of part."""
    block_type = kind.block_type
    if block_type is None:
        return  # it can't be drawn
    if not isinstance(block_type, BlockType):
        yield "it leaves open what it is in a drawing ('block_type')"
        return
    left = [f"{question} ('{name}')" for name, question in unanswered(block_type).items()]
    if left:
        yield f"of drawings it leaves open {'; '.join(left)}"
        return
    mistyped = [name for name, sort in answer_types().items() if not isinstance(getattr(block_type, name), sort)]
    if mistyped:
        yield f"of drawings, '{mistyped[0]}' can't be {getattr(block_type, mistyped[0])!r}"
        return
    found = (*_wrong_place(block_type), *_wrong_beside_parts(kind, block_type), *_wrong_reads(kind, block_type))
    yield from (f"of drawings: {each}" for each in found)


def _wrong_place(block_type: BlockType) -> Iterator[str]:
    """What it says of how it stands, held against itself."""
    if block_type.light not in THINGS:
        yield f"light meets no '{block_type.light}' ('light')"
    if block_type.held and block_type.lies:
        yield "it lies on what is under it, and is held as well ('held', 'lies')"
    if (block_type.held or block_type.lies) and block_type.placed is Placed.BY_ITSELF:
        yield "it needs a hold, and does not stand by itself ('placed')"
    answers = {"gives": block_type.gives, "joins": block_type.joins, "tells": block_type.tells}
    for name, answer in answers.items():
        if answer in NEEDS_FACING and block_type.facing is Facing.NONE:
            yield f"it faces no way ('{name}', 'facing')"
        if answer in NEEDS_HOLD and not block_type.held:
            yield f"nothing holds it ('{name}', 'held')"


def _wrong_beside_parts(kind: Kind, block_type: BlockType) -> Iterator[str]:
    """What it says of drawings, held against what its parts say."""
    first = kind.samples[0]
    if block_type.word != kind.word:
        yield f"it is called '{block_type.word}' there"
    if first.behaves is not (block_type.wiring is Wiring.PART):
        yield "a part with a state of its own is one in drawings too ('wiring', 'behaves')"
    if first.behaves is (block_type.tells is Tells.NOBODY) and block_type.wiring is not Wiring.DUST:
        yield "what has a state updates others when it changes, and what has none does not ('tells')"
    if first.directed is not block_type.directed:
        yield "it says otherwise of its parts ('directed')"
    if first.conducts is Conducts.BLOCK and not block_type.solid:
        yield "it passes power on as a block, and is none ('solid', 'conducts')"
    if (first.conducts is Conducts.LEVEL) is (block_type.gives is Gives.NOTHING):
        yield "what gives its own level gives it to something, and nothing else does ('gives', 'conducts')"
    if first.indicates and not block_type.shows:
        yield "people look at it, and can't see whether it is on ('shows', 'indicates')"
    if block_type.wiring in (Wiring.DUST, Wiring.BLOCK):
        yield from _wrong_wiring(block_type)


def _wrong_wiring(block_type: BlockType) -> Iterator[str]:
    wanted = Conducts.RUN if block_type.wiring is Wiring.DUST else Conducts.BLOCK
    part = block_type.as_wiring("x", NOWHERE, {"y": 1}) if block_type.as_wiring is not None else None
    if part is None or part.conducts is not wanted or part.powers != ("y",):
        yield f"it is not made wiring that passes on {wanted.value} ('as_wiring')"


def _wrong_reads(kind: Kind, block_type: BlockType) -> Iterator[str]:
    """Which options it says are read, held against those that it has."""
    ports = {port.name for part in kind.samples for port in part.ports()}
    for word, how, port in block_type.reads:
        if how in BY_POWER | {Reads.WATCHED} and port not in ports:
            yield f"'{word}' leads to no port '{port}' of its parts ('reads')"
        option = kind.option(word)
        wanted = Takes.PLACE if how is Reads.LIGHT else Takes.SOURCES
        if how is not Reads.OVERHEAD and (option is None or option.takes is not wanted):
            yield f"it has no option '{word}' that takes {wanted.value} ('reads')"
        if how in NEEDS_FACING_TO_READ and block_type.facing is Facing.NONE:
            yield f"'{word}' is read by the way it faces, and it faces none ('reads', 'facing')"
        if how is Reads.HOLDER and not block_type.held:
            yield f"'{word}' is read from what holds it, and nothing does ('reads', 'held')"
    read = [each.option for each in block_type.reads]
    if len(set(read)) < len(read):
        yield "an option is read twice ('reads')"
    if block_type.wiring is Wiring.PART:
        missing = [each.word for each in kind.options if each.required and each.word not in read]
        yield from (f"it needs '{word}', and does not say where that is read ('reads')" for word in missing)
