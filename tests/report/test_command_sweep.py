"""The commands that sweep and that compare sets of rules: what they find, what they say, and their exit codes.

What is expected is calculated by hand. Rules of the trade: common practice, no source, by their ids.
"""

from __future__ import annotations

import gc
import io
import json
from collections.abc import Iterator
from contextlib import redirect_stdout
from pathlib import Path
from typing import Any

import pytest

from circuitcheck import verify_text
from circuitcheck.checks.outcome import Verdict
from circuitcheck.cli import main

from .calling import BROKEN, call, told, write

PARTS = (
    "lever rope\nlever brake\ndetector ripple watches rope\nrepeater winch from ripple delay 2t\n"
    "latch gate set winch reset brake starts reset\nlamp open from gate\n"
)
OPENS = 'check "a ripple opens"\n  at 1s rope on\n  by 2s expect open\nend\n'
SLUICE = PARTS + OPENS
LINE = 'lever rope\ndust line from rope length 6\nlamp bell from line\ncheck "it rings"\n  at 1s rope on\n'
LINE += "  at 1s expect bell\nend\n"


def here(*words: str) -> tuple[int, str]:
    """The exit code and what is written by the program called in this process, which is quicker; a sweep in one."""
    written = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", newline="\n")
    thresholds = gc.get_threshold()
    alone = ["--workers", "1"] if words[0] == "sweep" else []
    with redirect_stdout(written), pytest.raises(SystemExit) as ended:
        main([*words, *alone])
    gc.set_threshold(*thresholds)
    written.seek(0)
    text = written.read()
    assert "\x1b" not in text
    return int(ended.value.code or 0), text


def report(*words: str) -> dict[str, Any]:
    """What is written for machines."""
    found: dict[str, Any] = json.loads(here(*words, "--json")[1])
    return found


def swept(*words: str) -> dict[str, Any]:
    """A sweep, as written for machines."""
    return report("sweep", *words)


def held(found: dict[str, Any], name: str) -> dict[int, bool | None]:
    """What each value of a setting came to."""
    (setting,) = [each for each in found["settings"] if each["name"] == name]
    return {each["value"]: each["holds"] for each in setting["values"]}


def flat(text: str) -> str:
    """A text as one line, however it was wrapped."""
    return " ".join(text.split())


# How far each setting goes


# R3, D1: a pulse of 1t leaves a repeater of 1t as 1t, and of 2t as 2t. T3: 2 gt out of a repeater is swallowed, more is
# not. L1, L3: what is set feeds the inverse side first.
def test_the_repeater_before_the_latch_is_found_to_be_needed_and_the_torch_that_swallows_is_named(
    tmp_path: Path,
) -> None:
    run = call("sweep", "--width", "200", *write(tmp_path, a=SLUICE))
    assert (run.returncode, run.stderr) == (0, "")
    winch = told(run).split("winch, delay")[1]
    assert "margin: none below, all above" in winch
    assert "1t fails 2t to 4t, chosen [2t], holds" in flat(winch)
    (reason,) = [row for row in winch.splitlines() if row.strip().startswith("1t: ")]
    assert "“a ripple opens” fails" in reason
    assert "'gate.inverse'" in reason
    assert reason.endswith("(T3)")


def test_for_machines_each_value_has_its_own_verdict(tmp_path: Path) -> None:
    found = swept(*write(tmp_path, a=SLUICE))
    assert sorted(found) == ["path", "program", "schema_version", "settings"]
    assert found["schema_version"] == 3
    assert [(each["name"], each["what"], each["chosen"]) for each in found["settings"]] == [
        ("ripple", "pulse", 2),
        ("winch", "delay", 4),
    ]
    assert held(found, "winch") == {2: False, 4: True, 6: True, 8: True}
    # R3: a pulse longer than the delay goes through as long as it is.
    assert held(found, "ripple") == {2: True, 4: True, 6: True, 8: True}
    assert all(sorted(value) == ["at", "holds", "reason", "title", "value"] for value in found["settings"][1]["values"])


