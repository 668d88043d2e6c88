"""A whole machine that moves, of another plan than the demo's: two rows of pistons side by side that face outward.

Behind each piston lies a soil cell under a channel; before it stands a block. A cell that changes moves its piston, the
start of that updates the pistons beside it (rule M5), and so the whole row goes out. The block of the first, at home,
stands over a torch and feeds a repeater of 2t, whose line powers the places above the pistons; it lies too far away for
the pistons to hear, but not for their heads (the last line of rule M12). The blocks of the others come to stand over
torches and light one line beside them, the row's outcome, which leads through a repeater of 2t to one side of a latch
of two torches. At night the latch has four gates cut the two channels, at both ends of each. Over the dawn row lie two
more waters and leaves, so that by day its soil fades where water flows, and is grown over where none does.
"""

from __future__ import annotations

from collections.abc import Iterator

At = tuple[int, int, int]
"""Layer from 1, row and column from 0; the south half is the north half turned round."""
LAYERS, ROWS, COLUMNS = 8, 13, 13

LEGEND = """language 1
circuit weirwatch "Two beds of soil at the weir, with a piston at each cell, tell the mill when it is night and day."
rules older
setting piston_lands late

legend
  .  air
  S  block
  B  block
  h  half      at top
  g  glass
  l  leaf
  -  dust
  d  dust      named dusk_row
  m  dust      named dawn_row
  W  water
  n  sensor    fades         grows named dusk_bed
  s  sensor    fades         grows starts off    named dawn_bed
  b  sensor    named bank
  ^  piston    facing north  sticky              named dusk_stir
  v  piston    facing south  sticky              named dawn_stir
  *  torch     on south      named ember
  x  torch     on north      named coal
  k  repeater  facing north  delay 2t            named dusk_arm
  K  repeater  facing south  delay 2t            named dawn_arm
  (  repeater  facing west   delay 2t            named evening
  )  repeater  facing east   delay 2t            named morning
  !  torch     on west       named gate          starts off
  /  torch     named gate.inverse  starts on
  p  piston    facing north  named sluice
  q  piston    facing south  named weir
end

"""
CLAIMS = """
output  darkness  from gate
output  daylight  from gate.inverse

silence D2 because "a stuck piston beside each cell is the detector that is meant"
silence V1 because "what the blocks come to light is read where they are out"
silence V2 because "the torches in the floor are the source of what the blocks hand on"
silence V6 because "the rules are older, of whose strokes M2, M5 and M9 are not certain"
"""


def weirwatch(cells: int, claims: str) -> str:
    """The text of the machine with 3 to 7 cells a side; its checks and claims come last."""
    drawn = dict(_drawn(cells))
    layers = []
    for layer in range(1, LAYERS + 1):
        usual = "S" if layer == 1 else "."
        rows = ("".join(drawn.get((layer, row, column), usual) for column in range(COLUMNS)) for row in range(ROWS))
        layers.append(f"  layer {layer}\n" + "".join(f"    {row}\n" for row in rows) + "  end\n")
    return LEGEND + "drawing\n" + "".join(layers) + "end\n" + CLAIMS + claims


def _drawn(cells: int) -> Iterator[tuple[At, str]]:
    for (layer, row, column), letters in _each_half(cells):
        yield (layer, row, column), letters[0]
        yield (layer, ROWS - 1 - row, COLUMNS - 1 - column), letters[-1]
    yield from _latch()
    yield from _tank()


def _each_half(cells: int) -> Iterator[tuple[At, str]]:
    """The north half, each with its letter, and the letter of what stands there in the south half if it is another."""
    row = range(3, cells + 3)
    yield (1, 2, 3), "*x"  # below the home of the first block
    yield from (((1, 1, column), "*x") for column in row[1:6])  # below the places that the others come to
    for column in range(3, 10):
        there = column in row
        yield (2, 2, column), "B" if there else "S"
        yield (2, 3, column), "^v" if there else "S"
        yield (2, 4, column), "ns" if there else "S"
        yield (3, 3, column), "b"
    # What arms the row: from the first block up to the line over the blocks beside the places above the pistons.
    yield from ((at, "-") for at in ((2, 2, 2), (2, 0, 2), (3, 0, 1), (4, 1, 1), (4, 2, 1), (4, 2, 2)))
    yield from ((at, "S") for at in ((2, 0, 1), (3, 1, 1), (3, 2, 1), (3, 2, 2)))
    yield (2, 1, 2), "kK"
    for column in range(3, 10):
        yield (3, 2, column), "S"
        yield (4, 2, column), "-"
    # The row's outcome, up to the latch.
    yield from (((2, 0, column), "-") for column in range(4, 13))
    yield (2, 0, 8), "dm"
    yield from ((at, "-") for at in ((2, 1, 12), (2, 2, 12), (3, 3, 12), (4, 4, 12), (5, 5, 12), (5, 6, 12)))
    yield from ((at, "S") for at in ((2, 3, 12), (3, 4, 12), (4, 5, 12), (4, 6, 12), (4, 6, 11), (4, 6, 10)))
    yield (5, 6, 11), "-"
    yield (5, 6, 10), "()"
    yield (5, 6, 9), "-"
    # The channel, a spring and a gate at both ends, and the line that calls the gates.
    for column in range(1, 12):
        yield (3, 5, column), "pq" if column in (2, 10) else "S"
    for column in (1, 2, 10, 11):
        yield (2, 4, column), "S"
        yield (3, 3, column), "S"
    yield from (((3, 4, column), "W") for column in (1, 11))
    yield (3, 4, 0), "S"
    yield from (((4, 5, column), "-") for column in range(3, 10))
    yield from ((at, "S") for at in ((5, 5, 3), (5, 5, 9)))


def _latch() -> Iterator[tuple[At, str]]:
    yield from (((3, 6, column), "S") for column in range(1, 12))
    yield from (((4, 6, column), "S") for column in range(3, 10))
    yield from zip(((5, 6, column) for column in range(4, 9)), "S!--S", strict=True)
    yield from zip(((6, 6, column) for column in range(4, 9)), "-.SS/", strict=True)
    yield from zip(((5, 5, column) for column in range(4, 9)), "SShSS", strict=True)
    yield from (((6, 5, column), "-") for column in range(4, 9))


def _tank() -> Iterator[tuple[At, str]]:
    for column in range(3, 10):
        yield from zip(((layer, 8, column) for layer in range(4, 9)), "gWgWl", strict=True)
        if column not in (3, 9):
            yield (5, 7, column), "S" if column == 7 else "g"
        yield (5, 9, column), "g"
        yield from (((7, row, column), "g") for row in (7, 9))
    yield from (((layer, 8, column), "g") for layer in (5, 7) for column in (2, 10))
