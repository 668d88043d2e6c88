"""What stands in a box of pieces and nets, as a drawing."""

from __future__ import annotations

from collections.abc import Sequence

from circuitcheck.model.drawing import MATTERS, At, Drawing, Thing
from circuitcheck.placing.box import WAYS, turned
from circuitcheck.placing.grid import GIVEN
from circuitcheck.placing.pieces.ground import Standing
from circuitcheck.placing.pieces.negotiating import Tree
from circuitcheck.placing.pieces.nets import Net


def drawing_of(standing: Standing, nets: Sequence[Net], trees: Sequence[Tree]) -> Drawing:
    """The drawing, with no more around it than it takes."""
    problem = standing.problem
    block, dust = Thing(MATTERS["block"]), Thing(MATTERS["dust"])
    things: dict[At, Thing] = dict.fromkeys(standing.blocks(), block)
    names: dict[At, str] = {}
    for part, at, way in standing.parts():
        things[at] = turned(problem.things[part], WAYS[way])
        names[at] = problem.names[part]
    for tree in trees:
        things |= {standing.place(at): block for at in tree.blocks}
        things |= {standing.place(at): dust for at in tree.steps}
    shown = dict(zip((at for at, port in enumerate(problem.ports) if port.how == GIVEN), problem.shown, strict=True))
    for net, tree in zip(nets, trees, strict=True):
        names |= {standing.place(at): shown[port] for port, at in given(standing, net, tree).items()}
    low, high = (tuple(pick(at[axis] for at in things) for axis in range(3)) for pick in (min, max))

    def moved(at: At) -> At:
        return at[0] - low[0] + 1, at[1] - low[1] + 1, at[2] - low[2] + 1

    return Drawing(
        {moved(at): thing for at, thing in things.items()},
        {moved(at): name for at, name in names.items()},
        size=moved((high[0], high[1], high[2])),
    )


def given(standing: Standing, net: Net, tree: Tree) -> dict[int, int]:
    """For each port of dust that a net gives out the place of that dust: where as much is lost as is to be."""
    taps = standing.taps()
    far = {source: tree.far([standing.number(at) for at in taps[source]]) for source in net.sources}
    found: dict[int, int] = {}
    for port in net.given:
        wanted = standing.problem.ports[port].feeds
        at = (
            at
            for at in sorted(tree.steps)
            if at not in found.values() and all(far[source].get(at) == lost for source, lost in wanted.items())
        )
        place = next(at, None)
        if place is not None:
            found[port] = place
    return found
