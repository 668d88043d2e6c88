"""What each kind of part does in a gt, written again from the rules and apart from the engine."""

from __future__ import annotations

from collections.abc import Sequence

from circuitcheck.certificate.behaviour import Behaviour, Sight
from circuitcheck.certificate.gates import NO, YES
from circuitcheck.certificate.level_rules import AnalogueRule, ComparatorRule
from circuitcheck.certificate.turns import (
    ALL_ELSE,
    CELLS,
    GOING_OFF,
    GOING_ON,
    HANDS_FIRST,
    HANDS_LAST,
    PISTONS,
    STRAIGHT,
    WAITS,
    Turn,
)
from circuitcheck.model.parts.analogue import Analogue
from circuitcheck.model.parts.base import Part
from circuitcheck.model.parts.button import Button
from circuitcheck.model.parts.comparator import Comparator
from circuitcheck.model.parts.detector import Detector
from circuitcheck.model.parts.lamp import Lamp
from circuitcheck.model.parts.lever import Lever
from circuitcheck.model.parts.piston import Piston
from circuitcheck.model.parts.plate import Plate
from circuitcheck.model.parts.repeater import Repeater
from circuitcheck.model.parts.sensor import SensorCell
from circuitcheck.model.parts.torch import Torch

TORCH_WAITS, LAMP_WAITS, PLATE_LOOKS = 2, 4, 20
"""In gt (rules T2, O2, O1)."""


class TorchRule(Behaviour):
    """Rules T1 to T3; without burn-out (rule T4)."""

    def longest(self) -> int:
        return TORCH_WAITS

    def build(self, sights: Sequence[Sight]) -> None:
        gates, block = self.gates, sights[0]
        self.ends_as(gates.choose(self.due, block.acting ^ 1, self.on))
        called = gates.any(
            (self.starts_if(gates.same(self.on, block.first)), gates.same(self.then, block.last), block.dips)
        )
        self.begins((gates.both(self.free_to_wait, called), TORCH_WAITS))


class RepeaterRule(Behaviour):
    """Rules R1 to R4, and R5 where something may lock it."""

    part: Repeater

    def longest(self) -> int:
        return self.part.delay

    def declare(self) -> None:
        super().declare()
        self._points = self.name in self.bench.straight
        self._second = self.bench.held(f"{self.name} waits again") if self._points else NO

    def acts(self) -> list[Turn]:
        delay = self.part.delay
        if self._points:
            return [Turn(self._second, WAITS, GOING_OFF, delay), Turn(self._second ^ 1, WAITS, STRAIGHT, delay)]
        return [Turn(self.on, WAITS, GOING_OFF, delay), Turn(self.on ^ 1, WAITS, GOING_ON, delay)]

    def build(self, sights: Sequence[Sight]) -> None:
        gates, back = self.gates, sights[0]
        side = sights[1] if len(sights) > 1 else Sight(NO, NO, NO, NO)
        due, unlocked = self.due, side.acting ^ 1
        acted = gates.choose(unlocked, gates.any((back.acting, self.on ^ 1)), self.on)
        self.ends_as(gates.choose(due, acted, self.on))
        second = gates.all((due, unlocked, back.acting ^ 1, self.on ^ 1))
        disagrees = [gates.same(each, self.then) ^ 1 for each in self._since(back)]
        at_start = self.starts_if(gates.both(gates.same(back.first, self.on) ^ 1, side.first ^ 1))
        forced = gates.any((at_start, gates.both(disagrees[1], side.last ^ 1)))
        some_time = gates.any((*disagrees, back.dips))
        if len(sights) > 1:
            opened = gates.any((*(each ^ 1 for each in self._since(side)), side.dips))
            some_time = gates.all((some_time, opened, gates.input(f"{self.name} looks in between")))
        called = gates.all((self.free_to_wait, second ^ 1, gates.any((forced, some_time))))
        self.begins((gates.any((called, second)), self.part.delay))
        if self._points:
            self.bench.becomes(self._second, gates.any((second, gates.both(self._second, due ^ 1))))

    def _since(self, sight: Sight) -> tuple[int, int]:
        """What an input reads at first, when the part has acted if it does, and in the end."""
        return self.gates.choose(self.due, sight.acting, sight.first), sight.last


