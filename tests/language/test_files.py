"""Files as they come: missing, binary, huge, deep, in circles, of any line end and script. Told, never a traceback."""

from __future__ import annotations

import re
import subprocess
import sys
import time
from pathlib import Path

import pytest

import circuitcheck
from circuitcheck.diagnostics import Diagnostic

from .mistakes import codes, told

SCENE = 'lever rope\nlamp bell from rope\ncheck "pull"\n  at 1s rope on\n  at 1s expect bell\nend\n'
BAD = 'lever rope\n\nlamp bell from rop\ncheck "pull"\n  at 1 rope on\nend\n'


def told_of_file(path: Path) -> tuple[Diagnostic, ...]:
    report = circuitcheck.verify_file(path)
    assert int(report.exit) == 2
    return report.diagnostics


def write(path: Path, data: str | bytes) -> Path:
    path.write_bytes(data.encode() if isinstance(data, str) else data)
    return path


def test_a_missing_file_is_reported(tmp_path: Path) -> None:
    (only,) = told_of_file(tmp_path / "none.circuit")
    assert (only.code, only.hint) == ("CKT501", "check the path")
    assert "no such file" in only.message


def test_a_folder_in_place_of_a_file_is_reported(tmp_path: Path) -> None:
    (only,) = told_of_file(tmp_path)
    assert only.code == "CKT501"


def test_an_empty_file_is_reported(tmp_path: Path) -> None:
    (only,) = told_of_file(write(tmp_path / "a.circuit", ""))
    assert (only.code, only.span.line, only.span.column) == ("CKT511", 1, 1)


@pytest.mark.parametrize("data", [b"\0", b"lever rope\0\n", bytes(range(256)), b"lever \xff\n", b"\xc3"])
def test_a_binary_file_is_reported(tmp_path: Path, data: bytes) -> None:
    (only,) = told_of_file(write(tmp_path / "a.circuit", data))
    assert only.code == "CKT502"


def test_a_file_of_another_encoding_is_reported_with_the_byte(tmp_path: Path) -> None:
    (only,) = told_of_file(write(tmp_path / "a.circuit", "lever mühle\n".encode("latin-1")))
    assert only.code == "CKT502"
    assert "byte 7" in only.message
    assert "UTF-8" in only.hint


def test_a_file_of_ten_megabytes_is_reported_at_once(tmp_path: Path) -> None:
    path = write(tmp_path / "a.circuit", b"lever rope\n" * 900_000 + b"#" * 200_000)
    assert path.stat().st_size > 10_000_000
    begun = time.perf_counter()
    (only,) = told_of_file(path)
    assert only.code == "CKT503"
    assert "2,000,000" in only.message
    assert time.perf_counter() - begun < 2


@pytest.mark.parametrize("size", [2_000_000, 2_000_001])
def test_the_bound_of_a_file_is_exact(tmp_path: Path, size: int) -> None:
    data = b"lever rope\n"
    path = write(tmp_path / "a.circuit", data + b"#" * (size - len(data)))
    told = [each.code for each in circuitcheck.verify_file(path).diagnostics]
    assert told == ([] if size == 2_000_000 else ["CKT503"])


@pytest.mark.parametrize(
    "deep",
    ["(" * 10_000 + "rope" + ")" * 10_000, "not " * 10_000 + "rope", "(not " * 10_000 + "rope", "(" * 10_000],
    ids=["brackets", "not", "both", "open"],
)
def test_ten_thousand_nested_brackets_or_nots_are_reported(deep: str) -> None:
    assert codes(f'lever rope\nalways "deep" {deep}\n') == ["CKT105"]


@pytest.mark.parametrize("deep", ["(" * 40 + "rope" + ")" * 40, "not " * 40 + "rope"], ids=["brackets", "not"])
def test_forty_nested_brackets_or_nots_are_read(deep: str) -> None:
    assert codes(f'lever rope\nalways "deep" {deep}\n') == []


def test_a_condition_of_ten_thousand_names_is_read() -> None:
    assert codes('lever rope\nalways "long" ' + " and ".join(["rope"] * 10_000) + "\n") == []


def test_a_name_of_a_million_letters_is_reported_in_few_words() -> None:
    (only,) = told("lever rope\nlamp bell from " + "m" * 1_000_000 + "\n")
    assert only.code == "CKT201"
    assert len(only.message) < 200


def test_several_mistakes_are_reported_together_one_a_line() -> None:
    text = "lever rope;\nlampe bell from rope\nlever gap\nlamp sill from\nlamp good from bell\nlever 3\n"
    assert [(each.code, each.span.line) for each in told(text)] == [
        ("CKT102", 1),
        ("CKT101", 2),
        ("CKT103", 3),
        ("CKT101", 4),
        ("CKT103", 6),
    ]


