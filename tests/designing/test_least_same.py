"""The least circuit that gives out what another does at every gt: found, beside every smaller one judged alone."""

from __future__ import annotations

import itertools
import json
import os
import random
from collections.abc import Iterator
from pathlib import Path

import pytest

from circuitcheck.cli import main
from circuitcheck.designing.as_before import AsBefore, as_before
from circuitcheck.designing.fewest_parts import Ended, Search, Searched
from circuitcheck.designing.frame import CantDesign, Frame, frame_of
from circuitcheck.designing.netlist import DELAYS, Kind, Netlist
from circuitcheck.designing.same_reactions import Reactions, Unlike
from circuitcheck.language.load import load_text
from circuitcheck.prove.meter import Limits

from .test_least import LATCH
from .test_same_reactions import differs

LIMITS = Limits(20_000)
SEEDS = 60 if os.environ.get("CIRCUITCHECK_LEAST") else 5
TWO = """language 1
lever rope
assume rope stable for 10t
torch slack  from rope
torch taut   from slack
lamp bell    from taut
"""
NORS = """language 1
lever rope
lever cord
assume at most 1 changes within 12t
torch a    from rope
torch b    from cord
torch c    from a
torch d    from b
lamp bell  from c, d
"""


def framed(text: str) -> Frame:
    frame = frame_of(text, "mill.circuit", "", same=True)
    assert isinstance(frame, Frame), frame
    return frame


def searched(text: str, most_shift: int = 0, most: int | None = None) -> Searched:
    frame = framed(text)
    before = as_before(frame, LIMITS, most_shift)
    search = Search(frame, LIMITS, LIMITS._replace(states=10**7).meter(), before=before)
    return search.run(frame.own.parts if most is None else most)


def size(text: str, most_shift: int = 0) -> tuple[int, int, int]:
    """How many parts and ticks the least has, and by how many gt it comes later; that it is proved to be the same."""
    found = searched(text, most_shift)
    assert found.is_least
    assert found.netlist is not None
    new = load_text(framed(text).written(found.netlist))
    reactions = Reactions(load_text(text).studies, LIMITS, most_shift)
    assert reactions.same(new.studies)
    return found.netlist.parts, found.netlist.ticks, found.shift


@pytest.mark.parametrize(
    ("text", "most_shift", "least"),
    [
        (TWO, 0, (1, 2, 0)),  # one repeater of 2t (rule R1)
        (TWO, 3, (1, 1, -2)),
        (TWO, 4, (0, 0, -4)),  # a torch takes 1t each way (rule T1)
        (NORS, 4, (0, 0, -4)),
        (TWO.replace("torch slack ", "repeater slack").replace("torch taut  ", "repeater taut"), 0, (1, 2, 0)),
        (TWO.replace("from slack", "from rope").replace("lamp", "lamp light from slack\nlamp"), 0, (1, 1, 0)),
    ],
)
def test_the_least_is_found_though_nothing_is_asked(text: str, most_shift: int, least: tuple[int, int, int]) -> None:
    assert size(text, most_shift) == least


def test_where_a_pulse_may_be_short_two_torches_are_no_repeater() -> None:
    """A torch swallows a pulse of less than its delay (rule T3), a repeater stretches it (rule R3)."""
    found = searched(TWO.replace("assume rope stable for 10t\n", ""))
    assert found.netlist is not None
    assert [kind.word for _, kind in found.netlist.kinds] == ["torch", "torch"]


def test_what_may_start_in_two_ways_is_refused() -> None:
    """As two torches that power each other (rules L1, C6)."""
    both = "torch out from other, lower\ntorch other from out, raise\nlamp bell from out"
    text = LATCH.replace("junction out", both)
    with pytest.raises(Unlike, match="more than one way"):
        searched(text)


def test_what_it_asks_must_hold_as_well() -> None:
    late = 'check "at once"\n  at 10t  rope on\n  at 12t  expect bell\nend\n'
    assert searched(TWO + late, 4).shift == -4
    claim = 'always "late"  from rope rises to bell rises takes 2t\n'
    assert searched(TWO + claim, 4).shift == 0
    with pytest.raises(Unlike, match="does not hold as it is"):
        searched(TWO + claim.replace("2t", "1t"))


@pytest.mark.parametrize(
    ("lines", "why"),
    [
        ("latch gate  set rope  reset cord  starts reset\nlamp bell from gate", "a latch, 'gate'"),
        ("repeater key from cord\nrepeater gate from rope locked by key\nlamp bell from gate", "locked"),
    ],
)
def test_what_is_not_searched_is_refused(lines: str, why: str) -> None:
    with pytest.raises(CantDesign) as refused:
        searched(f"language 1\nlever rope\nlever cord\n{lines}\n")
    assert why in " ".join(refused.value.args)


