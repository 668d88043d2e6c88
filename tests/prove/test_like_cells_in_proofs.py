"""Like cells are taken together in proofs: each state of the machine is one of those kept, with units exchanged.

A row of two cells, each with a piston that tells of it (rules M6, M12; common practice, no source), is explored with
and without exchanges. The method is that of Ip and Dill (Formal Methods in System Design 9, 1996); what it is held
against is the same exploration without it, and the plain explorer.
"""

from __future__ import annotations

import pytest

from circuitcheck.chance.machine.alike import NotAlike
from circuitcheck.chance.machine.exchange import Exchange
from circuitcheck.checks.outcome import Verdict
from circuitcheck.checks.proof import Proof
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import starts, the_start
from circuitcheck.engine.step import Action, merge, run_game_tick
from circuitcheck.language.load import load_text
from circuitcheck.model.claims import Assumption, Atom, Holding, Study, Watched
from circuitcheck.prove.cut import ProofScope, uncut
from circuitcheck.prove.influence import influence
from circuitcheck.prove.meter import Limits
from circuitcheck.prove.piece import Piece
from circuitcheck.prove.prover import Prover

from .plain import explored

SLOW, QUICK = "assume at most 1 changes within 2s", "assume at most 2 changes within 8gt"
LONG = 'always "a stir is long" every pulse of evening lasts 4t'


def row(units: int, *lines: str) -> Study:
    """A row of cells, each with a stuck piston that tells of it and is armed again by what they tell."""
    wide = 2 * units + 1
    wall, air, dust = "S" * wide, "." * wide, "-" * (wide - 1)
    asked = "\n".join(lines)
    text = f"""language 1
circuit row "A row of turf, each with a stuck piston that tells of it, armed again by what they tell."
rules newer
legend
  .  air
  S  block
  B  block
  -  dust
  d  dust      named told
  n  sensor    fades         named turf
  v  piston    facing south  sticky   named stir
  *  torch     on west       named ember
  i  torch     named ready
  k  repeater  facing north  delay 3t  named arm
  )  repeater  facing east   delay 2t  named evening
  o  lamp      named dark
end
drawing
  layer 1
    {wall}S, 4 times
    {"S*" * units}SS
    {wall}S, 2 times
  end
  layer 2
    {wall}.
    {"Sn" * units}S.
    {"Sv" * units}S.
    {".B" * units}.S
    {air[1:]}SS
    {dust}dS
    {wall}.
  end
  layer 3
    {air}., 2 times
    {wall}.
    {wall}-
    {wall}k
    {air}i
    -)o{air[2:]}
  end
  layer 4
    {air}., 3 times
    .{dust}.
    {air}., 3 times
  end
end
{asked}
"""
    (study,) = load_text(text, "row").studies
    return study


def piece(units: int, lumped: bool, *assumed: Assumption) -> Piece:
    program = Program(row(units).circuit)
    question = program.probe("evening")
    devices = influence(program).cone(device for device, _ in question)
    levels = tuple(start.levels for start in starts(program))
    scope = ProofScope(program, devices, (question,), levels, assumed)
    return Piece(scope, uncut(scope), (Atom("evening"),), 0, Limits().meter(), lumped)


def reached(explored_piece: Piece, gt: int) -> set[int]:
    """The states that it can be in within some gt."""
    layer = {move.target for move in explored_piece.starts()}
    found = set(layer)
    for _ in range(gt):
        layer = {move.target for state in layer for move in explored_piece.moves(state, ())} - found
        found |= layer
    return found


@pytest.mark.parametrize(("units", "gt"), [(2, 24), (3, 3)])
def test_the_states_kept_are_those_of_the_machine_with_units_exchanged(units: int, gt: int) -> None:
    lumped, plain = piece(units, True), piece(units, False)
    kept = {lumped.locals[state].state for state in reached(lumped, gt)}
    every = [plain.locals[state] for state in reached(plain, gt)]
    assert lumped.like is not None
    assert {lumped.like.in_order(local.state, local.held)[0] for local in every} == kept
    assert len(kept) < len(every)


def test_what_one_cell_is_held_to_tells_it_from_the_others() -> None:
    one_held = Holding(("turf.1",), 40, "turf.1 stable for 2s")
    both_held = Holding(("turf.1", "turf.2"), 40, "turf.* stable for 2s")
    assert piece(2, True, one_held).like is None
    assert piece(2, True, both_held).like is not None


@pytest.mark.parametrize(("pace", "verdict"), [(SLOW, Verdict.PROVED), (QUICK, Verdict.FAILS)])
def test_a_claim_comes_to_what_the_plain_explorer_comes_to(pace: str, verdict: Verdict) -> None:
    study = row(2, pace, LONG)
    outcome = Prover(study, Limits(), solving=False).prove(study.claims[0])
    body = study.claims[0].body
    assert isinstance(body, Watched)
    plain = explored(study.circuit, body, study.assumptions)
    assert outcome.verdict is verdict
    assert (plain.broken_at is None) is (verdict is Verdict.PROVED)
    assert (outcome.failure and outcome.failure.at) == plain.broken_at


def test_a_counterexample_names_the_cells_that_change() -> None:
    study = row(2, QUICK, LONG)
    outcome = Prover(study, Limits(), solving=False).prove(study.claims[0])
    assert outcome.verdict is Verdict.FAILS
    assert outcome.proof is not None
    assert {act.name for act in outcome.proof.trace} == {"turf.1", "turf.2"}


def test_races_are_looked_for_without_exchanges_and_what_is_asked_about_is_not_exchanged() -> None:
    program = Program(row(2).circuit)
    exchange = Exchange(program, ())
    assert [len(units) for units in exchange.groups] == [2]
    assert exchange.within(program, [program.number["stir.2"]]).groups == []


def test_where_units_turn_out_not_to_be_alike_the_proof_goes_on_without_exchanges(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    study = row(2, SLOW, LONG)

    def apart(*_: object) -> None:
        raise NotAlike

    monkeypatch.setattr(Exchange, "turned", apart)
    outcome = Prover(study, Limits(), solving=False).prove(study.claims[0])
    assert outcome.verdict is Verdict.PROVED


def test_a_piston_called_home_before_its_block_lands_keeps_its_places_in_both_orders() -> None:
    """Three land in the gt in which two of them are called (M3, M6): the third lands, and no wait is lost."""
    study = row(4, 'never "lit" dark')
    program = Program(study.circuit)
    number = program.number
    simulators = Simulator(program, 0, the_start(program).levels).tell_everyone()
    thrown = {10: (4,), 18: (1, 2, 3), 20: (1, 3)}
    for gt in range(1, 24):
        for simulator in simulators:
            simulator.now = gt
        worked = [Action(number[f"turf.{cell}"], "throw") for cell in thrown.get(gt, ())]
        simulators = merge(run_game_tick(simulators, worked))
        if gt == 20:
            assert {simulator.levels[number["stir.2"]] for simulator in simulators} == {15}
    assert {simulator.levels[number["stir.4"]] for simulator in simulators} == {0}


def test_what_is_always_possible_takes_as_long_with_like_cells_taken_together(monkeypatch: pytest.MonkeyPatch) -> None:
    study = row(2, SLOW, 'always "armed again" possible arm and dark off')

    def proof() -> Proof:
        outcome = Prover(study, Limits(), solving=False).prove(study.claims[0])
        assert outcome.verdict is Verdict.PROVED
        assert outcome.proof is not None
        return outcome.proof

    together = proof()
    monkeypatch.setattr("circuitcheck.prove.piece.interchange", lambda *_: None)
    apart = proof()
    assert together.within == apart.within
    assert together.states < apart.states
