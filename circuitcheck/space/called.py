"""What a thing of a drawn circuit is called where something is said of it, so that it can be asked for by that."""

from __future__ import annotations

from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, said
from circuitcheck.space.room import neighbours


def called(circuit: Circuit, home: At) -> str:
    """The name by which a thing can be asked for, wherever it is by now, by the place at which it is drawn.

    Its own, if it is a part; of what a piston moves first, that of the part that is on while it is away (`NAME.block`);
    of anything else there is no name, and its place is said in words.
    """
    drawing = circuit.drawing
    assert drawing is not None
    own = drawing.name(home)
    if own in circuit.by_name:
        return own
    for direction, beside in neighbours(home):
        thing = drawing.things.get(beside)
        if thing is not None and thing.pushes and thing.facing is direction.back:
            block = f"{drawing.name(beside)}.block"
            if block in circuit.by_name:
                return block
    return f"the {drawing.things[home].word} drawn at {said(home)}"
