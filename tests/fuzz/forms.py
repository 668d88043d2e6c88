"""Forms of lines and blocks with gaps in them, and what goes into the gaps.

A gap is a letter in braces. Of a name: `n` any part, `N` a new one, `h` worked by hand, `u` a button, `a` an analogue
input, `l` a latch, `o` a torch, `p` a piston, `q` a repeater or comparator, `y` a row, `w` a given value, `x` a
definition, `b` a place, `j` a sensor, `i` something that gives light. Of an amount: `d` any duration, `g` a repeater's
delay, `s` a short and `m` a longer duration, `k` a number, `v` a level. And `c` a condition, `e` an edge, `r` a rule,
`t` a title. `^` stands for the end of a line.
"""

from __future__ import annotations

import random
import re
from collections import defaultdict

PARTS = """
lever {N}|lever {N} starts on|lever {N}.1 to {N}.3|button {N} short|button {N} long|plate {N}|analogue {N} starts {v}
dust {N} from {n}|dust {N} from {n}, {n} length {k}|junction {N} joins {n}, {n}|block {N} from {n}|torch {N} from {n}
torch {N} from {n}, {n}|torch {N} from {n} starts on|torch {N} from {N}|repeater {N} from {n} delay {g}|torch {N}
repeater {N} from {n} locked by {q}|repeater {N} from {N} starts on|comparator {N} from {n} side {n} subtract
comparator {N} from {n} side {n}, {n}|comparator {N} from {N} side {n} starts {v}|latch {N} set {n} reset {n}
latch {N} set {n} reset {n} starts reset|latch {N} data {n} locked by {n}|latch {N} data {n} locked by {n} starts on
detector {N} watches {n}|detector {N} watches {n} delay {d} pulse {d} rearm {d}|detector {N} arming {n} hears {n}
detector {N} arming {n} hears {n}, {n} travel {d} starts on|lamp {N} from {n}|piston {N} from {n}|lamp {N} from {l}
piston {N} from {n} sticky travel {d}|piston {N} from {n} sticky starts on|torch {N}.* from {y}|output {N} from {n}
detector {N} watches {p}.block|lamp {N} from {l}.inverse|lamp {N} from {l}.lock|torch {N}.1 to {N}.3 from {n}
repeater {N}.* from {y} delay {w}|repeater {N} from {n} delay {w}|latch {N} set {l}.inverse reset {n}|given {N} {d}
given {N} {g} from {s} to {m}|given {N} {v} from {v} to 15|silence {r} because {t}|forbid {r}
silence {r} for {n}, {n} because {t}|setting burn_out_window {d}|setting burn_out_rest {d}|setting outside_first yes
setting sticky_lets_go no|rules older|rules newer|rules newest|language 1|circuit {N} {t}|use "gates.circuit"
sensor {N} at {b} fades|sensor {N} cells {v} at {b} fades grows from {N}.*|sensor {N} becomes off chance 1/{k}
sensor {N} at {b} becomes on {t} chance {v}/{k} above {v} starts off
sensor {N} cells 3 at {b} grows from {j}, {j} starts off|place {N} gets sky through leaf, water
place {N} gets sky through {v} air, water when {n} off or {i} through aside, water when {n} off|place {N} gets {i}
place {N} gets standing_light through {v} leaf|detector {N} watches {j}|setting draw_chance {v}/{k}
detector {N} hears {j} arming {n}|cycle 24s day 12s, dusk 2s, night 8s, dawn 2s
cycle {d} day {s}, dusk 0t, night {d}, dawn 0t|setting water_takes {v}|setting change_needs_light no
response of night to {n}: median at most {d}|response of dusk to {n} falls: 99% within {d}, missed at most {v}%
response {t} fails because X4 of dawn to {n}: mean at most {d}|assume at most {v} changes within {d}
assume {h} stable for {d}|assume {h}, {h} stable for {d}
detector {N} arming {n} hears {n} own_block {g}|detector {N} arming {n} own_block 0gt
detector {N} arming {n} hears {n} own_block {g} hears_itself|detector {N} arming {n} hears {n} own_block 2t head_hears
detector {N} arming {n} own_block {d} hears_itself starts on|lamp {N} from {n}, {n}.block
setting push_limit {k}|setting detectors_move no|setting detector_feels landing|setting motion_holds_water no
setting water_step {s}|setting water_looks after_waits|setting hole_reach {v}|setting two_sources_make_one no
setting flow_fades full|setting power_above_piston no|setting piston_lands wait|setting half_blocks_stop_light no
setting dust_on_clear no|setting dust_dots no
"""
CLAIMS = """
{c}|when {c} then {c}|when {c} then {c} within {d}|when {c} then {c} within {d} unless {c}|when {c} then {c} until {c}
when {c} then {n} stable for {d}|{n} inverts {n}, settled within {d}|{n} follows {n} settled within {d}|possible {c}
every pulse of {n} lasts at least {d}|every gap of {n} lasts at most {d}|every pulse of {n} lasts {s} to {m}
every gap of {n} lasts {d}|from {e} to {e} takes {d}|from {e} to {e} takes at most {d}|possible rest
from {e} to {e} takes {s} to {m}
"""
LINES = """
at {d} {h} on|at {d} {h} off|at {d} {h} on, {h} off|at {d} throw {h}|at {d} press {u}|at {d} {a} is {v}|until {d}
at {d} expect {c}|by {m} expect {c}|from {s} to {m} expect {c}|at {d} expect {l} unknown|at {d} press {u}, throw {h}
at {d} {h} on|at {d} {h} off, {a} is {v}
"""
CONDITIONS = """
{n}|{n} on|{n} off|{n} is {v}|{n} at least {v}|{n} at most {v}|{n} rises|{n} falls|{n} changes|{l} set|{l} reset
{l} forbidden|not {n}|not ({n} and {n})|({n} and {n} off)|({n} or {n})|{n} and {n}|{n} or not {n}|{l}.inverse|{p}.block
({n} or ({n} and not {n} rises))|{y} off
"""
BLOCKS = """
check {t}^  at {s} {h} on^  by {m} expect {c}^end|check {t} fails because {r}^  at {s} {h} on^  by {m} expect {c}^end
check {t} given {w} {g}^  at {d} expect {c}^  until {d}^end|for {N} in {d}, {m}^  check {t}^    at {N} {h} on^  end^end
check {t}^  at {s} {h} on^  at {m} {h} off^  throughout {c}^end|{x} {N} (a {n}, b {n})|{x} {N} (a {n}) given w {g}
define {N} (a, b) gives c^  latch c set a reset b starts reset^end|check {t}^  at {d} press {u}, {h} on^  until {m}^end
define {N} (a) given w {g} from 1t to 4t gives c^  repeater c from a delay w^end|never {t} {n} races|never {t} {o} burnt
define {N} (a, b) gives c^  torch c from a, b^  check {t}^    at {s} a on^    by {m} expect c^  end^end
check {t} skipped because {t}^  at {s} {h} on^  until {m}^end
for {N} in {s}, {m}^  always {t} when {n} rises then {n} within {N}^end
legend^  S block^  . air^  - dust^  a lever on east named {N}^  > repeater facing east^  / torch on west^end
legend^  S block^  . air^  - dust^  P piston facing west named {N}^  D detector facing east pulse {d}^  O lamp^end
legend^  S block^  . air^  m sensor fades grows named {N}^  w water when {n} off^  l leaf^  * light^  g glass^end
legend^  h half at top^  ] comparator facing east subtract^  b button on north short^  . air^  S block^end
drawing^  layer 1^    SSSSSS, 3 times^  end^  layer 2^    aS/-->^    ...-..^    aS/-O.^  end^end
drawing^  layer 1^    SmSSSS^    SSSSSS^  end^  layer 2^    .wSDP.^    a->-S/^  end^end
legend^  S block^  . air^  a lever named {N}^  P piston facing east sticky^\
  B block^  Q piston facing east sticky^  D detector facing south^  ~ water^  m sensor fades grows^  - dust^  O lamp^end
legend^  S block^  . air^  a lever^  P piston facing west named {N}^\
  B block fixed^  Q piston facing east^  D detector facing south^  ~ water^  m sensor fades grows^  - dust^  O lamp^end
legend^  S block^  . air^  a lever named {N}^  P piston facing above sticky starts on^\
  B block^  Q piston facing east sticky^  D detector facing south^  ~ water^  m sensor fades grows^  - dust^  O lamp^end
drawing^  layer 1^    SSSSS, 4 times^  end^  layer 2^    ..a..^    .aPB.^    ..-..^    ..O..^  end^end
drawing^  layer 1^    SSSSSS, 3 times^  end^  layer 2^    SSSSSS^    S~...P^    SSmSSa^  end^end
drawing^  layer 1^    SSSSSS^  end^  layer 2^    SPB.BP^  end^  layer 3^    a~....^  end^end
drawing^  layer 1^    SSSS^  end^  layer 2^    aQDS^  end^  layer 3^    .PB-^  end^  layer 4^    .B..^  end^end
piece {N}^  layer 1^    S-S^  end^  layer 2^    -S/^  end^end|piece {N}^  layer 1^    aS/->^  end^end
drawing^  layer 1 to 2^    SSSSS^    ....., 2 times^  end^  put {N} at layer 1 row 2 column 1, turned right^end
drawing of {x}^  layer 1^    SSS^  end^  layer 2^    aS/^  end^  named {n} at layer 2 row 1 column 3 starts on^end
"""
HEADS = ["always {t} ", "always {t} ", "never {t} ", "always {t} fails because {r} ", "always {t} for each {y}: "]
HEADS += ["always {t} skipped because {t} "]


