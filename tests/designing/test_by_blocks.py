"""Known blocks keep what the shelf asks of them, and stand in for more parts where all that is asked still holds."""

from __future__ import annotations

import itertools
import random
import re
from pathlib import Path

import pytest

from circuitcheck import verify_text
from circuitcheck.curing.names import Names
from circuitcheck.curing.search import Budget, Search
from circuitcheck.curing.source_text import source_of, source_of_text
from circuitcheck.designing.by_blocks import by_blocks, waits
from circuitcheck.designing.known_blocks import KNOWN_BLOCKS, Block
from circuitcheck.designing.step_by_step import smaller, undrawn

SHELF = Path(__file__).resolve().parents[2] / "circuits"
LEVERS = ("rope", "cord", "chain")
BLOCKS = {each.name: each for each in KNOWN_BLOCKS}
ON_THE_SHELF = [
    ("pulses", "edge_pulse", "edge pulse", {"signal": "signal", "width": "width"}),
    ("pulses", "longer_pulse", "longer pulse", {"signal": "signal", "extra": "extra"}),
    ("latches", "set_reset", "set-reset latch", {"up": "up", "down": "down", "start": "reset"}),
    ("latches", "data_latch", "data latch over a lock of its own", {"data": "data_in", "hold": "hold", "start": "off"}),
    ("latches", "toggle", "toggle", {"press": "press_in", "other": "on", "start": "off"}),
]
BRAKE = """language 1
lever  brake
lever  hold
torch  loose    from brake
torch  tight    from loose, hold
torch  clear    from brake, hold
torch  pressed  from clear, eased    starts off
torch  eased    from tight, pressed  starts on
lamp   shoe     from pressed

check "the brake follows, and keeps what it had while it is held"
  from 0t to 9t    expect shoe off
  at 10t           brake on
  from 18t to 39t  expect shoe on
  at 20t           hold on
  at 30t           brake off
  at 40t           hold off
  from 48t to 59t  expect shoe off
  at 50t           hold on
  at 55t           brake on
  from 56t to 69t  expect shoe off
  at 70t           hold off
  from 78t to 90t  expect shoe on
end
"""
BELL = """language 1
rules newer
lever     sack
torch     waited  from sack
repeater  first   from sack   delay 4t
repeater  second  from first  delay 4t
torch     ring    from waited, second  starts off
lamp      bell    from ring

check "the bell rings once, as a sack comes, and not as it goes"
  from 0t to 9t    expect bell off
  at 10t           sack on
  by 16t           expect bell on
  from 25t to 49t  expect bell off
  at 40t           sack off
  from 40t to 60t  expect bell off
  throughout       every pulse of ring lasts at least 3t
end
"""


def exchanged(text: str, wanted: str = "") -> str:
    """A file with the first of all blocks in it, of some name, with which all that it asks holds."""
    source = source_of_text(text, "mill.circuit", str(SHELF))
    changes = (each for each in by_blocks(source, Names(source)) if f"a known {wanted}" in each.words)
    found = Search(source, Budget(10_000)).first_that_holds(changes)
    assert found is not None
    assert verify_text(found.text, folder=SHELF).exit.name == "HOLDS"
    return found.text


def definition_of(file: str, name: str) -> str:
    """A definition of the shelf, with what it asks, without its drawing."""
    text = undrawn(source_of(SHELF / f"{file}.circuit"))
    own = text[text.index(f"define {name} (") :]
    return f"language 1\nrules newer\n{own[: own.index(chr(10) + 'end' + chr(10))]}\nend\n"


def parts_of(text: str) -> int:
    loaded = source_of_text(text, "mill.circuit", str(SHELF)).loaded
    assert loaded.valid, loaded.diagnostics
    return sum(map(waits, loaded.studies[0].circuit.parts))


@pytest.mark.parametrize(("file", "name", "block", "chosen"), ON_THE_SHELF)
def test_a_known_block_keeps_all_that_the_shelf_asks_of_its_own(
    file: str, name: str, block: str, chosen: dict[str, str]
) -> None:
    """Its checks there are of data sheets and of the rules; the lines here take the place of the shelf's."""
    known, shelf = BLOCKS[block], definition_of(file, name)
    fresh = {each: each if each == "out" else f"own_{each}" for each in known.own}
    lines = "\n".join(line.format(**chosen, **fresh) for line in known.lines)
    first, *rest = re.findall(r"^  (?:torch|repeater|comparator|dust|junction|latch) .*$", shelf, re.MULTILINE)
    ours = shelf.replace(first, lines)
    for line in rest:
        ours = ours.replace(f"{line}\n", "")
    report = verify_text(ours.replace("first falls", "own_first falls"), folder=SHELF)
    assert report.exit.name == "HOLDS", ours
    assert parts_of(ours.replace("first falls", "own_first falls")) == parts_of(shelf) == known.parts