def test_a_lamp_that_nothing_powers_is_a_mistake_as_elsewhere() -> None:
    assert not isinstance(frame_of("language 1\nlever rope\nlamp bell\n", "mill.circuit", "", same=True), Frame)


def test_the_budget_ends_it_and_nothing_is_called_least() -> None:
    frame = framed(NORS)
    found = Search(frame, LIMITS, Limits(1).meter(), before=as_before(frame, LIMITS, 0)).run(4)
    assert found.ended is Ended.OVER
    assert not found.is_least


# Beside every netlist of one part, judged alone


def of_one_part(frame: Frame, before: AsBefore) -> Iterator[tuple[Netlist, int]]:
    """Every netlist of at most one part that is proved to give out the same, with no solver, and how much later."""
    inputs, lamps = list(frame.inputs), [line.name for line in frame.read]
    reactions = Reactions((frame.study,), LIMITS, max(before.shifts))
    kinds = [None, Kind("torch"), *(Kind("repeater", delay) for delay in DELAYS)]
    for kind in kinds:
        known = inputs if kind is None else [*inputs, "part1"]
        for own in some(inputs) if kind is not None else [()]:
            for read in itertools.product(some(known), repeat=len(lamps)):
                if kind is not None and all("part1" not in each for each in read):
                    continue
                parts = () if kind is None else (("part1", kind),)
                sources = dict(zip(lamps, read, strict=True)) | ({} if kind is None else {"part1": own})
                netlist = Netlist(parts, tuple(sources.items()))
                if reactions.same((frame.study_with(netlist),)):
                    yield netlist, reactions.last


def some(names: list[str]) -> list[tuple[str, ...]]:
    return [each for count in range(1, len(names) + 1) for each in itertools.combinations(names, count)]


def drawn(seed: int) -> str:
    """Two or three torches and repeaters by lot, with one lamp or two, under inputs that mostly rest for a while."""
    chance = random.Random(seed)
    lines, names = ["language 1", "lever rope", "lever cord"], ["rope", "cord"]
    lines += [f"assume rope, cord stable for {chance.choice((3, 6))}t"] * (seed % 4 > 0)
    for number in range(2):
        sources = ", ".join(chance.sample(names, chance.randint(1, 2)))
        kind = chance.choice(["torch", "torch", "repeater"])
        delay = f"  delay {chance.choice(DELAYS)}t" if kind == "repeater" else ""
        lines.append(f"{kind} own{number}  from {sources}{delay}")
        names.append(f"own{number}")
    return "\n".join([*lines, f"lamp bell  from {', '.join(chance.sample(names[1:], 2))}"]) + "\n"


def test_of_circuits_by_lot_what_is_excluded_is_kept_by_no_netlist_of_one_part_and_what_is_found_never_differs() -> (
    None
):
    smaller, excluded, refused = 0, 0, 0
    for seed in range(SEEDS):
        text, most_shift = drawn(seed), 2 * (seed % 3)
        try:
            frame = framed(text)
            before = as_before(frame, LIMITS, most_shift)
        except Unlike:
            refused += 1
            continue
        found = searched(text, most_shift)
        alone = list(of_one_part(frame, before))
        assert found.is_least
        assert found.netlist is not None
        fewest = min((netlist.parts for netlist, _ in alone), default=2)
        assert min(found.netlist.parts, 2) == fewest, text
        smaller += found.netlist.parts < 2
        excluded += found.netlist.parts == 2
        after = load_text(frame.written(found.netlist)).studies[0]
        assert not differs(frame.study, after, found.shift, random.Random(seed))
    assert smaller
    assert excluded
    assert refused < SEEDS / 2


def test_the_command_says_what_stayed_the_same(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    mill, new = tmp_path / "mill.circuit", tmp_path / "new.circuit"
    mill.write_text(TWO)
    words = ["least", str(mill), "--same", "--quiet"]
    with pytest.raises(SystemExit) as ended:
        main([*words, "--shift", "4", "--json", "--write", str(new)])
    assert ended.value.code == 0
    told = json.loads(capsys.readouterr().out)["least"]
    assert (told["same"], told["shift"], told["found"]["parts"]) == (["bell"], -4, 0)
    assert load_text(new.read_text()).valid
    with pytest.raises(SystemExit) as ended:
        main(words)
    assert ended.value.code == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "every output reacts as before" in out
    assert "as long as no torch burns out, these are at every gt as before, without delay: bell" in out
    assert "with no part at all: impossible, no netlist of torches and repeaters reacts as before, of those" in out


def test_no_certificate_is_written_of_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    mill = tmp_path / "mill.circuit"
    mill.write_text(TWO)
    with pytest.raises(SystemExit) as ended:
        main(["least", str(mill), "--same", "--quiet", "--certificate", str(tmp_path / "why")])
    assert ended.value.code == 2
    assert "--certificate does not go with --same" in capsys.readouterr().err
    assert not (tmp_path / "why").exists()