def _listed(text: str) -> list[str]:
    return [each.replace("^", "\n") for line in text.strip().split("\n") for each in line.split("|")]


def _words(text: str) -> list[str]:
    return text.split()


FORMS = {"part": _listed(PARTS), "claim": _listed(CLAIMS), "line": _listed(LINES), "block": _listed(BLOCKS)}
QUESTIONS = _listed(CONDITIONS)

LONG = _words("5t 8t 10t 12t 20t 1s 2s 3s")
DURATIONS = ["0gt", "1gt", "2gt", "3gt", "5gt", "1t", "2t", "3t", "4t", "1.5t", "0.05s", *LONG]
ODD_DURATIONS = _words("30s 100s 1.3t 0t 90000s 24s 86400s 86401s 99999999999t")
NUMBERS = _words("0 1 1 2 2 3 4 5 7 8 14 15 16 17 20 21 41 1000 10000 10001 999999999 9999999999")
AMOUNTS = {
    "d": DURATIONS,
    "g": ["1t", "2t", "3t", "4t"],
    "s": ["0gt", "1gt", "2gt", "1t"],
    "m": LONG,
    "k": NUMBERS,
    "v": [str(level) for level in range(16)],
    "r": _words(
        "C3 C5 C6 D1 D2 K1 L2 L4 L5 M1 M6 M8 M12 O1 O2 P2 P4 P5 R4 S1 T3 T4 V1 V2 V3 V4 V5 V6 X2 X4 Z7 Z9 Q9 M2 M3 M4"
    )
    + _words("M5 M7 M9 M10 M11 M13 Z1 Z2 Z3 Z4 Z5 Z6 Z8 Z10"),
}
KINDS = {
    "h": ("lever", "plate"),
    "u": ("button",),
    "a": ("analogue",),
    "l": ("latch",),
    "o": ("torch",),
    "p": ("piston",),
    "q": ("repeater", "comparator"),
    "w": ("given",),
    "x": ("define",),
    "b": ("place",),
    "j": ("sensor",),
    "i": ("lamp", "torch"),
}
DECLARED = re.compile(r"^[ \t]*([a-z]+)[ \t]+([^\W\d]\w*)(\.\w+|\.\*)?", re.MULTILINE)
NO_PARTS = {"given", "define", "circuit", "rules", "setting", "silence", "forbid", "use", "assume", "for", "at", "by"}
NO_PARTS |= {"place", "cycle"}