class LampRule(Behaviour):
    """Rule O2: on at once, dark 2t after its power first went, unless there is power again by then."""

    def longest(self) -> int:
        return LAMP_WAITS

    def declare(self) -> None:
        super().declare()
        self.dipped = self.gates.input(f"{self.name} goes dark and is lit again")

    def turns(self) -> list[Turn]:
        return [Turn(YES, None)]

    def build(self, sights: Sequence[Sight]) -> None:
        gates, power = self.gates, sights[0]
        stays = gates.any((gates.choose(self.due, power.acting, self.on), self.starts_if(power.first)))
        self.ends_as(gates.any((stays, power.last, power.dips)))
        dark_between = gates.any((self.starts_if(gates.both(self.on, power.first ^ 1)), power.last ^ 1, power.dips))
        self.begins((gates.all((self.free_to_wait, self.then, dark_between)), LAMP_WAITS))
        again = gates.all((self.due, self.on, power.acting ^ 1, self.then))
        self.bench.require(gates.same(self.dipped, again))


class DetectorRule(Behaviour):
    """Rule D1. Its phases are bits: neither called nor pulsing nor arming again, it is idle."""

    part: Detector
    levels = True

    def longest(self) -> int:
        return max(self.part.delay, self.part.pulse, self.part.rearm)

    def declare(self) -> None:
        super().declare()
        self._called = self.bench.held(f"{self.name} is called")

    def acts(self) -> list[Turn]:
        gates, part = self.gates, self.part
        arming = gates.both(self.on ^ 1, self._called ^ 1)
        found = [Turn(self._called, WAITS, ALL_ELSE, part.delay), Turn(self.on, WAITS, ALL_ELSE, part.pulse)]
        return [*found, Turn(arming, WAITS, ALL_ELSE, part.rearm)] if part.rearm else found

    def build(self, sights: Sequence[Sight]) -> None:
        gates, watched, part = self.gates, sights[0], self.part
        due, called = self.due, self._called
        goes_on = gates.both(due, called)
        goes_off = gates.both(due, self.on)
        self.ends_as(gates.any((goes_on, gates.both(self.on, due ^ 1))))
        rearms = goes_off if part.rearm else NO
        idle = gates.any((self.waiting ^ 1, gates.all((due, called ^ 1, rearms ^ 1))))
        told = gates.any((gates.choose(due, watched.changed_since, watched.changed), watched.dips))
        again = gates.both(idle, told)
        self.bench.becomes(called, gates.any((again, gates.both(called, due ^ 1))))
        self.begins((again, part.delay), (goes_on, part.pulse), (rearms, part.rearm))


class LeverRule(Behaviour):
    """Rule O1; a sensor's cell changes in the same way, but in a moment of its own (rule X1)."""

    moments = (HANDS_LAST, HANDS_FIRST)

    def declare(self) -> None:
        self.driven = self.gates.input(f"{self.name} is worked") if self.part.verbs else NO
        self.then = self.gates.same(self.on, self.driven) ^ 1

    def turns(self) -> list[Turn]:
        return [Turn(YES, self.moments[self.bench.outside_first])]

    def build(self, sights: Sequence[Sight]) -> None:
        self.bench.becomes(self.on, self.then)


class CellRule(LeverRule):
    moments = (CELLS, CELLS)


