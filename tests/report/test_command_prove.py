"""The command that proves, in a pipe: what it says, where, in what form, and with which exit code.

Expected verdicts and times are calculated by hand. Rules of the trade: common practice, no source, by their ids.
"""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from circuitcheck.checks.outcome import Outcome
from circuitcheck.cli import main
from circuitcheck.model.claims import Claim
from circuitcheck.prove.prover import Prover

from .calling import BROKEN, call, told, write

MILL = "lever rope\nlever ebb\ntorch dry from rope\nrepeater slow from rope delay 2t\n"
LATCH = "latch gate set rope reset ebb starts reset\n"
GOOD = MILL + 'always "it can" possible slow\n'
FAILING = MILL + 'always "quick" when rope rises then slow within 3gt\n'
OPEN = MILL + 'always "empty" when rope and rope off then slow\n'
LARGE = (
    "lever rope.1 to rope.9\nlever ebb.1 to ebb.9\ndetector rise.* watches rope.*\n"
    "repeater push.* from rise.* delay 2t\nlatch gate.* set push.* reset ebb.* starts reset\n"
)
"""Nine latches that know nothing of each other: each alone is small, what all do together is not."""


# Verdicts and exit codes


@pytest.mark.parametrize(
    ("text", "code", "says"),
    [
        (GOOD, 0, "proved   it can"),
        (FAILING + OPEN.removeprefix(MILL), 1, "FAILS    quick"),
        (BROKEN, 2, "CKT201"),
        (OPEN + GOOD.removeprefix(MILL), 3, "vacuous  empty"),
    ],
    ids=["good", "failing and open", "broken", "open and good"],
)
def test_prove_says_what_holds_and_ends_with_its_exit_code(tmp_path: Path, text: str, code: int, says: str) -> None:
    run = call("prove", *write(tmp_path, a=text))
    assert (run.returncode, run.stderr) == (code, "")
    assert says in told(run)


def test_a_proof_says_how_many_states_it_saw_and_how_far_the_farthest_is(tmp_path: Path) -> None:
    text = 'lever rope\nnever "n" rope and rope off\n'
    out = told(call("prove", *write(tmp_path, a=text)))
    assert re.search(r"proved   n  \(\d+ states?\)\n +all \d+ states, the farthest \d+(t|gt) away; \d+\.\d s\n", out)


# T2, R2: pulled in gt 0, the repeater is on in gt 4.
def test_a_failure_is_reported_with_its_time_its_place_and_that_no_way_is_shorter(tmp_path: Path) -> None:
    out = told(call("prove", *write(tmp_path, a=FAILING)))
    assert "FAILS    quick  at 3gt\n" in out
    assert "a.circuit:5:8" in out
    assert "the nearest ones first: there is no shorter trace" in out


def test_what_is_assumed_is_said_with_what_depends_on_it(tmp_path: Path) -> None:
    text = (
        f"{MILL}assume rope stable for 3gt\nassume ebb stable for 9gt\n"
        'always "turned" dry inverts rope, settled within 2gt\nalways "quick" when rope rises then slow within 3gt\n'
    )
    verdicts, dependence = told(call("prove", *write(tmp_path, a=text))).split("what the proofs depend on\n")
    assert verdicts.count("under: assume rope stable for 3gt\n") == 2
    assert "FAILS    quick" in verdicts
    rope, ebb = dependence.partition("\n\n")[0].split("    assume ebb stable for 9gt\n")
    assert 'needed for: "turned"' in rope.splitlines()[1].strip()
    assert ebb.strip() == 'not needed for: "turned"'


TURNED = "dry inverts rope, settled within 2gt"
TWO = f'{MILL}assume rope stable for 3gt\nalways "first" {TURNED}\nalways "second" {TURNED}\n'


@pytest.mark.parametrize("extra", [(), ("--json",)])
def test_what_proofs_depend_on_is_looked_into_after_all_verdicts_and_may_be_stopped(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, extra: tuple[str, ...]
) -> None:
    asked: list[str] = []
    prove = Prover.prove

    def stopped(self: Prover, claim: Claim) -> Outcome:
        asked.append(claim.title)
        if len(asked) == 4:
            raise KeyboardInterrupt
        return prove(self, claim)

    monkeypatch.setattr(Prover, "prove", stopped)
    with pytest.raises(SystemExit) as ended:
        main(["prove", *extra, *write(tmp_path, a=TWO)])
    assert ended.value.code == 130
    assert asked == ["first", "second", "first", "second"]
    out, _ = capsys.readouterr()
    if extra:
        claims = json.loads(out)["claims"]
        assert [each["verdict"] for each in claims] == ["proved", "proved"]
        assert [[each["holds_without"] for each in claim["proof"]["leanings"]] for claim in claims] == [[False], []]
    else:
        verdicts, dependence = out.split("what the proofs depend on\n")
        assert verdicts.index("proved   first") < verdicts.index("proved   second")
        assert 'needed for: "first"' in dependence