# L3, D1, R2: thrown in gt 20, detected in 22, out of 3t in 28, inverse off in 30, open in 32; with 4t in 34, by 33 not.
def test_a_margin_is_said_on_each_side_of_what_is_chosen(tmp_path: Path) -> None:
    text = SLUICE.replace("delay 2t", "delay 3t").replace("by 2s", "by 33gt")
    _, out = here("sweep", "--width", "200", *write(tmp_path, a=text))
    assert "winch, delay   margin: 1t below, none above" in out
    assert "1t fails 2t to 3t, chosen [3t], holds 4t fails" in flat(out)


def test_what_fails_as_it_stands_is_said_and_ends_with_1(tmp_path: Path) -> None:
    code, out = here("sweep", *write(tmp_path, a=SLUICE.replace("delay 2t", "delay 1t")))
    assert code == 1
    assert "winch, delay   1t as it stands fails" in out


# P2: the n-th dust shows 16 − n.
def test_a_line_of_sixteen_dust_fails(tmp_path: Path) -> None:
    (path,) = write(tmp_path, a=LINE)
    _, out = here("sweep", "--width", "200", path)
    assert "line, length   margin: all below, 9 above" in out
    assert "1 to 15, chosen [6], holds 16 fails" in flat(out)
    (reason,) = [row for row in out.splitlines() if row.strip().startswith("16: ")]
    assert "'line'" in reason
    assert reason.endswith("(P2)")
    assert held(swept(path), "line") == {length: length < 16 for length in range(1, 17)}


# T2, C2: after 2 gt it is thrown back behind the torch's look, and the two are wrong to each other for 4 gt.
def test_how_quick_the_world_may_be_is_swept_as_well(tmp_path: Path) -> None:
    text = "lever rope\ntorch dry from rope\nassume rope stable for 3gt\n"
    text += 'always "turned" dry inverts rope, settled within 2gt\n'
    assert held(swept(*write(tmp_path, a=text)), "assume rope stable for 3gt") == {2: False, 3: True, 4: True, 6: True}


# O1: 10t for a short button, 15t for a long one.
def test_a_button_is_tried_short_and_long(tmp_path: Path) -> None:
    text = 'button bell short\ncheck "held"\n  at 1s press bell\n  at 41gt expect bell off\nend\n'
    assert held(swept(*write(tmp_path, a=text)), "bell") == {20: True, 30: False}


def test_what_the_budget_does_not_decide_is_open_and_ends_with_3(tmp_path: Path) -> None:
    text = "lever rope\nrepeater slow from rope delay 4t\nlamp lit from slow\n"
    code, out = here("sweep", "--states", "2", *write(tmp_path, a=text + 'never "x" lit and slow and slow off\n'))
    assert code == 3
    assert "slow, delay   4t as it stands open" in out


def test_a_circuit_without_settings_gets_a_message(tmp_path: Path) -> None:
    text = 'lever rope\nlamp lit from rope\ncheck "lit"\n  at 1s rope on\n  at 1s expect lit\nend\n'
    code, out = here("sweep", *write(tmp_path, a=text))
    assert code == 0
    assert "nothing in this circuit can be set otherwise" in out


def test_a_definition_can_be_swept(tmp_path: Path) -> None:
    inside = "".join(f"  {row}\n" for row in SLUICE.splitlines() if not row.startswith("lever"))
    text = f"define basin (rope, brake) gives gate\n{inside}end\n"
    found = swept("--define", "basin", *write(tmp_path, a=text))
    assert held(found, "winch") == {2: False, 4: True, 6: True, 8: True}


# Faults


def faults(path: str) -> dict[str, dict[str, Any]]:
    """What became of each fault, by its words."""
    return {each["fault"]: each for each in swept("--faults", path)["faults"]}


