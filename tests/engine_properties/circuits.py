"""Small random circuits of a sluice, and random hands that work their ropes, for Hypothesis."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from hypothesis import strategies as st

from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import starts
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action
from circuitcheck.language.load import load_text

KINDS = ("torch", "torch", "repeater", "repeater", "comparator", "lamp", "detector", "latch", "line", "piston", "stuck")
ROPES = ("rope", "brake", "bolt")
STARTS = st.sampled_from(["on", "off"])


@dataclass(frozen=True)
class Scene:
    """A circuit's text, and what hands do in which gt: the lever's name and the verb."""

    text: str
    acts: tuple[tuple[int, tuple[tuple[str, str], ...]], ...]

    def program(self) -> Program:
        """The circuit, wired up."""
        loaded = load_text(self.text)
        assert loaded.valid, [each.message for each in loaded.diagnostics]
        return Program(loaded.studies[0].circuit)

    def actions(self, program: Program) -> dict[int, list[Action]]:
        """The actions of each gt, for this machine."""
        return {at: [Action(program.number[name], verb) for name, verb in hands] for at, hands in self.acts}


@st.composite
def scenes(draw: st.DrawFn, most_parts: int = 6, most_hands: int = 3, latest: int = 24) -> Scene:
    """Up to `most_parts` parts behind some ropes, every start declared, and some moments at which ropes are pulled."""
    ropes = ROPES[: draw(st.integers(1, 3))]
    kinds = draw(st.lists(st.sampled_from(KINDS), min_size=1, max_size=most_parts))
    # A latch is two torches, a piston itself and its block.
    while sum(2 if kind in ("latch", "piston") else 1 for kind in kinds) > most_parts:
        kinds.pop()
    names = [f"{kind}_{number}" for number, kind in enumerate(kinds)]
    giving = [*ropes, *(name for name in names if not name.startswith("piston"))]
    blocks = [f"{name}.block" for name in names if name.startswith("piston")]
    seen = [*ropes, *names, *blocks]
    solid = [name for name in giving if not name.startswith("lamp")]
    lockers = [name for name in names if name.startswith(("repeater", "comparator"))]
    lines = [f"lever {rope} starts {draw(STARTS)}" for rope in ropes]
    lines += [_part(draw, kind, name, giving, solid, lockers, seen) for kind, name in zip(kinds, names, strict=True)]
    if draw(st.booleans()):
        lines.append("setting outside_first yes")
    hand = st.tuples(st.sampled_from(ropes), st.sampled_from(["on", "off", "throw"]))
    hands = st.lists(hand, min_size=1, max_size=most_hands, unique_by=lambda each: each[0]).map(tuple)
    times = draw(st.dictionaries(st.integers(1, latest), hands, min_size=1, max_size=4))
    return Scene("\n".join(lines), tuple(sorted(times.items())))


def _part(
    draw: st.DrawFn,
    kind: str,
    name: str,
    giving: Sequence[str],
    solid: Sequence[str],
    lockers: Sequence[str],
    seen: Sequence[str],
) -> str:
    def some(names: Sequence[str]) -> str:
        return ", ".join(draw(st.lists(st.sampled_from(names), min_size=1, max_size=2, unique=True)))

    if kind == "torch":
        return f"torch {name} from {some(giving)} starts {draw(STARTS)}"
    if kind == "repeater":
        locked = f" locked by {some(lockers)}" if draw(st.integers(0, 3)) == 0 else ""
        return f"repeater {name} from {some(giving)} delay {draw(st.integers(1, 3))}t{locked} starts {draw(STARTS)}"
    if kind == "comparator":
        side = f" side {some(giving)}" if draw(st.booleans()) else ""
        mode = draw(st.sampled_from(["compare", "subtract"]))
        return f"comparator {name} from {some(giving)}{side} {mode} starts {draw(STARTS)}"
    if kind == "lamp":
        return f"lamp {name} from {some(solid)}"
    if kind == "detector":
        deaf = draw(st.sampled_from(["", " rearm 1t"]))
        watched = draw(st.sampled_from(seen))
        return (
            f"detector {name} watches {watched} delay {draw(st.integers(1, 2))}t pulse {draw(st.integers(1, 2))}t{deaf}"
        )
    if kind == "line":
        return f"dust {name} from {some(giving)} length {draw(st.integers(1, 3))}"
    if kind == "piston":
        sticky = draw(st.sampled_from(["", " sticky"]))
        return f"piston {name} from {some(giving)}{sticky} starts {draw(STARTS)}"
    if kind == "stuck":
        return f"detector {name} arming {some(giving)} hears {some(seen)} starts {draw(STARTS)}"
    return f"latch {name} set {some(giving)} reset {some(giving)} starts {draw(st.sampled_from(['set', 'reset']))}"


def moments_at_rest(program: Program) -> list[Simulator]:
    """Every moment at the end of gt 0."""
    return [later for start in starts(program) for later in Simulator(program, 0, start.levels).tell_everyone()]


def at_rest(program: Program) -> set[State]:
    """Every state at the end of gt 0."""
    return {simulator.snapshot() for simulator in moments_at_rest(program)}
