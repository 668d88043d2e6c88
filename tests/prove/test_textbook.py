"""Results that any textbook gives, asked of the prover: rings, counters, the set–reset latch, empty claims."""

from __future__ import annotations

import itertools

import pytest
from outside.building import circuit_text, gate

from circuitcheck.checks.outcome import Verdict
from circuitcheck.engine.program import Program
from circuitcheck.prove.cut import cut, uncut
from circuitcheck.prove.facts import Ticking, ticking
from circuitcheck.verify import Exit, verify_text

from .textbook import STEADY, answered_words, broken_at, circuit, outcome, stored_words, study_of, way

# Rings


def ring(length: int) -> str:
    """Torches in a ring, on and off by turns at the start."""
    starts = itertools.cycle(("on", "off"))
    return circuit(*(f"torch paddle{at} from paddle{(at - 1) % length} starts {next(starts)}" for at in range(length)))


def left_alone(text: str) -> Ticking:
    """What ticks in a circuit that nobody touches."""
    return ticking(Program(study_of(text).circuit))


# Source: the ring oscillator, f = 1/(2·n·t_pd), n odd: N. Weste, D. Harris, CMOS VLSI Design, chapter on delay; from
# memory. Rule T6. A torch's delay is 2 gt.
@pytest.mark.parametrize("length", [3, 5, 7, 99])
def test_a_ring_of_an_odd_number_of_torches_has_the_period_of_the_ring_oscillator(length: int) -> None:
    alone = left_alone(ring(length))
    assert alone.period == 2 * length * 2
    assert len(alone.parts) == length, "every torch of the ring ticks"


# Source: the same formula with unequal delays, the period being twice the sum of them; from memory. Rules R1, T2.
# At 1t the period of 8 gt would burn the torch out (T4), so that starts at 2t.
@pytest.mark.parametrize("delay", [2, 3, 4])
def test_a_torch_and_a_repeater_in_a_ring_have_twice_the_sum_of_their_delays(delay: int) -> None:
    text = circuit("torch wheel from drag starts on", f"repeater drag from wheel delay {delay}t starts off")
    assert left_alone(text).period == 2 * (2 + 2 * delay)


# Source: an even number of inverters in a ring is bistable: J. Rabaey, Digital Integrated Circuits, chapter on
# sequential logic; from memory.
@pytest.mark.parametrize("length", [2, 4, 6])
def test_a_ring_of_an_even_number_of_torches_rests(length: int) -> None:
    assert left_alone(ring(length)) == Ticking((), 0)


# How many words a register comes to hold


def register(data: dict[str, str], started: tuple[str, ...] = (), **gates: tuple[str, ...]) -> str:
    """Flip-flops that a wheel clocks, each half turn longer than all gates together."""
    made = {name: gate(*each) for name, each in gates.items()}
    return circuit_text((), made, data, started) + "assume wheel stable for 1.5s\n"


def shifting(length: int, first: str) -> dict[str, str]:
    """Each stage takes the one before it."""
    return dict(zip(stages(length), [first, *stages(length)], strict=False))


def stages(length: int) -> list[str]:
    """The names of a register's stages, first to last."""
    return [f"sluice{number}" for number in range(1, length + 1)]


def words_of(text: str, names: list[str]) -> set[str]:
    """The words found at rest, which must be the same whether the circuit is cut or not, asked or looked into."""
    words = stored_words(text, names)
    assert answered_words(text, names, cut) == answered_words(text, names, uncut) == words
    return words


# Source for the next four: M. Morris Mano, Digital Design, chapter 6, registers and counters; from memory.
@pytest.mark.parametrize("length", [3, 4])
def test_a_ring_counter_of_n_stages_holds_n_words(length: int) -> None:
    text = register(shifting(length, stages(length)[-1]), started=("sluice1",))
    assert words_of(text, stages(length)) == {"0" * at + "1" + "0" * (length - 1 - at) for at in range(length)}


@pytest.mark.parametrize("length", [3, 4])
def test_a_johnson_counter_of_n_stages_holds_2n_words(length: int) -> None:
    text = register(shifting(length, "back"), back=("NOT", stages(length)[-1]))
    filling = {"1" * at + "0" * (length - at) for at in range(length + 1)}
    emptying = {"0" * at + "1" * (length - at) for at in range(length + 1)}
    assert words_of(text, stages(length)) == filling | emptying
    assert len(filling | emptying) == 2 * length


