"""Exact responses held against every way of chance, calculated plainly gt by gt on small machines.

The rules are common practice, no source: G1 to G3 for light, X1 to X3 and X5 for cells, C2 for the order within a gt.
What is compared is not taken from the program: `plain.enumerated` tells every draw of every cell apart.
"""

from __future__ import annotations

import random

import pytest

from circuitcheck.chance.first_edge.response import Response, respond
from circuitcheck.model.claims import Atom, Test

from .plain import PHASES, Enumerated, TooManyStates, circuit_of, enumerated

RISES, FALLS, CHANGES = Test.RISES, Test.FALLS, Test.CHANGES
ROUNDING = 1e-12
MOST_OF_RANDOM = 1_000
"""How many states, each under each sky, are looked at of a random machine."""
SHORT_DAY = "cycle 130gt  day 30gt, dusk 20gt, night 60gt, dawn 20gt\n"
FELT = "detector stir.* watches turf.*\njunction row joins stir.*\n"
ROPE_LATCH = "repeater slow from row delay 2t\nlever rope\nlatch gate set slow reset rope starts reset\n"

Asked = tuple[str, str, Test]
"""A phase, a signal and its edge."""

ONE_CELL = """rules older
setting draw_chance 1/20
place bed gets sky through leaf, water
sensor turf at bed fades
detector row watches turf
"""
THREE_CELLS = f"""rules older
setting draw_chance 1/20
place bed gets sky through leaf, water
sensor turf cells 3 at bed fades
{FELT}{ROPE_LATCH}"""
TWO_SENSORS = f"""rules newer
setting draw_chance 1/30
place bed gets sky through leaf, water
sensor turf cells 2 at bed fades
sensor frost becomes off chance 1/25
detector crack watches frost pulse 3gt
detector stir.* watches turf.*
junction row joins stir.*, crack
{ROPE_LATCH}"""
DRAINED = f"""setting draw_chance 1/25
place bed gets sky through leaf, water when flap off
place bank gets sky
sensor turf cells 2 at bed fades grows from rim
sensor rim at bank
{FELT}{ROPE_LATCH}piston flap from gate
"""
PULSED_FLAP = f"""setting draw_chance 1/8
place bed gets sky through leaf, water when flap off
sensor turf cells 2 at bed fades becomes on "drained" chance 1/9 above 8
{FELT}repeater slow from row delay 3t
piston flap from slow
"""
LANTERN = """rules older
setting draw_chance 1/10
place bed gets sky through leaf, water or lantern through 3 aside, water
sensor turf at bed fades becomes on "sown" chance 1/30
detector row watches turf
repeater slow from row delay 4t
lamp lantern from slow
"""
SHARED_SOURCES = f"""setting draw_chance 1/2
place bank gets sky
sensor rim cells 2 at bank
sensor turf cells 2 at bank grows from rim.* starts off
{FELT}"""
ONE_SOURCE = f"""setting draw_chance 1/2
place bank gets sky
sensor rim at bank
sensor turf cells 2 at bank grows from rim starts off
{FELT}"""
PAIRS = """setting draw_chance 1/2
place bank gets sky through leaf
place shore gets sky through glass
sensor rim cells 2 at bank
sensor turf.* at shore grows from rim.* starts off
detector stir.* watches turf.*
junction row joins stir.*
"""
SELF_SOWN = f"""rules newest
setting draw_chance 1/3
place bank gets sky through glass
sensor turf cells 3 at bank becomes off "frozen" chance 1/15 below 9 grows from turf.*
{FELT}"""
SOWN_AS_WELL = f"""setting draw_chance 1/2
place bank gets sky
sensor rim at bank
sensor turf cells 2 at bank grows from rim becomes on "sown" chance 1/4 starts off
{FELT}"""
BOTH_WAYS = f"""sensor turf cells 2 becomes off chance 1/6 becomes on chance 1/9
{FELT}"""
DEAF = """sensor turf becomes off chance 1/6 becomes on chance 1/9
detector row watches turf delay 3gt pulse 2gt rearm 15gt
repeater slow from row delay 2t
"""
STEPS = """setting draw_chance 1/6
place bed gets sky through 2 leaf, water
place pane gets sky through glass
sensor turf at bed fades becomes on "thawed" chance 1/12 above 4
sensor frost cells 2 at pane becomes off "freezes" chance 1/10 below 9 becomes on "thaws" chance 1/14 above 11
detector stir watches turf delay 1gt pulse 1gt
detector crack.* watches frost.* delay 2gt pulse 4gt
junction row joins stir, crack.*
"""
NEWEST = """rules newest
setting draw_chance 1/40
place bed gets sky through water
place bank gets sky through 2 glass
sensor turf cells 2 at bed fades
sensor rim at bank becomes off "picked" chance 1/30 grows from turf.*
detector stir.* watches turf.*
detector felt watches rim delay 3gt
junction row joins stir.*, felt
"""
HALF = f"""setting draw_chance 1/20
setting half_blocks_stop_light no
place bed gets sky through 4 leaf, half
sensor turf cells 2 at bed fades becomes on "sown" chance 1/50
{FELT}"""
TORCHLIGHT = """rules older
setting draw_chance 1/9
place bed gets standing_light through 8 air, water when sign on or sign through 2 aside, water when sign on
sensor turf at bed fades becomes on "sown" chance 1/11 above 2
detector row watches turf pulse 3t
torch sign from row
"""