def test_faults_are_counted_and_those_missed_are_reported_with_what_would_show_them(tmp_path: Path) -> None:
    (path,) = write(tmp_path, a=SLUICE)
    run = call("sweep", "--faults", "--width", "200", path)
    out = told(run)
    assert (run.returncode, run.stderr) == (1, "")
    found = faults(path)
    noticed = sum(each["noticed"] for each in found.values())
    real = sum(not each["no_fault"] for each in found.values())
    assert 0 < noticed < real
    assert f"{noticed} of {real} single faults are detected ({100 * noticed / real:.0f} %)" in out
    missed = [words for words, each in found.items() if not each["noticed"] and not each["no_fault"]]
    assert [row.split("missed")[1].strip() for row in out.splitlines() if "missed " in row] == missed
    assert out.count("would show it: ") == len(missed)


# T3, R3: the check notices 1t; R1: 3t opens it 1t later, and it waits for a whole second.
def test_the_faults_of_a_repeater_are_one_tick_less_and_one_more(tmp_path: Path) -> None:
    found = faults(*write(tmp_path, a=SLUICE))
    less, more = (found[f"the repeater 'winch' is set to {delay}"] for delay in ("1t", "3t"))
    assert (less["noticed"], less["holds"], less["title"]) == (True, False, "a ripple opens")
    assert (more["noticed"], more["no_fault"], more["holds"]) == (False, False, True)
    assert not any("set to 2t" in words or "set to 4t" in words for words in found)


CHANGED = {
    "the repeater 'winch' is set to 3t": ("delay 2t", "delay 3t"),
    "the latch 'gate' starts set": ("starts reset", "starts set"),
}
"""Faults that can be written in a file, and how."""


@pytest.mark.parametrize("words", CHANGED)
def test_what_would_show_a_missed_fault_does_show_it(tmp_path: Path, words: str) -> None:
    missed = faults(*write(tmp_path, a=SLUICE))[words]
    assert not missed["noticed"]
    lines = "".join(f"  at {act['at']}gt {act['verb']} {act['part']}\n" for act in missed["shown_by"])
    ends = {}
    for name, text in (("meant", PARTS), ("faulty", PARTS.replace(*CHANGED[words]))):
        check = f'check "shown"\n{lines}  at {missed["shown_at"]}gt expect open\nend\n'
        (outcome,) = verify_text(text + check).outcomes
        ends[name] = outcome.verdict
    assert set(ends.values()) == {Verdict.HOLDS, Verdict.FAILS}


# L3, D1, R2: thrown in gt g, detected in g + 2, out of 2t in g + 6, open in g + 10; out of 3t 2 gt later.
def test_what_would_show_a_missed_fault_is_no_more_than_it_takes_and_tells_the_first_gt(tmp_path: Path) -> None:
    missed = faults(*write(tmp_path, a=SLUICE))
    later, other = (missed[words] for words in CHANGED)
    (act,) = later["shown_by"]
    assert (act["part"], later["shown_at"]) == ("rope", act["at"] + 10)
    assert other["shown_at"] == 0  # it is open from the start


# L3, D1, R2: thrown in gt 20, open in 30 and no sooner; 3t makes it 32.
def test_a_second_check_notices_what_one_misses(tmp_path: Path) -> None:
    second = 'check "on time"\n  at 0gt expect open off\n  at 1s rope on\n  at 30gt expect open\nend\n'
    found = faults(*write(tmp_path, a=SLUICE + second))
    assert [found[words]["noticed"] for words in CHANGED] == [True, True]
    assert found["the repeater 'winch' is set to 3t"]["title"] == "on time"


# P2: seven dust carry as well as six; P1: a lamp asks only whether there is any power.
def test_a_fault_that_changes_nothing_is_none_and_is_not_counted(tmp_path: Path) -> None:
    (path,) = write(tmp_path, a=LINE)
    code, out = here("sweep", "--faults", "--width", "200", path)
    assert code == 0
    assert "no fault the line 'line' is one dust longer: it changes nothing" in out
    assert "1 of 1 single faults are detected (100 %)" in out