@pytest.mark.parametrize("block", KNOWN_BLOCKS, ids=lambda block: str(block.name))
def test_each_way_to_set_a_block_is_a_circuit_of_so_many_parts(block: Block) -> None:
    names = {name: name for name in block.own}
    inputs = {name: f"{name}_in" for name in block.inputs}
    held = "\n".join(f"lever own_{name}\nrepeater {name} from own_{name}" for name in inputs.values())
    for chosen in block.chosen():
        lines = "\n".join(block.lines).format(**chosen, **inputs, **names)
        assert parts_of(f"language 1\n{held}\n{lines}\n") - len(block.inputs) == block.parts


def drawn(seed: int) -> str:
    """Parts by lot, some of them in rounds; lamps on two of them."""
    chance = random.Random(seed)
    own = [f"own{number}" for number in range(chance.randint(4, 9))]
    lines = ["language 1", *(f"lever {name}" for name in LEVERS)]
    for name in own:
        sources = ", ".join(chance.sample([*LEVERS, *(each for each in own if each != name)], chance.randint(1, 2)))
        kind = chance.choice(("torch {} from {}", "repeater {} from {}  delay 2t", "junction {} joins {}"))
        lines.append(kind.format(name, sources))
    return "\n".join([*lines, f"lamp bell  from {own[-1]}", f"lamp light  from {chance.choice(own)}"]) + "\n"


def test_what_is_read_is_still_there_with_as_many_parts_less_as_is_said() -> None:
    changes = 0
    for seed in range(40):
        source = source_of_text(drawn(seed), "mill.circuit", ".")
        before = parts_of(source.text) if source.loaded.valid else 0
        for change in itertools.islice(by_blocks(source, Names(source)), 5):
            after = source.changed_text(change)
            assert parts_of(after) - before == change.more_parts < 0, change.words
            assert re.findall("^lamp .*$", after, re.MULTILINE) == re.findall("^lamp .*$", source.text, re.MULTILINE)
            changes += 1
    assert changes > 40


def test_each_signal_is_led_to_each_input_and_no_way_comes_twice() -> None:
    source = source_of_text(BRAKE, "mill.circuit", ".")
    changes = list(by_blocks(source, Names(source)))
    texts = {source.changed_text(change) for change in changes}
    assert len(texts) == len(changes)
    for data, hold in (("brake", "hold"), ("hold", "brake")):
        lines = f"latch   pressed  data {data}  locked by {hold}  starts"
        assert sum(" ".join(lines.split()) in " ".join(text.split()) for text in texts) == 2
    assert not any("repeater" in line and "locked" in line for text in texts for line in text.splitlines())  # R5


def test_what_a_check_names_stays() -> None:
    source = source_of_text(BRAKE.replace("expect shoe off", "expect shoe off and clear", 1), "mill.circuit", ".")
    changes = list(by_blocks(source, Names(source)))
    assert changes
    for change in changes:
        assert re.search(r"\bclear\b", source.changed_text(change).partition("check")[0])


def test_a_brake_of_five_gates_is_a_data_latch() -> None:
    """As in any textbook: it follows while it is free, and keeps what it had while it is held."""
    text = exchanged(BRAKE)
    assert (parts_of(BRAKE), parts_of(text)) == (5, 2)
    assert "locked by hold" in text


def test_a_pulse_of_two_repeaters_and_two_torches_is_the_shelfs() -> None:
    text = exchanged(BELL, "edge pulse")
    assert (parts_of(BELL), parts_of(text)) == (4, 3)
    assert re.search("delay [34]t", text)  # each pulse is as long as the delay (R3)


def test_a_ring_of_five_torches_is_a_torch_behind_a_repeater() -> None:
    """Five in a ring have a period of 10t (rule T6), and so have 1t and 4t that come round turned over."""
    ring = definition_of("pulses", "ring_clock")
    text = exchanged(ring)
    assert (parts_of(ring), parts_of(text)) == (5, 2)
    assert "delay 4t" in text


def test_blocks_are_among_the_single_changes_that_make_a_circuit_smaller() -> None:
    source = source_of_text(BRAKE, "mill.circuit", ".")
    assert {each.words for each in by_blocks(source, Names(source))} <= {each.words for each in smaller(source)}