# T4, T2: off in gt 2, 6, … 30.
def test_a_proof_says_until_which_burn_out_it_holds(tmp_path: Path) -> None:
    text = 'lever rope\ntorch dry from rope\nalways "gap" every gap of dry lasts at least 2gt\n'
    out = " ".join(told(call("prove", "--width", "400", *write(tmp_path, a=text))).split())
    assert "until the torch 'dry' burns out (T4): inputs can switch it off 8 times within 14t, soonest by 15t" in out


def test_that_the_world_can_do_nothing_is_said(tmp_path: Path) -> None:
    text = OPEN + "assume at most 0 changes within 1t\n"
    run = call("prove", *write(tmp_path, a=text))
    assert run.returncode == 3
    assert "under the assumptions no input can ever change" in told(run)


# L3: in gt 4 set, in gt 2 no hand can help any more (T3).
def test_what_can_always_be_brought_about_is_reported_unasked_and_counts_for_nothing(tmp_path: Path) -> None:
    text = "lever rope\ntorch sun\ntorch moon from sun\nlatch keep set rope reset moon starts reset\n"
    run = call("prove", *write(tmp_path, a=text))
    out = told(run)
    assert run.returncode == 0
    assert "no       'keep' can always be reset\n" in out
    assert "yes      'keep' can always be set\n" in out
    assert "yes      it can always come to rest" in out
    assert "without inputs, nothing changes" in out
    assert "claims nothing" in out


def test_what_is_reported_unasked_points_at_no_line_that_there_is_none_of(tmp_path: Path) -> None:
    text = "lever rope\ntorch sun\ntorch moon from sun\nlatch keep set rope reset moon starts reset\n"
    assert "[:0:0]" not in told(call("prove", *write(tmp_path, a=text)))


# T6: a ring of three torches, each 2 gt, has a period of 12 gt.
def test_what_ticks_untouched_is_reported_with_its_period(tmp_path: Path) -> None:
    text = "torch a from c starts on\ntorch b from a starts off\ntorch c from b starts off\n"
    out = told(call("prove", "--width", "200", *write(tmp_path, a=text)))
    assert "without inputs, 'a', 'b', 'c' keep changing, every 6t the same" in out


# The ready check

WATCHED = {
    'always "invariant" rope or dry': 2,  # T2: off in gt 2, in which a hand lets go
    'never "never" slow and dry': 4,  # R2: on in gt 4; pulled for 1 gt, the torch has swallowed it (T3)
    'always "same gt" when rope then dry off': 0,
    'always "within" when rope rises then slow within 3gt': 3,  # R2
    'always "unless" when rope rises then dry off within 1gt unless rope off': 1,  # T2
    'always "until" when rope rises then rope until ebb': 1,
    'always "stable" when slow rises then slow stable for 4gt': 8,  # R3: on in gt 4 to 8
    'always "inverts" dry inverts rope, settled within 1gt': 1,  # T2: off in gt 2
    'always "follows" slow follows rope, settled within 3gt': 3,  # R2
    'always "pulse" every pulse of slow lasts at least 5gt': 8,  # R3
    'always "long pulse" every pulse of slow lasts at most 6gt': 10,  # on from gt 4
    'always "gap" every gap of slow lasts at least 5gt': 12,  # R2: on 4 to 8, pulled in gt 8, on in 12
    'always "delay" from rope rises to slow rises takes at least 5gt': 4,  # R2
    'always "least and most" from rope rises to slow rises takes 1gt to 3gt': 3,
    'always "brackets" (rope off or dry) and not (slow and rope off)': 2,  # T2
    'never "latch" gate set': 4,  # L3
    'never "level" depth at least 9 or depth is 3': 0,
    'always "button" bell off': 0,
    'always "plate" step off': 0,
    'always "row" pond.* off': 0,
    'always "each" for each pond: pond off': 0,
}
"""Claims that break, with the gt calculated by hand."""
INPUTS = "analogue depth\nbutton bell short\nplate step\nlever pond.1 to pond.2\n"


