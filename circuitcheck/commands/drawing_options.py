"""The options of the commands about what is drawn, or to be drawn: its places, light, sheets and layouts."""

from __future__ import annotations

from typing import Any

from circuitcheck.commands import arguments

FURTHEST = 256
FURTHEST_APART = 64
CORNERS = ("south-east", "south-west", "north-west", "north-east")


def light(commands: Any) -> None:
    example = "circuitcheck light circuits/lampkeeper.circuit"
    does = "show the light at each place, and what its cells can do in it"
    parser = arguments.parser(commands, "light", does, example)
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    arguments.root_option(parser)
    parser.add_argument("--place", metavar="NAME", help="only the place of that name")
    parser.add_argument("--define", default="", metavar="NAME", help="a definition of the file, standing alone")
    parser.add_argument(
        "--layer", type=arguments.count(1, 256), metavar="N", help="every level of a layer that is drawn"
    )
    parser.add_argument(
        "--full", action="store_true", help="block by block, in every state of its parts: nothing is folded"
    )
    parser.add_argument("--json", action="store_true", help="write the report as JSON")


def draw(commands: Any) -> None:
    example = "circuitcheck draw weir.circuit --write drawn.circuit"
    does = "lay a circuit out in as few places as can be found, and show the file's legend and drawing"
    parser = arguments.parser(commands, "draw", does, example)
    parser.set_defaults(stays=None)
    parser.add_argument("path", metavar="FILE", help="a circuit file without a drawing")
    _laying(parser, "lay out the definition of that name")
    help_ = (
        "of more than 25 parts: where dust does not carry far enough, put a repeater of 1t into the circuit, if "
        "all checks and claims that hold still do"
    )
    parser.add_argument("--add-repeaters", action="store_true", help=help_)


def compact(commands: Any) -> None:
    example = "circuitcheck compact circuits/gates.circuit --define and_gate"
    does = "look for a smaller drawing of the same circuit, beginning with the one that a file has"
    parser = arguments.parser(commands, "compact", does, example)
    parser.set_defaults(add_repeaters=False)
    parser.add_argument("path", metavar="FILE", help="a circuit file with a drawing")
    _laying(parser, "the drawing of the definition of that name")
    help_ = "what stays as it is drawn: a name, or places as 'layer 5 to 8 row 2'; may be repeated"
    parser.add_argument("--stays", type=arguments.stays, action="append", metavar="WHAT", help=help_)
    help_ = "keep the drawing before as well, in a definition of its own called NAME_by_hand (takes --define)"
    parser.add_argument("--keep", action="store_true", help=help_)


def _laying(parser: Any, define: str) -> None:
    """Adds what bounds a layout, and the search for it."""
    arguments.root_option(parser)
    parser.add_argument("--define", default="", metavar="NAME", help=define)
    help_ = "no larger than so many places wide, deep and high, turned or not"
    parser.add_argument("--box", type=arguments.box, metavar="WxDxH", help=help_)
    parser.add_argument("--layers", type=arguments.count(1, 40), metavar="N", help="no more than so many layers")
    help_ = (
        "where a part, or dust that is given out, is to stand: rope=north, 'rope=layer 2 row 1 to 3'; may be repeated"
    )
    parser.add_argument("--at", type=arguments.at, action="append", metavar="NAME=WHERE", help=help_)
    help_ = "places in which nothing may stand, as 'layer 2 row 1 to 3 column 4'; may be repeated"
    parser.add_argument("--free", type=arguments.free, action="append", metavar="PLACES", help=help_)
    help_ = "a copy right beside it on that side may do nothing to it, nor it to the copy; may be repeated"
    parser.add_argument("--tiles", choices=arguments.SIDES, action="append", help=help_)
    help_ = "let levers and buttons stand where no hand comes to them from outside"
    parser.add_argument("--inputs-anywhere", action="store_true", help=help_)
    help_ = "first as few things to place as can be found, blocks, dust and parts alike, and then the box"
    parser.add_argument("--fewest-things", action="store_true", help=help_)
    help_ = "how many moves are made (300,000)"
    parser.add_argument("--moves", type=arguments.count(1, 10**10), metavar="N", help=help_)
    help_ = "another search for each number (1)"
    parser.add_argument("--seed", type=arguments.count(1, 10**9), metavar="N", help=help_)
    help_ = "processes to share the work, two at most; what is found does not depend on them"
    parser.add_argument("--jobs", type=arguments.count(1, 2), metavar="N", help=help_)
    help_ = "ask each box in turn, the smallest first: what is found is the least if every smaller one is excluded"
    parser.add_argument("--least", action="store_true", help=help_)
    help_ = "with --least: how many conflicts the SAT solver may have in all (300,000)"
    parser.add_argument("--conflicts", type=arguments.count(1, 10**9), metavar="N", help=help_)
    arguments.seconds_option(parser, "search no longer than so many seconds; what is found is verified after that")
    arguments.quiet_option(parser)
    parser.add_argument("--write", type=arguments.path, metavar="PATH", help="write the file with its drawing")
    help_ = "write a page for a browser that shows the best layout so far, and renews itself while the search goes on"
    parser.add_argument("--page", type=arguments.path, metavar="PATH", help=help_)
    parser.add_argument("--json", action="store_true", help="write it as JSON")


