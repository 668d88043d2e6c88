"""Verdicts that depend on a rule that is not certain (V6): the other value is tried, and the verdict says so.

Common practice, no source: rules M10, M6, Z4. The table of V6 in the rules page is held to the table of the program.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from moving.test_light_of_water import BED

from circuitcheck.checks import judge
from circuitcheck.checks.outcome import Outcome, Verdict
from circuitcheck.checks.run import Run, run_check
from circuitcheck.engine.program import Program
from circuitcheck.judging.door import judged_as_asked, proved, prover_of
from circuitcheck.language.load import load_text
from circuitcheck.model.claims import Study
from circuitcheck.model.rules import RULE_SETS, RuleSet
from circuitcheck.model.unsure import UNSURE
from circuitcheck.prove.meter import Limits
from circuitcheck.report.exchange.data import document
from circuitcheck.verify import Exit, FileReport, FileStopped, verify_text

RULES_PAGE = Path(__file__).resolve().parents[2] / "grammar" / "RULES.md"
WATCHED = """
legend
  .  air
  S  block
  a  lever     named rope
  >  piston    facing east   named gate
  d  detector  facing south  named eye
  O  lamp      named bell
end
drawing
  layer 1
    SSSSS, 4 times
  end
  layer 2
    .....
    a>S..
    ..d..
    ..O..
  end
end
check "the bell rings as the gate begins to move"
  at 10gt          rope on
  at 13gt          expect bell
end
check "the bell rings sooner or later"
  at 10gt          rope on
  by 20gt          expect bell
end
check "nothing moves, and it is silent"
  from 12gt to 20gt  expect bell off
end
"""
"""A detector watches the block that a piston moves: thrown in gt 10, it starts in 11 and lands in 13 (M3)."""
MISSED = 'check "the bell is still silent"\n  at 10gt  rope on\n  at 13gt  expect bell off\nend\n'

MISSED_FIRST = WATCHED.replace("check ", MISSED + "check ", 1)


def of(report: FileReport, title: str) -> Outcome:
    return next(each for each in report.outcomes if each.title == title)


def test_what_holds_only_as_a_detector_feels_the_start_of_a_stroke_holds_if() -> None:
    """M10 under newer: fairly sure."""
    report = verify_text("rules newer\n" + WATCHED)
    outcome = of(report, "the bell rings as the gate begins to move")
    assert outcome.verdict is Verdict.HOLDS_IF
    assert [(each.rule, each.tried, each.otherwise) for each in outcome.given] == [
        ("M10", "detector_feels landing", Verdict.FAILS)
    ]
    assert report.exit is Exit.HOLDS


def test_what_holds_under_either_value_holds() -> None:
    report = verify_text("rules newer\n" + WATCHED)
    assert of(report, "the bell rings sooner or later").verdict is Verdict.HOLDS


def test_a_rule_that_a_run_does_not_come_to_is_not_tried() -> None:
    assert of(verify_text("rules newer\n" + WATCHED), "nothing moves, and it is silent").relied == frozenset()


def test_what_fails_only_as_a_detector_feels_the_start_of_a_stroke_fails_if() -> None:
    outcome = of(verify_text("rules newer\n" + WATCHED + MISSED), "the bell is still silent")
    assert outcome.verdict is Verdict.FAILS_IF
    assert [each.otherwise for each in outcome.given] == [Verdict.HOLDS]


def test_newest_is_certain_of_what_a_detector_feels() -> None:
    assert of(verify_text("rules newest\n" + WATCHED), "the bell rings as the gate begins to move").verdict is (
        Verdict.HOLDS
    )


def test_a_setting_that_the_file_chooses_is_no_matter_of_doubt() -> None:
    report = verify_text("rules newer\nsetting detector_feels start\n" + WATCHED)
    assert {each.verdict for each in report.outcomes} == {Verdict.HOLDS}


def test_one_finding_names_the_rule_and_a_file_can_forbid_it() -> None:
    report = verify_text("rules newer\nforbid V6\n" + WATCHED)
    assert [(each.part, each.forbidden) for each in report.findings if each.rule == "V6"] == [("M10", True)]
    assert report.exit is Exit.FAILS


def test_the_report_for_machines_has_the_rule_and_what_was_tried() -> None:
    data = document([verify_text("rules newer\n" + WATCHED)])
    outcome = data["files"][0]["circuits"][0]["outcomes"][0]
    assert outcome["verdict"] == "holds_if"
    assert [(each["rule"], each["tried"], each["otherwise"]) for each in outcome["given"]] == [
        ("M10", "detector_feels landing", "fails")
    ]


def test_a_claim_that_is_proved_is_tried_too() -> None:
    claim = 'assume rope stable for 2s\nalways "the bell is quick"  when rope rises then bell within 3gt\n'
    report = verify_text("rules newer\n" + WATCHED + claim)
    outcome = of(report, "the bell is quick")
    assert outcome.verdict is Verdict.HOLDS_IF
    assert outcome.proof is not None
    assert outcome.proof.complete
    assert [(each.tried, each.otherwise) for each in outcome.given] == [("detector_feels landing", Verdict.FAILS)]


STROKE = (
    WATCHED[: WATCHED.index("check ")].replace("d  detector  facing south  named eye", "d  block  named post")
    + """
