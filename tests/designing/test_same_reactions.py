"""What is called the same reacts alike: beside runs of each circuit alone, and every short pair of signals."""

from __future__ import annotations

import itertools
import json
import os
import random
from collections.abc import Sequence
from pathlib import Path

import pytest
from prove.plain import quiet

from circuitcheck.checks.conditions import compiled
from circuitcheck.checks.watches import Broken, watch
from circuitcheck.cli import main
from circuitcheck.curing.search import Budget
from circuitcheck.curing.source_text import Source, source_of, source_of_text
from circuitcheck.designing.same_reactions import BEFORE, Reactions, Unlike, follows, given_out
from circuitcheck.designing.step_by_step import Steps, Unsuited, begun, made_smaller, smaller
from circuitcheck.engine.program import Program
from circuitcheck.errors import RunGivenUp, UnknownName
from circuitcheck.language.load import load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Body, Holding, Study
from circuitcheck.prove.meter import Limits
from circuitcheck.simulation import Simulation

SEEDS = 1_000 if os.environ.get("CIRCUITCHECK_LEAST") else 30
PROGRAM = Program(load_text("lever one\nlever other\nlamp bell from one, other\n").studies[0].circuit)
KINDS = (
    *["torch {name} from {sources}"] * 4,
    "repeater {name} from {last}  delay 1t",
    "repeater {name} from {last}  delay 2t  locked by cord",
    "comparator {name} from {sources}  side cord",
    "latch {name} set {sources}  reset rope  starts reset",
    "dust {name} from {sources}  length 4",
    "block {name} from {sources}",
)
"""The lines of random circuits."""
DOUBLED = """language 1
lever rope
lever cord
torch slack    from rope
torch slacker  from rope
torch taut     from slack, cord, slack
lamp bell      from slack
lamp light     from slacker
lamp both      from taut
"""
TWICE = """language 1
lever rope
assume rope stable for 10t
torch slack  from rope
torch taut   from slack
lamp bell    from taut
"""


def studies(text: str) -> tuple[Study, ...]:
    loaded = load_text(text)
    assert loaded.valid, [each.message for each in loaded.diagnostics]
    return loaded.studies


def made(text: str, most_shift: int = 0) -> Steps:
    source = source_of_text(text, "mill.circuit", ".")
    steps = begun(source, True, most_shift)
    made_smaller(source, Budget(10_000), steps)
    assert not steps.ended
    return steps


def same(before: str, after: str, most_shift: int = 0) -> int | None:
    """By how many gt later the second is proved to react as the first."""
    reactions = Reactions(studies(before), Limits(20_000), most_shift)
    return reactions.last if reactions.same(studies(after)) else None


def test_what_is_there_twice_or_read_twice_goes_though_nothing_is_asked() -> None:
    steps = made(DOUBLED)
    assert (steps.before.parts, steps.after.parts, steps.shift) == (3, 2, 0)
    assert steps.same == ("bell", "light", "both")
    assert "slacker" not in steps.text
    assert "slack, cord, slack" not in steps.text


def test_two_inverters_go_where_a_shift_is_allowed_and_only_there() -> None:
    """Without one, a repeater of 2t stands for both, as pulses are long enough (rules R3, T3)."""
    steps = made(TWICE)
    assert (steps.after.parts, steps.after.ticks, steps.shift) == (1, 2, 0)
    assert made(TWICE.replace("assume rope stable for 10t\n", "")).steps == []
    steps = made(TWICE, 4)
    assert (steps.after.parts, steps.shift) == (0, -4)  # a torch takes 1t each way (rule T1)
    assert made(TWICE, 3).after.parts == 1


def test_a_pulse_that_a_part_stretches_tells_it_from_a_shift() -> None:
    """A repeater of 2t makes what is shorter as long as its delay (rule R3)."""
    late = "language 1\nlever rope\n{}repeater late from rope delay {}\nlamp bell from late\n"
    held = "assume rope stable for 10t\n"
    assert same(late.format(held, "2t"), late.format(held, "1t"), 4) == -2
    assert same(late.format(held, "1t"), late.format(held, "2t"), 4) == 2
    assert same(late.format("", "2t"), late.format("", "1t"), 4) is None


def test_a_change_that_is_seen_in_one_gt_only_is_refused() -> None:
    gate = "language 1\nlever rope\nlever cord\ntorch slack from rope, cord\nlamp bell from {}\n"
    assert same(gate.format("slack"), gate.format("slack")) == 0
    assert same(gate.format("slack"), gate.format("slack, cord")) is None
    assert same(gate.format("slack").replace(", cord", ""), gate.format("slack")) is None


