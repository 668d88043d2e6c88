"""A circuit made from Python is the circuit of the same text: the same parts, verdicts, mistakes and places."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

import circuitcheck
from circuitcheck import Builder, Circuit, CircuitError, InvalidCircuit, WrongCall
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.language import tree
from circuitcheck.language.load import load_file, load_text
from circuitcheck.language.parse import parse

FOLDER = Path(__file__).parents[2] / "circuits"
CIRCUITS = sorted(set(FOLDER.glob("*.circuit")) - {FOLDER / "shelf.circuit"})
"""All but the one that only gathers others."""
TWO_WORDS = {"locked": "locked_by", "grows": "grows_from"}


def rebuilt(path: Path) -> tuple[Builder, int]:
    """A file said again to a builder, each part by a call of its own, with the number of such calls."""
    text = path.read_text(encoding="utf-8")
    file, _ = parse(text, str(path))
    assert file is not None
    (head,) = (each for each in file.statements if isinstance(each, tree.CircuitLine))
    builder = Builder(head.name.text, head.title.text if head.title else "", path.parent)
    lines: dict[int, str] = dict(enumerate(text.split("\n"), start=1))
    del lines[head.name.span.line]
    parts = [each for each in file.statements if isinstance(each, tree.PartLine)]
    parts = [each for each in parts if not any(option.change for option in each.options)]
    for part in parts:
        line = part.kind.span.line
        while lines.pop(line).endswith(","):
            line += 1
        name = part.first.text if part.last is None else f"{part.first.text} to {part.last.text}"
        builder.part(part.kind.text, name, **{keyword(each): value(each) for each in part.options})
    builder.add("\n".join(lines.values()))
    return builder, len(parts)


def keyword(option: tree.Option) -> str:
    """An option's word as Python takes it."""
    return TWO_WORDS.get(option.word.text, option.word.text)


def value(option: tree.Option) -> str | bool | list[str]:
    """An option's value as Python gives it."""
    if option.names:
        return [each.text for each in option.names]
    said = option.amount or option.start or option.place
    return said.text if said is not None else True


def known(circuit: Circuit) -> dict[str, object]:
    """The parts of a circuit by kind and name, wherever their text stands."""
    return {f"{part.word} {part.name}": replace(part, span=NOWHERE) for part in circuit.parts}


@pytest.mark.parametrize("path", CIRCUITS, ids=lambda path: path.stem)
def test_each_circuit_of_the_tree_can_be_built_part_by_part(path: Path) -> None:
    builder, _ = rebuilt(path)
    written = load_text(builder.text, str(path), path.parent).studies
    read = load_file(path).studies
    assert [(each.label, known(each.circuit)) for each in written] == [
        (each.label, known(each.circuit)) for each in read
    ]
    assert read
    builder.build()


def test_the_sluice_that_is_built_comes_to_the_same_verdicts() -> None:
    (path,) = (path for path in CIRCUITS if path.stem == "sluice")
    builder, calls = rebuilt(path)
    assert calls == 14
    built, loaded = builder.build().verify(), circuitcheck.verify_file(path)
    assert [(each.title, each.verdict) for each in built.outcomes] == [
        (each.title, each.verdict) for each in loaded.outcomes
    ]
    assert built.exit is circuitcheck.Exit.HOLDS


def test_a_built_circuit_is_driven_like_any_other() -> None:
    """Rules R2 and O2 (common practice, no source)."""
    builder = Builder("mill")
    rope = builder.part("lever", "rope")
    winch = builder.part("repeater", "winch", from_=rope, delay="2t")
    builder.part("lamp", "open", from_=winch)
    run = builder.build().start().set("rope", True).run("5t").expect("open on")
    assert run.edges("open") == [(5, 15)]


def test_a_row_is_given_as_a_source_of_the_next() -> None:
    builder = Builder("floats")
    pond = builder.part("lever", "pond.1 to pond.3")
    rise = builder.part("detector", "rise.*", watches=pond)
    builder.part("junction", "meet", joins=[rise])
    assert (pond, rise) == ("pond.*", "rise.*")
    assert [part.name for part in builder.build().circuit.parts][3:] == ["rise.1", "rise.2", "rise.3", "meet"]


MISTAKES: dict[str, tuple[Callable[[Builder], object], str]] = {
    "a reserved word for a name": (lambda builder: builder.part("lever", "gap"), "lever gap"),
    "a digit first": (lambda builder: builder.part("lever", "2nd"), "lever 2nd"),
    "no name": (lambda builder: builder.part("lever", ""), "lever "),
    "a letter that means nothing": (lambda builder: builder.part("lever", "ro;pe"), "lever ro;pe"),
    "an option that there is not": (lambda builder: builder.part("lever", "a", colour="red"), "lever a colour red"),
    "a block without an end": (lambda builder: builder.add('check "x"\n  at 1s rope on'), 'check "x"\n  at 1s rope on'),
    "an end too many": (lambda builder: builder.add("end"), "end"),
    "a word of no line": (lambda builder: builder.add("lever a\nlevr b"), "lever a\nlevr b"),
    "a line that no check has": (lambda builder: builder.check("x", "lever b"), 'check "x"\n  lever b\nend'),
}