check "the gate has landed"
  at 10gt          rope on
  at 13gt          expect gate
end
check "the gate lands"
  at 10gt          rope on
  at 14gt          expect gate
end
"""
)


def test_under_older_a_stroke_that_must_land_late_in_a_gt_is_tried_as_a_wait_too() -> None:
    """M3: thrown in gt 10 it lands in 13, and under `piston_lands wait` in 14."""
    report = verify_text("rules older\n" + STROKE)
    assert [each.verdict for each in report.outcomes] == [Verdict.HOLDS_IF, Verdict.HOLDS]
    assert [each.tried for each in report.outcomes[0].given] == ["piston_lands wait"]


def test_a_file_can_choose_that_strokes_land_as_waits() -> None:
    """M3."""
    report = verify_text("rules newer\nsetting piston_lands wait\n" + STROKE)
    assert [each.verdict for each in report.outcomes] == [Verdict.FAILS, Verdict.HOLDS]


FEEDING = """
legend
  .  air
  S  block
  ^  torch
  a  lever     named rope
  >  piston    facing east   named gate
  r  repeater  facing south  named feed
  O  lamp      named bell
end
drawing
  layer 1
    SSSSS, 4 times
  end
  layer 2
    SSSSS
    SS^SS
    SSSSS, 2 times
  end
  layer 3
    .....
    a>S..
    ..r..
    ..O..
  end
end
check "the bell goes dark"
  at 10gt  rope on
  at 40gt  expect bell off
