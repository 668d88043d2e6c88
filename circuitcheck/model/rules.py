"""The settings of the rules of the trade, the named sets of them, and each rule's id in a few words.

The rules in full stand in `grammar/RULES.md`. They are common practice; no published source is known but
where that page names one. This module holds data only: what a rule does is written in `model/parts` (one kind
of part each) and in `engine` (time, power, order).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Literal, NamedTuple, get_args

LANGUAGE_VERSION = 1
NO_BURN_OUT = -1
"""A burn-out window in which no two offs ever lie: rules without burn-out (rule T4)."""
TORCH_DELAY = 2
"""How long a torch waits, in gt: 1t (rule T1)."""
BURN_OUT_COUNT = 8
"""Offs within the window that burn a torch out (rule T4)."""
FULL_POWER = 15
"""The highest power level (rule P1)."""
CARRIES = 15
"""How many dust a full signal carries (rule P2)."""


GameTicks = int
"""A duration in gt."""
Feels = Literal["start", "landing"]
"""When a detector feels that something moves (rule M10)."""
Looks = Literal["after_waits", "class_4"]
"""When in a gt water looks (rule Z2)."""
Fades = Literal["any", "full"]
"""Which water above a cell lets it fade (rule Z9)."""
Lands = Literal["late", "wait"]
"""When what a drawn piston moves lands: late in a gt, or among the waits of the next (rule M3)."""
WORDS: Mapping[str, tuple[str, ...]] = {
    "Feels": get_args(Feels),
    "Looks": get_args(Looks),
    "Fades": get_args(Fades),
    "Lands": get_args(Lands),
}
"""The words that a setting of some form can be set to."""
MOST: Mapping[str, int] = {"water_takes": 15, "push_limit": 99, "hole_reach": 15}
"""The highest number that a setting can be set to."""


class Chance(NamedTuple):
    """A chance as the fraction that an author writes."""

    of: int
    within: int

    def __str__(self) -> str:
        return f"{self.of}/{self.within}"

    @property
    def number(self) -> float:
        """The chance as a number from 0 to 1."""
        return self.of / self.within


@dataclass(frozen=True, slots=True)
class RuleSet:
    """The settings a circuit is verified under. Durations are in gt.

    >>> mill.circuit.rules.name, mill.circuit.rules.burn_out_window
    ('newer', 60)
    """

    name: str
    burn_out_window: GameTicks
    """Eight offs of a torch within this many gt burn it out (rule T4)."""
    burn_out_rest: GameTicks
    """gt after which a burnt-out torch looks again by itself; 0 means never (rule T4)."""
    draw_chance: Chance
    """The chance that a cell is drawn in a gt (rule X1)."""
    water_takes: int
    """How many levels of light a block of water takes in all (rule G2)."""
    change_needs_light: bool
    """Whether fading needs the dark and a spot that is grown over needs light (rules X2, X3)."""
    half_blocks_stop_light: bool = True
    """Whether half blocks stop light through their full face (rule G3)."""
    dust_on_clear: bool = True
    """Whether dust may lie on clear blocks (rule W1)."""
    dust_dots: bool = True
    """Whether dust that is joined to nothing can be set to point nowhere (rule W3)."""
    power_above_piston: bool = True
    """Whether a piston also answers to what would power the place above it (rule W9)."""
    outside_first: bool = False
    """Whether outside actions come first in a gt instead of last (rule C2)."""
    sticky_lets_go: bool = True
    """Whether a sticky piston lets go of its block at a pulse shorter than its travel (rule O3)."""
    piston_lands: Lands = "late"
    """When what a drawn piston moves lands (rule M3)."""
    push_limit: int = 12
    """How many things a piston moves in one row (rule M1)."""
    detectors_move: bool = True
    """Whether a detector is a thing that can be moved (rules M1, M10)."""
    detector_feels: Feels = "start"
    """Whether a detector feels the start of a stroke or its landing (rule M10)."""
    motion_holds_water: bool = True
    """Whether what is in motion holds water back (rule M4)."""
    water_step: GameTicks = 5
    """How long water that is updated waits before it looks (rule Z2)."""
    water_looks: Looks = "class_4"
    """Whether water looks after all waits of a gt, or among them (rule Z2)."""
    hole_reach: int = 5
    """How far off water feels a hole (rule Z4)."""
    two_sources_make_one: bool = True
    """Whether two sources make a third between them (rule Z5)."""
    flow_fades: Fades = "any"
    """Which water above a cell lets it fade (rule Z9)."""
    chosen: frozenset[str] = frozenset()
    """The settings that the file itself chooses, as another value or as what they are in its set."""


SETTINGS: Mapping[str, str] = {
    each.name: str(each.type) for each in fields(RuleSet) if each.name not in ("name", "chosen")
}
"""Every setting, with what it is: an amount of gt, a number, a chance, a word, or yes or no."""

OLDER = RuleSet(
    "older",
    burn_out_window=100,
    burn_out_rest=0,
    draw_chance=Chance(80, 32768),
    water_takes=3,
    change_needs_light=True,
    dust_on_clear=False,
    dust_dots=False,
    detectors_move=False,
    detector_feels="landing",
)
NEWER = RuleSet(
    "newer", burn_out_window=60, burn_out_rest=160, draw_chance=Chance(3, 4096), water_takes=3, change_needs_light=True
)
NEWEST = replace(
    NEWER,
    name="newest",
    water_takes=1,
    change_needs_light=False,
    water_looks="after_waits",
    flow_fades="full",
)
OWN_SETTINGS = " with own settings"
"""What stands behind the name of a set of which a file changes settings."""
RULE_SETS = {rules.name: rules for rules in (OLDER, NEWER, NEWEST)}
USUAL = NEWER
"""The set used when a file names none."""


def set_of(rules: RuleSet) -> str:
    """The name of the set that rules are, or that a file's own settings begin from."""
    return rules.name.removesuffix(OWN_SETTINGS)


