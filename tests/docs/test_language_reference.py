"""The language reference and the page of rules are true: examples run; words, codes, options and rules are complete."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest
from lark import Lark

import circuitcheck
from circuitcheck.cli import main
from circuitcheck.language.parse import keywords
from circuitcheck.model.parts import KINDS
from circuitcheck.model.parts.kinds import Kind
from circuitcheck.model.rules import RULE_SETS, RULES, SETTINGS
from circuitcheck.report.reference import sources_of_settings
from circuitcheck.sweeps.rule_sets import differences

ROOT = Path(__file__).parents[2]
GRAMMAR = ROOT / "grammar"
REFERENCE = (GRAMMAR / "README.md").read_text(encoding="utf-8")
RULES_PAGE = (GRAMMAR / "RULES.md").read_text(encoding="utf-8")
EXITS = {"circuit": 0, "circuit-fails": 1, "circuit-invalid": 2}


@dataclass(frozen=True)
class Block:
    """One fenced example: its tag, its text, and the line of the page it begins in."""

    tag: str
    text: str
    line: int

    def __str__(self) -> str:
        return f"{self.tag} in line {self.line}"

    def remark(self, word: str) -> str:
        """What the first line says after `# word`, or an empty string."""
        found = re.match(rf"# {word}(\S+)\n", self.text)
        return found[1] if found else ""


BLOCKS = [
    Block(found[1], found[2], REFERENCE.count("\n", 0, found.start()) + 1)
    for found in re.finditer(r"^```(\S+)\n(.*?)^```$", REFERENCE, re.MULTILINE | re.DOTALL)
]
EXAMPLES = [block for block in BLOCKS if block.tag in EXITS]


def section(title: str) -> str:
    """The text of the reference under a heading, up to the next heading that stands as high or higher."""
    found = re.search(rf"^(#+) {re.escape(title)}$", REFERENCE, re.MULTILINE)
    assert found is not None, f"the reference has no section '{title}'"
    rest = REFERENCE[found.end() :]
    end = re.search(rf"^#{{1,{len(found[1])}}} ", rest, re.MULTILINE)
    return rest[: end.start()] if end else rest


def first_cells(title: str) -> list[str]:
    """The first cell of every row of the tables in a section, head and rule left out."""
    cells = re.findall(r"^\| *([^|]*?) *\|", section(title), re.MULTILINE)
    return [cell for cell in cells if re.fullmatch(r"[A-Z]+\d+", cell)]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the files that examples use: blocks that begin with `# file NAME`."""
    made = tmp_path_factory.mktemp("reference")
    for block in EXAMPLES:
        if name := block.remark("file "):
            (made / name).write_text(block.text, encoding="utf-8")
    return made


@cache
def verified(text: str, folder: Path) -> circuitcheck.FileReport:
    """The report on an example, which more than one test looks at."""
    return circuitcheck.verify_text(text, folder=folder)


@pytest.mark.parametrize("block", EXAMPLES, ids=str)
def test_each_example_of_the_reference_comes_to_what_its_tag_says(block: Block, folder: Path) -> None:
    report = verified(block.text, folder)
    said = [f"{each.code} {each.span}: {each.message}" for each in report.diagnostics]
    said += [f"{each.title}: {each.verdict.value}" for each in report.outcomes]
    assert int(report.exit) == EXITS[block.tag], said


@pytest.mark.parametrize("block", [each for each in EXAMPLES if each.tag == "circuit-invalid"], ids=str)
def test_each_invalid_example_is_refused_with_the_code_it_names(block: Block, folder: Path) -> None:
    report = verified(block.text, folder)
    assert report.diagnostics[0].code == block.remark("(?=CKT)")


@pytest.mark.parametrize("block", [each for each in EXAMPLES if each.tag == "circuit"], ids=str)
def test_each_good_example_is_free_of_warnings_that_are_not_judged(block: Block, folder: Path) -> None:
    report = verified(block.text, folder)
    assert [each.message for each in report.findings if not each.silenced and each.rule != "P5"] == []


def test_every_fence_of_the_reference_has_a_tag_that_is_known() -> None:
    assert {block.tag for block in BLOCKS} == {*EXITS, "text"}
    assert REFERENCE.count("```") == 2 * len(BLOCKS)


def test_the_reserved_words_of_the_page_are_those_of_the_grammar() -> None:
    listed = re.findall(r"`([a-z_]+)`", section("Reserved words").split("\n\n", 2)[2])
    assert listed == sorted(keywords().values())


def test_every_reserved_word_is_used_in_an_example_that_runs() -> None:
    used = set(re.findall(r"[a-z_]+", " ".join(block.text for block in EXAMPLES)))
    assert set(keywords().values()) - used == set()


def test_the_table_of_mistakes_holds_exactly_the_codes_of_the_program() -> None:
    sources = "".join(path.read_text(encoding="utf-8") for path in (ROOT / "circuitcheck").rglob("*.py"))
    listed = first_cells("Mistakes and how to fix them")
    assert listed == sorted(set(re.findall(r"\bCKT\d{3}\b", sources)))