end
"""


def test_under_older_a_start_that_is_felt_rests_on_rules_of_which_nothing_else_is_tried() -> None:
    """M2, M5, M9: who is updated at the start, and when, is not certain of older; of newer it is."""
    older, newer = (verify_text(f"rules {name}\n{FEEDING}").outcomes[0] for name in ("older", "newer"))
    assert older.verdict is Verdict.HOLDS_IF
    assert {each.rule for each in older.given if each.otherwise is None} == {"M2", "M5", "M9"}
    assert newer.given == ()


@pytest.mark.parametrize("name", sorted(RULE_SETS))
def test_the_other_value_of_a_setting_is_another_one(name: str) -> None:
    rules = RULE_SETS[name]
    for unsure in UNSURE.values():
        if unsure.setting and name in unsure.under:
            assert getattr(unsure.otherwise(rules), unsure.setting) != getattr(rules, unsure.setting)


def test_the_rules_page_has_every_rule_that_is_tried() -> None:
    page = RULES_PAGE.read_text(encoding="utf-8").split("### V6\n")[1].split("\n## ")[0]
    rows = [[cell.strip(" `") for cell in row.split("|")[1:-1]] for row in re.findall(r"^\| [MZ]\d+ .*$", page, re.M)]
    said = sorted((rule, takes, under, tried) for rule, takes, under, tried in rows)
    every = ", ".join(RULE_SETS)
    assert said == sorted(
        (each.rule, each.takes, ", ".join(each.under).replace(every, "all"), each.tried) for each in UNSURE.values()
    )


CLAIMED = "assume rope stable for 2s\n" + 'always "the bell is quick"  when rope rises then bell within 3gt\n'


def the_study(text: str) -> Study:
    loaded = load_text(text)
    assert loaded.diagnostics == ()
    return loaded.studies[0]


def drawn_with(claim: str, rules: str) -> Study:
    return the_study(f"rules {rules}\n" + WATCHED[: WATCHED.index("check ")] + claim)


def test_the_command_prove_tries_the_other_value_too() -> None:
    study, limits = drawn_with(CLAIMED, "newer"), Limits()
    outcome = proved(prover_of(study, limits), study, study.claims[0], limits)
    assert outcome.verdict is Verdict.HOLDS_IF
    assert [(each.rule, each.tried, each.otherwise) for each in outcome.given] == [
        ("M10", "detector_feels landing", Verdict.FAILS)
    ]


def test_all_that_prove_tries_otherwise_shares_one_budget(monkeypatch: pytest.MonkeyPatch) -> None:
    """Both M3, under which the claim holds, and M10 are tried: for both together no more is looked at than for it."""
    monkeypatch.setitem(UNSURE, "lands_late", UNSURE["lands_late"]._replace(under=("newer",)))
    study = drawn_with(CLAIMED, "newer")
    claim, plenty = study.claims[0], Limits()
    alone, both = (prover_of(study, plenty, solving=False) for _ in range(2))
    alone.prove(claim)
    assert [each.otherwise for each in proved(both, study, claim, plenty).given] == [Verdict.FAILS]
    once, tries = alone.budget.steps, both.budget.steps - alone.budget.steps
    assert once < tries < 2 * once
    limits = Limits(tries - 1)
    prover = prover_of(study, limits, solving=False)
    outcome = proved(prover, study, claim, limits)
    assert [(each.rule, each.otherwise) for each in outcome.given] == [("M10", Verdict.UNDECIDED)]
    assert prover.budget.steps < once + tries + SLACK


SLACK = 100
"""How far past a budget the one gt may go in which it runs out."""


def test_that_turf_fades_below_water_that_flows_is_tried_as_below_full_water_alone() -> None:
    """Z9: under older any water lets a cell fade; under `flow_fades full` what flows does not."""
    bed = BED.format(paddle="off", rules="older") + "response of night to turf falls: median at most 60s\n"
    (outcome,) = verify_text(bed).outcomes
    assert outcome.verdict is Verdict.HOLDS_IF
    assert [(each.rule, each.tried) for each in outcome.given] == [("Z9", "flow_fades full")]
    (chosen,) = verify_text(bed.replace("rules older", "rules older\nsetting flow_fades any")).outcomes
    assert chosen.verdict is Verdict.HOLDS


def test_where_only_a_response_depends_on_a_rule_no_check_runs_again(monkeypatch: pytest.MonkeyPatch) -> None:
    ran: list[str] = []

    def run(program: Program, *rest: object, **more: object) -> Run:
        ran.append(program.circuit.rules.flow_fades)
        return run_check(program, *rest, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(judge, "run_check", run)
    bed = BED.format(paddle="off", rules="older") + "response of night to turf falls: median at most 60s\n"
    check, response = verify_text(bed + 'check "nothing is thrown"\n  at 5gt  expect rope off\nend\n').outcomes
    assert (check.verdict, response.verdict) == (Verdict.HOLDS, Verdict.HOLDS_IF)
    assert set(ran) == {"any"}


RESTING = """rules newest
legend
  .  air
  S  block
  w  water
  a  lever     named rope
  ^  piston    facing north  named gate
  d  detector  facing west   named eye
  O  lamp      named bell
end
drawing
  layer 1
    SSSSSSSSSS
    SSSSSSSS.S
    SSSSSSSSSS, 2 times
  end
  layer 2
    SSSSSSSSSS
    Od.w.....S
    SSSS^SSSSS
    ....a.....
  end
