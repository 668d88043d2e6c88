"""Claims about runs without end: textbook answers, fairness, burn-out, and random circuits against a plain search.

`CIRCUITCHECK_RANDOM=10000 python -m pytest tests/prove/test_for_ever.py` compares so many circuits instead of a few.
"""

from __future__ import annotations

import os
import random
from collections.abc import Iterator, Sequence
from typing import Any

import networkx
import pytest

from circuitcheck.checks.conditions import compiled
from circuitcheck.checks.outcome import Outcome, Verdict
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import TooManyStarts
from circuitcheck.model.claims import (
    Assumption,
    Atom,
    Claim,
    Eventually,
    ForEver,
    RateLimit,
    Recurring,
    Resting,
    Test,
)
from circuitcheck.prove.meter import Limits
from circuitcheck.prove.prover import Prover
from circuitcheck.verify import verify_text

from .plain import Engine, _choices, quiet
from .random_circuits import FEW_STATES, Drawn, Size, sluice
from .test_like_cells_in_proofs import SLOW, row
from .test_textbook import ring
from .textbook import circuit, outcome

CIRCUITS = int(os.environ.get("CIRCUITCHECK_RANDOM", "0")) or 40
MOST_STATES = 800
PACE = "assume at most 1 changes within 10t"
ROPE = circuit("lever rope", "torch slack from rope", "lamp bell from slack", PACE)
LATCH = circuit("lever one", "lever other", "latch gate set one reset other starts reset", PACE)


def verdict(text: str, claim: str) -> Verdict:
    """What the prover makes of a claim."""
    return outcome(text, claim).verdict


# Textbook


# Source: a ring oscillator never rests, a ring of an even number of inverters does: the sources of `test_textbook`.
# Torches of a ring of three would burn out (T4) if their period of 12 gt let eight offs into 60 gt: it does not.
@pytest.mark.parametrize(("length", "rests"), [(2, True), (4, True), (7, False), (9, False)])
def test_a_ring_comes_to_rest_where_its_length_is_even(length: int, rests: bool) -> None:
    assert verdict(ring(length), "always comes to rest") is (Verdict.PROVED if rests else Verdict.FAILS)


def test_a_clock_ticks_again_and_again() -> None:
    assert verdict(ring(7), "always paddle3 rises again and again") is Verdict.PROVED
    assert verdict(ring(7), "always (paddle3 and paddle4 and paddle5) again and again") is Verdict.FAILS


# Source: G F p and G(p → F q) of linear temporal logic: A. Pnueli, "The temporal logic of programs" (FOCS 1977); from
# memory.
@pytest.mark.parametrize(
    ("claim", "expected"),
    [
        ("always when rope rises then eventually slack off", Verdict.PROVED),
        ("always when rope then eventually bell", Verdict.FAILS),
        ("always when rope then eventually bell if rope off again and again", Verdict.PROVED),
        ("always rope again and again", Verdict.FAILS),
        ("always slack falls again and again if rope rises again and again", Verdict.PROVED),
        ("always slack falls again and again if rope again and again", Verdict.FAILS),
        ("always bell rises again and again if rope rises again and again, slack again and again", Verdict.PROVED),
        ("always comes to rest", Verdict.PROVED),
        ("always when (rope and bell off and slack off) then eventually rope changes", Verdict.FAILS),
    ],
)
def test_what_comes_in_the_end_and_what_needs_a_hand(claim: str, expected: Verdict) -> None:
    assert verdict(ROPE, claim) is expected


def test_what_must_hold_until_then_is_part_of_the_claim() -> None:
    claim = "always when rope rises then eventually slack off, {} until then"
    assert verdict(ROPE, claim.format("rope")) is Verdict.PROVED
    assert verdict(ROPE, claim.format("slack off")) is Verdict.FAILS


def test_what_holds_until_something_is_not_enough_where_that_must_come() -> None:
    spill = circuit("lever rope", "latch gate set rope reset spill starts reset", "lever spill", PACE)
    held = "when gate set then {}gate.inverse off{}"
    assert verdict(spill, "always " + held.format("", " until spill")) is Verdict.PROVED
    come = "always when gate set then eventually spill, gate.inverse off until then"
    assert verdict(spill, come) is Verdict.FAILS, "it need never be spilled"
    assert verdict(spill, come + " if spill again and again") is Verdict.PROVED


