"""What the search for cures finds: the change that undoes a fault, cheapest first, and what it says of all else.

The faults are put in by hand, so what undoes each is known beforehand. Facts of the trade: common practice, no source,
by the ids of rules.
"""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from circuitcheck import verify_text
from circuitcheck.curing import search
from circuitcheck.curing.edits import Cost
from circuitcheck.curing.search import MOST_PARTS, Budget, TooLarge
from circuitcheck.curing.spare import Spare
from circuitcheck.language.load import Loaded
from circuitcheck.model.duration import GAME_TICKS_PER_TICK
from circuitcheck.report.lines import plain
from circuitcheck.report.terminal.cures import cure_lines
from circuitcheck.verify import Exit, FileReport, report_on

from .mending import WEIR, broken, cures, searched

FAULTS = {
    "a delay": ("ripple   delay 2t", "ripple   delay 1t", "repeater 'opening' delay 1t → 2t"),
    "a start": ("starts reset", "starts set", "latch 'gate' starts set → reset"),
    "the other side of the latch": ("gate.inverse", "gate", "lamp 'shut' from 'gate' → 'gate.inverse'"),
    "a source": ("from ripple ", "from stir   ", "repeater 'opening' from 'stir' → 'ripple'"),
    "the sides of the latch": (
        "set opening   reset closing",
        "set closing   reset opening",
        "latch 'gate' turned: set 'opening', reset 'closing'",
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_what_undoes_a_fault_is_among_the_first_cures(name: str) -> None:
    old, new, undone = FAULTS[name]
    assert undone in cures(broken(old, new))


def test_the_file_that_the_faults_are_put_into_is_sound() -> None:
    assert verify_text(WEIR).exit is Exit.HOLDS


def test_a_cured_text_is_the_file_as_its_author_laid_it_out() -> None:
    old, new, _ = FAULTS["a delay"]
    _, found = searched(broken(old, new))
    assert found.cures[0].text == WEIR
    (edit,) = found.cures[0].change.edits
    assert (edit.line, edit.start, edit.after) == (8, 40, "2t")


def test_a_part_that_is_in_the_way_is_taken_out() -> None:
    slow = broken("lamp      open     from gate\n", "repeater late from gate delay 3t\nlamp open from late\n")
    assert "repeater 'late' taken out, 'gate' in its place" in cures(slow)


def test_a_part_that_is_missing_is_put_in() -> None:
    dark = "lever rope\nlamp bell from rope\n"
    dark += 'check "the bell is dark while the rope is pulled"\n  at 1s rope on\n  at 2s expect bell off\n'
    dark += "  at 1t expect bell on\nend\n"
    assert cures(dark)[0] == "lamp 'bell' from 'rope' over a torch put in, 'rope_turned'"


def test_cures_come_cheapest_first() -> None:
    _, found = searched(broken("ripple   delay 2t", "ripple   delay 4t"))
    costs = [each.change.cost for each in found.cures]
    assert costs[0] == Cost(steps=2)
    assert costs == sorted(costs)


def test_two_things_that_are_wrong_take_a_pair() -> None:
    search, found = searched(broken("starts reset", "starts set", broken("gate.inverse", "gate")))
    assert found.tried == found.singles == len(search.changes)
    assert [len(each.change.singles) for each in found.cures] == [2, 2, 2]
    assert all(verify_text(each.text).exit is Exit.HOLDS for each in found.cures)
    assert any("'shut' from 'gate' → 'gate.inverse'" in each.change.words for each in found.cures)


def test_no_cure_of_up_to_two_changes_is_an_answer() -> None:
    hopeless = "lever rope\nrepeater late from rope\nlamp bell from late\n"
    hopeless += 'check "both"\n  at 1s expect bell on and bell off\nend\n'
    _, found = searched(hopeless)
    assert found.cures == ()
    assert found.ended == ""
    assert found.tried == found.singles > 0
    assert found.pairs_tried == found.pairs > 0


def test_claims_that_contradict_each_other_are_named() -> None:
    text = "lever rope\nlever cord\nlamp bell from rope\nassume rope stable for 8t\n"
    text += 'always "it rings" bell follows rope, settled within 3t\n'
    text += 'always "it is silent" bell inverts rope, settled within 3t\n'
    search, found = searched(text)
    assert (found.failing, found.cures) == (("it is silent",), ())
    assert found.hopeful > 0
    assert found.instead == (("it rings", found.hopeful),)
    told = " ".join(plain(cure_lines(search.source, found, 100)).split())
    assert "this fails instead: it rings; look whether they contradict each other" in told


def test_a_counterexample_of_a_proof_settles_other_changes() -> None:
    claim = 'assume rope stable for 8t\nalways "it follows" bell follows rope, settled within 3t\n'
    search, found = searched("lever rope\nlever cord\ntorch winch from rope\nlamp bell from winch\n" + claim)
    assert found.cures
    assert search.settled > found.tried // 2


def test_nothing_is_tried_with_a_budget_of_nothing() -> None:
    old, new, _ = FAULTS["a delay"]
    _, found = searched(broken(old, new), Budget.of(tries=0))
    assert (found.tried, found.cures) == (0, ())
    assert found.ended


def test_a_budget_ends_at_the_same_change_each_time() -> None:
    old, new, _ = FAULTS["a delay"]
    ends = {searched(broken(old, new), Budget(work=200_000))[1].tried for _ in range(2)}
    assert len(ends) == 1
    assert 0 < ends.pop() < searched(broken(old, new))[1].tried


def test_where_nothing_fails_there_is_nothing_to_cure() -> None:
    search, found = searched(WEIR)
    assert search.nothing_fails
    assert (found.failing, found.tried, found.cures) == ((), 0, ())


def test_a_definition_is_cured_where_it_stands() -> None:
    text = "define bell_line (rope) gives out\n  repeater out from rope delay 1t\n"
    text += '  check "it comes 2t late"\n    at 1s rope on\n    throughout from rope rises to out rises takes 2t\n'
    text += "  end\nend\n"
    text += "lever cord\nbell_line first (rope cord)\n"
    assert cures(text)[0] == "repeater 'out' delay 1t → 2t"


def test_what_a_cure_changes_besides_is_told() -> None:
    search, _ = searched(broken("gate.inverse", "gate"))
    search.look_besides()
    undone = next(
        each for each in search.found().cures if each.change.words == FAULTS["the other side of the latch"][2]
    )
    assert undone.besides is not None
    assert undone.besides.comparison is not None
    assert undone.besides.comparison.reaction is not None
    assert undone.besides.comparison.reaction.output == "shut"


def test_what_time_checks_have_to_spare_with_a_cure_is_told() -> None:
    late = "lever rope\nrepeater winch from rope delay 4t\nlamp bell from winch\nlamp near from rope\n"
    late += 'check "by 12t"\n  at 1s rope on\n  by 12t expect bell\nend\n'
    late += 'check "by 20t"\n  at 1s rope on\n  by 20t expect bell\n  by 20t expect near\nend\n'
    search, _ = searched(late)
    search.look_besides()
    cure = next(each for each in search.found().cures if each.change.words == "repeater 'winch' delay 4t → 2t")
    assert cure.besides is not None
    # Pulled in 10t the lamp is lit in 12t (R2): in time for 12t, and 8t sooner than 20t; with 4t it is 6t sooner.
    assert cure.besides.spare == (
        Spare("by 12t", None, 0),
        Spare("by 20t", 6 * GAME_TICKS_PER_TICK, 8 * GAME_TICKS_PER_TICK),
    )


def test_what_no_check_holds_of_a_cure_is_told() -> None:
    # The check waits so long that a repeater of 4t would do as well, and one of 3t: nothing holds the cured one at 2t.
    loose = "lever rope\nlever brake\nrepeater winch from brake delay 2t\nlamp bell from winch\n"
    loose += 'check "it rings"\n  at 1s rope on\n  by 3s expect bell\nend\n'
    search, _ = searched(loose)
    search.look_besides()
    cure = next(each for each in search.found().cures if each.change.words == "repeater 'winch' from 'brake' → 'rope'")
    assert cure.besides is not None
    assert set(cure.besides.unnoticed) == {"the repeater 'winch' is set to 1t", "the repeater 'winch' is set to 3t"}


def test_a_pair_of_which_one_can_matter_to_nothing_that_fails_is_settled_without_a_run() -> None:
    # What is wrong in the first definition takes two changes; none in the second can be one of them.
    text, spans = "", ((1, 20, "on"), (24, 60, "off"), (64, 100, "on"), (104, 140, "off"), (144, 160, "on"))
    for name, sources in (("first", "d"), ("second", "a, b")):
        text += f"define {name} (a, b) gives out\n  torch d\n  torch out from {sources}\n"
        text += '  check "its table"\n    at 1s a on\n    at 3s a off\n    at 5s b on\n    at 7s b off\n'
        text += "".join(f"    from {begins}gt to {ends}gt expect out {state}\n" for begins, ends, state in spans)
        text += "  end\nend\n"
    search, found = searched(text)
    words = {"torch 'out' from 'd' → 'a'", "torch 'out' also from 'b'"}
    assert words in [{each.words for each in cure.change.singles} for cure in found.cures]
    assert search.pairs_run < found.pairs_tried


def pairs_of(text: str) -> list[set[str]]:
    """The pairs that cure a file, in words."""
    _, found = searched(text)
    assert all(verify_text(each.text).exit is Exit.HOLDS for each in found.cures)
    return [{each.words for each in cure.change.singles} for cure in found.cures]


def test_two_changes_may_write_behind_one_word() -> None:
    nor = 'lever a\nlever b\nlever c\ntorch out from c\nlamp bell from out\ncheck "a torch of three inputs"\n'
    for number, name in enumerate("abc"):
        nor += f"  at {4 * number + 1}s {name} on\n  at {4 * number + 2}s expect bell off\n"
        nor += f"  at {4 * number + 3}s {name} off\n  at {4 * number + 4}s expect bell on\n"
    assert {"torch 'out' also from 'a'", "torch 'out' also from 'b'"} in pairs_of(nor + "end\n")


def test_two_parts_put_in_behind_one_source_have_names_of_their_own() -> None:
    text = 'lever rope\nlamp a from rope\nlamp b from rope\ncheck "both late"\n  at 1s rope on\n'
    text += "  throughout from rope rises to a rises takes 2t\n  throughout from rope rises to b rises takes 3t\nend\n"
    a, b = ("lamp 'a' from 'rope' over a repeater of 2t put in", "lamp 'b' from 'rope' over a repeater of 3t put in")
    assert {f"{a}, 'rope_late'", f"{b}, 'rope_late_2'"} in [
        set(each.change.words.split("; and ")) for each in searched(text)[1].cures
    ]


def test_parts_of_one_name_in_two_definitions_are_cured_together() -> None:
    text = "".join(
        f"define {name} (a) gives out\n  repeater out from a delay 1t\n"
        f'  check "{name} is late"\n    at 1s a on\n    throughout from a rises to out rises takes 2t\n  end\nend\n'
        for name in ("one", "two")
    )
    assert {"repeater 'out' delay 1t → 2t"} in pairs_of(text)


LOCKED = """\
lever     rope
lever     cord
repeater  winch  from rope
repeater  brake  from rope
repeater  drum   from winch  locked by brake
lamp      bell   from drum
lamp      near   from cord
check "what the drum does when both go off"
  at 1s rope on
  at 3s rope off
  from 64gt to 65gt expect bell on
end
"""
"""Which of two repeaters goes off first decides it: one that points straight does (rule C3)."""


@pytest.mark.parametrize(
    ("text", "cure"),
    [
        (
            LOCKED.replace("near   from cord", "near   from cord, brake\nlamp far from winch"),
            "lamp 'near' no longer from 'brake'",
        ),
        (LOCKED.replace("bell on", "bell off"), "lamp 'near' also from 'brake'"),
    ],
    ids=["one reader less", "one reader more"],
)
def test_what_only_reads_a_part_may_cure_when_it_acts(text: str, cure: str) -> None:
    search, _ = searched(text, Budget(), most=1000)
    assert cure in [each.change.words for each in search.found().cures]


def test_what_is_asked_is_never_changed() -> None:
    text = "given slack 2t\ngiven slow 4t\nlever rope\nrepeater late from rope delay slow\nlamp bell from late\n"
    text += 'assume at most 1 changes within 20t\nalways "quick" when rope rises then bell on within slack\n'
    search, found = searched(text)
    assert not [each for each in search.changes if "given 'slack'" in each.words]
    assert "given 'slow' 4t → 2t" in [cure.change.words for cure in found.cures]


def test_a_value_that_is_given_by_name_takes_the_place_of_one_that_is_written_out() -> None:
    text = "given wait 2t from 1t to 4t\nlever rope\nrepeater late from rope delay 2t\nlamp bell from late\n"
    for wait in (2, 3):
        text += f'check "it rings {wait}t later"  given wait {wait}t\n  at 1s rope on\n'
        text += f"  throughout from rope rises to bell rises takes {wait}t\nend\n"
    assert cures(text)[0] == "repeater 'late' delay 2t → wait"


BLINKS = """language 1
lever     rope
torch     calm  from rope
junction  back  joins calm
check "it goes off by itself"
  by 20t  expect calm off
  until 3s
end
"""


def test_cures_that_burn_a_torch_out_come_last_and_say_so() -> None:
    """A torch that powers itself toggles each tick (rule T4): cheaper than a part put in, and yet behind it."""
    search, found = searched(BLINKS, Budget(tries=40))
    grave = [bool(each.findings) for each in found.cures]
    assert grave == sorted(grave)
    own = next(each for each in found.cures if each.change.words == "torch 'calm' also from 'back'")
    assert ("T4", "calm") in own.findings
    assert own.change.cost < next(each.change.cost for each in found.cures if each.change.cost.parts)
    told = " ".join(plain(cure_lines(search.source, found, 100)).split())
    assert "it brings a burn-out (T4) at 'calm'" in told


def test_a_circuit_of_10_000_parts_is_refused_with_the_bound() -> None:
    text = "language 1\nlever rope\n" + "".join(f"torch t{number} from rope\n" for number in range(MOST_PARTS + 1))
    with pytest.raises(TooLarge, match=f"{MOST_PARTS:,}"):
        searched(text + 'never "x"  rope\n')


TURF = """\
language 1
cycle 60s day 30s, dusk 3s, night 24s, dawn 3s
place     bed      gets sky through water
sensor    turf     cells 4  at bed  fades
detector  stir.1   watches turf.1  delay 1t  pulse 1t
detector  stir.2   watches turf.2  delay 1t  pulse 1t
detector  stir.3   watches turf.3  delay 1t  pulse 1t
detector  stir.4   watches turf.4  delay 1t  pulse 1t
junction  row      joins stir.*
repeater  stirred  from row  delay 2t
lamp      dark     from stirred
response of dusk to dark: missed at most 30%
"""
"""The night is so short that of four cells none fades in 24 nights of 100, and of three in 34."""


def test_what_only_a_response_catches_is_cured() -> None:
    search, found = searched(broken("turf.3 ", "turf.2 ", TURF), most=1)
    assert found.failing == ("response of dusk to dark",)
    assert [each.change.words for each in found.cures] == ["detector 'stir.3' watches 'turf.2' → 'turf.3'"]
    assert search.settled > found.tried // 2


def test_of_equal_cost_what_makes_a_row_alike_is_tried_first_then_what_nothing_reads() -> None:
    torches = "lever rope\nlever cord\ntorch winch.1 from cord\n"
    torches += (
        "".join(f"torch winch.{number} from rope\n" for number in (2, 3)) + "lever spare\nlamp bell from winch.3\n"
    )
    search, _ = searched(torches + 'check "x"\n  at 1s rope on\n  at 2s expect spare\nend\n', Budget(tries=0))
    moved = [each.words for each in search.changes if each.cost == Cost(places=1)]
    assert moved[0] == "torch 'winch.1' from 'cord' → 'rope'"
    assert all("'spare'" in words or "'winch.1'" in words or "'winch.2'" in words for words in moved[1:9])
    assert [each.cost for each in search.changes] == sorted(each.cost for each in search.changes)


def test_a_change_that_no_time_is_left_to_judge_is_no_cure(monkeypatch: pytest.MonkeyPatch) -> None:
    """The clock jumps past the end as the first change is judged whole, which is the one that would cure."""
    old, new, undone = FAULTS["a delay"]
    reports: list[str] = []

    def noted(loaded: Loaded, *others: Any, **named: Any) -> FileReport:
        reports.append(loaded.path)
        return report_on(loaded, *others, **named)

    monkeypatch.setattr(search, "report_on", noted)
    monkeypatch.setattr(search, "time", SimpleNamespace(monotonic=lambda: 0.0 if len(reports) < 2 else 2e12))
    _, found = searched(broken(old, new), Budget(until=1e12))
    assert len(reports) == 2
    assert found.cures == ()
    assert found.undecided == 1
    assert found.ended == "the limit of seconds ran out"
    monkeypatch.undo()
    assert undone in cures(broken(old, new))
