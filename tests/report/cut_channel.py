"""A channel whose water a paddle cuts, with a second piston and a block, drawn; the paddle starts home or out."""

from __future__ import annotations

TEXT = """language 1
circuit race "A paddle cuts a channel, and a piston shoves a block along."

legend
  .  air
  S  block
  ~  water
  B  block    named stone
  p  piston   facing below{start}  named paddle
  q  piston   facing east{start}   named shove
  i  lever{start}    named rope
end

drawing
  layer 1
    SSSSSSSSSSSS, 3 times
  end
  layer 2
    SSSSSSSSSSSS
    S~.......SSS
    SSSSSSSSSSSS
  end
  layer 3
    ............
    ..pSqB......
    ............
  end
  layer 4
    ............
    ...i........
    ............
  end
end

check "it is cut"
  at 10gt  rope {to}
  until 100gt
end
"""


def cut_channel(start: str = "", to: str = "on") -> str:
    """The file: `start` is what parts say of their start, and `to` where the rope goes at 10 gt."""
    return TEXT.format(start=start, to=to)
