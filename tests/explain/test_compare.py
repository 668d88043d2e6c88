"""Two circuits side by side: the same built otherwise, another function, another timing, and what can't be compared."""

from __future__ import annotations

from pathlib import Path

import pytest
from report.calling import call, told

from circuitcheck import Simulation, loads
from circuitcheck.engine import work
from circuitcheck.engine.program import Program
from circuitcheck.explain import compare as comparing
from circuitcheck.explain.compare import Comparison, compare, same_circuit
from circuitcheck.explain.function import Function, TooLarge

from .trying import circuit_of, settled, text_of
from .trying import work as press

ROPES = ("lever pond", "lever race")
NOR = (*ROPES, "torch dry from pond, race", "lamp out from dry")
OR_THEN_NOT = (*ROPES, "junction meet joins pond, race", "torch dry from meet", "lamp out from dry")
TWO_MORE = (*NOR[:3], "torch back from dry", "torch forth from back", "lamp out from forth")
NAND = (*ROPES, "torch one from pond", "torch two from race", "lamp out from one, two")


def compared(first: tuple[str, ...], second: tuple[str, ...]) -> Comparison:
    """How two circuits of these lines compare."""
    return compare(circuit_of(*first), circuit_of(*second))


def test_the_same_function_built_otherwise_and_as_quick_is_alike() -> None:
    found = compared(NOR, OR_THEN_NOT)
    assert found.alike
    assert (found.functions, found.reaction, found.mismatch, found.unfilled) == ((), None, "", ())
    assert found.costs is not None
    assert [(cost.parts, cost.dust, cost.slowest) for cost in found.costs] == [
        (4, 0, 6),
        (5, 1, 6),
    ]  # 1t of torch, 2t of a lamp going dark (O2)


def test_a_pair_of_torches_more_computes_the_same_but_reacts_later() -> None:
    found = compared(NOR, TWO_MORE)
    assert found.functions == ()
    assert found.reaction is not None
    assert not found.alike
    assert found.costs is not None
    assert [cost.slowest for cost in found.costs] == [6, 10]  # the lamp goes dark 2t late (O2)
    assert found.costs[1].parts - found.costs[0].parts == 2


@pytest.mark.parametrize(("first", "second"), [(NOR, NAND), (NAND, NOR), (NOR, (*ROPES, "lamp out from pond, race"))])
def test_another_function_is_reported_with_its_row(first: tuple[str, ...], second: tuple[str, ...]) -> None:
    found = compared(first, second)
    (difference,) = found.functions
    assert difference.output == "out"
    assert [name for name, _ in difference.row] == ["pond", "race"]
    values = [settled(circuit_of(*lines), dict(difference.row), ["out"])["out"] for lines in (first, second)]
    assert values[0] is not values[1]
    assert [difference.first, difference.second] == ["on" if value else "off" for value in values]


def test_a_remembered_output_is_distinguished_from_a_combinational_one() -> None:
    latch = (*ROPES, "latch gate set pond reset race starts reset", "lamp out from gate")
    plain = (*ROPES, "torch back from pond", "torch gate from race, back", "lamp out from gate")
    (difference,) = compared(latch, plain).functions
    assert "remembered" in (difference.first, difference.second)
    assert dict(difference.row) == {"pond": False, "race": False}


TIMED = [
    (("lever pond", "repeater out from pond delay 1t"), ("lever pond", "repeater out from pond delay 2t")),
    (("lever pond", "torch out from pond"), ("lever pond", "repeater slow from pond delay 3t", "torch out from slow")),
    (NOR, TWO_MORE),
    (("lever pond", "lamp out from pond"), ("lever pond", "repeater winch from pond delay 4t", "lamp out from winch")),
    (("button bell short", "lamp out from bell"), ("button bell long", "lamp out from bell")),
]


@pytest.mark.parametrize(("first", "second"), TIMED)
def test_the_first_gt_of_another_timing_is_the_simulations(first: tuple[str, ...], second: tuple[str, ...]) -> None:
    reaction = compared(first, second).reaction
    assert reaction is not None
    levels: list[list[int]] = []
    for lines in (first, second):
        run = Simulation(circuit_of(*lines))
        levels.append([run.level(reaction.output)])
        due = {at: (name, verb) for at, name, verb in reaction.actions}
        for at in range(1, reaction.at + 1):
            if at in due:
                press(run, *due[at])
            run.run(gt=1)
            levels[-1].append(run.level(reaction.output))
    assert ((levels[0][-1],), (levels[1][-1],)) == (reaction.first, reaction.second)
    assert levels[0][-1] != levels[1][-1]
    assert levels[0][:-1] == levels[1][:-1]


def test_the_series_that_shows_a_difference_tells_the_levels_that_were_set() -> None:
    # Without the level nobody can do the series again: `depth is 7` is what the language needs.
    first = ("analogue depth", "comparator out from depth")
    second = ("analogue depth", "dust line from depth length 2", "comparator out from line")
    reaction = compared(first, second).reaction
    assert reaction is not None
    for _, name, verb in reaction.actions:
        assert name == "depth"
        assert any(letter.isdigit() for letter in verb), f"the level is not told: {verb}"


