"""A small machine with two sides of cells whose wiring moves: the turf watch with two cells a side and one source."""

TWO_SIDES = """\
language 1
circuit twowatch "Two cells a side, a stuck piston beside each"
rules older
setting draw_chance {chance}

{cycle}

legend
  .  air
  S  block
  g  glass
  h  half      at top
  B  block
  -  dust
  d  dust      named dusk_row
  m  dust      named dawn_row
  w  water
  ~  water     when paddle.1 off
  n  sensor    fades         named dusk_turf
  s  sensor    fades         grows starts off    named dawn_turf
  c  sensor    named ledge
  v  piston    facing south  sticky              named dusk_stir
  ^  piston    facing north  sticky              named dawn_stir
  *  torch     on west       named ember
  i  torch     named dusk_ready
  I  torch     named dawn_ready
  k  repeater  facing north  delay 3t            named dusk_arm
  K  repeater  facing south  delay 3t            named dawn_arm
  )  repeater  facing east   delay 2t            named evening
  (  repeater  facing west   delay 2t            named morning
  p  repeater  facing south  delay 1t
  /  torch     on west       named gate.inverse  starts on
  !  torch     named gate    starts off
  P  piston    facing north  named paddle.1
  Q  piston    facing south  named paddle.2
  O  lamp      named dark
  o  lamp      named bright
end

drawing
  layer 1
    SSSSSSSSSSSSSS, 4 times
    S*S*S*S*S*S*SS
    SSSSSSSSSSSSSS, 3 times
    S*S*S*S*S*S*SS
    SSSSSSSSSSSSSS, 4 times
  end
  layer 2
    SSSSSSSSSSSSS.
    SSSSSSSnSnSSS.
    SSSSSSSvSvSSS.
    .S.S.S.B.B.S.S
    ............SS
    ------------dS
    SSSSSSSSSSSSS.
    .-----------mS
    ............SS
    .S.S.S.B.B.S.S
    SSSSSSS^S^SSS.
    SSSSSSSsSsSSS.
    SSSSSSSSSSSSS.
  end
  layer 3
    SSSSSSSSSSSSS.
    S~~~~~~~~~~~S.
    SSSSSSPSSSSSS.
    SSSSSShSSSSSS-
    SSSSSSSSSSSSSk
    .SSSoSSSSSSSSi
    -)-S/---S-(-..
    .SSSSSSSSSS.SI
    SSSSSSSSSSSSSK
    SSSSSShSSSSSS-
    SSSSSSQSSSSSS.
    S~~~~~~~~~~~S.
    SSSSSSSSSSSSS.
  end
  layer 4
    ......S.......
    .....gwg......
    .SSSSSSSSSSS..
    .------------.
    ..............
    ...O..........
    ..S-.SSS!.....
    ...------.....
    ..............
    .------------.
    .SSSSSSSSSSS..
    SgggggwgggggS.
    .SSSSSSSSSSS..
  end
  layer 5
    .............., 2 times
    ......-.......
    ......S......., 3 times
    ......SSS.....
    ......S......., 3 times
    .SSSSS-SSSSS..
    SwwwwwSwwwwwS.
    SSSSSSSScSSSS.
  end
  layer 6
    .............., 3 times
    ......-......., 3 times
    ......---.....
    ......-.......
    ......p.......
    ......-.......
    .SSSSS.SSSSS..
    SwSwSwSwSwSwS.
    .SgSgSgSgSgS..
  end
  layer 7
    .............., 10 times
    .SSSSS.SSSSS..
    SwwwwwSwwwwwS.
    .SgSgSgSgSgS..
  end
end
"""


def two_sides(day: int, dusk: int, night: int, dawn: int, chance: str) -> str:
    """The text of the machine, with phases of so many gt, and cells that are drawn with some chance."""
    whole = day + dusk + night + dawn
    cycle = f"cycle {whole}gt day {day}gt, dusk {dusk}gt, night {night}gt, dawn {dawn}gt"
    return TWO_SIDES.format(cycle=cycle, chance=chance)