# P2: the sixteenth dust is dead.
def test_one_dust_more_is_a_fault_where_it_kills_the_line(tmp_path: Path) -> None:
    longer = faults(*write(tmp_path, a=LINE.replace("length 6", "length 15")))["the line 'line' is one dust longer"]
    assert (longer["noticed"], longer["no_fault"], longer["at"]) == (True, False, 20)


# Where it is carried out


@pytest.mark.parametrize("words", [[], ["--faults"]], ids=["settings", "faults"])
def test_two_workers_find_just_what_one_finds(tmp_path: Path, words: list[str]) -> None:
    (path,) = write(tmp_path, a=SLUICE)
    two = call("sweep", *words, "--json", "--workers", "2", path)
    assert two.stderr == ""
    assert json.loads(told(two)) == swept(*words, path)


@pytest.fixture
def cluster() -> Iterator[str]:
    """The address of a small cluster that runs."""
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, processes=False, host="127.0.0.1", protocol="tcp", dashboard_address=None
    ) as running:
        yield running.scheduler_address


@pytest.mark.filterwarnings("ignore")
def test_a_cluster_finds_just_what_one_process_finds(tmp_path: Path, cluster: str) -> None:
    (path,) = write(tmp_path, a=SLUICE)
    many = call("sweep", "--json", "--cluster", cluster, path)
    assert (many.returncode, many.stderr) == (0, "")
    assert json.loads(told(many)) == swept(path)


@pytest.mark.parametrize("address", ["127.0.0.1:9", "pond://mill:1"])  # port 9 is not served on a usual machine
def test_where_no_cluster_answers_one_line_says_so(tmp_path: Path, address: str) -> None:
    pytest.importorskip("distributed")
    run = call("sweep", "--cluster", address, *write(tmp_path, a=SLUICE))
    assert (run.returncode, told(run)) == (2, "")
    assert run.stderr.startswith(f"circuitcheck: no cluster answers at {address}")
    assert run.stderr.count("\n") == 1


def test_without_the_extra_one_line_says_how_to_get_it(tmp_path: Path) -> None:
    (tmp_path / "distributed.py").write_text("raise ImportError\n")
    words = ["sweep", "--cluster", "127.0.0.1:9", *write(tmp_path, a=SLUICE)]
    run = call(*words, PYTHONPATH=str(tmp_path))
    assert (run.returncode, told(run)) == (2, "")
    assert "circuitcheck[cluster]" in run.stderr
    assert run.stderr.count("\n") == 1


# Wrong input, and users' text


@pytest.mark.parametrize("words", [[], ["--faults", "--json"]])
def test_a_file_that_asks_nothing_is_refused_in_one_line(tmp_path: Path, words: list[str]) -> None:
    run = call("sweep", *words, *write(tmp_path, a=PARTS))
    assert (run.returncode, told(run)) == (2, "")
    assert "has no check or claim for this circuit" in run.stderr
    assert run.stderr.count("\n") == 1


@pytest.mark.parametrize("words", [["--workers", "0"], ["--workers", "abc"], ["--states", "0"], ["--width", "39"]])
def test_a_number_out_of_bounds_is_reported_on_stderr(tmp_path: Path, words: list[str]) -> None:
    run = call("sweep", *words, *write(tmp_path, a=SLUICE))
    assert (run.returncode, told(run)) == (2, "")
    assert "number" in run.stderr.splitlines()[-1]


@pytest.mark.parametrize("command", ["sweep", "rules"])
def test_a_mistake_in_the_file_is_shown_with_its_code(tmp_path: Path, command: str) -> None:
    run = call(command, *write(tmp_path, a=BROKEN))
    assert run.returncode == 2
    assert "CKT201" in told(run)


@pytest.mark.parametrize("command", ["sweep", "rules"])
def test_a_missing_file_is_a_mistake_and_no_traceback(tmp_path: Path, command: str) -> None:
    run = call(command, str(tmp_path / "none.circuit"))
    assert run.returncode == 2
    assert "CKT501" in told(run)


