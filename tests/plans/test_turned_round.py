"""A repeater drawn the wrong way round is one finding, once the turn was tried and the circuit holds with it.

Common practice, no source; rules W6 (what a repeater takes and gives), V1 and V2.
"""

from __future__ import annotations

import pytest

from circuitcheck.checks.finding import Finding
from circuitcheck.checks.judge import judge
from circuitcheck.verify import verify_text

from .drawings import file_of, study_of

PULL = 'check "pull"\n  at 1t rope on\n  at 9t expect bell\nend\n'
TURNED = str.maketrans("<{", ">}")


def drawn(plan: str, rest: str = "") -> str:
    """A file with this plan on a floor; the lever is `rope`, the lamp `bell`."""
    rows = plan.split("/")
    at = {letter: (row, line.index(letter) + 1) for row, line in enumerate(rows, 1) for letter in line}
    names = {"a": "rope", "O": "bell", "<": "winch"}
    named = [f"{name} 2 {at[letter][0]} {at[letter][1]}" for letter, name in names.items() if plan.count(letter) == 1]
    return file_of("/".join("S" * len(row) for row in rows), plan, names=", ".join(named), rest=rest)


def findings(text: str) -> tuple[Finding, ...]:
    report = verify_text(text, states=0)
    assert report.diagnostics == (), report.diagnostics
    return report.findings


def verdicts(text: str) -> list[str]:
    return [each.verdict.name for each in verify_text(text, states=0).outcomes]


def is_told_as_turned(found: Finding) -> bool:
    return "turned round" in found.message


@pytest.mark.parametrize("plan", ["a-<O", "a<O", "a--<--O", "a-{-O", "a-<-O"])
@pytest.mark.parametrize("rest", [PULL, ""], ids=["asked", "not asked"])
def test_what_faces_away_from_what_it_should_feed_is_one_finding(plan: str, rest: str) -> None:
    (found,) = findings(drawn(plan, rest))
    column = max(plan.split("/")[0].find(letter) for letter in "<{") + 1
    assert (found.rule, found.where) == ("V2", f"layer 2, row 1, column {column}")
    assert is_told_as_turned(found)
    assert found.hint
    # It is really so: turned round in the file, everything holds and nothing is found.
    turned = drawn(plan.translate(TURNED), rest)
    assert findings(turned) == ()
    assert set(verdicts(turned)) <= {"HOLDS"}


@pytest.mark.parametrize(
    ("plan", "columns"), [("a-<-<-O", [3, 5]), ("a-<O/..../a-<O", [3, 3])], ids=["in a row", "beside each other"]
)
def test_two_that_face_away_are_turned_together(plan: str, columns: list[int]) -> None:
    found = findings(drawn(plan))
    assert [int((each.where or "").rpartition(" ")[2]) for each in found] == columns
    assert all(map(is_told_as_turned, found))


def test_it_is_not_told_where_the_circuit_does_not_hold_turned_round() -> None:
    """The repeater takes 1t (R2), so the bell is not on in the gt of the pull, whichever way it faces."""
    found = findings(drawn("a-<-O", PULL.replace("at 9t", "at 1t")))
    assert {(each.rule, each.part) for each in found} == {
        ("V1", "rope"), ("V1", "winch"), ("V2", "winch"), ("V2", "bell"),
    }  # fmt: skip
    assert not any(map(is_told_as_turned, found))


def test_a_spare_part_is_not_told_to_be_turned() -> None:
    found = findings(drawn("a->-O/...../..<..", PULL))
    assert {(each.rule, each.part) for each in found} == {("V1", "winch"), ("V2", "winch")}
    assert not any(map(is_told_as_turned, found))


def test_beside_a_spare_part_the_one_that_faces_away_is_reported() -> None:
    found = findings(drawn("a-<-O/...../..A..", PULL))
    assert [each.where for each in found if is_told_as_turned(each)] == ["layer 2, row 1, column 3"]


def test_beside_words_the_drawing_is_compared_turned_round() -> None:
    words = f"lever rope\nrepeater winch from rope\nlamp bell from winch\n{PULL}"
    text = drawn("a-<-O", words)
    assert verdicts(text) == ["HOLDS", "FAILS"]
    (found,) = findings(text)
    assert (found.rule, found.part, is_told_as_turned(found)) == ("V2", "winch", True)
    assert verdicts(drawn("a->-O", words)) == ["HOLDS", "HOLDS"]


@pytest.mark.parametrize(("line", "exit_code"), [("forbid V2", 1), ('forbid V2\nsilence V2 because "so"', 0)])
def test_it_is_silenced_and_forbidden_as_any_finding(line: str, exit_code: int) -> None:
    assert int(verify_text(drawn("a-<-O", line), states=0).exit) == exit_code


def test_a_circuit_with_a_fault_put_in_is_not_turned() -> None:
    """It is not what is drawn, so what is drawn shows nothing of it."""
    study = study_of(drawn("a->-O", PULL))
    (winch,) = [part for part in study.circuit.parts if part.name.startswith("repeater")]
    cut = study._replace(circuit=study.circuit.with_part(winch, winch.rewired(winch.ports()[0].sources[0], None)))
    found = judge(cut).findings
    assert ("V2", winch.name) in {(each.rule, each.part) for each in found}
    assert not any(map(is_told_as_turned, found))