def test_several_mistakes_of_meaning_are_reported_together() -> None:
    text = 'lever rope\nlamp bell from rop\nrepeater winch from rope delay 9t\ncheck "x"\n  at 3 rope on\nend\n'
    assert sorted((each.span.line, each.code) for each in told(text)) == [(2, "CKT201"), (3, "CKT305"), (5, "CKT306")]


def test_a_mistake_in_the_line_of_a_block_costs_that_line_only() -> None:
    text = "lever rope\ncheck pull\n  at 1s rope on\n  at 2t rope of\nend\nlever gap\n"
    assert [(each.code, each.span.line) for each in told(text)] == [("CKT101", 2), ("CKT101", 4), ("CKT103", 6)]


def test_at_most_twenty_mistakes_of_syntax_are_reported() -> None:
    found = told("lever gap\n" * 30)
    assert [each.span.line for each in found] == list(range(1, 21))


def test_at_most_twenty_mistakes_of_meaning_are_reported() -> None:
    assert len(told("lever rope\n" + "".join(f"lamp bell_{n} from rop{n}\n" for n in range(30)))) == 20


def test_definitions_that_contain_each_other_are_reported() -> None:
    one = "define one (a) gives b\n  other inner (a a)\n  output b from inner.b\nend\n"
    other = "define other (a) gives b\n  one inner (a a)\n  output b from inner.b\nend\n"
    assert "CKT506" in codes(one + other)


def grown(levels: int) -> str:
    """Definitions each of ten of the one before: ten to the power of `levels` parts."""
    lines = ["define d0 (a) gives b", "  repeater b from a", "end"]
    for level in range(1, levels + 1):
        lines.append(f"define d{level} (a) gives b")
        lines += [f"  d{level - 1} i{number} (a a)" for number in range(10)]
        lines += ["  output b from i0.b", "end"]
    return "\n".join(lines) + "\n"


def test_a_circuit_that_grows_past_the_limit_is_reported(tmp_path: Path) -> None:
    path = write(tmp_path / "a.circuit", grown(9))
    command = [sys.executable, "-m", "circuitcheck", "verify", str(path)]
    run = subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)
    assert run.returncode == 2
    assert set(re.findall(r"CKT\d{3}", run.stdout)) == {"CKT507"}


def test_instances_nested_too_deep_are_reported() -> None:
    lines = ["define d0 (a) gives b", "  repeater b from a", "end"]
    for level in range(1, 60):
        lines += [f"define d{level} (a) gives b", f"  d{level - 1} i (a a)", "  output b from i.b", "end"]
    assert "CKT507" in codes("\n".join(lines) + "\n")


def test_files_that_use_each_other_in_a_circle_are_reported(tmp_path: Path) -> None:
    write(tmp_path / "pond.circuit", 'use "race.circuit"\nlever rope\n')
    write(tmp_path / "race.circuit", 'use "pond.circuit"\n')
    (only,) = told_of_file(tmp_path / "pond.circuit")
    assert (only.code, only.span.line, only.span.column) == ("CKT504", 1, 5)
    assert only.span.file.endswith("race.circuit")


def test_a_file_that_uses_itself_is_reported(tmp_path: Path) -> None:
    (only,) = told_of_file(write(tmp_path / "pond.circuit", 'use "pond.circuit"\nlever rope\n'))
    assert only.code == "CKT504"


def test_a_used_file_outside_the_folder_is_reported_and_not_read(tmp_path: Path) -> None:
    inner = tmp_path / "mill"
    inner.mkdir()
    write(tmp_path / "secret.circuit", "this is no circuit; it must not be shown\n")
    (only,) = told_of_file(write(inner / "a.circuit", 'use "../secret.circuit"\nlever rope\n'))
    assert only.code == "CKT505"
    assert "shown" not in only.message + only.hint


def test_a_link_out_of_the_folder_is_reported(tmp_path: Path) -> None:
    inner = tmp_path / "mill"
    inner.mkdir()
    write(tmp_path / "secret.circuit", "define one (a) gives b\n  torch b from a\nend\n")
    (inner / "link.circuit").symlink_to(tmp_path / "secret.circuit")
    (only,) = told_of_file(write(inner / "a.circuit", 'use "link.circuit"\nlever rope\n'))
    assert only.code == "CKT505"