def sheets(commands: Any) -> None:
    example = "circuitcheck sheets circuits/lampkeeper.circuit"
    does = "print the sheets of a drawing: layers, what to bring, in which order, and what must light"
    parser = arguments.parser(commands, "sheets", does, example)
    _which_drawing(parser)
    parser.add_argument(
        "--since", type=arguments.path, metavar="OLD", help="list what changed in the drawing since an older file"
    )
    parser.add_argument(
        "--svg", type=arguments.path, metavar="PATH", help="write the layers as one picture, below one another"
    )
    parser.add_argument(
        "--solid", type=arguments.path, metavar="PATH", help="write the build in three dimensions as SVG"
    )
    parser.add_argument("--corner", choices=CORNERS, help=f"for --solid: from which corner it is seen ({CORNERS[0]})")
    help_ = "for --solid: how many empty layers to put between two, so that the layers stand apart (0)"
    parser.add_argument("--apart", type=arguments.count(0, FURTHEST_APART), metavar="N", help=help_)
    help_ = "for --solid: leave out what stands before that layer, row or column; several as 'layer 4 row 2'"
    parser.add_argument("--cut", type=arguments.places, metavar="WHERE", help=help_)
    parser.add_argument("--letters", action="store_true", help="for --solid: write the letter of each thing on it")
    help_ = "write the build as binary glTF 2.0 (.glb) for other programs (takes the extra 'gltf')"
    parser.add_argument("--gltf", type=arguments.path, metavar="PATH", help=help_)


def hears(commands: Any) -> None:
    example = "circuitcheck hears circuits/lampkeeper.circuit"
    does = "show what each detector and stuck piston of a drawing can hear"
    parser = arguments.parser(commands, "hears", does, example)
    _which_drawing(parser)


def tile(commands: Any) -> None:
    example = "circuitcheck tile circuits/lampkeeper.circuit --east 12"
    does = "say whether a copy of a drawing may stand beside it, and what the two would do to each other"
    parser = arguments.parser(commands, "tile", does, example)
    _which_drawing(parser)
    for way, what in (("east", "columns"), ("south", "rows"), ("up", "layers")):
        help_ = f"how many {what} the copy is moved"
        parser.add_argument(f"--{way}", type=arguments.count(0, FURTHEST), default=0, metavar="N", help=help_)
    parser.add_argument("--mirrored", action="store_true", help="east and west are exchanged in the copy")


def _which_drawing(parser: Any) -> None:
    """Adds which drawing of which file is meant."""
    parser.add_argument("path", metavar="FILE", help="a circuit file with a drawing")
    arguments.root_option(parser)
    parser.add_argument("--define", default="", metavar="NAME", help="the drawing of a definition")
    parser.add_argument("--json", action="store_true", help="write it as JSON")