@pytest.mark.parametrize(
    ("other", "words"),
    [
        (("lever pond", "lever rope", "torch dry from pond, rope", "lamp out from dry"), ("inputs", "race", "rope")),
        ((*NOR[:3], "lamp sign from dry"), ("outputs", "out", "sign")),
        (("lever pond", "button race short", "torch dry from pond, race", "lamp out from dry"), ("inputs", "race")),
        (("lever pond", "torch dry from pond", "lamp out from dry"), ("inputs", "race")),
    ],
)
def test_what_has_other_inputs_or_outputs_is_refused_by_name(
    other: tuple[str, ...], words: tuple[str, ...], tmp_path: Path
) -> None:
    found = compared(NOR, other)
    assert not found.alike
    assert all(word in found.mismatch for word in words)
    paths = written(tmp_path, NOR, other)
    run = call("compare", *paths)
    assert run.returncode == 2
    assert told(run) == ""
    assert len(run.stderr.splitlines()) == 1
    assert all(word in run.stderr for word in words)


def test_other_inputs_are_reported_in_words(tmp_path: Path) -> None:
    plate = ("lever pond", "plate race", *NOR[2:])
    run = call("compare", *written(tmp_path, NOR, plate))
    assert run.returncode == 2
    assert "race" in run.stderr
    assert "('" not in run.stderr, "a tuple of Python is no sentence"


def written(folder: Path, *circuits: tuple[str, ...]) -> list[str]:
    """Files of these circuits."""
    paths = [folder / f"mill{place}.circuit" for place in range(len(circuits))]
    for path, lines in zip(paths, circuits, strict=True):
        path.write_text(text_of(*lines), encoding="utf-8")
    return [str(path) for path in paths]


@pytest.mark.parametrize(("second", "code"), [(OR_THEN_NOT, 0), (TWO_MORE, 1), (NAND, 1)])
def test_the_exit_code_says_whether_a_difference_was_found(second: tuple[str, ...], code: int, tmp_path: Path) -> None:
    run = call("compare", *written(tmp_path, NOR, second))
    assert run.returncode == code
    assert told(run)
    assert run.stderr == ""


def test_the_row_of_another_function_is_reported_on_the_command_line(tmp_path: Path) -> None:
    words = " ".join(told(call("compare", *written(tmp_path, NOR, NAND))).split())
    assert "'out' differs, once settled: with pond on, race off it is off in the first, on in the second" in words


def test_a_file_that_is_missing_or_mistaken_ends_with_2(tmp_path: Path) -> None:
    (good, bad) = written(tmp_path, NOR, ("lever rope", "lamp bell from rop"))
    assert call("compare", good, str(tmp_path / "gone.circuit")).returncode == 2
    assert call("compare", good, bad).returncode == 2


PLANKS = Path(__file__).resolve().parents[1] / "moving" / "plankwatch.circuit"


def test_a_circuit_beside_itself_is_the_same_at_once_however_it_moves() -> None:
    """Comments, titles, letters and the order of checks are no part of it."""
    text = PLANKS.read_text(encoding="utf-8")
    other = (
        text.replace("  P  piston", "  Q  piston").replace("    .SP....", "    .SQ....").replace("# In each", "# In")
    )
    assert other != text
    one, same = (loads(each).circuit for each in (text, other))
    begun = work.done()
    found = compare(one, same)
    assert (found.identical, found.alike, found.series, work.done() - begun) == (True, True, 0, 0)
    assert found.costs is not None


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("rules newest", "rules newer"),
        ("delay 1t  named float", "delay 2t  named float"),
        ("sticky    named boom", "named boom"),
        ("    SSSSSS.\n    S*(", "    SSSSSSS\n    S*("),
    ],
    ids=["rules", "a delay", "a flag", "a block"],
)
def test_whatever_could_have_a_say_makes_it_another_circuit(before: str, after: str) -> None:
    text = PLANKS.read_text(encoding="utf-8")
    other = text.replace(before, after, 1)
    assert other != text
    assert not same_circuit(loads(text).circuit, loads(other).circuit)


def test_of_a_machine_that_moves_every_output_is_decided_beside_a_build_with_a_block_more(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(comparing, "STIMULI", 0)
    text = PLANKS.read_text(encoding="utf-8")
    more = text.replace("    SSSSSS.\n    S*(", "    SSSSSSS\n    S*(", 1)
    found = compare(loads(text).circuit, loads(more).circuit)
    assert not found.identical
    assert (found.functions, found.unfilled) == ((), ())


def test_each_output_has_a_fair_share_and_what_is_left_goes_to_those_that_need_more(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """`a` takes all it may, and a whole work alone; `b` and `c` a tenth of it."""
    asked: list[tuple[str, int]] = []

    def both(programs: object, output: str, most: int) -> object:
        asked.append((output, most))
        work.count(min(most, 900 if output == "a" else 100))
        enough = most >= (900 if output == "a" else 100)
        table = Function((), frozenset()) if enough else TooLarge("more work than is done for it")
        return (), table, table

    monkeypatch.setattr(comparing, "_both", both)
    monkeypatch.setattr(comparing, "MOST_WORK", 1_500)
    program = Program(circuit_of(*NOR))
    found = comparing._tables((program, program), ("a", "b", "c"))
    assert asked == [("a", 500), ("b", 500), ("c", 900), ("a", 800)]
    assert [isinstance(tables[1], TooLarge) for tables in found.values()] == [True, False, False]