@pytest.mark.parametrize("words", [["sweep"], ["sweep", "--faults"], ["rules"]])
def test_a_title_is_shown_as_it_stands_and_a_sweep_is_no_wider_than_asked(tmp_path: Path, words: list[str]) -> None:
    text = SLUICE.replace("a ripple opens", "[/foo] [red] :x: \x1b[31m\u202eterces\u2066\x07").replace(
        "delay 2t", "delay 1t"
    )
    code, out = here(*words, "--width", "40", *write(tmp_path, a=text))
    assert code == 1
    assert not {"\u202e", "\u2066", "\x07"} & set(out)
    if words == ["sweep"]:
        assert [row for row in out.splitlines() if len(row) > 40] == []
    if "--faults" not in words:
        assert "[/foo] [red] :x: \ufffd[31m\ufffdterces\ufffd\ufffd" in flat(out)


# Sets of rules

RING = "torch a from c starts on\ntorch b from a starts off\ntorch c from b starts on\n"
"""T6: a goes off in gt 2 and every 12 gt from then, on in gt 8 and so on: after 7 whole periods on again in gt 92."""
TURNS = 'check "it turns on"\n  at 80gt expect a\n  at 92gt expect a\nend\n'


# T4, T6: a ring of three burns out first in gt 86 where the window is 100 gt, and runs where it is 60.
def test_a_ring_of_three_that_burns_out_under_older_differs_in_the_table(tmp_path: Path) -> None:
    steady = 'always "as it starts" a or b or c\n'
    code, out = here("rules", "--width", "200", *write(tmp_path, a=RING + TURNS + steady))
    rows = out.splitlines()
    assert code == 1
    assert rows[0].split() == ["older", "newer", "newest"]
    place = next(number for number, row in enumerate(rows) if row.endswith("it turns on"))
    assert rows[place].split()[:3] == ["FAILS", "holds", "holds"]
    assert "older: 'a' was off at 46t" in rows[place + 1]
    assert "T4" in rows[place + 1]
    (same,) = [row for row in rows if row.endswith("as it starts")]
    assert len(set(same.split()[:3])) == 1
    assert any("burn_out_window: older 50t, newer 30t, newest 30t" in row for row in rows)


def test_for_machines_the_table_has_a_verdict_for_each_set(tmp_path: Path) -> None:
    (path,) = write(tmp_path, a=RING + TURNS)
    table = report("rules", path)
    assert table["sets"] == ["older", "newer", "newest"]
    assert table["rows"] == [
        {"label": "", "title": "it turns on", "verdicts": {"older": "fails", "newer": "holds", "newest": "holds"}}
    ]


def test_what_holds_under_each_set_ends_with_0(tmp_path: Path) -> None:
    assert here("rules", *write(tmp_path, a=SLUICE))[0] == 0


def test_a_table_of_nothing_says_so(tmp_path: Path) -> None:
    code, out = here("rules", *write(tmp_path, a=PARTS))
    assert code == 0
    assert "there is no check and no claim here" in out


def test_faults_of_what_no_hand_can_touch_are_looked_for_all_the_same(tmp_path: Path) -> None:
    """T1: the torch on nothing is on, the one on it is off; taken out, or stuck, that is seen from the start on."""
    text = 'torch lit\ntorch dull from lit\nlamp glow from dull\nalways "x" glow or glow off\n'
    run = call("sweep", "--faults", *write(tmp_path, a=text))
    assert run.returncode == 1
    assert "would show it: nothing is done; by 0t an output or lamp differs" in " ".join(told(run).split())


def test_a_fault_with_which_not_all_is_decided_is_open_and_not_missed(tmp_path: Path) -> None:
    """With so little work that no check can be run to its end nothing is known of any fault."""
    path, *_ = write(tmp_path, a=SLUICE)
    code, out = here("sweep", "--faults", "--states", "1", path)
    assert code == 3
    assert "open     the detector 'ripple' is taken out" in out
    assert "missed" not in out
    assert "nothing fails, but not all was decided" in flat(out)
    assert here("sweep", "--faults", path)[0] != 3