def test_levels_are_held_to_be_the_same_and_not_only_on_or_off() -> None:
    line = "language 1\nlever rope\ndust far  from rope  length {}\n"
    assert same(line.format(5), line.format(5)) == 0
    assert same(line.format(5), line.format(4)) is None
    with pytest.raises(Unlike, match="level of a dust"):
        same(line.format(5), line.format(5), 2)


def test_outputs_of_definitions_stay_as_they_were() -> None:
    text = (
        "language 1\ndefine wait (pull) gives ring, raw, far\n  torch slack  from pull\n  torch slacker  from pull\n"
        "  dust ring  from slacker  length 3\n  output raw from pull\n  output far from ring\n"
        '  never "x"  ring and raw\nend\n'
    )
    assert same(text, text.replace("from slacker", "from slack")) == 0
    assert same(text, text.replace("length 3", "length 2")) is None
    assert same(text, text.replace("raw from pull", "raw from slack")) is None


def test_of_several_circuits_each_must_stay_as_it_was() -> None:
    text = "language 1\n" + "".join(
        f"define {name} (pull) gives ring\n  torch slack  from pull\n  torch slacker  from pull\n"
        f'  torch ring  from slacker, slack\n  never "x"  ring and slack\nend\n'
        for name in ("wait", "rest_not")
    )
    assert len(studies(text)) == 2
    assert same(text, text.replace("from slacker, slack", "from slack", 1)) == 0
    assert same(text, text.replace("from slacker, slack", "from pull", 1)) is None
    last = text.rindex("from slacker, slack")
    assert same(text, f"{text[:last]}from pull{text[last + len('from slacker, slack') :]}") is None


@pytest.mark.parametrize(
    ("lines", "why"),
    [
        ("latch gate  set rope  reset rope  starts reset\nlamp bell from gate\n", "'bell' reacts depends on an order"),
        ("latch gate  set rope  reset cord\nlamp bell from gate\n", "more than one way"),
        ("piston gate  from rope\nlamp bell from rope\n", "has a piston, 'gate'"),
        ("", "nothing is given out"),
    ],
)
def test_what_does_not_react_in_one_way_or_cannot_be_held_beside_itself_is_refused(lines: str, why: str) -> None:
    with pytest.raises(Unsuited, match=why):
        made(f"language 1\nlever rope\nlever cord\n{lines}")


def test_what_is_not_decided_is_not_the_same() -> None:
    with pytest.raises(Unlike, match="not decided"):
        Reactions(studies(DOUBLED), Limits(3))
    reactions = Reactions(studies(DOUBLED), Limits(20_000))
    reactions._limits = Limits(3)
    assert not reactions.same(studies(DOUBLED.replace("from slacker", "from slack")))
    assert reactions.undecided == 1


@pytest.mark.parametrize("gt", [1, 2])
def test_the_claims_of_a_shift_hold_of_no_other_pair_of_signals(gt: int) -> None:
    """Every pair of signals of so many gt: where the claims hold, the second is the first, later; and some hold."""
    length, kept = 7, 0
    bodies = follows("one", "other", gt)
    for first, second in itertools.product(itertools.product((0, 15), repeat=length), repeat=2):
        if first[0] == second[0] and all(holds(body, first, second) for body in bodies):
            kept += 1
            assert second == (first[0],) * gt + first[:-gt]
    assert kept > 10


def holds(body: Body, first: Sequence[int], second: Sequence[int]) -> bool:
    """Whether a claim about two signals is unbroken, the first entry of each being its start."""
    watching = watch(body, lambda condition: compiled(condition, PROGRAM))
    state, rows = watching.start(), list(zip(first, second, strict=True))
    for at, (before, now) in enumerate(itertools.pairwise(rows)):
        state = watching.step(state, at, 1, bytes((*now, 0)), bytes((*before, 0)))
        if isinstance(state, Broken):
            return False
    return True


def drawn(seed: int) -> str:
    """A small circuit at random; half of them with inputs that rest between changes, and nothing but lamps."""
    chance = random.Random(seed)
    lines, names = ["language 1", "lever rope", "lever cord"], ["rope", "cord"]
    lines += ["assume rope, cord stable for 8t"] * (seed % 2)
    for number in range(chance.randint(2, 4)):
        sources = ", ".join(chance.sample(names, chance.randint(1, 2)))
        lines.append(chance.choice(KINDS).format(name=f"part{number}", sources=sources, last=names[-1]))
        names.append(f"part{number}")
    lines += [f"lamp bell from {chance.choice(names[-2:])}"]
    lines += [f"{'lamp' if seed % 2 else 'junction'} light from {chance.choice(names[-2:])}"]
    return "\n".join(lines) + "\n"