def test_a_trigger_or_a_condition_that_never_comes_makes_it_vacuous() -> None:
    never = outcome(ROPE, "always when (rope and not rope) then eventually bell")
    assert never.verdict is Verdict.VACUOUS
    unfair = outcome(ROPE, "always bell again and again if (rope and not rope) again and again")
    assert unfair.verdict is Verdict.VACUOUS
    assert unfair.detail


def test_an_open_order_may_go_the_same_way_for_ever() -> None:
    both = circuit("lever rope", "latch gate set rope reset rope starts reset", PACE)
    found = outcome(both, "always gate set again and again if rope rises again and again")
    assert found.verdict is Verdict.RACE, "nothing says that the order is ever another"


# The trace


def lasso(found: Outcome) -> tuple[int, int]:
    """Where the round begins, and how long it is."""
    assert found.proof is not None
    assert found.proof.round is not None
    return found.proof.round


def test_the_trace_is_a_way_in_and_a_round_that_the_engine_goes_twice() -> None:
    text = circuit(
        "lever rope", "torch wheel from drag, rope starts on", "repeater drag from wheel delay 4t starts off"
    )
    found = outcome(text, "always when rope falls then eventually (wheel and rope)")
    assert found.verdict is Verdict.FAILS
    assert found.proof is not None
    since, length = lasso(found)
    failure = found.failure
    assert failure is not None
    assert failure.at == since + length
    shown = [failure.recording.levels_at(at) for at in range(since, since + 2 * length + 1)]
    assert shown[: length + 1] == shown[length:], "two rounds are the same"
    assert any(act.name == "rope" for act in found.proof.trace), "it has to be pulled and let go first"


def test_what_keeps_changing_is_shown_where_rest_was_claimed() -> None:
    found = outcome(ring(7), "always comes to rest")
    assert found.failure is not None
    assert lasso(found)[1] == 28, "2 · 7 torches of 2 gt each"
    assert set(found.failure.signals) == {f"paddle{number}" for number in range(7)}


# A row of like cells, each with a stuck piston that tells of it: rules M6, M12; common practice, no source.
def test_a_round_of_a_machine_that_moves_is_one_that_the_engine_goes() -> None:
    study = row(
        2, SLOW,
        'always "it rests"  comes to rest',
        'always "it is told on and on"  evening rises again and again',
        'always "never"  (evening and evening off) again and again if evening rises again and again',
    )  # fmt: skip
    rests, told, never = (Prover(study, Limits(), solving=False).prove(claim) for claim in study.claims)
    assert (rests.verdict, told.verdict, never.verdict) == (Verdict.PROVED, Verdict.FAILS, Verdict.FAILS)
    assert lasso(told) == (0, 1), "nobody need ever do anything"
    since, length = lasso(never)
    assert never.failure is not None
    recording = never.failure.recording
    assert recording.changing(since, since + length) == recording.changing(since + length, since + 2 * length)
    assert "evening" in recording.changing(since, since + length)


# Burn-out (T4)


def test_a_torch_that_burns_out_in_the_round_is_the_answer() -> None:
    fast = circuit("torch wheel from drag starts on", "repeater drag from wheel delay 1t starts off")
    never_again = fast + "\nsetting burn_out_rest 0gt\n"
    assert verdict(never_again, "always wheel rises again and again") is Verdict.FAILS
    assert verdict(never_again, "always comes to rest") is Verdict.PROVED
    assert (
        verdict(never_again + "setting burn_out_window 0gt\n", "always wheel rises again and again") is Verdict.PROVED
    )


# Against a plain search