def ready_checks(out: str) -> str:
    """The checks that were printed to be pasted, as lines of a file."""
    found = re.findall(r"paste this into the file:\n(.*?\n      end\n)", out, re.DOTALL)
    return "".join(found)


def outcomes(run: subprocess.CompletedProcess[str]) -> dict[str, dict[str, Any]]:
    """The outcomes of a report for machines, by title."""
    report = json.loads(told(run))
    circuits = [each for file in report["files"] for each in file["circuits"]]
    return {each["title"]: each for circuit in circuits for each in circuit["outcomes"]}


def pasted(folder: Path, text: str) -> dict[str, dict[str, Any]]:
    """What becomes of the checks that `prove` prints of a file, pasted into it, in runs alone."""
    out = told(call("prove", "--width", "400", "--states", "3000", *write(folder, a=text)))
    return outcomes(call("verify", "--states", "0", "--json", *write(folder, b=text + ready_checks(out))))


def test_the_ready_check_of_each_claim_fails_in_the_gt_that_was_said(tmp_path: Path) -> None:
    text = MILL + LATCH + INPUTS + "".join(f"{claim}\n" for claim in WATCHED)
    found = pasted(tmp_path, text)
    expected: dict[str, int] = {}
    for claim, at in WATCHED.items():
        title = claim.split('"')[1]
        expected |= {f"each, pond.{n}": at for n in (1, 2)} if title == "each" else {title: at}
    breaking = {title: found.get(f"a counterexample to: {title}") for title in expected}
    assert {
        title: each and (each["verdict"], (each["failure"] or {}).get("at")) for title, each in breaking.items()
    } == {title: ("fails", at) for title, at in expected.items()}


# C5, L4: both pulled in gt 0, both let go in gt 2; which side comes on in gt 4 is open.
def test_the_ready_check_of_a_race_is_a_race_in_the_gt_that_was_said(tmp_path: Path) -> None:
    found = pasted(tmp_path, f'lever rope\nlever ebb\n{LATCH}never "race" gate races\n')["a counterexample to: race"]
    assert (found["verdict"], found["failure"]["at"]) == ("race", 4)


# P2: 15 through one dust, 13 through three; either way it is on.
def test_the_ready_check_of_a_race_between_two_levels_is_a_race(tmp_path: Path) -> None:
    text = (
        f"lever rope\nlever ebb\n{LATCH}dust near from gate\ndust far from gate.inverse length 3\n"
        'junction meet joins near, far\nnever "race" meet races\n'
    )
    assert pasted(tmp_path, text)["a counterexample to: race"]["verdict"] == "race"


# T4: off in gt 2, 6, … 30.
def test_the_ready_check_of_a_burn_out_burns_the_torch_out(tmp_path: Path) -> None:
    text = 'lever rope\ntorch dry from rope\nnever "burns" dry burnt\n'
    out = told(call("prove", *write(tmp_path, a=text)))
    run = call("verify", "--states", "0", *write(tmp_path, b=f"forbid T4\n{text}{ready_checks(out)}"))
    assert run.returncode == 1
    assert "FORBID " in told(run)
    assert "at 15t of" in told(run)


# L3: set by hand in gt 0, on in gt 4.
def test_the_ready_check_of_a_definition_fails_inside_it(tmp_path: Path) -> None:
    text = (
        "define hold (opens, shuts) gives gate\n  latch gate set opens reset shuts starts reset\n"
        '  never "set" gate set\nend\n'
    )
    run = call("prove", "--define", "hold", *write(tmp_path, a=text))
    assert run.returncode == 1
    inside = text.removesuffix("end\n") + ready_checks(told(run)) + "end\n"
    found = outcomes(call("verify", "--states", "0", "--json", *write(tmp_path, b=inside)))["a counterexample to: set"]
    assert (found["verdict"], found["failure"]["at"]) == ("fails", 4)