def series(study: Study, chance: random.Random, until: int) -> list[tuple[int, str]]:
    """Levers thrown at random, at most one a gt, as is assumed of them."""
    stable = max((each.at_least for each in study.assumptions if isinstance(each, Holding)), default=1)
    found, last = [], {"rope": -stable, "cord": -stable}
    for at in range(until):
        name = chance.choice(list(last))
        if chance.random() < 0.3 and at - last[name] >= stable:
            last[name] = at
            found.append((at, name))
    return found


def shown(
    circuit: Circuit, outputs: Sequence[str], acts: Sequence[tuple[int, str]], until: int
) -> list[tuple[frozenset[int], ...]]:
    """What outputs may show at the end of each gt, by the engine, of this circuit alone; no torch burns out."""
    run, thrown = Simulation(quiet(circuit)), dict(acts)
    rows = []
    for at in range(1, until):
        if at in thrown:
            run.throw(thrown[at])
        run.run(gt=1)
        rows.append(tuple(frozenset(run.levels(each)) for each in outputs))
    return rows


def differs(before: Study, after: Study, shift: int, chance: random.Random) -> bool:
    """Whether a run at random tells two circuits apart."""
    until = 70
    for _ in range(6):
        acts = series(before, chance, until)
        try:
            one, other = (shown(each.circuit, given_out(before.circuit), acts, until) for each in (before, after))
        except (RunGivenUp, UnknownName):  # it may start in too many ways, or an output is gone
            return True
        if one[max(-shift, 0) : len(one) - max(shift, 0)] != other[max(shift, 0) : len(other) - max(-shift, 0)]:
            return True
    return False


def test_what_is_called_the_same_never_differs_in_a_run_at_random() -> None:
    called, shifted, told = 0, 0, 0
    for seed in range(SEEDS):
        source = source_of_text(drawn(seed), "mill.circuit", ".")
        try:
            reactions = Reactions(source.loaded.studies, Limits(20_000), 4 * (seed % 2))
        except Unlike:
            continue
        for after in changed(source):
            chance = random.Random(seed)
            if reactions.same(after):
                called += 1
                shifted += reactions.last != 0
                assert not differs(source.loaded.studies[0], after[0], reactions.last, chance)
            else:
                told += differs(source.loaded.studies[0], after[0], 0, chance)
    assert called > SEEDS / 2
    assert shifted
    assert told > SEEDS / 2


def changed(source: Source) -> list[tuple[Study, ...]]:
    """The studies of a file with each change that makes it smaller, up to a dozen."""
    loaded = [source.read(source.changed_text(change)) for change in itertools.islice(smaller(source), 12)]
    return [each.studies for each in loaded if each.valid]


def test_no_name_of_a_file_is_one_of_the_circuit_as_it_was() -> None:
    assert not load_text(f"lever {BEFORE}rope\nlamp bell from {BEFORE}rope\n").valid


def test_the_command_says_what_stayed_the_same(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    mill, new = tmp_path / "mill.circuit", tmp_path / "new.circuit"
    mill.write_text(TWICE)
    words = ["least", str(mill), "--by-steps", "--same", "--shift", "4", "--quiet"]
    with pytest.raises(SystemExit) as ended:
        main([*words, "--json", "--write", str(new)])
    assert ended.value.code == 0
    told = json.loads(capsys.readouterr().out)["by_steps"]
    assert (told["same"], told["shift"], told["unsure"]) == (["bell"], -4, 0)
    assert source_of(new).loaded.valid
    with pytest.raises(SystemExit) as ended:
        main(words)
    assert ended.value.code == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "as long as no torch burns out" in out
    assert "but 4 gt earlier: bell" in out


@pytest.mark.parametrize("words", [["--shift", "2"], ["--by-steps", "--shift", "2"], ["--by-steps", "--most", "1"]])
def test_what_does_not_go_alone_is_refused(
    tmp_path: Path, words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    mill = tmp_path / "mill.circuit"
    mill.write_text(TWICE)
    with pytest.raises(SystemExit) as ended:
        main(["least", str(mill), "--quiet", *words])
    assert ended.value.code == 2
    assert words[-2] in capsys.readouterr().err