class ButtonRule(Behaviour):
    """Rule O1: pressed, it holds; a press while it is held is ignored, and one as it lets go presses it again."""

    part: Button

    def longest(self) -> int:
        return self.part.hold

    def declare(self) -> None:
        gates = self.gates
        self.driven = gates.input(f"{self.name} is worked")
        lets_go = self.due
        pressed = gates.both(self.driven, self.waiting ^ 1 if self.bench.outside_first else self.free_to_wait)
        self._pressed = pressed
        self.dipped = gates.both(lets_go, pressed)
        self.then = gates.any((pressed, gates.both(self.on, lets_go ^ 1)))

    def turns(self) -> list[Turn]:
        by_hand = Turn(self._pressed, HANDS_FIRST if self.bench.outside_first else HANDS_LAST)
        return [by_hand, *(turn._replace(when=self._pressed ^ 1) for turn in self.acts())]

    def build(self, sights: Sequence[Sight]) -> None:
        self.bench.becomes(self.on, self.then)
        self.begins((self._pressed, self.part.hold))


class PlateRule(Behaviour):
    """Rule O1: on while somebody stands on it, as it finds when it looks."""

    def longest(self) -> int:
        return PLATE_LOOKS

    def declare(self) -> None:
        gates, first = self.gates, self.bench.outside_first
        self.driven = gates.input(f"{self.name} is worked")
        self._stood_on = self.bench.held(f"somebody stands on {self.name}")
        self._stands = gates.same(self._stood_on, self.driven) ^ 1
        steps_on = gates.both(self.driven, self._stands)
        self._stays = gates.both(self.due, self._stands if first else self._stood_on)
        left = gates.both(self.due, self._stays ^ 1)
        idle = self.waiting ^ 1 if first else gates.any((self.waiting ^ 1, left))
        self._begins = gates.both(steps_on, idle)
        self.dipped = gates.both(left, self._begins)
        self.then = gates.any((self._begins, gates.both(self.on, left ^ 1)))

    def turns(self) -> list[Turn]:
        by_hand = Turn(self._begins, HANDS_FIRST if self.bench.outside_first else HANDS_LAST)
        return [by_hand, *(turn._replace(when=self._begins ^ 1) for turn in self.acts())]

    def build(self, sights: Sequence[Sight]) -> None:
        self.bench.becomes(self.on, self.then)
        self.bench.becomes(self._stood_on, self._stands)
        self.begins((self.gates.any((self._begins, self._stays)), PLATE_LOOKS))


class PistonRule(Behaviour):
    """Rule O3, of a piston without a drawing: whether it is out, and not where its block is.

    Whatever called it, it starts if it is called for at the moment of pistons (rule C2) and does not travel. So a call
    needs no bit of its own: a call by hand comes after that moment, and is looked into in the next gt. Until then
    it does not wait here; a claim about rest is about its block as well, of which nothing is known.
    """

    part: Piston

    def longest(self) -> int:
        return self.part.travel

    def acts(self) -> list[Turn]:
        """When it looks at its power."""
        return [Turn(YES, PISTONS)]

    def turns(self) -> list[Turn]:
        return [Turn(YES, WAITS, ALL_ELSE, self.part.travel)]

    def build(self, sights: Sequence[Sight]) -> None:
        gates = self.gates
        self.ends_as(gates.same(self.due, self.on) ^ 1)
        disagrees = gates.same(self.then, sights[0].acting) ^ 1
        self.begins((gates.both(self.free_to_wait, disagrees), self.part.travel))


RULES: dict[type[Part], type[Behaviour]] = {
    Torch: TorchRule,
    Repeater: RepeaterRule,
    Comparator: ComparatorRule,
    Lamp: LampRule,
    Detector: DetectorRule,
    Lever: LeverRule,
    Analogue: AnalogueRule,
    SensorCell: CellRule,
    Button: ButtonRule,
    Plate: PlateRule,
    Piston: PistonRule,
}
"""The kinds of part that certificates know."""


def rule_of(part: Part) -> type[Behaviour] | None:
    """What is known of what a part does. Of a piston that answers to the place above it, nothing."""
    return None if isinstance(part, Piston) and part.above else RULES.get(type(part))


def known(part: Part) -> bool:
    """Whether certificates know what a part does."""
    return rule_of(part) is not None


def measures(part: Part) -> bool:
    """Whether a part tells levels above none from each other."""
    rule = rule_of(part)
    return rule is not None and (rule.levels or rule.measures)
