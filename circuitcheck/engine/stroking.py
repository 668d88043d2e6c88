"""Strokes as a simulator makes them: starts, landings, the switch to another wiring, and what it tells (M2 to M11)."""

from __future__ import annotations

from collections.abc import Callable
from math import dist
from typing import TYPE_CHECKING, TypeVar

from circuitcheck.engine.deciding import tell_each
from circuitcheck.engine.memory import Memory
from circuitcheck.engine.refused import RunRefused
from circuitcheck.engine.wiring import read
from circuitcheck.model.drawing import said
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.model.parts.waits import CLASS_BITS, GOING_HOME, GOING_OUT, HOME, IS_CALLED, IS_CUT_SHORT
from circuitcheck.model.unsure import doubtful, reached

if TYPE_CHECKING:
    from circuitcheck.engine.motion import Motion
    from circuitcheck.engine.water_flow import Spread
    from circuitcheck.space.configuration import Configuration
    from circuitcheck.space.strokes import Step

Simulator = TypeVar("Simulator", bound=Memory)


def set_up(simulator: Memory, motion: Motion) -> None:
    """A simulator at the start, with pistons that are on there out already."""
    restore(simulator, motion.start(simulator.levels))
    assert simulator.configuration is not None
    simulator.levels[:] = motion.at_start(simulator.configuration, simulator.levels)
    for home, phase in simulator.configuration.phases:
        simulator.device_state[motion.device_at[home]] = phase


def restore(simulator: Memory, configuration: Configuration) -> None:
    """A simulator in a configuration."""
    assert simulator.program.motion is not None
    simulator.configuration = configuration
    simulator.wiring = simulator.program.motion.standing(configuration).wiring


def standing(simulator: Memory) -> tuple[Motion, Configuration]:
    """What strokes do in a program in which things move, and what is not where it is drawn just now."""
    assert simulator.program.motion is not None
    assert simulator.configuration is not None
    return simulator.program.motion, simulator.configuration


def can_start(simulator: Memory, piston: int) -> bool:
    """Whether nothing stops a piston that is to go out."""
    motion, now = standing(simulator)
    free = motion.can_start(now, piston)
    if not free and motion.is_too_long(now, piston):
        simulator.note(piston, "M1")
    return free


def start_out(simulator: Memory, piston: int) -> bool:
    """A piston starts to go out, if nothing stops it."""
    motion, now = standing(simulator)
    step = motion.start_out(now, piston)
    if step is not None:
        simulator.device_state[piston] = GOING_OUT
        _write_down(simulator, piston, now, step)
        simulator.make(piston, step)
    return step is not None


def start_home(simulator: Memory, piston: int, started_now: bool) -> None:
    """A piston starts to go home; a stroke out that has nothing left to land is over with that (rule M6)."""
    motion, now = standing(simulator)
    if started_now:
        name = simulator.program.names[piston]
        why = f"'{name}' is called out and home within one moment"
        raise RunRefused(why, "M6", name, motion.home_of[piston], "let what powers it be changed by one stroke only")
    cut_short = bool(simulator.device_state[piston] & IS_CUT_SHORT)
    step = motion.start_home(now, piston, cut_short)
    if cut_short or step.let_go is not None:
        reached(simulator.program.rules, "lets_go")
    home = motion.home_of[piston]
    if now.lands_out(home) and not step.after.lands_out(home):
        simulator.drop_waits(piston)
    simulator.device_state[piston] = GOING_HOME
    _write_down(simulator, piston, now, step)
    simulator.make(piston, step)


def _write_down(simulator: Memory, piston: int, before: Configuration, step: Step) -> None:
    """Has a start written down, with the place that what it moves leaves; of a row, the thing next to the piston."""
    if simulator.recorder is None:
        return
    motion, _ = standing(simulator)
    home = motion.home_of[piston]
    already = dict(before.moving)
    left = [before.place(thing) for thing, _ in step.after.moving if thing not in already]
    if left:
        place = min(left, key=lambda at: dist(at, home))
        simulator.recorder.stroked(simulator, piston, "M9", f"what it moves leaves {said(place)}", left)
    elif step.let_go is not None:
        words = f"its head starts home, and lets go of what stays at {said(step.after.place(step.let_go))}"
        simulator.recorder.stroked(simulator, piston, "M6", words, ())
    else:
        way = "out" if step.after.phase(home) == GOING_OUT else "home"
        simulator.recorder.stroked(simulator, piston, "M3", f"its head starts {way}", ())


def land(simulator: Memory, piston: int) -> None:
    """What a piston has set in motion, and is due, lands."""
    motion, now = standing(simulator)
    step = motion.land(now, piston)
    reached(simulator.program.rules, "lands_late")
    kept = IS_CALLED | (IS_CUT_SHORT if step.landed else 0)
    phase = step.after.phase(motion.home_of[piston])
    simulator.device_state[piston] = phase | simulator.device_state[piston] & kept
    simulator.make(piston, step)


