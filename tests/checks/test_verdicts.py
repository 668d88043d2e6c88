"""What is said of a check: by word, by order, by start, by repetition; and the exit code of it all."""

from __future__ import annotations

import pytest

from circuitcheck.explain.noteworthy import noteworthy

from .judging import judged, outcome, verdict

ROPE = "lever rope\ntorch slack from rope starts on\nlamp calm from slack\n"
SHORT = 'check "scene" fails because {}\n  at 10gt rope on\n  at 11gt rope off\n  by 30gt expect slack off\nend\n'
LATCH = "lever one starts on\nlever other starts on\nlatch gate set one reset other starts reset\nlamp open from gate\n"
LET_GO = 'check "scene"{}\n  at 1s one off, other off\n  by 2s expect gate set\nend\n'


def test_a_check_that_fails_by_the_rule_it_names_is_as_said() -> None:
    text = ROPE + SHORT.format("T3")
    assert verdict(text, "scene") == "FAILS_AS_SAID"
    assert int(judged(text).exit) == 0


def test_a_check_that_fails_by_another_rule_fails_otherwise() -> None:
    text = ROPE + SHORT.format("R4")
    assert verdict(text, "scene") == "FAILS_OTHERWISE"
    assert "T3" in outcome(text, "scene").detail
    assert int(judged(text).exit) == 1


def test_a_check_that_holds_against_its_word_is_a_failure() -> None:
    text = ROPE + 'check "scene" fails because T3\n  at 10gt rope on\n  by 12gt expect slack off\nend\n'
    assert verdict(text, "scene") == "HOLDS_AGAINST_WORD"
    assert int(judged(text).exit) == 1


def test_a_claim_that_is_broken_by_the_rule_it_names_is_as_said() -> None:
    text = ROPE + 'check "scene"\n  at 10gt rope on\n  at 11gt rope off\n  until 30gt\nend\n'
    text += 'always "claim" fails because T3 when rope then slack off within 2t\n'
    assert verdict(text, "claim") == "FAILS_AS_SAID"


def test_the_run_of_a_check_that_must_fail_counts_for_no_claim_and_tells_no_news() -> None:
    text = ROPE + SHORT.format("T3") + 'always "claim" when rope then slack off within 2t\n'
    assert verdict(text, "claim") == "NOT_MET"
    assert [each.rule for each in judged(text).findings] == []


def test_a_claim_that_nothing_calls_into_question_is_open() -> None:
    text = ROPE + 'check "scene"\n  until 1s\nend\nalways "claim" when rope then slack\n'
    assert verdict(text, "claim") == "NOT_MET"
    assert int(judged(text).exit) == 3


def test_a_failure_outweighs_what_is_open() -> None:
    text = ROPE + 'check "scene"\n  at 1s expect rope\nend\nalways "claim" when rope then slack\n'
    assert int(judged(text).exit) == 1


def test_a_latch_let_go_out_of_forbidden_is_a_race_of_the_two_levers_with_a_cure() -> None:
    found = outcome(LATCH + LET_GO.format(""), "scene")
    assert found.verdict.name == "RACE"
    assert found.race is not None
    assert {found.race.first, found.race.second} == {"one", "other"}
    assert (found.race.at, found.race.by_hand) == (20, True)
    assert found.race.cure is not None


def test_the_cure_of_a_race_holds_when_it_is_written_into_the_file() -> None:
    found = outcome(LATCH + LET_GO.format(""), "scene")
    assert found.race is not None
    assert found.race.cure is not None
    words = found.race.cure.words
    name = words.split("'")[1]
    assert words.startswith("a repeater of ")
    cured = LATCH.replace(f"set {name} ", "set cure ").replace(f"reset {name} ", "reset cure ")
    cured += f"repeater cure from {name} delay {words.split()[3]}\n"
    assert verdict(cured + LET_GO.format(""), "scene") == "HOLDS"


def test_what_follows_from_a_race_is_not_told_beside_it_and_the_cure_is_the_one_that_was_tried() -> None:
    """Rules C5, L4 and T3 (common practice, no source): both torches of the latch are let go, and one swallows a pulse.

    With the cure in place nothing is swallowed there; what the torch beside swallows has nothing to do with it.
    """
    beside = "lever spare\ntorch slack from spare starts on\nlamp calm from slack\n"
    text = LATCH + beside + LET_GO.format("").replace("  by", "  at 22gt spare on\n  at 23gt spare off\n  by")
    report = judged(text)
    found = {(each.rule, each.part): each for each in report.findings}
    (race,) = [each.race for each in report.outcomes if each.race is not None]
    assert race.cure is not None
    assert set(found) == {("C5", race.first), ("L2", "gate"), ("T3", "slack")}
    assert found["C5", race.first].hint == race.cure.words


