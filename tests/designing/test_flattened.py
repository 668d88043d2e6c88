"""Written out, the instances of a file are the parts that they were, each under one name, wired as they were."""

from __future__ import annotations

from pathlib import Path

import pytest

from circuitcheck.curing.source_text import Source, source_of, source_of_text
from circuitcheck.designing.flattened import NotFlat, flattened
from circuitcheck.designing.step_by_step import Unsuited, begun, undrawn
from circuitcheck.model.circuit import Circuit

ROOT = Path(__file__).resolve().parents[2]
MILL = """language 1
lever rope.1 to rope.3
lever hold_calm.1
define late (a) given wait 2t from 1t to 4t gives out, far
  repeater  out  from a  delay wait   # as long as is given
  torch     own  from out
  output    far  from own
  silence T4 for own because "it is worked by hand"
end
define hold (raise, lower) given pause 3t from 1t to 4t gives kept, later
  torch  calm.1 to calm.2  from raise, lower
  late   turn (a calm.1) given wait pause
  latch  gate   set calm.*, turn.far  reset lower  starts reset
  output kept   from gate
  output later  from turn.out
  repeater each.1 to each.2  from calm.*
end
hold  hold (raise rope.1, lower late.out)
late  late (a rope.2)
lamp  open  from hold.kept, hold.later, late.far
never "the hold.kept shuts"  hold.gate and hold.turn.own and rope.1
check "it turns"
  at 1s  hold_calm.1 on
  at 2s  expect hold.gate off and hold.calm.2
end
"""


def written_out(source: Source) -> tuple[Source, int]:
    text, instances = flattened(source)
    flat = source_of_text(text, source.path, source.folder, source.root)
    assert flat.loaded.valid, [each.message for each in flat.loaded.diagnostics]
    return flat, instances


def renamed(circuit: Circuit, heads: dict[str, str]) -> dict[str, tuple[object, ...]]:
    """Each part by the name that it has written out: what it is, its delay, and what each of its ports reads."""

    def called(name: str) -> str:
        for head, prefix in heads.items():
            if name.startswith(head):
                return called_inside(prefix, name.removeprefix(head))
        return name

    def called_inside(prefix: str, rest: str) -> str:
        first, dot, last = rest.partition(".")
        inside = dot and not last.isdecimal() and last != "inverse"
        return called_inside(f"{prefix}{first}_", last) if inside else prefix + rest

    return {
        called(part.name): (part.word, part.lag, tuple(tuple(map(called, port.sources)) for port in part.ports()))
        for part in circuit.parts
    }


def test_every_part_is_what_it_was_and_reads_what_it_read() -> None:
    source = source_of_text(MILL, "mill.circuit", ".")
    assert source.loaded.valid, source.loaded.diagnostics
    flat, instances = written_out(source)
    assert instances == 4  # that of the definition standing alone among them
    before, after = source.loaded.studies[0], flat.loaded.studies[0]
    assert renamed(before.circuit, {"hold.": "hold__", "late.": "late_"}) == renamed(after.circuit, {})
    assert "(a" not in flat.text.partition("hold__calm")[2]
    assert '"the hold.kept shuts"  hold__gate and hold__turn_own and rope.1' in flat.text
    assert "delay 3t" in flat.text
    assert "delay 2t" in flat.text
    assert [each.names for each in after.silences] == [("hold__turn_own",), ("late_own",)]


def test_the_adders_stay_the_adders() -> None:
    """Their pieces are in another file, and in one another."""
    bare = source_of(ROOT / "circuits" / "arithmetic.circuit")
    source = source_of_text(undrawn(bare), bare.path, bare.folder, bare.root)
    flat, instances = written_out(source)
    assert instances == 2 + 2 * (3 + 2 * 2)
    heads = {head + ".": head + "_" for head in ("one", "two", "first", "second", "either")}
    assert len(source.loaded.studies) == len(flat.loaded.studies) == 3
    for before, after in zip(source.loaded.studies, flat.loaded.studies, strict=True):
        assert renamed(before.circuit, heads) == renamed(after.circuit, {})
        assert [each.title for each in before.checks] == [each.title for each in after.checks]


def test_what_can_not_stand_outside_an_instance_is_said() -> None:
    text = "language 1\nlever rope\ndefine lit (a) gives out\n  place bed gets sky\n  torch out from a\nend\n"
    source = source_of_text(f"{text}lit one (a rope)\nlamp bell from one.out\n", "mill.circuit", ".")
    assert source.loaded.valid, source.loaded.diagnostics
    with pytest.raises(NotFlat, match=r"mill\.circuit:4"):
        flattened(source)
    with pytest.raises(Unsuited, match="pieces can't be written out"):
        begun(source, True)


def test_a_file_without_instances_stays_as_it_is() -> None:
    source = source_of(ROOT / "circuits" / "sluice.circuit")
    assert flattened(source) == (source.text, 0)