def test_a_johnson_counter_that_starts_in_an_unused_word_never_leaves_the_unused_ones() -> None:
    text = register(shifting(3, "back"), started=("sluice2",), back=("NOT", "sluice3"))
    assert words_of(text, stages(3)) == {"010", "101"}


@pytest.mark.parametrize("length", [1, 2, 3, 4])
def test_a_ripple_counter_of_n_toggles_holds_every_word(length: int) -> None:
    names = stages(length)
    pressed_by = ["wheel", *(f"{name}.out" for name in names)]
    toggles = [f"toggle {name} (press_in {press})" for name, press in zip(names, pressed_by, strict=False)]
    outputs = [f"output shown{at} from {name}.out" for at, name in enumerate(names)]
    head = ('use "latches.circuit"', "lever wheel", "assume wheel stable for 1.5s")
    text = circuit(*head, *toggles, *outputs)
    words = words_of(text, [f"{name}.out" for name in names])
    assert words == {"".join(word) for word in itertools.product("01", repeat=length)}


# Source: the tables of maximal-length taps in S. W. Golomb, Shift Register Sequences; from memory.
@pytest.mark.parametrize(("length", "taps"), [(3, (3, 2)), (4, (4, 3))])
def test_a_maximal_length_shift_register_holds_every_word_but_nought(length: int, taps: tuple[int, int]) -> None:
    data = shifting(length, "back")
    text = register(data, started=("sluice1",), back=("XOR", *(f"sluice{tap}" for tap in taps)))
    words = words_of(text, stages(length))
    assert len(words) == 2**length - 1
    assert "0" * length not in words
    still = register(data, back=("XOR", *(f"sluice{tap}" for tap in taps)))
    assert words_of(still, stages(length)) == {"0" * length}, "from nought it never gets away"


# Source: x^4 + x^2 + 1 = (x^2 + x + 1)^2; such a polynomial's periods divide 6. Golomb, as above; from memory.
def test_taps_that_are_not_maximal_hold_the_words_of_one_shorter_round() -> None:
    text = register(shifting(4, "back"), started=("sluice1",), back=("XOR", "sluice4", "sluice2"))
    assert len(words_of(text, stages(4))) == 6


# What gates rest at

TABLES = {
    "NOR": "001 010 100 110",
    "OR": "000 011 101 111",
    "AND": "000 010 100 111",
    "NAND": "001 011 101 110",
    "XOR": "000 011 101 110",
}
"""For each gate its rows: two inputs and the output."""


# Source: the truth tables of gates, in any textbook of digital design, for example M. Morris Mano, Digital Design,
# chapter 2; from memory. Whatever the levers do, whoever waits for rest finds a row of the table.
@pytest.mark.parametrize("kind", TABLES)
def test_a_gate_that_rests_shows_a_row_of_its_table_and_shows_every_row(kind: str) -> None:
    text = circuit_text(("pond", "race"), {"open": gate(kind, "pond", "race")})
    assert words_of(text, ["pond", "race", "open"]) == set(TABLES[kind].split())


# Source: an odd ring has no stable state, a latch has (Rabaey, as above).
def test_a_ring_of_an_odd_number_of_torches_can_never_be_brought_to_rest_and_a_latch_always_can() -> None:
    assert outcome(ring(5), "always possible rest").verdict is Verdict.FAILS
    assert outcome(LATCH, "always possible rest").verdict is Verdict.PROVED


# The set–reset latch

LATCH = circuit("lever pond", "lever race", "latch gate set pond reset race starts reset")


# Source: the characteristic table of the set–reset latch, in any textbook of digital design (rule L2), for example
# Mano, Digital Design, chapter 5; from memory. The times are those of rule L3: common practice, no source.
@pytest.mark.parametrize(
    "row",
    [
        "when pond and race off then gate set within 2t unless (pond off or race)",
        "when race and pond off then gate reset within 2t unless (race off or pond)",
        "when gate set and pond off and race off then gate set until (pond or race)",
        "when gate reset and pond off and race off then gate reset until (pond or race)",
        "when pond and race then (gate off and gate.inverse off) within 1t unless (pond off or race off)",
        "when pond off and race off then (gate set or gate reset) within 1t unless (pond or race)",
    ],
)
@pytest.mark.parametrize("assumed", ["", "assume at most 1 changes within 1gt", STEADY])
def test_every_row_of_the_latch_table_is_proved(row: str, assumed: str) -> None:
    assert outcome(LATCH + assumed, f"always {row}").verdict is Verdict.PROVED


