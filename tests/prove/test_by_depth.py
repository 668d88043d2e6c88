"""How long ways without a loop go on: against the engine's runs, and what is proved of it against exploring.

The nets are drawn by lot. `CIRCUITCHECK_RANDOM=2000 python -m pytest tests/prove/test_by_depth.py` takes so many of
them instead of a few.
"""

from __future__ import annotations

import os
import random

import pytest

from circuitcheck.checks.allowed import allowed
from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.program import Program
from circuitcheck.engine.step import TooManyStates, step
from circuitcheck.model.claims import RateLimit
from circuitcheck.prove.burnt_torches import as_check
from circuitcheck.prove.cut import cut
from circuitcheck.prove.explore import Exploration
from circuitcheck.prove.interleavings import TooMuch
from circuitcheck.prove.meter import Meter, OverBudget
from circuitcheck.prove.space import Setting
from circuitcheck.prove.symbolic import by_depth
from circuitcheck.prove.symbolic.by_depth import Settling, cuts_by_depth, is_deep, settling
from circuitcheck.prove.symbolic.decide import proved_by_depth
from circuitcheck.prove.wander import broken_by_chance

from .plain import quiet
from .random_circuits import study_of
from .test_engines import Hands, begun

NETS = int(os.environ.get("CIRCUITCHECK_RANDOM", "0")) or 10
LENGTH = 40
BUDGET = 60_000
TOO_LARGE = (TooMuch, OverBudget, TooManyOrders, TooManyStates)
KINDS = ("torch",) * 4 + ("repeater", "repeater", "lock", "detector", "lamp")


def net(seed: int, levers: int, parts: int, kinds: tuple[str, ...] = KINDS) -> str:
    """A net without loops; the last of its parts is called `tail`."""
    chance = random.Random(seed)
    names = [f"rope_{number}" for number in range(levers)]
    lines = [f"lever {name}" for name in names]
    for number in range(parts):
        name = "tail" if number == parts - 1 else f"part_{number}"
        feeds = ", ".join(chance.sample(names[-4:], min(len(names), chance.choice((1, 2, 2, 3)))))
        kind = chance.choice(kinds)
        delay = f"delay {chance.randint(1, 3)}t"
        if kind == "lock":
            lines.append(f"repeater key_{number} from {chance.choice(names)}")
            lines.append(f"repeater {name} from {feeds} {delay} locked by key_{number}")
        elif kind == "detector":
            lines.append(f"detector {name} watches {chance.choice(names[-4:])} {delay}")
        elif kind == "repeater":
            lines.append(f"repeater {name} from {feeds} {delay}")
        else:
            start = chance.choice(("", "", "", " starts on")) if kind == "torch" else ""
            lines.append(f"{kind} {name} from {feeds}{start}")
        if kind != "lamp":
            names.append(name)
    return "\n".join(lines) + "\n"


def test_no_part_goes_on_for_longer_than_it_is_said_to() -> None:
    changes, at_the_end = 0, 0
    for seed in range(NETS):
        program = Program(quiet(study_of(net(seed, 3, 6)).circuit))
        known = {device: settling(program, device) for device in range(len(program.devices))}
        hands = Hands(program, seed)
        for levels, first in begun(program, ()):
            before, state = levels, first
            last = dict.fromkeys(known, -1)
            for at in range(LENGTH):
                if at:
                    before, state = state.levels, step(program, state, hands.next(state))[0].state
                for device, found in known.items():
                    assert found is not None
                    if any(before[each] != state.levels[each] for each in found.inputs):
                        last[device] = at
                    if before[device] != state.levels[device]:
                        assert last[device] >= 0 or not found.calm, (seed, program.names[device])
                        assert at - last[device] <= found.within, (seed, program.names[device], at)
                        changes += 1
                        at_the_end += found.within > 0 and at - last[device] == found.within
    assert changes > NETS
    assert at_the_end > NETS // 3  # the bound is no longer than it must be