@pytest.mark.parametrize("mistake", MISTAKES)
def test_what_can_not_be_read_is_reported_by_the_call_as_it_is_reported_of_a_file(mistake: str) -> None:
    call, text = MISTAKES[mistake]
    builder = Builder("mill", "Two lines stand above.")
    builder.part("lever", "rope")
    before = builder.text
    with pytest.raises(InvalidCircuit) as refused:
        call(builder)
    told = circuitcheck.verify_text(f"{before}\n{text}\n", "mill").diagnostics
    assert refused.value.diagnostics == told
    assert told
    assert builder.text == before
    builder.part("lamp", "bell", from_="rope")
    assert builder.build().verify().exit is circuitcheck.Exit.HOLDS


UNKNOWN = [
    ("lamp", {"from_": "rop"}),
    ("repeater", {"from_": "rope", "delay": "9t"}),
    ("repeater", {"from_": "rope", "delay": 2}),
    ("repeater", {"from_": "rope", "locked_by": "rope"}),
    ("repeater", {"from_": ["rope", "rop"], "starts": 7}),
]


@pytest.mark.parametrize(("kind", "options"), UNKNOWN)
def test_what_only_the_whole_can_show_is_reported_when_it_is_built(kind: str, options: dict[str, str]) -> None:
    builder = Builder("mill")
    builder.part("lever", "rope")
    builder.part(kind, "next", **options)
    with pytest.raises(InvalidCircuit) as refused:
        builder.build()
    assert refused.value.diagnostics == circuitcheck.verify_text(builder.text, "mill").diagnostics
    assert {each.span.line for each in refused.value.diagnostics} == {3}


def test_one_name_given_twice_is_reported_when_it_is_built() -> None:
    builder = Builder("mill")
    builder.part("lever", "rope")
    builder.part("lever", "rope")
    with pytest.raises(InvalidCircuit) as refused:
        builder.build()
    assert [(each.code, each.span.line) for each in refused.value.diagnostics] == [("CKT202", 3)]


SMUGGLED: dict[str, Callable[[Builder], object]] = {
    "a second line in a name": lambda builder: builder.part("lever", "a\nlever b"),
    "a second line by a carriage return": lambda builder: builder.part("lever", "a\rlever b"),
    "an option in a name": lambda builder: builder.part("lever", "a starts on"),
    "a comment in a name": lambda builder: builder.part("lever", "a # b"),
    "a second line in an option": lambda builder: builder.part("lamp", "a", from_="rope\nlever b"),
    "an option in an option": lambda builder: builder.part("repeater", "a", from_="rope delay 2t"),
    "a comment over an option": lambda builder: builder.part("repeater", "a", from_="rope # b", delay="2t"),
    "a number that no option takes": lambda builder: builder.part("dust", "a", length=2.5),  # type: ignore[arg-type]
    "a check in a title": lambda builder: builder.check('x"\nend\ncheck "y', "at 1s rope on"),
    "a check in a line": lambda builder: builder.check("x", "at 1s rope on", "end", 'check "y"'),
    "a kind that there is not": lambda builder: builder.part("levr", "a"),
    "a kind with more behind it": lambda builder: builder.part("lever a\nlever", "b"),
}


@pytest.mark.parametrize("smuggled", SMUGGLED)
def test_a_call_adds_the_one_thing_that_it_says_or_nothing(smuggled: str) -> None:
    builder = Builder("mill")
    builder.part("lever", "rope")
    before = builder.text
    with pytest.raises(WrongCall) as refused:
        SMUGGLED[smuggled](builder)
    assert refused.value.hint
    assert builder.text == before


@pytest.mark.parametrize("name", ["", "2 mills", "gap", "mill house", "mill\nlever rope", "mill # x", 'mill "x"'])
def test_a_circuit_is_not_begun_with_a_name_that_the_language_refuses(name: str) -> None:
    with pytest.raises(CircuitError):
        Builder(name)


def test_a_title_can_not_say_more_than_a_title() -> None:
    with pytest.raises(CircuitError):
        Builder("mill", 'x"\nlever "rope')


AFTERWARDS: dict[str, Callable[[Builder], object]] = {
    "built again": Builder.build,
    "a part": lambda builder: builder.part("lever", "bar"),
    "lines": lambda builder: builder.add("lever bar"),
    "a check": lambda builder: builder.check("x", "at 1s rope on"),
}


@pytest.mark.parametrize("call", AFTERWARDS)
def test_what_is_built_is_built_once_and_nothing_is_added_afterwards(call: str) -> None:
    builder = Builder("mill")
    builder.part("lever", "rope")
    built = builder.build()
    with pytest.raises(WrongCall) as refused:
        AFTERWARDS[call](builder)
    assert "another Builder" in refused.value.hint
    assert built.circuit.signals == ["rope"]


def test_nothing_is_built_before_something_was_added() -> None:
    builder = Builder("mill")
    with pytest.raises(WrongCall) as refused:
        builder.build()
    assert "part()" in refused.value.hint
    builder.part("lever", "rope")
    assert builder.build().circuit.signals == ["rope"]