# T3, D1: the latch swallows the detector's pulse, so no answer comes by gt 4.
def test_the_ready_check_of_what_fails_as_the_file_says_says_so_itself(tmp_path: Path) -> None:
    text = (
        "lever rope\nlever ebb\ndetector ripple watches rope\nlatch gate set ripple reset ebb starts reset\n"
        'always "hears" fails because T3 when rope rises then gate within 2t unless ebb\n'
    )
    run = call("prove", *write(tmp_path, a=text))
    assert run.returncode == 0
    assert "as said  hears" in told(run)
    found = pasted(tmp_path, text)["a counterexample to: hears"]
    assert (found["verdict"], found["failure"]["at"]) == ("fails_as_said", 4)


# What is too large


def test_within_a_small_budget_it_is_open_and_says_what_was_hit_and_how_far_it_got(tmp_path: Path) -> None:
    text = MILL + LATCH + 'never "both" gate and gate.inverse and slow and dry\n'
    run = call("prove", "--states", "200", *write(tmp_path, a=text))
    out = " ".join(told(run).split())
    assert run.returncode == 3
    assert "open both" in out
    assert "the budget of 200 states for one claim ran out" in out
    assert re.search(r"\d+ states were explored, up to [1-9]\d*(t|gt) away, and nothing broke it", out)


def test_a_wish_within_a_small_budget_says_how_far_it_got(tmp_path: Path) -> None:
    text = MILL + LATCH + 'always "rest" possible rest\n'
    out = " ".join(told(call("prove", "--states", "800", *write(tmp_path, a=text))).split())
    assert re.search(r"\d+ states were explored, up to [1-9]\d*(t|gt) away, and nothing broke it", out)


WITHOUT_FACTS = """
import sys
from circuitcheck.cli import main
from circuitcheck.prove import facts
facts.facts = lambda *asked: []
import atexit
status = "/proc/self/status"
atexit.register(
    lambda: print("peak", next(int(row.split()[1]) for row in open(status) if row.startswith("VmHWM")))
)
main(sys.argv[1:])
"""
"""The program without what it tells unasked, which takes long for a circuit with an analogue input."""


def peak(*words: str) -> tuple[int, int, str]:
    """Exit code, the most memory held in MB as the process itself says at its end, and what was said."""
    command = [sys.executable, "-c", WITHOUT_FACTS, *words]
    run = subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, check=False)
    said, _, held = run.stdout.rpartition("peak ")
    return run.returncode, int(held) >> 10, said


def test_memory_is_kept_to(tmp_path: Path) -> None:
    text = (
        "lever rope.1 to rope.4\nanalogue depth\nrepeater slow.* from rope.* delay 4t\n"
        "comparator head from depth side slow.1, slow.2, slow.3, slow.4 subtract\ntorch dry from head\n"
        'never "all" dry and slow.1 and slow.2 and slow.3 and slow.4\n'
    )
    (path,) = write(tmp_path, a=text)
    code, held, said = peak("prove", "--memory", "50", "--states", "30000", path)
    assert code == 3
    assert "the memory allowed, 50 MB, ran out" in " ".join(said.split())
    assert held < 80, "it looks every 64 states, so some more is held by then; without a bound it is above 100"


def test_too_many_hands_at_once_are_reported_and_no_traceback(tmp_path: Path) -> None:
    text = (
        "lever rope.1 to rope.14\njunction meet joins rope.*\ncomparator scale from meet\n" + 'never "x" scale is 3\n'
    )
    run = call("prove", *write(tmp_path, a=text))
    assert run.returncode == 3
    assert "ways in one gt" in told(run)