# T2: a torch waits 1t; R2, R3: a repeater that goes on goes off no sooner than its delay later.
@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("torch a from rope\ntorch b from a\ntorch tail from b\n", (6, True)),
        ("repeater tail from rope delay 4t\n", (16, True)),
        ("detector tail watches rope delay 3t pulse 2t\n", (10, True)),
        ("torch a from rope starts off\nlamp tail from a\n", (7, False)),  # in full from gt 0 on, so until gt 2; O2: 2t
        ("torch tail from rope, back\ntorch back from tail\n", None),
        ("button pull long\ntorch tail from pull, rope\n", None),
        ("comparator tail from rope\n", None),
    ],
)
def test_how_long_some_go_on(text: str, expected: tuple[int, bool] | None) -> None:
    program = Program(quiet(study_of("lever rope\n" + text).circuit))
    found = settling(program, program.number["tail"])
    assert (found and (found.within, found.calm)) == expected


def asked(seed: int) -> str:
    """A small net, and what comes late enough, or not, to find its end at rest."""
    chance = random.Random(seed)
    claims = (
        f"when late rises then tail stable for {chance.randint(2, 12)}gt",
        f"when bell changes then tail stable for {chance.randint(2, 6)}gt",
        f"when felt rises then tail stable for {chance.randint(2, 6)}gt",
        "not (late rises and tail changes)",
    )
    return (
        net(seed, 2, 4, ("torch", "torch", "repeater"))
        + "detector felt_0 watches rope_0\ndetector felt_1 watches rope_1\njunction felt joins felt_0, felt_1\n"
        + f"repeater bell from felt delay {chance.randint(1, 4)}t\n"
        + f"repeater late from bell delay {chance.randint(1, 4)}t\n"
        + f"assume at most 1 changes within {chance.randint(20, 40)}gt\n"
        + f'always "it" {chance.choice(claims)}\n'
    )


def test_what_is_proved_by_depth_no_exploring_breaks(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(by_depth, "WORTH", 1)
    proved = broken = 0
    for seed in range(NETS):
        study = study_of(asked(seed))
        body, program = study.claims[0].body, Program(quiet(study.circuit))
        exact = Exploration(Setting(program, study.assumptions, cut, Meter(BUDGET)), body).run()
        try:
            found = proved_by_depth(program, body, study.assumptions, Meter(BUDGET))
        except TOO_LARGE:
            found = None
        assert found is None or exact.counterexample is None, (seed, asked(seed))
        proved += found is not None
        broken += exact.counterexample is not None
    print(f"\n{proved} proved by depth, {broken} broken")
    assert min(proved, broken) > 0


def test_a_way_that_is_said_to_be_too_short_proves_what_is_false(monkeypatch: pytest.MonkeyPatch) -> None:
    """So the test above can fail."""
    monkeypatch.setattr(by_depth, "WORTH", 1)
    honest = by_depth.settling

    def too_short(program: Program, device: int) -> Settling | None:
        found = honest(program, device)
        return found and found._replace(within=min(found.within, 1))

    monkeypatch.setattr(by_depth, "settling", too_short)
    with pytest.raises(AssertionError):
        test_what_is_proved_by_depth_no_exploring_breaks(monkeypatch)


def test_a_run_at_random_that_breaks_a_claim_is_one_that_exploring_finds_no_later() -> None:
    found = none = 0
    for seed in range(NETS // 2):
        study = study_of(asked(seed))
        claim, program = study.claims[0], Program(quiet(study.circuit))
        run = broken_by_chance(program, claim.body, study.assumptions, Meter(1_000_000))
        exact = Exploration(Setting(program, study.assumptions, cut, Meter(BUDGET)), claim.body).run()
        if run is None:
            none += exact.counterexample is None
            continue
        found += 1
        assert allowed(as_check(claim, run), study.assumptions), seed
        assert exact.counterexample is not None, seed
        assert len(exact.counterexample) <= len(run), seed
    assert min(found, none) > 0


def test_little_is_not_cut_off_and_what_is_deep_is_known_as_such() -> None:
    for long, cuts, deep in ((5, 0, False), (20, 1, False), (70, 1, True)):
        links = "".join(f"torch t.{number} from t.{number - 1}\n" for number in range(2, long + 1))
        program = Program(study_of("lever rope\ntorch t.1 from rope\n" + links).circuit)
        tail = program.number[f"t.{long}"]
        slow, quick = (RateLimit(1, 2 * long + 1, ""),), (RateLimit(1, 2 * long, ""),)
        assert (len(list(cuts_by_depth(program, [tail], slow))), is_deep(program, [tail], slow)) == (cuts, deep)
        for paces in (quick, ()):  # no time to come to an end
            assert (len(list(cuts_by_depth(program, [tail], paces))), is_deep(program, [tail], paces)) == (0, False)