class Names:
    """The names that a text gives to things, by the word that it gives them with."""

    def __init__(self, text: str, choice: random.Random) -> None:
        self._random = choice
        self._by_kind: defaultdict[str, list[str]] = defaultdict(list)
        self.rows: list[str] = []
        self.parts: list[str] = []
        for kind, name, member in DECLARED.findall(text):
            self._by_kind[kind].append(name + (member if member != ".*" else ".1"))
            if member:
                self.rows.append(name)
            if kind not in NO_PARTS:
                self.parts.append(name + (member if member != ".*" else ".1"))

    def any(self) -> str:
        """A part, mostly; now and then something that may be none."""
        name = self._random.choice(self.parts or ["rope"])
        if self._random.random() < 0.05:
            name = name.split(".")[0] + self._random.choice((".1", ".2", ".*", ".inverse", ".lock", ".block", ""))
        return name

    def filling(self, gap: str) -> str:
        """What goes into a gap, by its letter."""
        if gap == "N":
            return self._random.choice(("rope", "winch", "weir", "vane", f"float{self._random.randrange(99)}"))
        if gap == "e":
            return f"{self.any()} {self._random.choice(('rises', 'falls', 'changes'))}"
        if gap == "t":
            return f'"title {self._random.randrange(999)}"'
        if gap == "d" and self._random.random() < 0.04:
            return self._random.choice(ODD_DURATIONS)
        if gap in AMOUNTS:
            return self._random.choice(AMOUNTS[gap])
        if gap == "y":
            return f"{self._random.choice(self.rows or ['rope'])}.*"
        known = [name for kind in KINDS.get(gap, ()) for name in self._by_kind[kind]]
        return self._random.choice(known) if known else self.any()


def filled(form: str, text: str, choice: random.Random) -> str:
    """A form with its gaps filled, with names mostly out of a text. A new name is the same in all its gaps."""
    names = Names(text, choice)
    new = names.filling("N")
    with_conditions = re.sub(r"\{c\}", lambda gap: choice.choice(QUESTIONS), form)
    return re.sub(r"\{(\w)\}", lambda gap: new if gap[1] == "N" else names.filling(gap[1]), with_conditions)