class Plain:
    """Every state of the whole circuit by the engine's own step, with what was owed; parts by networkx."""

    def __init__(self, program: Program, body: ForEver, assumptions: Sequence[Assumption]) -> None:
        self._program = program
        self._engine = Engine(program)
        self._body = body
        self._assumptions = assumptions
        trigger = body.trigger if isinstance(body, Eventually) else None
        goal = body.goal if isinstance(body, Eventually) else body.condition if isinstance(body, Recurring) else None
        self._trigger = None if trigger is None else compiled(trigger, program)
        self._goal = None if goal is None else compiled(goal, program)
        given = () if isinstance(body, Resting) else body.given
        self._given = [compiled(each, program) for each in given]
        self.graph: networkx.MultiDiGraph[Any] = networkx.MultiDiGraph()

    def broken(self) -> bool | None:
        """Whether some run breaks the claim; None if there are too many states."""
        queue: list[Any] = []
        for levels, told in self._engine.begun():
            for actions, history in _choices(
                self._program, told.levels, self._engine.kept(told), (), self._assumptions
            ):
                for state in self._engine.first(told, actions):
                    queue.append((state, history, self._owed(False, state, levels)))
        seen = set(queue)
        while queue:
            if len(seen) > MOST_STATES:
                return None
            node = queue.pop()
            for after, held, acted in self._after(node):
                if node[2] and after[2] and not (acted and isinstance(self._body, Resting)):
                    self.graph.add_edge(node, after, held=held)
                if after not in seen:
                    seen.add(after)
                    queue.append(after)
        return any(self._stays(part) for part in networkx.strongly_connected_components(self.graph))

    def _stays(self, part: set[Any]) -> bool:
        held: list[tuple[bool, ...]] = [each["held"] for *_, each in self.graph.subgraph(part).edges(data=True)]
        return bool(held) and all(any(each[number] for each in held) for number in range(len(self._given)))

    def _after(self, node: Any) -> Iterator[tuple[Any, tuple[bool, ...], bool]]:
        state, history, owed = node
        for actions, later in _choices(
            self._program, state.levels, self._engine.kept(state), history, self._assumptions
        ):
            for after in self._engine.after(state, actions):
                held = tuple(given(after.levels, state.levels) for given in self._given)
                yield (after, later, self._owed(owed, after, state.levels)), held, bool(actions)

    def _owed(self, owed: bool, state: Any, before: bytes) -> bool:
        met = not state.waits if self._goal is None else self._goal(state.levels, before)
        return not met and (owed or self._trigger is None or self._trigger(state.levels, before))


def asked(drawn: Drawn, chance: random.Random) -> ForEver:
    """A claim at random about signals of a circuit."""
    tests = (Test.ON, Test.OFF, Test.RISES, Test.FALLS)

    def atom() -> Atom:
        return Atom(chance.choice(drawn.signals), chance.choice(tests))

    given = tuple(atom() for _ in range(chance.randint(0, 2)))
    kind = chance.randrange(5)
    return Resting() if kind == 0 else Recurring(atom(), given) if kind < 3 else Eventually(atom(), atom(), None, given)


def test_random_circuits_agree_with_a_plain_search() -> None:
    compared = broken = 0
    for seed in range(CIRCUITS):
        chance = random.Random(seed)
        drawn = sluice(seed, Size(2, 2, FEW_STATES))
        study = drawn.study()
        study = study._replace(circuit=quiet(study.circuit), assumptions=(RateLimit(1, chance.choice((4, 8)), "pace"),))
        body = asked(drawn, chance)
        try:
            expected = Plain(Program(study.circuit), body, study.assumptions).broken()
        except TooManyStarts:
            continue
        if expected is None:
            continue
        found = Prover(study, Limits(states=50_000), solving=False).prove(Claim("it", body, study.circuit.span))
        if found.verdict is Verdict.UNDECIDED:
            continue
        good = found.verdict in (Verdict.PROVED, Verdict.VACUOUS)
        assert good is not expected, (seed, drawn.text, body, found.verdict)
        compared += 1
        broken += expected
    print(f"\n{compared} compared, {broken} broken")
    assert compared > CIRCUITS // 4
    assert broken > CIRCUITS // 20


# Wrong input


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ('never "x" comes to rest', "CKT404"),
        ('never "x" rope again and again', "CKT404"),
        ('always "x" rope again', "CKT101"),
        ('always "x" when rope then eventually', "CKT101"),
        ('always "x" rope again and again if', "CKT101"),
        ('always "x" pulley again and again', "CKT201"),
        ('check "x"\n  throughout rope again and again\nend', "CKT408"),
        ("lever eventually", "CKT103"),
    ],
)
def test_mistakes_are_told(line: str, code: str) -> None:
    report = verify_text(f"lever rope\n{line}\n")
    assert [each.code for each in report.diagnostics] == [code]