def having(rules: RuleSet, setting: str, value: bool | int | str | Chance) -> RuleSet:
    """Rules with one setting changed, and named so."""
    changed = replace(rules, name=set_of(rules) + OWN_SETTINGS)
    return replace(changed, **{setting: value})  # type: ignore[arg-type]  # which setting it is, is known at run time


def under(own: RuleSet, named: RuleSet) -> RuleSet:
    """A named set with those settings changed that a file's own rules change."""
    usual = RULE_SETS[set_of(own)]
    changed = {
        name: getattr(own, name)
        for name in SETTINGS
        if name in own.chosen or getattr(own, name) != getattr(usual, name)
    }
    return replace(named, chosen=own.chosen, **changed)


RULES: dict[str, str] = {
    "C1": "time is counted in gt of 1/20 s; a tick, t, is 2 gt",
    "C2": "in one gt: waits that are over, random draws, called pistons, landings, then outside actions",
    "C3": "waits that end in one gt act by class, then in the order in which they began",
    "C4": "a part holds at most one wait, and further calls begin nothing",
    "C5": "two orders are possible here and nothing but the build decides between them",
    "C6": "a part without a declared start has the one level it settles to",
    "P1": "power has levels from 0 to 15",
    "P2": "dust carries 15: after n dust the level is 16 − n, and the 16th is dead",
    "P3": "dust and blocks have no delay",
    "P4": "a block powered only by dust is weakly powered and does not light dust",
    "P5": "dust lines that meet are one line, and power flows back along both",
    "T1": "a torch is on while its block is unpowered",
    "T2": "a torch waits 1t, looks again, and changes only if its block still disagrees",
    "T3": "a torch swallows a pulse that has ended when it looks again",
    "T4": "a torch that goes off for the 8th time within the window burns out",
    "T5": "a torch that powers its own block burns out permanently",
    "T6": "a ring of n torches has a period of 2·n ticks",
    "R1": "a repeater takes any level from 1, waits its delay, and gives 15, one way",
    "R2": "a repeater goes on after its delay whatever its input is by then",
    "R3": "a pulse leaves a repeater as long as the longer of itself and the delay",
    "R4": "a repeater swallows an off-gap that is shorter than its delay",
    "R5": "a repeater powered from the side by a repeater or comparator keeps its output",
    "R6": "delays along a chain add",
    "K1": "a comparator waits 1t and then gives what its inputs say by then",
    "L1": "a set–reset latch is two torches, each feeding the other's block",
    "L2": "a latch holds, sets, resets, or is forbidden when both its inputs are on",
    "L3": "a latch's inverse side changes 1t after its input, its own side 1t later",
    "L4": "both inputs of a latch released in one gt: either side may come on",
    "L5": "a latch has no known state at the start unless one is declared",
    "D1": "a detector gives one pulse for a change and misses changes while it waits or pulses",
    "D2": "a stuck piston reads its arming only when it gets an update",
    "D3": "a stuck piston hears only what is named",
    "W1": "one thing stands at a place, and some need something to stand on",
    "W2": "dust joins dust beside it, and one step up or down unless a solid block cuts the step",
    "W3": "dust points where it is joined; on one axis both ways, joined to nothing all ways",
    "W4": "dust weakly powers the block under it and what it points into",
    "W5": "a torch takes from the block that holds it, gives to parts beside it and to the block above it",
    "W6": "a repeater or comparator takes from behind and gives in front",
    "W7": "a lever or button gives to the block it sits on and to the parts beside it",
    "W8": "a powered block gives to the parts beside it, never to another block",
    "W9": "a piston answers to power at its own place, and to what would power the place above it",
    "W10": "what changes updates the places around it: blocks and pistons six, dust and torches within two steps",
    "M1": "a piston pushes a row of up to 12 things, and a sticky one pulls one thing",
    "M2": "pistons start in the order in which they were called, all in one moment of a gt",
    "M3": "a stroke takes 1.5t: it lands late in the second gt after its start",
    "M4": "what is in motion gives, takes and cuts nothing",
    "M5": "a stroke updates the six places around each place that changes, some at its start, some at its landing",
    "M6": "called home within 3 gt of its start, a sticky piston lets go of what is before its head",
    "M7": "a stroke that can't be made is not made, and the piston looks again only when it gets an update",
    "M8": "a stroke that breaks something, or takes away what something is attached to, is a mistake",
    "M9": "a stroke cuts wiring at its start and joins it at its landing",
    "M10": "a detector feels the starts of strokes, and pulses once after it was moved itself",
    "M11": "lamps and cells keep their state as they move",
    "M12": "a stuck piston can be armed again by the block that it moves",
    "M13": "pistons that one change calls have no known order",
    "Z1": "a source has level 8, flowing water one less a place, and falling water 8",
    "Z2": "water looks 5 gt after it was updated",
    "Z3": "water goes down before it goes aside",
    "Z4": "water turns to the nearest hole within 5 places",
    "Z5": "flowing water with two sources beside it becomes a source",
    "Z6": "water that is cut off dries within 5 gt a level",
    "Z7": "blocks and heads hold water back, and water washes parts away",
    "Z8": "each change of water's level updates the six places around it",
    "Z9": "flowing water dims light as still water does",
    "Z10": "water that one change updated looks in an unknown order",
    "G1": "light has levels from 0 to 15: full sun 15, moonlight 4, a lamp 15, and one less a block",
    "G2": "full sun goes straight down through clear blocks; a leaf block takes 1, water 3 or 1",
    "G3": "solid blocks stop light; glass and dust let it pass",
    "X1": "in each gt each cell is drawn with a small probability, while somebody is near",
    "X2": "a grown cell that is drawn fades in the dark below a block that holds light back",
    "X3": "a bare cell is grown over only from a grown one that is drawn in light",
    "X4": "of n cells that may all change, the first does after a geometric time",
    "X5": "the cells that one source reaches share its draws",
    "O1": "a button holds 10t or 15t, a lever until it is thrown, a plate is looks every 10t",
    "O2": "a lamp is on at once and goes dark 2t after its power first goes",
    "O3": "a piston travels 1.5t, starting in the gt in which a part calls it",
    "S1": "lamps that flash more than three times in a second, counted together, can harm people (WCAG 2.2, 2.3.1)",
    "V1": "a part drives nothing",
    "V2": "a part is driven by nothing",
    "V3": "a pulse or a gap began and ended within one gt",
    "V4": "a sensor never changes",
    "V5": "a piston moves what its drawing does not allow for",
    "V6": "a rule that is not certain decides the verdict",
}
"""Every id that a message, a check or a test may cite. V ids are the program's own findings."""