MACHINES: dict[str, tuple[str, tuple[Asked, ...]]] = {
    "one cell": (ONE_CELL, (("night", "row", RISES), ("night", "row", CHANGES), ("dusk", "turf", FALLS))),
    "three cells, a latch": (
        THREE_CELLS,
        (("dusk", "gate", RISES), ("night", "gate", RISES), ("dawn", "row", CHANGES)),
    ),
    "two sensors": (TWO_SENSORS, (("night", "gate", RISES), ("dusk", "row", RISES), ("day", "row", CHANGES))),
    "a bed that is drained": (DRAINED, (("dusk", "flap", RISES), ("dawn", "row", RISES), ("night", "row", RISES))),
    "a flap that is pulsed": (
        PULSED_FLAP,
        (("dusk", "flap", RISES), ("night", "flap", CHANGES), ("dawn", "row", RISES)),
    ),
    "a lantern over its bed": (
        LANTERN,
        (("dusk", "lantern", RISES), ("day", "row", RISES), ("dawn", "turf", RISES)),
    ),
    "sources that are shared": (SHARED_SOURCES, (("dusk", "row", RISES), ("day", "row", CHANGES))),
    "one source": (ONE_SOURCE, (("dusk", "row", RISES), ("dawn", "row", CHANGES), ("day", "row", RISES))),
    "sources of their own": (PAIRS, (("dusk", "row", RISES), ("dawn", "row", CHANGES))),
    "turf that sows itself": (SELF_SOWN, (("night", "row", RISES), ("dawn", "row", RISES), ("day", "row", FALLS))),
    "sown and grown over": (SOWN_AS_WELL, (("dusk", "row", RISES), ("day", "turf.1", CHANGES))),
    "both ways": (BOTH_WAYS, (("night", "row", RISES), ("night", "row", FALLS), ("dawn", "turf.2", RISES))),
    "detectors that are deaf": (DEAF, (("dusk", "row", RISES), ("night", "slow", FALLS), ("dawn", "slow", CHANGES))),
    "steps of dusk": (STEPS, (("dusk", "row", RISES), ("dawn", "frost.1", RISES), ("night", "crack.2", CHANGES))),
    "newest": (NEWEST, (("day", "row", RISES), ("dusk", "row", CHANGES), ("dawn", "felt", RISES))),
    "half blocks": (HALF, (("dusk", "row", RISES), ("night", "turf.1", FALLS))),
    "by torchlight": (TORCHLIGHT, (("dusk", "sign", FALLS), ("night", "turf", RISES), ("day", "row", CHANGES))),
}
CASES = [(name, *asked) for name, (_, several) in MACHINES.items() for asked in several]