def test_what_broke_by_order_is_reported_with_no_other_mend() -> None:
    for text in (LATCH + LET_GO.format(""), OPEN + 'check "scene"\n  at 5gt expect gate set\nend\n'):
        found = outcome(text, "scene")
        assert found.failure is not None
        assert found.undetermined
        causes = noteworthy(found.failure, found.undetermined).causes
        told = [hindrance.hint for each in causes for hindrance in each.hindrances]
        assert not any(told)
    decided = outcome(ROPE + SHORT.replace(" fails because {}", ""), "scene")
    assert decided.failure is not None
    assert not decided.undetermined
    assert any(hindrance.hint for each in noteworthy(decided.failure).causes for hindrance in each.hindrances)


@pytest.mark.parametrize("rule", ["C5", "L4"])
def test_a_race_is_as_said_by_either_rule(rule: str) -> None:
    assert verdict(LATCH + LET_GO.format(f" fails because {rule}"), "scene") == "FAILS_AS_SAID"


def test_a_race_between_parts_told_by_one_change_names_them() -> None:
    """Both repeaters wait 1t from one change and let both inputs of the latch go in gt 22, over dust."""
    text = (
        "lever rope starts on\nrepeater push from rope\nrepeater pull from rope\n"
        "latch gate set push reset pull starts reset\nlamp open from gate\n"
        'check "scene"\n  at 1s rope off\n  by 2s expect gate set\nend\n'
    )
    found = outcome(text, "scene")
    assert found.verdict.name == "RACE"
    assert found.race is not None
    assert {found.race.first, found.race.second} == {"push", "pull"}


OPEN = "lever one\nlever other\nlatch gate set one reset other\nlamp open from gate\n"


def test_a_check_that_depends_on_an_undeclared_start_says_so() -> None:
    found = outcome(OPEN + 'check "scene"\n  at 5gt expect gate set\nend\n', "scene")
    assert found.verdict.name == "OPEN_START"
    assert dict(found.starts)["gate"] == 0
    assert found.failure is not None
    assert found.failure.at == 5


@pytest.mark.parametrize("rule", ["L5", "C6"])
def test_an_undeclared_start_is_as_said_by_either_rule(rule: str) -> None:
    text = OPEN + f'check "scene" fails because {rule}\n  at 5gt expect gate set\nend\n'
    assert verdict(text, "scene") == "FAILS_AS_SAID"


def test_too_many_starts_are_undecided() -> None:
    latches = "".join(f"latch gate_{n} set one reset other\nlamp open_{n} from gate_{n}\n" for n in range(7))
    text = "lever one\nlever other\n" + latches + 'check "scene"\n  at 5gt expect one off\nend\n'
    assert verdict(text, "scene") == "UNDECIDED"
    assert int(judged(text).exit) == 3


GIVEN = "given wait 2t from 1t to 4t\nlever rope\nrepeater winch from rope delay wait\nlamp open from winch\n"


def test_a_repetition_is_one_check_for_each_amount() -> None:
    text = GIVEN + 'for w in 1t, 3t, 4t\n  check "scene" given wait w\n    at 10gt rope on\n'
    text += "    at 16gt expect open\n    from 0gt to 16gt expect open off\n  end\nend\n"
    verdicts = {each.title: each.verdict.name for each in judged(text).outcomes}
    assert verdicts == {"scene, w 1t": "FAILS", "scene, w 3t": "HOLDS", "scene, w 4t": "FAILS"}
    failures = {each.title: each.failure.at for each in judged(text).outcomes if each.failure}
    assert failures == {"scene, w 1t": 12, "scene, w 4t": 16}


def test_claims_are_watched_under_the_usual_values_only() -> None:
    text = GIVEN + 'check "scene" given wait 4t\n  at 10gt rope on\n  until 30gt\nend\n'
    text += 'always "claim" when rope then winch within 2t\n'
    assert verdict(text, "claim") == "NOT_MET"
    text += 'check "usual"\n  at 10gt rope on\n  until 30gt\nend\n'
    assert (verdict(text, "claim"), outcome(text, "claim").runs) == ("UNBROKEN", 1)


def test_a_definition_is_verified_over_all_its_values() -> None:
    text = (
        "define slow (a) given wait 2t from 1t to 3t gives b\n  repeater b from a delay wait\n"
        '  check "at once"\n    at 10gt a on\n    at 14gt expect b\n  end\nend\n'
    )
    verdicts = [(result.label, each.verdict.name) for result in judged(text).results for each in result.outcomes]
    assert sorted(verdicts) == [("slow, wait 1t", "HOLDS"), ("slow, wait 2t", "HOLDS"), ("slow, wait 3t", "FAILS")]


def test_the_checks_of_a_definition_are_not_run_again_for_its_instances() -> None:
    text = (
        'define slow (a) gives b\n  repeater b from a\n  check "in it"\n    at 10gt a on\n    at 12gt expect b\n  end\n'
        'end\nlever rope\nslow winch (a rope)\nlamp open from winch.b\ncheck "around it"\n'
        "  at 10gt rope on\n  at 12gt expect open\nend\n"
    )
    assert sorted(each.title for each in judged(text).outcomes) == ["around it", "in it"]