def test_ctrl_c_ends_it_with_one_line_that_says_what_is_known(tmp_path: Path) -> None:
    text = LARGE + 'always "one" possible gate.1\nalways "all" possible gate.*\nalways "rest" possible rest\n'
    command = [sys.executable, "-m", "circuitcheck", "prove", *write(tmp_path, a=text)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as running:
        while running.poll() is None and worked(running.pid) < 2.0:
            time.sleep(0.05)
        running.send_signal(signal.SIGINT)
        out, err = running.communicate(timeout=30)
    assert running.returncode == 130
    assert "proved   one" in out
    told_of = r"circuitcheck: stopped; 2 claims are left; of the next, [\d,]+ states were explored, [^\n]*\n"
    assert re.fullmatch(told_of, err)


def worked(process: int) -> float:
    """How many seconds of processor time a process has had."""
    fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


# For machines


def test_json_has_stable_keys(tmp_path: Path) -> None:
    text = FAILING + 'assume rope stable for 2t\nalways "gap" every gap of dry lasts at least 2gt\n'
    run = call("prove", "--json", *write(tmp_path, a=text))
    found = json.loads(told(run))
    assert run.returncode == 1
    assert found["schema_version"] == 3
    assert sorted(found) == ["claims", "facts", "flashing", "path", "program", "schema_version"]
    failed, proved = found["claims"]
    keys = [
        "detail",
        "differences",
        "failure",
        "given",
        "meaning",
        "place",
        "proof",
        "race",
        "runs",
        "starts",
        "title",
        "verdict",
    ]
    assert sorted(failed) == sorted(proved) == keys
    assert (failed["verdict"], failed["failure"]["at"], proved["verdict"]) == ("fails", 3, "proved")
    assert failed["proof"]["way"] == [{"at": 0, "part": "rope", "verb": "throw", "level": 0}]
    proof = proved["proof"]
    first = "assumptions back back_from burn_outs burn_outs_open clauses clauses_kept clauses_sought complete depth"
    assert (
        " ".join(sorted(proof))
        == f"{first} hints leanings limit no_round_to parts round rounds rounds_sought seconds shortest solver states"
        " unbroken_to way within"
    )
    assert proof["assumptions"] == ["assume rope stable for 2t"]
    assert proof["leanings"] == [{"assumption": "assume rope stable for 2t", "holds_without": True}]
    # T4: thrown every 4 gt, 8 offs are 7 · 8 gt, the first in gt 2.
    ((burn_out),) = proof["burn_outs"]
    assert (burn_out["torch"], burn_out["span"], burn_out["at"]) == ("dry", 56, 58)
    assert [act["at"] for act in burn_out["way"]] == list(range(0, 57, 4))
    assert [fact["title"] for fact in found["facts"]] == ["it can always come to rest"]


def test_json_of_a_file_with_a_mistake_is_json_all_the_same(tmp_path: Path) -> None:
    run = call("prove", "--json", *write(tmp_path, a=BROKEN))
    assert run.returncode == 2
    json.loads(run.stdout)


# Wrong input


def test_a_missing_file_is_a_mistake_and_no_traceback(tmp_path: Path) -> None:
    run = call("prove", str(tmp_path / "none.circuit"))
    assert run.returncode == 2
    assert "CKT501" in told(run)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--define", "hodl"], "did you mean 'hold'?"),
        (["--define", "mill"], "it has hold"),
        ([], "--define takes one of its definitions: hold"),
    ],
)
def test_a_definition_that_is_not_there_is_reported(tmp_path: Path, words: list[str], says: str) -> None:
    text = "define hold (opens) gives shut\n  torch shut from opens\nend\n"
    run = call("prove", *write(tmp_path, a=text), *words)
    assert (run.returncode, told(run)) == (2, "")
    assert says in run.stderr
    assert run.stderr.count("\n") == 1


@pytest.mark.parametrize(
    "words",
    [["--states", "0"], ["--states", "abc"], ["--states=-5"], ["--states", "²"], ["--memory", "49"], ["--width", "39"]],
)
def test_a_number_out_of_bounds_is_reported_on_stderr(tmp_path: Path, words: list[str]) -> None:
    run = call("prove", *write(tmp_path, a=GOOD), *words)
    assert (run.returncode, told(run)) == (2, "")
    assert re.search(r"number (from|of columns from) [\d,]+ to [\d,]+", run.stderr)


def test_in_a_narrow_window_all_but_code_keeps_to_the_width(tmp_path: Path) -> None:
    out = told(call("prove", "--width", "40", *write(tmp_path, a=GOOD + FAILING.removeprefix(MILL))))
    code = set(ready_checks(out).splitlines())
    too_wide = [row for row in out.splitlines() if len(row) > 40 and row not in code]
    assert [row for row in too_wide if "paste this" not in row] == []


def test_in_a_narrow_window_the_line_above_the_ready_check_keeps_to_the_width(tmp_path: Path) -> None:
    out = told(call("prove", "--width", "40", *write(tmp_path, a=FAILING)))
    assert all(len(row) <= 40 for row in out.splitlines() if "paste this" in row)


# Users' text