def compare(found: Response, plain: Enumerated, slack: float, gt_of_alarms: int) -> None:
    """Holds a response against what trying everything came to; `slack` is by how much a chance may be off."""
    assert found.exact
    assert found.already == pytest.approx(plain.already, abs=found.left_out + ROUNDING)
    # Probability that was left out may have had an edge in each gt.
    assert found.false_alarms == pytest.approx(plain.false_alarms, abs=found.left_out * gt_of_alarms + ROUNDING)
    if plain.already > 1.0 - ROUNDING:
        return  # there is no day left on which it is not so already
    fast = found.distribution.chances
    slow = plain.chances + [0.0] * (len(fast) - len(plain.chances))
    assert len(slow) == len(fast)
    off = {gt: (one, other) for gt, (one, other) in enumerate(zip(fast, slow, strict=True)) if abs(one - other) > slack}
    assert not off, f"{len(off)} gt differ, the first: {next(iter(off.items()))}"
    assert found.distribution.comes == pytest.approx(sum(slow), abs=slack)


def of_days_left(found: Response) -> float:
    """What was left out of all days, as a share of those on which it is not so already."""
    return (2.0 * found.left_out + ROUNDING) / max(1.0 - found.already, ROUNDING)


@pytest.mark.parametrize(("name", "phase", "signal", "edge"), CASES, ids=[" ".join(map(str, case)) for case in CASES])
def test_a_response_comes_to_what_every_way_of_chance_comes_to(name: str, phase: str, signal: str, edge: Test) -> None:
    circuit = circuit_of(SHORT_DAY + MACHINES[name][0])
    asked = Atom(signal, edge)
    plain = enumerated(circuit, phase, asked)
    found = respond(circuit, phase, asked)
    assert found.open == 0.0
    assert sum(plain.chances) > 0.0
    compare(found, plain, of_days_left(found), circuit.cycle.whole)


# Random machines


class Gardener:
    """Writes one small machine with at most three cells, line by line, from a seed."""

    def __init__(self, seed: int) -> None:
        self._random = random.Random(seed)
        self._signals = ["row"]
        self._feedback = self._one("", "", "flap", "lantern")
        lines = [self._one("rules older", "rules newer", "rules newest")]
        lines.append(f"setting draw_chance 1/{self._one('3', '6', '12', '20', '50')}")
        lines.append(self._cycle())
        lines += [self._place("bed"), self._place("bank")]
        lines += self._sensors()
        lines += self._behind()
        self.text = "\n".join(lines)
        self.phase = self._one(*PHASES)
        self.edge = Atom(self._one(*self._signals), self._random.choice((RISES, FALLS, CHANGES)))

    def _one(self, *of: str) -> str:
        return self._random.choice(of)

    def _cycle(self) -> str:
        day, dusk, night, dawn = (self._random.randint(*each) for each in ((10, 25), (10, 20), (15, 30), (10, 15)))
        whole = day + dusk + night + dawn
        return f"cycle {whole}gt day {day}gt, dusk {dusk}gt, night {night}gt, dawn {dawn}gt"

    def _place(self, name: str) -> str:
        over = [
            self._one("leaf", "2 leaf", "glass", "air", "water", "3 aside") for _ in range(self._random.randint(0, 2))
        ]
        last = self._one("water", "water", "half", "glass", "leaf")
        last += " when flap off" if self._feedback == "flap" and self._random.random() < 0.7 else ""
        ways = [f"sky through {', '.join([*over, last])}"]
        if self._feedback == "lantern":
            ways.append(f"lantern through {self._random.randint(1, 8)} aside, {last}")
        elif self._random.random() < 0.2:
            ways.append(f"standing_light through {self._random.randint(1, 12)} aside, {last}")
        return f"place {name} gets {' or '.join(ways)}"

    def _sensors(self) -> list[str]:
        turf, rim = self._random.choice(((1, 0), (2, 0), (2, 0), (1, 1), (1, 1), (1, 2), (2, 1)))
        # Where several cells grow over others, what two of them do in one gt counts.
        grown = "grows from rim.*" if rim else "grows from turf.*"
        lines = [f"sensor turf cells {turf} at bed fades {self._becoming()} {self._one('', grown)} {self._start()}"]
        lines += [f"sensor rim cells {rim} at bank {self._one('', 'fades')} {self._becoming()}"] if rim else []
        self._signals.append("turf.1")
        self._watched = ["turf.*", *(["rim.*"] if rim else [])]
        return lines

    def _start(self) -> str:
        return self._one("", "", "starts off")

    def _becoming(self) -> str:
        kinds = self._random.choice((("off", "on"), ("on",), ("off",), ()))
        found = [f"becomes {kind} chance 1/{self._random.randint(40, 120)} {self._light()}" for kind in kinds]
        return " ".join(found)

    def _light(self) -> str:
        number = self._random.randint(2, 12)
        return self._one("", f"below {number}", f"above {number}")

    def _behind(self) -> list[str]:
        lines = []
        joined = []
        for number, watched in enumerate(self._watched):
            name = f"stir{number}" + (".*" if "*" in watched else "")
            delay, pulse = self._random.randint(1, 2), self._random.randint(1, 2)
            rearm = self._one("", "", "", "rearm 2gt")
            lines.append(f"detector {name} watches {watched} delay {delay}gt pulse {pulse}gt {rearm}")
            joined.append(name)
        lines.append(f"junction row joins {', '.join(joined)}")
        lines.append(f"repeater slow from row delay {self._random.randint(1, 2)}t")
        self._signals.append("slow")
        behind = "slow"
        if self._random.random() < 0.4:
            lines += ["lever rope", "latch gate set slow reset rope starts reset"]
            self._signals.append("gate")
            behind = self._one("slow", "gate")
        if self._feedback:
            lines.append(f"{'piston' if self._feedback == 'flap' else 'lamp'} {self._feedback} from {behind}")
            self._signals.append(self._feedback)
        return lines