# Common practice, no source, L3: the inverse goes off after 2 gt, the latch side comes on after 2 more. To reset it, it
# must be set first, which takes until gt 4.
@pytest.mark.parametrize(
    ("row", "at"),
    [
        ("when pond and race off then gate set within 3gt unless (pond off or race)", 3),
        ("when race and pond off then gate reset within 3gt unless (race off or pond)", 7),
        ("when pond and race then gate.inverse off within 1gt unless (pond off or race off)", 1),
    ],
)
def test_a_row_of_the_latch_table_that_asks_one_gt_less_is_broken_as_soon_as_can_be(row: str, at: int) -> None:
    broken = outcome(LATCH, f"always {row}")
    assert broken.verdict is Verdict.FAILS
    assert broken_at(broken) == at


# Source: two cross-coupled NOR gates never both give 1: any textbook of digital design (rule L2).
def test_the_two_sides_of_a_latch_are_never_both_on() -> None:
    assert outcome(LATCH, "never gate and gate.inverse").verdict is Verdict.PROVED


# Common practice, no source, L4 and C5: let go in one gt, which side comes on is a race, 2 gt later. The latch must
# have gone dark before, which takes the inverse 2 gt more.
@pytest.mark.parametrize("side", ["gate", "gate.inverse"])
def test_letting_go_both_inputs_at_once_is_found_as_a_race(side: str) -> None:
    broken = outcome(LATCH, f"never {side} races")
    assert broken.verdict is Verdict.RACE
    assert broken_at(broken) == 4
    assert {(2, "pond"), (2, "race")} <= set(way(broken))


@pytest.mark.parametrize("side", ["gate", "gate.inverse"])
def test_a_race_in_a_latch_whose_levers_are_slow_needs_both_pulled_and_let_go(side: str) -> None:
    broken = outcome(LATCH + STEADY, f"never {side} races")
    assert broken.verdict is Verdict.RACE
    assert sorted(way(broken)) == [(0, "pond"), (0, "race"), (20, "pond"), (20, "race")]
    assert broken_at(broken) == 22


@pytest.mark.parametrize("side", ["gate", "gate.inverse"])
def test_a_claim_that_breaks_through_the_race_names_the_two_that_tie(side: str) -> None:
    body = f"when pond falls and race falls then {side} off until (pond or race)"
    broken = outcome(LATCH + STEADY, f"always {body}")
    assert broken.verdict is Verdict.RACE
    assert broken_at(broken) == 22
    assert broken.race is not None
    assert {broken.race.first, broken.race.second} == {"pond", "race"}
    assert broken.race.at == 20
    assert broken.race.by_hand
    assert outcome(LATCH + STEADY, f"always fails because L4 {body}").verdict is Verdict.FAILS_AS_SAID


@pytest.mark.parametrize("assumed", ["assume at most 1 changes within 1gt", "assume at most 1 changes within 8t"])
def test_a_latch_whose_inputs_never_change_in_one_gt_has_no_race(assumed: str) -> None:
    for side in ("gate", "gate.inverse"):
        assert outcome(LATCH + assumed, f"never {side} races").verdict is Verdict.PROVED
        assert outcome(LATCH, f"never {side} races").verdict is not Verdict.PROVED


# Common practice, no source, L4: exactly one side comes on, and whoever lets go last decides.
@pytest.mark.parametrize(
    "body",
    [
        "when pond falls and race falls then (gate set or gate reset) within 1t unless (pond or race)",
        "when pond falls and race then gate off within 1t unless race off",
        "when pond falls and race and gate off then gate off until pond",
        "when race falls and pond and gate.inverse off then gate.inverse off until race",
    ],
)
def test_whatever_comes_of_a_release_is_a_state_of_the_latch_and_the_last_to_let_go_decides(body: str) -> None:
    assert outcome(LATCH + STEADY, f"always {body}").verdict is Verdict.PROVED