def test_what_a_file_says_is_shown_as_it_stands_and_obeyed_by_nothing(tmp_path: Path) -> None:
    marks = "[/foo] [torch] :x: \x1b[31mred \u202eterces\u2066 \x07"
    text = MILL + f'never "{marks}" rope\nalways "{marks} 2" possible rope\nassume rope stable for 1t  # \x1b[31m\n'
    run = call("prove", *write(tmp_path, a=text))
    shown = "[/foo] [torch] :x: \ufffd[31mred \ufffdterces\ufffd \ufffd"
    out = told(run)
    assert run.returncode == 1
    assert f"FAILS    {shown}  at 0t" in out
    assert f'check "a counterexample to: {shown}"' in out
    assert not {"\u202e", "\u2066", "\x07"} & set(out)


def test_a_name_that_is_shown_in_a_refusal_is_harmless(tmp_path: Path) -> None:
    run = call("prove", *write(tmp_path, a=GOOD), "--define", "\x1b[31m[red]\u202e")
    told(run)
    assert run.returncode == 2
    assert "\u202e" not in run.stderr


def test_an_output_that_knows_ascii_only_is_written_to(tmp_path: Path) -> None:
    text = FAILING.replace("slow", "mühle_水")
    for words in ([], ["--json"]):
        run = call("prove", *words, *write(tmp_path, a=text), PYTHONIOENCODING="ascii")
        assert run.returncode == 1
        assert told(run).isascii()


def test_what_was_not_asked_for_can_be_left_out(tmp_path: Path) -> None:
    text = "lever rope\nlamp bell from rope\n" + 'always "bell" possible bell\n'
    paths = write(tmp_path, a=text)
    asked = [json.loads(told(call("prove", "--json", *extra, *paths))) for extra in ((), ("--only-claims",))]
    assert [each["title"] for each in asked[1]["claims"]] == [each["title"] for each in asked[0]["claims"]] == ["bell"]
    assert asked[0]["facts"] != []
    assert asked[1]["facts"] == []
    whole, short = (told(call("prove", *extra, *paths)) for extra in ((), ("--only-claims",)))
    assert whole.startswith(short.rstrip("\n"))
    assert len(short) < len(whole)


@pytest.mark.parametrize("extra", [(), ("--json",)])
def test_ctrl_c_leaves_the_verdicts_that_fell_before_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, extra: tuple[str, ...]
) -> None:
    prove = Prover.prove

    def stopped(self: Prover, claim: Claim) -> Outcome:
        if claim.title == "second":
            raise KeyboardInterrupt
        return prove(self, claim)

    monkeypatch.setattr(Prover, "prove", stopped)
    text = 'lever rope\nlamp bell from rope\nalways "first" possible bell\nalways "second" possible bell off\n'
    with pytest.raises(SystemExit) as ended:
        main(["prove", *extra, *write(tmp_path, a=text)])
    out, err = capsys.readouterr()
    assert ended.value.code == 130
    assert "1 claim" in err
    if extra:
        assert [(each["title"], each["verdict"]) for each in json.loads(out)["claims"]] == [("first", "proved")]
    else:
        assert "first" in out


# What proves that something can be, or can depend on an order


def test_what_is_always_possible_is_shown_with_what_brings_it_about(tmp_path: Path) -> None:
    """R2: a lever, worked in any gt, is felt at the end of it, and a repeater of 2t goes on 4 gt after that."""
    paths = write(tmp_path, a=GOOD)
    out = told(call("prove", "--only-claims", *paths))
    assert "in 5gt at the latest" in out
    assert "then: throw rope at 1gt" in out
    proof = json.loads(call("prove", "--only-claims", "--json", *paths).stdout)["claims"][0]["proof"]
    assert (proof["within"], proof["way"], proof["back_from"]) == (5, [], 1)
    assert [(act["at"], act["part"], act["verb"]) for act in proof["back"]] == [(0, "rope", "throw")]


def test_a_race_that_the_file_expects_has_its_trace_and_who_ties(tmp_path: Path) -> None:
    """C5: two torches on one lever act in one gt, and a latch has the one behind the other."""
    tied = "lever rope\ntorch pull from rope\ntorch drop from rope\nlatch gate set pull reset drop starts reset\n"
    run = call(
        "prove", "--only-claims", "--json", *write(tmp_path, a=f'{tied}never "race" fails because C5  gate races\n')
    )
    (claim,) = json.loads(run.stdout)["claims"]
    assert claim["verdict"] == "fails_as_said"
    assert {claim["race"]["first"], claim["race"]["second"]} == {"pull", "drop"}
    assert [(act["at"], act["part"]) for act in claim["proof"]["way"]] == [(0, "rope")]