@pytest.mark.parametrize("first", range(0, 100, 20))
def test_on_random_machines_responses_come_to_what_every_way_of_chance_comes_to(first: int) -> None:
    compared = telling = 0
    for seed in range(first, first + 20):
        drawn = Gardener(seed)
        circuit = circuit_of(drawn.text)
        try:
            plain = enumerated(circuit, drawn.phase, drawn.edge, most=MOST_OF_RANDOM)
        except TooManyStates:
            continue
        found = respond(circuit, drawn.phase, drawn.edge)
        if found.open:
            # Which order is the first is not said anywhere: all that can be asked is that there is one.
            assert plain.open_order, drawn.text
            continue
        compare(found, plain, of_days_left(found), circuit.cycle.whole)
        compared += 1
        telling += found.distribution.comes > 0.0
    assert compared >= 10
    assert telling >= 4


# What is so already

FADED_BY_NIGHT = """setting draw_chance {}
cycle 400gt  day 40gt, dusk 200gt, night 140gt, dawn 20gt
place bed gets sky through leaf, water
sensor turf cells 2 at bed fades
"""


@pytest.mark.parametrize("chance", ["1/40", "1/16", "1/8", "1/4"])
def test_what_is_nearly_always_so_already_is_reported_as_closely_as_it_says(chance: str) -> None:
    # The figures are of those days on which it is not so already, however few those are.
    circuit = circuit_of(FADED_BY_NIGHT.format(chance))
    asked = Atom("turf.1", FALLS)
    found = respond(circuit, "night", asked)
    compare(found, enumerated(circuit, "night", asked), found.left_out + ROUNDING, circuit.cycle.whole)


def test_of_what_is_all_but_always_so_already_nothing_says_that_nothing_leads_there() -> None:
    # The cell freezes at some time in 200 gt with a chance of 1 - (6/7)^200, and if not then, soon after (X1).
    text = "cycle 400gt day 100gt, dusk 100gt, night 100gt, dawn 100gt\nsensor turf becomes off chance 1/7\n"
    found = respond(circuit_of(text + "detector row watches turf\n"), "night", Atom("turf", FALLS))
    assert found.already == pytest.approx(1.0 - (6 / 7) ** 200, abs=found.left_out + ROUNDING)
    assert found.never == ()


@pytest.mark.parametrize("phase", ["dusk", "dawn"])
def test_a_phase_without_length_begins_and_is_asked_for_all_the_same(phase: str) -> None:
    text = "cycle 120gt day 50gt, dusk 0gt, night 70gt, dawn 0gt\n" + BOTH_WAYS
    circuit = circuit_of(text)
    asked = Atom("turf.1", FALLS)
    plain = enumerated(circuit, {"dusk": "night", "dawn": "day"}[phase], asked)
    # With no dusk, what is due at dusk is due from the beginning of the night on; with no dawn, from that of the day.
    found = respond(circuit, phase, asked)
    compare(found, plain, of_days_left(found), circuit.cycle.whole)
