"""Benchmarks of proving: a family of circuits, beside the plain explorer and a SAT solver on the same claims.

    python tests/benchmarks/proving.py            the full run, some minutes
    python tests/benchmarks/proving.py --short    the short form that CI runs

The family: n levers and n detectors a side on one line, a repeater of 2t a side, a latch of two torches, two outputs;
all levers free. Each row is a process of its own, so that its memory is its own.
"""

from __future__ import annotations

import argparse
import itertools
import json
import resource
import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from oracle import machine as old_machine
from oracle import moment as old_moment
from oracle import start as old_start
from oracle import step as old_step
from prove.plain import Engine, TooManyStates, explored

from circuitcheck.engine.program import Program
from circuitcheck.engine.step import Action
from circuitcheck.language.load import load_text
from circuitcheck.model.claims import Study
from circuitcheck.model.rules import NO_BURN_OUT
from circuitcheck.prove import solver
from circuitcheck.prove.cut import cut
from circuitcheck.prove.explore import Exploration
from circuitcheck.prove.meter import Meter
from circuitcheck.prove.space import Setting

MOST = 50_000_000
PLAIN_MOST = 60_000

FAMILY = """
lever     pond.1 to pond.{n}
lever     race.1 to race.{n}
detector  rise.*   watches pond.*
detector  fall.*   watches race.*
junction  up       joins rise.*
junction  down     joins fall.*
repeater  opening  from up    delay 2t
repeater  closing  from down  delay 2t
latch     gate     set opening  reset closing  starts reset
output    water    from gate
output    dry      from gate.inverse
never  "the torches are never both lit"  gate and gate.inverse
always "a ripple is answered"            when up rises then gate within 5t unless down or closing
always "and on the other side"           when down rises then gate.inverse within 5t unless up or opening
always "the set pulse is long enough"    every pulse of opening lasts at least 2t
"""


def family(n: int) -> Study:
    """The study of the member with n detectors a side."""
    (study,) = load_text(FAMILY.format(n=n)).studies
    return study


def exploration(study: Study, number: int) -> Exploration:
    """One claim of a study, ready to be explored."""
    circuit = replace(study.circuit, rules=replace(study.circuit.rules, burn_out_window=NO_BURN_OUT))
    return Exploration(Setting(Program(circuit), (), cut, Meter(MOST)), study.claims[number].body)


def proved(n: int) -> dict[str, Any]:
    """All four claims, as the product proves them."""
    study = family(n)
    begun = time.perf_counter()
    results = [exploration(study, number).run() for number in range(len(study.claims))]
    taken = time.perf_counter() - begun
    assert all(result.complete for result in results)
    return {"states": sum(result.states for result in results), "seconds": taken, "megabytes": _peak()}


class OldEngine(Engine):
    """The engine kept in `tests/oracle`, which has the same numbers for the same devices."""

    def __init__(self, program: Program) -> None:
        super().__init__(program)
        self._machine = old_machine.Machine(program.circuit)

    def begun(self) -> Iterator[tuple[bytes, Any]]:
        for start in old_start.starts(self._machine):
            for told in old_moment.Moment(self._machine, 0, start.levels).tell_everyone():
                yield start.levels, told

    def first(self, told: Any, actions: Sequence[Action]) -> Iterable[Any]:
        return [moment.freeze() for moment in old_step.run_game_tick([told.copy()], _old(actions))]

    def after(self, state: Any, actions: Sequence[Action]) -> Iterable[Any]:
        return [outcome.state for outcome in old_step.step(self._machine, state, _old(actions))]

    @staticmethod
    def kept(state: Any) -> Sequence[int]:
        kept: Sequence[int] = state.marks
        return kept


def _old(actions: Sequence[Action]) -> list[old_step.Action]:
    return [old_step.Action(each.device, each.verb, each.level) for each in actions]


def plainly_before(n: int) -> dict[str, Any]:
    """The same by the plain explorer on the old engine."""
    return plainly(n, OldEngine)


def plainly(n: int, on: Callable[[Program], Engine] = Engine) -> dict[str, Any]:
    """The same by the plain explorer."""
    study = family(n)
    begun = time.perf_counter()
    try:
        results = [explored(study.circuit, claim.body, (), PLAIN_MOST, on) for claim in study.claims]
    except TooManyStates:
        return {"states": PLAIN_MOST, "seconds": time.perf_counter() - begun, "megabytes": _peak(), "given_up": True}
    assert all(result.broken_at is None for result in results)
    states = sum(result.states for result in results)
    return {"states": states, "seconds": time.perf_counter() - begun, "megabytes": _peak()}


def solved(n: int) -> dict[str, Any]:
    """The same by the SAT solver: how many of the claims it proves, and how far it sees for the others."""
    study = family(n)
    begun = time.perf_counter()
    results = []
    for number in range(len(study.claims)):
        asked = exploration(study, number)
        results.append(solver.solve(asked.space, asked.watch, asked.questions, Meter(MOST)))
    count = sum(result.proved for result in results)
    return {"proved": count, "depth": min(result.depth for result in results if not result.proved) if count < 4 else 0,
            "seconds": time.perf_counter() - begun, "megabytes": _peak()}  # fmt: skip


def _peak() -> int:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


def apart(what: str, n: int) -> dict[str, Any]:
    """One row, in a process of its own."""
    run = subprocess.run([sys.executable, __file__, "--one", what, str(n)], capture_output=True, text=True, check=True)
    found: dict[str, Any] = json.loads(run.stdout)
    return found


def main() -> None:
    """Runs what is asked for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--short", action="store_true", help="seconds instead of minutes")
    parser.add_argument("--one", nargs=2, metavar=("WHAT", "N"), help="one row, as JSON")
    options = parser.parse_args()
    if options.one:
        what, n = options.one
        rows = {"proved": proved, "plainly": plainly, "plainly_before": plainly_before, "solved": solved}
        print(json.dumps(rows[what](int(n))))
        return
    mine: dict[int, dict[str, Any]] = {}
    for n in [1, 3] if options.short else range(1, 8):
        mine[n] = row = apart("proved", n)
        print(f"n = {n}: {row['states']:,} states, {row['seconds']:.2f} s, {row['megabytes']} MB")
    plainly_by = [("plainly", ""), ("plainly_before", " on the old engine")]
    for n, (what, engine) in [] if options.short else itertools.product([1, 2], plainly_by):
        plain = apart(what, n)
        rates = [each["states"] / each["seconds"] for each in (mine[n], plain)]
        said = "given up at" if plain.get("given_up") else "plain explorer"
        print(
            f"n = {n}{engine}: {said} {plain['states']:,} states, {plain['seconds']:.1f} s, {plain['megabytes']} MB; "
            f"states a second {rates[0]:,.0f} beside {rates[1]:,.0f}: {rates[0] / rates[1]:.0f} times; "
            f"time to the verdict {plain['seconds'] / mine[n]['seconds']:.0f} times"
        )
    if not options.short:
        row = apart("solved", 1)
        print(f"n = 1: {solver.NAME} proves {row['proved']} of 4, sees {row['depth']}gt far, {row['seconds']:.0f} s")


if __name__ == "__main__":
    main()