def test_the_table_of_findings_holds_exactly_the_rules_the_program_reports() -> None:
    files = [*(ROOT / "circuitcheck" / "checks").rglob("*.py"), *(ROOT / "circuitcheck" / "judging").glob("*.py")]
    source = "".join(file.read_text(encoding="utf-8") for file in files)
    reported = re.findall(r'Finding\(\s*"([A-Z]\d)"|^ {4}"([A-Z]\d)": \(', source, re.MULTILINE)
    engine = "".join(file.read_text(encoding="utf-8") for file in (ROOT / "circuitcheck" / "engine").glob("*.py"))
    ended = set(re.findall(r'RunRefused\([^)]*?, "([A-Z]\d)"', engine)) | {"M8", "M10"}
    assert first_cells("Findings") == sorted({one or other for one, other in reported} | ended)


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS.keys())
def test_every_option_of_a_kind_of_part_stands_in_the_table_of_that_kind(kind: Kind) -> None:
    rows = [line.split("|")[1] for line in section(kind.word).splitlines() if line.startswith("| `")]
    listed = {word for row in rows for word in re.findall(r"`([a-z_]+)", row)}
    assert listed == {option.word for option in kind.options}


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS.keys())
def test_every_start_of_a_kind_of_part_stands_in_the_table_of_that_kind(kind: Kind) -> None:
    option = kind.option("starts")
    words = [word for word in option.starts if not word.isdecimal()] if option else []
    missing = [word for word in words if f"`starts {word}`" not in section(kind.word)]
    assert [word for word in missing if f"`{word}`" not in section(kind.word)] == []


@pytest.mark.parametrize("rule", RULES)
def test_every_rule_has_its_heading_on_the_page_of_rules(rule: str) -> None:
    assert re.search(rf"^### {rule}$", RULES_PAGE, re.MULTILINE)


def test_the_page_of_rules_refers_to_no_rule_that_the_program_lacks() -> None:
    assert re.findall(r"^### ([A-Z]\d+)$", RULES_PAGE, re.MULTILINE) == list(RULES)


def test_rules_prints_where_the_values_come_from_that_differ_between_the_sets(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What the table of settings says of each; it names no published source, so each is from memory."""
    path = tmp_path / "mill.circuit"
    path.write_text('lever rope\nlamp bell from rope\nalways "it rings"  when rope then bell within 1t\n')
    with pytest.raises(SystemExit):
        main(["rules", str(path), "--width", "120"])
    listed = capsys.readouterr().out.split("the sets differ in:\n")[1].split("\n\n")[0].splitlines()
    said = dict(re.findall(r"^ +(\w+): .*\(([^)]*)\)$", each)[0] for each in listed)
    assert set(sources_of_settings()) == set(SETTINGS)
    assert set(sources_of_settings().values()) == {"from memory"}
    assert said == {name: "from memory" for name, _ in differences(RULE_SETS.values())}


def test_nobody_is_quoted_on_the_pages_or_in_what_the_program_says() -> None:
    """A figure of the trade is computed, or marked as common practice without a source; hearsay is neither."""
    pages = [ROOT / "README.md", *GRAMMAR.glob("*.md"), *(ROOT / "circuits").iterdir()]
    for path in [*pages, *(ROOT / "circuitcheck").rglob("*.py")]:
        text = path.read_text(encoding="utf-8")
        assert re.findall(r"(?i)\bbuilders? (?:say|says|put|puts|call|calls|speak|speaks)\b", text) == [], path


def test_the_table_of_settings_holds_the_values_of_every_set_of_rules() -> None:
    rows = re.findall(r"^\| `(\w+)` \|(.*)\|$", RULES_PAGE, re.MULTILINE)
    table = {name: [cell.strip() for cell in row.split("|")[: len(RULE_SETS)]] for name, row in rows}
    words: dict[str, Callable[[object], str]] = {
        "bool": lambda value: "yes" if value else "no",
        "GameTicks": lambda value: f"{value} gt",
    }
    said = {
        name: [words.get(str(form), str)(getattr(each, name)) for each in RULE_SETS.values()]
        for name, form in SETTINGS.items()
    }
    assert {name: table.get(name) for name in said} == said


def test_every_link_within_the_two_pages_leads_to_a_heading() -> None:
    for page, other in ((REFERENCE, RULES_PAGE), (RULES_PAGE, REFERENCE)):
        inner = re.findall(r"\]\(#([^)]+)\)", page)
        across = re.findall(r"\]\(\w+\.md#([^)]+)\)", page)
        assert set(inner) <= anchors(page)
        assert set(across) <= anchors(other)


def anchors(page: str) -> set[str]:
    """The anchors that the headings of a page make."""
    titles = re.findall(r"^#+ (.+)$", re.sub(r"^```.*?^```$", "", page, flags=re.MULTILINE | re.DOTALL), re.MULTILINE)
    return {re.sub(r"[^\w -]", "", title.lower()).replace(" ", "-") for title in titles}


def test_the_grammar_has_no_conflict_that_is_settled_in_silence() -> None:
    grammar = (GRAMMAR / "circuit.lark").read_text(encoding="utf-8")
    Lark(grammar, parser="lalr", lexer="basic", strict=True)
