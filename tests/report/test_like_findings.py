"""What is found alike of several parts is said once, with all of them; in JSON each stays by itself."""

from __future__ import annotations

import circuitcheck
from circuitcheck.report.exchange.data import document
from circuitcheck.report.lines import plain
from circuitcheck.report.terminal.verdict_lines import report_lines, summary

TORCHES = """language 1
legend
  .  air
  S  block
  *  torch  named ember
  O  lamp   named bell
end
drawing
  layer 1
    SSSSSSSSSSSSSS
  end
  layer 2
    {row}
  end
end
"""
SEVEN = "*O*O*O*O*O*O*O"
TWO = "*O*O.........."


def shown(row: str) -> tuple[str, circuitcheck.FileReport]:
    report = circuitcheck.verify_text(TORCHES.format(row=row))
    return plain([*report_lines(report, 100), summary([report])]), report


def test_seven_like_warnings_are_one_with_the_parts_and_their_places() -> None:
    text, report = shown(SEVEN)
    assert [each.part for each in report.findings] == [f"ember.{number}" for number in range(1, 8)]
    assert text.count("V2") == 1
    for number in range(1, 8):
        assert f"'ember.{number}'" in text
        assert f"2, 1, {2 * number - 1}" in text or number == 1
    assert "7 warnings" in text


def test_two_like_warnings_stay_two() -> None:
    text, _ = shown(TWO)
    assert text.count("V2") == 2


def test_findings_of_other_rules_or_with_other_hints_are_not_put_together() -> None:
    circuit = "lever one\nlever two\nlever three\nlever rope\ndust line from rope length 20\nlamp bell from line\n"
    report = circuitcheck.verify_text(f"{circuit}torch high from line\ntorch low from line\n")
    assert {each.rule for each in report.findings} == {"V1", "P2"}
    text = plain(report_lines(report, 100))
    # The three levers are one, the two torches stay two.
    assert [text.count(rule) for rule in ("V1", "P2")] == [3, 1]


def test_json_keeps_each_by_itself() -> None:
    _, report = shown(SEVEN)
    findings = document([report])["files"][0]["findings"]
    assert [each["part"] for each in findings] == [f"ember.{number}" for number in range(1, 8)]


def test_parts_of_one_line_are_in_the_order_of_their_columns() -> None:
    row = "*O*O*O*O*O*O*O*O*O*O*O"
    text = TORCHES.format(row=row).replace("S" * 14, "S" * len(row))
    findings = circuitcheck.verify_text(text).findings
    assert [each.part for each in findings] == [f"ember.{number}" for number in range(1, 12)]