def landing_beside(simulator: Memory, piston: int) -> list[int]:
    """The pistons whose strokes land later in this gt than one that lands now, by the rules, and meet it (rule M13)."""
    rules, orders, now = simulator.program.rules, simulator.program.stroke_orders, simulator.configuration
    later = [each for each in simulator.acting if simulator.program.devices[each].strokes]
    if not later or orders is None or now is None or rules.piston_lands != "late":
        return []
    if not doubtful(rules, "landings_in_turn"):
        return []
    given = [each for each in later if _is_given(simulator, each)]
    return orders.colliding_with(simulator, now, piston, later, given, simulator.order_class) if given else []


def looking_beside(simulator: Memory, device: int) -> list[int]:
    """The places of water that look later in this gt than one that looks now, by the rules, and meet it (rule Z10)."""
    later = [each for each in simulator.acting if simulator.program.devices[each].flows]
    if not later or not doubtful(simulator.program.rules, "looks_in_turn"):
        return []
    orders, levels = simulator.wiring.orders, simulator.levels
    given = (each for each in later if _is_given(simulator, each))
    return [
        each
        for each in given
        if orders.collide(device, each, levels, simulator.acting) or orders.call_together(device, each, levels)
    ]


def looks_before_others(simulator: Memory, device: int) -> bool:
    """Whether water that may be felt looks before something else in this gt, of which rules are not certain (Z2)."""
    program = simulator.program
    if program.motion is None or device in program.motion.unfelt or not doubtful(program.rules, "class_4"):
        return False
    return not all(program.devices[each].flows for each in simulator.acting)


def _is_given(simulator: Memory, later: int) -> bool:
    """Whether a device acts behind the one that acts now by the rules, and not in one of two orders that are open."""
    slot = simulator.now << CLASS_BITS | simulator.order_class
    return simulator.ties is None or not simulator.ties.descends_beside(slot, later)


def tell(simulator: Simulator, piston: int) -> list[Simulator]:
    """Switches the wiring for a step of a stroke, and tells whom it tells. Returns copies for the open orders."""
    motion, before = standing(simulator)
    step = simulator.steps.pop(piston)
    for device in motion.lifted(before, step.after):
        simulator.drop_waits(device)
        simulator.program.devices[device].moved_off(simulator)
    for device, level in motion.shown_levels(before, step, piston):
        simulator.show(device, level)
    covered = motion.flow.covered(step.after, simulator.levels)
    for device in covered:
        simulator.show(device, 0)  # what comes takes the water away (rule Z7)
    old, new = motion.standing(before), motion.standing(step.after)
    old_readings = simulator.readings
    simulator.configuration, simulator.wiring = step.after, new.wiring
    new_readings = new.wiring.readings(simulator.levels)
    simulator.readings = new_readings if isinstance(old_readings, list) else bytearray(new_readings)
    feeling: dict[int, Callable[[SimulatorView], int]] = {
        device: new.devices[device].on_input_change
        for device in motion.told(old, new, step, old_readings, new_readings, covered)
    }
    phase = step.after.phase(motion.home_of[piston])
    if phase == GOING_OUT:
        feeling.pop(piston, None)  # it is not out yet while its own start is told (rule M5)
    elif phase == HOME:
        feeling[piston] = new.devices[piston].on_input_change  # home again, it looks at its power (rules M4, M5)
    if feeling and phase in (GOING_OUT, GOING_HOME) and phase is not before.phase(motion.home_of[piston]):
        _start_felt(simulator, old_readings != new_readings)
    for home in step.landed:
        if home in motion.device_at:
            feeling[motion.device_at[home]] = new.devices[motion.device_at[home]].landed
    return tell_each(simulator, feeling)


def _start_felt(simulator: Simulator, rewires: bool) -> None:
    """Says that somebody feels the start of a stroke, of which older rules are not certain (rules M2, M5, M9)."""
    rules = simulator.program.rules
    reached(rules, "starts_in_turn")
    reached(rules, "told_at_start")
    if rewires:
        reached(rules, "cut_at_start")


def tell_of_water(simulator: Simulator, spread: Spread) -> list[Simulator]:
    """Makes what a look spreads to wet, as one change, and tells whom it tells. Returns copies for the open orders."""
    for device, level in spread.levels:
        simulator.show(device, level)
    readings, feeling = simulator.readings, dict[int, Callable[[SimulatorView], int]]()
    for changed, _ in spread.levels:
        for reader in simulator.wiring.readers[changed]:
            level = read(reader.feeds, simulator.levels)
            if level != readings[reader.port]:
                readings[reader.port] = level
                if reader.felt:
                    feeling[reader.device] = reader.on_input_change
    return tell_each(simulator, feeling)
