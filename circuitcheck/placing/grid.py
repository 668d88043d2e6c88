"""The memory in which a layout is worked on: flat rows of whole numbers, one row for all.

A layouter knows which part is which. So each part has one bit, and what feeds a port is a whole number. The functions
here, and in the other modules of `compiled.MODULES`, run as they are, on lists, and compiled, on arrays, with the same
results: whole numbers only, no sets and no objects.
"""

from __future__ import annotations

from collections.abc import MutableSequence

Row = MutableSequence[int]

AIR, BLOCK, DUST, TORCH, LEVER, REPEATER, COMPARATOR, DETECTOR, LAMP, ENTRY, EXIT, PISTON, OTHER = range(13)
"""What stands at a place; buttons count as levers. Dust for which a place is sought is a part as well: where power
comes in from outside, and where it is given out. What is no solid block and stays as it is, is a piston or another."""
NORTH, EAST, SOUTH, WEST, ABOVE, BELOW = range(6)
HOLDER, POWER, BACK, LOCK, SIDE, WATCHED, GIVEN, BESIDE, OVERHEAD = range(9)
"""How a port is fed: what powers its holder, a lamp, from behind, locks, sides, what is watched; dust given out; a
piston from all sides but its front, and the place above it."""
CARRIES = 15
"""As many levels are lost at most that anything is left (rule P2), and one more."""
NEVER = 99
"""More levels than can be lost."""
GIVEN_AT = -2
"""What `who` has for dust that the first port gives out; one less for each port after it."""
MISSING, UNWANTED, UNPLACED, LOST, STRAIGHT = range(5)
"""What a cost is made of."""


MOST_PLACES, MOST_PARTS, MOST_PORTS = 8192, 62, 254
"""What has room: places, with one of air all around them; parts, each of which is a bit of a number; ports."""
WHOLE, PARTS, PORTS = range(3)
"""Where in the memory stands how many places, parts and ports there are."""
COUNT, COST, KNOWN, JOURNALED, LOSING, OFFSET, LINK = 4, 8, 13, 14, 15, 16, 24
"""The number of the latest search, how many dust there are and, two places on, how many places were changed; what is
wrong, by its sort; how many of the changed places are read already; how much is journaled, -1 where that was too much;
whether any port feels levels; how far the next place is, for each of the six directions, and where dust may be joined
to, for each of `LINKS`."""
LINKS = 12
"""In each of the four directions beside dust: at its level, a step up and a step down."""
PLACE, CODE, STRAIGHT_IN, LOSES = range(64, 5 * 64, 64)
"""For each part: where it stands (-1 for none), what it is, whether it is to point straight into another, and how many
levels are lost on the way from it to the port that is looked at."""
FACE = 1600
"""For each part that is dust: to which side dust from outside joins it, or `BELOW` for none."""
PORT_PART, PORT_HOW, WANT, EXACT, HAVE, AMISS = *range(320, 320 + 5 * 256, 256), 1680
"""For each port: whose it is (-1 for dust given out), how it is fed, the bits of what is to feed it, the bits of those
of which the levels lost are felt (-1 where only their order is), the bits of what feeds it, and how many of the levels
lost on the way are not as they are to be."""
STRIDE = MOST_PLACES + 40
"""How far fields are apart: no power of two, or all that is known of one place would compete for the same few lines of
the processor's cache."""
FIELDS = range(2048, 2048 + 26 * STRIDE, STRIDE)
KIND, WAY, WHO, INSIDE, OUTER, MAY, STAYS, *_MORE = FIELDS
GAVE, STRONG, LIT, POINTS, JOINED, MASK, LIGHTS, DUSTS, AMONG, *_SCRATCH = _MORE
QUEUE, FAR, SEEN, CAME, NOUGHT, CHANGED, SPOILS, LISTED, TOUCHED, NEAR = _SCRATCH
"""For each place: what stands there; which way it faces, or on which side it is held; the number of the part, -1 for
none; whether something may be put there; whether it can be reached from outside, but not from below; the bits of the
parts that may stand there; the number of what stays there as it is, 0 for nothing.

Then what is read there: which parts give to a part there, and power a block there; and where there is dust, which parts
light it, the bits of the ways in which it points, the bits of the links by which it is joined to other dust and, by
`LINKS` higher, of those by which power comes (`NO_DUST` for none), which parts reach it (-1 where that is not known
yet), and which parts light what it is joined to, however far off; a list of all dust; and where in it dust stands.

Then room for work: where a search stands that goes along dust, or along free places: how far it is, in which search it
was found, and from where; 0 for each; a list of the places that a move has changed, some of them more than once; which
parts may not power a block, while a route is sought; and for the reading a list of places at which dust is looked at
again, with marks of what is in it, and marks of what is beside anything that was read otherwise before."""
NO_DUST = -1
DOT = 6
"""The way of dust that is set to a dot: alone it points nowhere."""
WANT_LOST = 2048 + 26 * STRIDE
"""For each port and part: how many levels are to be lost, or in which order."""
JOURNAL = WANT_LOST + MOST_PORTS * MOST_PARTS
"""What was read before a move: where it stands, and what it was."""
MOST_JOURNALED = 8192
MEMORY = JOURNAL + 2 * MOST_JOURNALED


def is_solid(kind: int) -> int:
    """Whether it is a solid block (rule W1)."""
    return kind in (BLOCK, LAMP)


def kind_of(code: int) -> int:
    """What stands where a part does."""
    return DUST if code in (ENTRY, EXIT) else code


def bits_of(number: int) -> int:
    """How many bits are set."""
    found = 0
    while number:
        number &= number - 1
        found += 1
    return found


def back_of(way: int) -> int:
    """The opposite direction."""
    if way >= ABOVE:
        return ABOVE + BELOW - way
    return (way + 2) % 4


def note(m: Row, where: int, value: int) -> None:
    """Writes what was read, and journals what stood there before."""
    before = m[where]
    if before == value:
        return
    m[where] = value
    journaled = m[JOURNALED]
    if 0 <= journaled < MOST_JOURNALED:
        m[JOURNAL + 2 * journaled] = where
        m[JOURNAL + 2 * journaled + 1] = before
        m[JOURNALED] = journaled + 1
    else:
        m[JOURNALED] = -1