end
"""
"""The water rests to the east of its source, as it feels the hole 5 places off there; the gate shuts that way."""


def test_what_depends_on_where_water_rests_holds_if_it_feels_holes_so_far_off() -> None:
    """Z4: is the hole not felt, it is wet before the eye as well from the start, and nothing changes there."""
    rings = 'check "the bell rings"\n  at 10gt  rope on\n  by 60gt  expect bell\nend\n'
    (outcome,) = verify_text(RESTING + rings).outcomes
    assert outcome.verdict is Verdict.HOLDS_IF
    assert ("Z4", "hole_reach 4", Verdict.FAILS) in {(each.rule, each.tried, each.otherwise) for each in outcome.given}


def test_where_water_rests_counts_for_everyone_who_begins_there_though_it_was_found_before() -> None:
    """V6: the prover and later programs of one drawing find its water at rest already."""
    study, limits = the_study(f'{RESTING}assume at most 0 changes within 1s\nnever "it is silent"  bell\n'), Limits()
    for _ in range(2):
        prover = prover_of(study, limits)
        for _ in range(2):
            assert proved(prover, study, study.claims[0], limits).relied == {"hole_reach"}
        assert judged_as_asked(study, limits).outcomes[-1].relied == {"hole_reach"}


def test_what_fails_from_every_start_depends_on_what_its_traces_from_the_others_come_to() -> None:
    """V6, C6: no run throws the rope; where the repeater of the ring starts off, only the stroke breaks the claim."""
    drawn = WATCHED[: WATCHED.index("check ")].replace("SSSSS", "SSSSSSSS")
    drawn = drawn.replace("legend\n", "legend\n  *  dust\n  r  repeater  facing east  named keep\n")
    rows = {"    .....\n    a>S..": "    .....*r*\n    a>S..***", "..d..": "..d.....", "..O..": "..O....."}
    for five, eight in rows.items():
        drawn = drawn.replace(five, eight)
    asked = 'check "nothing is done"\n  until 20gt\nend\nassume rope stable for 2s\n'
    asked += 'never "both are off"  keep or bell\n'
    outcome = of(verify_text(f"rules newer\n{drawn}{asked}"), "both are off")
    assert outcome.verdict is Verdict.FAILS
    assert outcome.relied == {"feels_start"}


def stopped(text: str, rules: Callable[[RuleSet], bool], nth: int, monkeypatch: pytest.MonkeyPatch) -> FileReport:
    """What is known of a file where Ctrl-C comes as the nth check under such rules is run."""
    begun = 0

    def run(program: Program, *rest: object, **more: object) -> Run:
        nonlocal begun
        begun += rules(program.rules)
        if begun == nth:
            raise KeyboardInterrupt
        return run_check(program, *rest, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(judge, "run_check", run)
    with pytest.raises(FileStopped) as interrupt:
        verify_text(text)
    return interrupt.value.report


def test_what_another_rule_comes_to_is_no_verdict_where_it_is_stopped_while_that_is_tried(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """M10: under the other value the first check fails; the second is stopped."""
    text = "rules newer\n" + WATCHED + MISSED
    report = stopped(text, lambda rules: rules.detector_feels == "landing", 2, monkeypatch)
    assert [(each.title, each.verdict) for each in report.outcomes] == [
        ("the bell rings as the gate begins to move", Verdict.UNDECIDED),
        ("the bell rings sooner or later", Verdict.UNDECIDED),
        ("nothing moves, and it is silent", Verdict.HOLDS),
        ("the bell is still silent", Verdict.FAILS_IF),
    ]
    assert [each.otherwise for each in report.outcomes[-1].given] == [Verdict.UNDECIDED]


def test_what_fails_before_it_is_stopped_is_given_the_rules_that_were_not_tried(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    report = stopped("rules newer\n" + MISSED_FIRST, lambda rules: True, 2, monkeypatch)
    assert [each.verdict for each in report.outcomes[:2]] == [Verdict.FAILS_IF, Verdict.UNDECIDED]