# Source: AG EF p, "reset is always possible": E. Clarke, O. Grumberg, D. Peled, Model Checking, chapter 3; from memory.
# The times follow from L3. Free levers: one to pull and one to let go in the next gt, then 4 gt. Slow ones: the lever
# thrown just now holds for 20 gt, then 4.
@pytest.mark.parametrize(("assumed", "within"), [("", 5), (STEADY, 24)])
@pytest.mark.parametrize("state", ["set", "reset"])
def test_a_latch_can_always_be_brought_into_either_state(state: str, assumed: str, within: int) -> None:
    proved = outcome(LATCH + assumed, f"always possible gate {state}")
    assert proved.verdict is Verdict.PROVED
    assert proved.proof is not None
    assert proved.proof.within == within


def test_both_sides_of_a_latch_at_once_can_never_be_brought_about() -> None:
    assert outcome(LATCH, "always possible (gate and gate.inverse)").verdict is Verdict.FAILS


# Claims that say nothing

NEVER = "gate and gate.inverse"
"""What can't happen in a latch, see above."""


# Source: I. Beer, S. Ben-David, C. Eisner, Y. Rodeh, "Efficient detection of vacuity in ACTL formulas" (CAV 1997):
# a formula whose antecedent can't hold passes vacuously; from memory.
@pytest.mark.parametrize(
    "body",
    [
        f"when {NEVER} then pond",
        f"when {NEVER} then pond off",
        f"when {NEVER} then pond within 5t",
        f"when {NEVER} then pond within 5t unless race",
        f"when {NEVER} then pond until race",
        f"when {NEVER} then gate stable for 5t",
    ],
)
def test_a_claim_whose_trigger_can_not_happen_is_vacuous_and_not_proved(body: str) -> None:
    found = outcome(LATCH, f"always {body}")
    assert found.verdict is Verdict.VACUOUS
    assert found.proof is not None
    assert found.proof.complete, "that it can't happen is known only once everything has been seen"


@pytest.mark.parametrize(
    "body",
    [
        "every pulse of both lasts at least 5t",
        "every gap of both lasts at least 5t",
        "from both rises to pond rises takes at most 5t",
    ],
)
def test_a_claim_about_the_pulses_of_what_never_comes_on_is_vacuous(body: str) -> None:
    lines = ("torch no_gate from gate", "torch no_inverse from gate.inverse", "torch both from no_gate, no_inverse")
    assert outcome(LATCH + "\n".join(lines), f"always {body}").verdict is Verdict.VACUOUS


# Source: assumptions so strong that they rule the trigger out make a claim pass vacuously: Beer et al., as above.
def test_an_assumption_that_rules_the_trigger_out_makes_a_claim_vacuous() -> None:
    body = "always when pond and race then (gate off and gate.inverse off) within 1t unless (pond off or race off)"
    assert outcome(LATCH + "assume at most 1 changes within 1gt", body).verdict is Verdict.PROVED
    silent = outcome(LATCH + "assume at most 0 changes within 1gt", body)
    assert silent.verdict is Verdict.VACUOUS
    assert "no input can ever change" in silent.detail
    together = "always when pond rises and race rises then (gate off and gate.inverse off) within 1t"
    assert outcome(LATCH + STEADY, together).verdict is Verdict.PROVED
    assert outcome(LATCH + "assume at most 1 changes within 1gt", together).verdict is Verdict.VACUOUS


def test_a_file_whose_only_claim_is_vacuous_is_neither_good_nor_bad() -> None:
    report = verify_text(f'{LATCH}always "it" when {NEVER} then pond within 5t\n')
    assert report.exit is Exit.UNDECIDED
    assert [each.verdict for each in report.outcomes] == [Verdict.VACUOUS]


# Source: the same claim with its trigger within reach isn't vacuous; Beer et al., as above: an interesting witness.
def test_a_trigger_that_can_happen_once_is_enough_for_a_claim_to_be_proved() -> None:
    assert outcome(LATCH, "always when gate set then gate until race").verdict is Verdict.PROVED
    assert outcome(LATCH, "never gate and gate.inverse").verdict is Verdict.PROVED, "an invariant has no trigger"