@pytest.mark.parametrize("path", ["a\0b", "", "x" * 5_000, "\ud7ff.circuit", "."])
def test_a_used_path_that_can_not_be_is_reported(tmp_path: Path, path: str) -> None:
    assert codes(f'use "{path}"\nlever rope\n', tmp_path)[0] in ("CKT501", "CKT502", "CKT505")


def test_a_mistake_in_a_used_file_is_placed_there(tmp_path: Path) -> None:
    write(tmp_path / "race.circuit", "define one (a) gives b\n  torch b from a;\nend\n")
    (only,) = told_of_file(write(tmp_path / "pond.circuit", 'use "race.circuit"\nlever rope\n'))
    assert (only.code, only.span.line, only.span.column) == ("CKT102", 2, 17)
    assert only.span.file.endswith("race.circuit")


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"], ids=["lf", "crlf", "cr"])
@pytest.mark.parametrize("mark", ["", "\ufeff"], ids=["plain", "bom"])
def test_line_ends_and_a_byte_order_mark_make_no_difference(tmp_path: Path, end: str, mark: str) -> None:
    good = circuitcheck.verify_file(write(tmp_path / "good.circuit", mark + SCENE.replace("\n", end)))
    assert (int(good.exit), [each.verdict.name for each in good.outcomes]) == (0, ["HOLDS"])
    assert good.outcomes[0].span.line == 3
    bad = told_of_file(write(tmp_path / "bad.circuit", mark + BAD.replace("\n", end)))
    places = sorted((each.code, each.span.line, each.span.column) for each in bad)
    assert places == [("CKT201", 3, 16), ("CKT306", 5, 6)]


@pytest.mark.parametrize("end", ["\r\n", "\r"], ids=["crlf", "cr"])
def test_text_is_read_like_a_file(end: str) -> None:
    report = circuitcheck.verify_text(SCENE.replace("\n", end))
    assert [each.verdict.name for each in report.outcomes] == ["HOLDS"]


def test_a_byte_order_mark_in_text_is_read_like_in_a_file() -> None:
    assert [each.verdict.name for each in circuitcheck.verify_text("\ufeff" + SCENE).outcomes] == ["HOLDS"]


@pytest.mark.parametrize("name", ["Mühle", "水車", "мельница", "طاحونة", "चक्की", "μύλος", "naïve_2"])
def test_names_in_other_scripts_are_names(name: str) -> None:
    report = circuitcheck.verify_text(SCENE.replace("bell", name))
    assert [each.verdict.name for each in report.outcomes] == ["HOLDS"]


def test_large_and_small_letters_differ() -> None:
    assert codes("lever rope\nlever Rope\n") == []


@pytest.mark.parametrize("mark", ["\u202e", "\u2066", "\u200f", "\u200b", "\x1b", "\x07"])
def test_a_mark_that_nobody_sees_is_reported_where_it_stands(mark: str) -> None:
    (only,) = told(f"lever ro{mark}pe\n")
    assert (only.code, only.span.line, only.span.column) == ("CKT102", 1, 9)
    assert mark not in only.message + only.hint


@pytest.mark.parametrize("number", ["²", "٣", "１", "3.٣"])
def test_digits_of_other_scripts_are_reported_or_read_and_never_a_traceback(number: str) -> None:
    for text in (
        f"lever rope\ndust line from rope length {number}\n",
        f"lever rope\nrepeater winch from rope delay {number}t\n",
        f"lever pond.{number} to pond.9\n",
        f"lever pond.{number}\n",
        f"analogue depth starts {number}\n",
        f'lever rope\ncheck "x"\n  at 1s expect rope is {number}\nend\n',
        f"language {number}\nlever rope\n",
    ):
        assert int(circuitcheck.verify_text(text).exit) in (0, 2)


def test_a_line_may_go_on_after_a_comma_and_places_stay_right() -> None:
    (only,) = told("lever rope\nlever bolt\ntorch slack from rope, # and\n\n   bolt, bel\n")
    assert (only.code, only.span.line, only.span.column) == ("CKT201", 5, 10)


@pytest.mark.parametrize(
    ("other", "code"),
    [(None, "CKT501"), ("define gate (a) gives o\n  torch o form a\nend\n", "CKT101"), ("\0", "CKT502")],
    ids=["missing", "mistaken", "binary"],
)
def test_what_an_unread_file_would_have_defined_is_no_further_mistake(
    tmp_path: Path, other: str | None, code: str
) -> None:
    if other is not None:
        (tmp_path / "other.circuit").write_text(other, encoding="utf-8")
    text = 'use "other.circuit"\nlever s\ngate g (a s)\nlamp l from g.o\n'
    assert [each.code for each in circuitcheck.verify_text(text, folder=tmp_path).diagnostics] == [code]
