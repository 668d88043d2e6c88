"""What notices a fault, and how little is done to find that out.

The outside source is the whole judgement itself: every check run and every claim proved, as `verify` does it.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from circuitcheck.language.load import load_file, load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Claim, Study
from circuitcheck.prove.prover import Prover
from circuitcheck.sweeps import stimulus
from circuitcheck.sweeps.faults import Faults, faults
from circuitcheck.sweeps.variants import first_failing, verdicts

SLUICE = Path(__file__).resolve().parents[2] / "circuits" / "sluice.circuit"
WATCH = SLUICE.with_name("watchpair.circuit")
STATES, WORK = 50_000, 3_000_000
BELL = """language 1
circuit mill
lever    rope
dust     line  from rope  length 6
repeater slow  from line  delay 2t
lamp     bell  from slow
check "it rings"
  at 1s rope on
  by 2s expect bell
end
assume at most 1 changes within 8t
always "the bell is as the rope"  bell follows rope, settled within 4t
"""


@pytest.fixture
def proved(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The titles of the claims that are proved, one after another."""
    titles: list[str] = []
    prove = Prover.prove

    def told(self: Prover, claim: Claim) -> object:
        titles.append(claim.title)
        return prove(self, claim)

    monkeypatch.setattr(Prover, "prove", told)
    return titles


def study(text: str) -> Study:
    return load_text(text).studies[0]


def judged(asked: Study, holds: bool = True) -> Faults:
    found = Faults(asked, STATES, holds)
    found.carry_out(None, lambda done, of: None)
    return found


@pytest.mark.parametrize("asked", [study(BELL), load_file(SLUICE).studies[0]], ids=["bell", "sluice"])
def test_whether_a_fault_is_noticed_is_what_the_whole_judgement_says(asked: Study) -> None:
    for each in judged(asked).found():
        whole, _ = verdicts((asked._replace(circuit=each.fault.circuit), STATES, WORK))
        assert each.verdicts.holds is whole.holds, each.fault.words


def test_where_a_run_notices_a_fault_nothing_is_proved(proved: list[str]) -> None:
    asked = study(BELL)
    taken_out = next(fault for fault in faults(asked.circuit) if fault.words == "the repeater 'slow' is taken out")
    found, _ = first_failing((asked._replace(circuit=taken_out.circuit), STATES, WORK))
    assert (found.holds, proved) == (False, [])


def test_of_several_claims_that_a_fault_breaks_only_the_first_is_explored(proved: list[str]) -> None:
    """Without a check that rings the bell both claims can only be broken by a proof."""
    always = 'always "the bell is as the rope"'
    start, claim = BELL[: BELL.index("check")], BELL[BELL.index(always) :]
    asked = study(start + "assume at most 1 changes within 8t\n" + claim + claim.replace(always, 'always "once more"'))
    taken_out = next(fault for fault in faults(asked.circuit) if fault.words == "the repeater 'slow' is taken out")
    found, _ = first_failing((asked._replace(circuit=taken_out.circuit), STATES, WORK))
    assert (found.holds, proved) == (False, ["the bell is as the rope"])


def test_what_is_no_fault_is_not_judged_where_all_holds_without_it(proved: list[str]) -> None:
    asked = study(BELL)
    longer = next(each for each in judged(asked).found() if "one dust longer" in each.fault.words)
    assert (longer.verdicts.holds, longer.alike) == (True, True)
    before = len(proved)
    judged(asked, holds=False)
    assert len(proved) - before > before, "where it is not known that all holds, it is judged"


def test_a_longer_line_whose_level_is_asked_for_is_judged_and_noticed() -> None:
    """Common practice, no source (P3): a level is lost with each dust."""
    asked = study(BELL + 'check "how much is left"\n  at 1s rope on\n  by 2s expect line is 10\nend\n')
    longer = next(each for each in judged(asked).found() if "one dust longer" in each.fault.words)
    assert longer.verdicts.holds is False


def test_the_circuit_as_it_stands_is_run_once_for_what_is_tried_on_all_faults(monkeypatch: pytest.MonkeyPatch) -> None:
    run, ran = stimulus._Side.run, []

    def told(self: stimulus._Side, acts: tuple[object, ...], until: int) -> object:
        ran.append((id(self), acts))
        return run(self, acts, until)  # type: ignore[arg-type]

    monkeypatch.setattr(stimulus._Side, "run", told)
    asked = study(BELL).circuit
    others = [fault.circuit for fault in faults(asked) if "is set to" in fault.words]
    for other in others:
        stimulus.stimulus(asked, other, ())
    kept = {id(stimulus._Kept.of(asked)._side)}
    mine = [acts for side, acts in ran if side in kept]
    assert len(others) > 1
    assert len(mine) == len(set(mine)) < len(ran) - len(mine)


def test_a_drawn_latch_that_a_fault_takes_apart_can_still_be_asked_for() -> None:
    asked = load_file(WATCH).studies[0]
    taken_out = {fault.words: fault for fault in faults(asked.circuit)}
    for words in ("torch 'gate'", "torch 'gate.inverse'", "repeater 'morning'"):
        built = taken_out[f"the {words} is taken out"].built()
        assert isinstance(built, Circuit)
        assert built.latches.keys() == asked.circuit.latches.keys()
        found, _ = first_failing((asked._replace(circuit=built), STATES, WORK))
        assert found.holds is False
