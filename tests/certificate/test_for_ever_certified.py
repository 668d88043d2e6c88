"""Claims about runs without end, certified by how many rounds can go by: by whom that is held, and what it refuses.

`CIRCUITCHECK_RANDOM=1000 python -m pytest tests/certificate/test_for_ever_certified.py -s` compares so many circuits
with a plain search that follows every run.
"""

from __future__ import annotations

import functools
import json
import os
import random
from pathlib import Path

import pytest
from prove.plain import quiet
from prove.random_circuits import FEW_STATES, Size, sluice, study_of
from prove.test_for_ever import Plain, asked
from pysat.solvers import Solver

from circuitcheck.certificate import checking, round_rules
from circuitcheck.certificate.cases import case_of
from circuitcheck.certificate.folder_files import (
    SYSTEM,
    TRACE,
    VERSION,
    Entry,
    Unreadable,
    breaks,
    listed,
    sum_of,
    system_text,
    trace_text,
)
from circuitcheck.certificate.three_questions import QUESTIONS, question
from circuitcheck.certificate.uncertified import Uncertified
from circuitcheck.cli import main
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import TooManyStarts
from circuitcheck.model.claims import Claim, RateLimit
from circuitcheck.prove import certifying
from circuitcheck.prove.burnt_torches import TOO_LARGE
from circuitcheck.prove.certifying import Certified, certify, run_of
from circuitcheck.prove.meter import Meter, OverBudget

CIRCUITS = int(os.environ.get("CIRCUITCHECK_RANDOM", "0")) or 8
PLENTY = 300_000
RING = "torch one from three starts on\ntorch two from one starts off\ntorch three from two starts on\n"
INVERTER = "lever rope\ntorch dark from rope\n"
PACED = INVERTER + "lamp bell from dark\nassume at most 1 changes within 10t\n"
LATCH = "lever pond\nlever rope\nlatch gate set pond reset rope starts reset\nassume at most 1 changes within 8t\n"
TURNS = 'always "it comes" one again and again\n'


def certified(text: str) -> Certified:
    """The certificate of the one claim of a text. Raises Uncertified and OverBudget."""
    study = study_of(text.replace("always ", 'always "it comes" '))
    return certify(study, study.claims[0], Meter(PLENTY))


# The verdicts on the same claims are held by textbooks in tests/prove/test_for_ever.py.
@pytest.mark.parametrize(
    "text",
    [
        RING + "always one again and again\n",
        RING + "always one again and again if two again and again, three again and again\n",
        INVERTER + "always when rope off then eventually dark or rope\n",
        INVERTER + "always comes to rest\n",
        LATCH + "always when pond and rope off then eventually gate or pond off or rope\n",
        PACED + "always when rope then eventually bell if rope off again and again\n",
        PACED + "always when rope rises then eventually dark off, rope until then\n",
    ],
)
def test_what_comes_in_the_end_is_certified_and_its_three_questions_have_no_answer(text: str) -> None:
    made = certified(text)
    assert made.case.rounds > 0
    for which in QUESTIONS:
        assert not Solver(bootstrap_with=question(made.case.model, made.invariant, which)).solve(), which


@pytest.mark.parametrize(
    "text",
    [
        RING + "always comes to rest\n",
        INVERTER + "always rope again and again\n",
        INVERTER + "always dark off again and again if dark again and again\n",
        PACED + "always when rope then eventually bell\n",
        PACED + "always when rope rises then eventually dark off, dark off until then\n",
    ],
)
def test_what_need_not_come_is_not_certified(text: str) -> None:
    with pytest.raises(Uncertified):
        certified(text)


def test_fewer_rounds_than_a_run_goes_are_no_bound() -> None:
    study = study_of(RING + TURNS)
    made = certify(study, study.claims[0], Meter(PLENTY))
    fewer = case_of(study, study.claims[0], made.case.inside, rounds=made.case.rounds - 1)
    # The run is followed by the values of its gates: a ring needs no input.
    state = [int(bool(latch.reset)) for latch in fewer.model.latches]
    for _ in range(60):
        values = fewer.model.values(state, [0] * len(fewer.model.inputs))
        state = [values[latch.then >> 1] ^ latch.then & 1 for latch in fewer.model.latches]
    ended = dict(zip((latch.literal for latch in fewer.model.latches), state, strict=True))
    assert ended[fewer.model.bad]


def test_no_claim_that_a_run_without_end_breaks_is_certified() -> None:
    so_far = 0
    for seed in range(CIRCUITS):
        chance = random.Random(seed)
        drawn = sluice(seed, Size(1, 1, FEW_STATES))
        study = drawn.study()._replace(assumptions=(RateLimit(1, chance.choice((4, 20)), "pace"),))
        body = asked(drawn, chance)
        claim = Claim("random", body, NOWHERE)
        program = Program(quiet(study.circuit))
        try:
            certify(study._replace(claims=(claim,)), claim, Meter(12_000))
            broken = Plain(program, body, study.assumptions).broken()
        except (*TOO_LARGE, TooManyStarts, OverBudget, Uncertified):
            continue
        assert not broken, (seed, drawn.text, body)
        so_far += broken is not None
    print(f"\n{so_far} certified and held against a plain search")
    assert so_far > 0


