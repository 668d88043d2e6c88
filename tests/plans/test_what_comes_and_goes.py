"""Things that come and go with a part, while that part is not there: as it is built up, and where it is one too many.

Rules W10 and D1 (common practice, no source); README (Drawings) and the language reference say what is reported.
"""

from __future__ import annotations

from pathlib import Path

from .calling import Caller, written

EARLY = """legend
  .  air
  S  block
  D  detector  facing east
  w  water     when bell
  O  lamp      named bell
end
drawing
  layer 1
    SSS
  end
  layer 2
    wD.
  end
  layer 3
    ..O
  end
end
"""
"""The detector watches water that comes and goes with a lamp of the layer above."""
OTHER = """language 1
lever rope
dust wire from rope
detector ripple watches wire
lamp bell from ripple
repeater more from rope
lamp sign from more
legend
  .  air
  S  block
  D  detector  facing east named ripple
  w  water     when wire
  -  dust      named wire
  a  lever     named rope
  O  lamp      named bell
end
drawing
  layer 1
    SSS, 2 times
  end
  layer 2
    wDO
    a-.
  end
end
"""


def test_a_detector_may_be_built_before_what_its_water_comes_and_goes_with(call: Caller) -> None:
    out = call.good("sheets", written("early", EARLY))
    assert "once all is built in this order, everything stands as it starts" in out


def test_a_drawing_that_is_not_the_circuit_is_reported_though_water_depends_on_its_dust(call: Caller) -> None:
    out = call.good("verify", written("other", OTHER), code=1)
    assert "the circuit's repeater 'more' is not in the drawing" in out


def test_a_page_shows_no_check_that_does_not_fit_what_is_drawn(call: Caller) -> None:
    """What is called a latch is a lone torch in the drawing, and a lever a button: that fits no check of either."""
    legend = "legend\n  .  air\n  S  block\n  T  torch  named gate\n  b  button short  named rope\nend\n"
    drawing = "drawing\n  layer 1\n    SSS\n  end\n  layer 2\n    T.b\n  end\nend\n"
    circuit = "lever rope\nlever chain\nlatch gate set rope reset chain starts reset\n"
    checks = 'check "state"\n  at 2t expect gate reset\nend\ncheck "hand"\n  at 1t rope on\n  until 3t\nend\n'
    call.good("report", written("fits", circuit + checks + legend + drawing), "-o", "page.html", code=1)
    page = Path("page.html").read_text(encoding="utf-8")
    assert "'state' is not shown: nothing that is drawn is called 'gate' and fits it" in page
    assert "'hand' is not shown: nothing that is drawn is called 'rope' and fits it" in page


def test_the_page_and_the_map_of_light_start_what_is_drawn_alike(call: Caller) -> None:
    """The circuit says how its latch starts; the drawing is that circuit, with its torches called otherwise."""
    circuit = "button pull short\nbutton drop short\nlatch gate set pull reset drop starts reset\n"
    legend = (
        "legend\n  .  air\n  S  block\n  -  dust\n  <  torch   on east\n  >  torch   on west\n"
        "  s  button  on north  short  named pull\n  r  button  on south  short  named drop\nend\n"
    )
    rows = "    SSS, 5 times\n  end\n  layer 2\n    r..\n    S>-\n    -.-\n    -<S\n    ..s\n"
    path = written("latch", f"{circuit}{legend}drawing\n  layer 1\n{rows}  end\nend\n")
    assert "holds    the drawing is the circuit" in call.good("verify", path)
    assert "ways" not in call.good("light", path, "--layer", "2")
    call.good("report", path, "-o", "page.html")
    page = Path("page.html").read_text(encoding="utf-8")
    assert "1 of 2" not in page
    assert "run here on what is drawn" not in page