# From end to end


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a certificate."""
    folder = tmp_path_factory.mktemp("mill")
    (folder / "mill.circuit").write_text("language 1\ncircuit mill\n" + RING + 'always "it turns" one again and again\n'
                                         'always "it stops" comes to rest\n')  # fmt: skip
    assert code_of("prove", "--only-claims", "--certificate", folder / "proofs", folder / "mill.circuit") == 1
    return folder / "proofs"


def code_of(*words: object) -> int:
    """The exit code of a call."""
    with pytest.raises(SystemExit) as ended:
        main([str(word) for word in words])
    assert isinstance(ended.value.code, int)
    return ended.value.code


def test_a_ring_that_turns_for_ever_is_accepted_by_the_checker_and_what_is_broken_is_named(
    written: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    turns, stops = json.loads((written / "certificate.json").read_text())["claims"]
    assert (turns["kind"], turns["rounds"] > 0) == ("proved", True)
    assert (stops["kind"], "without end" in stops["why"]) == ("not certified", True)
    assert f"{turns['rounds']} rounds" in (written / "README.txt").read_text()
    capsys.readouterr()
    assert code_of("certified", written) == 0


@pytest.mark.parametrize("rounds", [0, 1, 99, -1, 10**9])
def test_another_number_of_rounds_is_found_out(written: Path, rounds: int, capsys: pytest.CaptureFixture[str]) -> None:
    path = written / "certificate.json"
    whole = path.read_text()
    data = json.loads(whole)
    data["claims"][0]["rounds"] = rounds
    path.write_text(json.dumps(data))
    assert code_of("certified", written) == 1
    path.write_text(whole)


def test_a_counter_that_is_broken_certifies_nothing(written: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(round_rules, "_given", lambda system, body: 1)
    assert code_of("certified", written) == 1


def test_a_list_with_rounds_without_end_is_none() -> None:
    data = {"certificate": VERSION, "circuit": "mill.circuit", "define": "", "sources": {}}
    claim = {**Entry("it turns", "proved")._asdict(), "rounds": float("inf")}
    with pytest.raises(Unreadable):
        listed(json.dumps({**data, "claims": [claim]}))


def test_a_run_of_more_rounds_than_were_counted_breaks_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Else who writes a certificate could have a true claim called false."""
    study = study_of(RING + TURNS)
    monkeypatch.setattr(certifying, "case_of", functools.partial(case_of, rounds=1))
    case, state, steps = run_of(study, study.claims[0], (), 40)
    trace = trace_text(state, steps)
    assert breaks(case.model, state, steps) == ""
    entry = Entry(study.claims[0].words, "broken", "1", case.inside, (sum_of(trace),), rounds=1)
    files = {f"1/{SYSTEM}": system_text(case), f"1/{TRACE}": trace}
    assert list(checking._of_claim(study, study.claims[0], entry, files, lambda clauses, proof: False))


def test_rounds_of_a_claim_that_has_none_are_found_out() -> None:
    study = study_of(INVERTER + 'never "both" rope and not rope\n')
    entry = Entry(study.claims[0].words, "proved", "1", ("rope",), ("", "", ""), rounds=1)
    with pytest.raises(Uncertified):
        checking._case(study, study.claims[0], entry)


def test_a_run_of_a_system_in_which_a_part_may_do_anything_breaks_nothing() -> None:
    """Without what feeds it a lamp does what it never does in the circuit; a proof of such a system is one."""
    study = study_of(PACED + 'never "both" bell and not bell\n')
    proved = Entry(study.claims[0].words, "proved", "1", ("bell",), ("", "", ""))
    assert checking._case(study, study.claims[0], proved).left_free == ("dark",)
    with pytest.raises(Uncertified, match="'dark' may do anything"):
        checking._case(study, study.claims[0], proved._replace(kind="broken"))
    whole = proved._replace(kind="broken", inside=("bell", "dark", "rope"))
    assert checking._case(study, study.claims[0], whole).left_free == ()


@pytest.mark.parametrize(
    "claim", ['always "it rests" comes to rest', 'never "both" arm and not arm', 'always "out" arm again and again']
)
def test_no_claim_about_a_part_that_certificates_do_not_know_is_certified_whatever_a_list_says(claim: str) -> None:
    study = study_of(f"lever rope\ndetector arm arming rope hears rope\n{claim}\n")
    rounds = int(claim.startswith("always"))
    entry = Entry(study.claims[0].words, "proved", "1", ("rope", "arm"), ("", "", ""), rounds=rounds)
    with pytest.raises(Uncertified, match="'arm', a detector"):
        checking._case(study, study.claims[0], entry)
