"""Each code of the reference's table, with its place, the gist of its words and what to do."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from .mistakes import Mistake, check_mistake, codes, told

ROPE = "lever rope\n"
LATCH = "lever one\nlever other\nlatch gate set one reset other starts reset\n"
PAIR = "lever rope\nlever bell\nlamp low from rope\n"
ROW = "lever pond.1 to pond.3\n"
HOLD = "define hold (opens, shuts) given wait 2t from 2t to 4t gives gate\n  latch gate set opens reset shuts\nend\n"


def scene(*lines: str) -> str:
    return "\n".join(['check "scene"', *lines, "end", ""])


SYNTAX = [
    Mistake("lever rope\nlampe bell from rope\n", "CKT101", 2, 1, "'lampe'", "did you mean 'lamp'?"),
    Mistake("lever rope\ntorch slack form rope\n", "CKT101", 2, 13, "'form' can't stand here", "did you mean 'from'?"),
    Mistake("lever rope\nlamp bell from\n", "CKT101", 2, 15, "the line ends too early", "expected a name"),
    Mistake("lever\n", "CKT101", 1, 6, "the line ends too early", "expected a name"),
    Mistake("lever rope lamp\n", "CKT101", 1, 12, "'lamp' can't stand here", ""),
    Mistake("lever rope;\n", "CKT102", 1, 11, "this letter means nothing here", "letters, digits and _"),
    Mistake('circuit sluice "the gate\n', "CKT102", 1, 16, "this text is not closed", 'add a "'),
    Mistake(
        ROPE + "repeater winch from rope delay 2q\n",
        "CKT102",
        2,
        32,
        "'2q' is neither an amount",
        "units are gt, t and s",
    ),
    Mistake("lever gap\n", "CKT103", 1, 7, "'gap' is a word of the language", "choose another name"),
    Mistake("lever 3rd\n", "CKT103", 1, 7, "does not begin with a digit", "begin it with a letter"),
    Mistake("lever 3\n", "CKT103", 1, 7, "does not begin with a digit", "begin it with a letter"),
    Mistake(ROPE + 'check "pull"\n  at 1s rope on\n', "CKT104", 2, 1, "this 'check' has no 'end'", "a line 'end'"),
    Mistake(ROPE + "end\n", "CKT104", 2, 1, "no block is open here", "take the line out"),
    Mistake("define hold (opens) gives gate\n", "CKT104", 1, 1, "this 'define' has no 'end'", "a line 'end'"),
    Mistake(
        ROPE + f'always "deep" {"(" * 41}rope{")" * 41}\n', "CKT105", 2, 55, "deeper than 40", "split the condition"
    ),
    Mistake(ROPE + f'always "deep" {"not " * 41}rope\n', "CKT105", 2, 175, "deeper than 40", "split the condition"),
    Mistake(LATCH + 'always "x" one and other or gate\n', "CKT106", 4, 26, "'and' and 'or' are mixed", "brackets"),
    Mistake(LATCH + 'always "x" one or other and gate\n', "CKT106", 4, 25, "'and' and 'or' are mixed", "brackets"),
]

NAMES = [
    Mistake(ROPE + "lamp bell from rop\n", "CKT201", 2, 16, "nothing here is called 'rop'", "did you mean 'rope'?"),
    Mistake(ROPE + "lamp bell from zzzz\n", "CKT201", 2, 16, "nothing here is called 'zzzz'", ""),
    Mistake(ROW + "lamp bell from pond\n", "CKT201", 2, 16, "'pond' is a row", "pond.*"),
    Mistake(ROW + "lamp bell from pont.*\n", "CKT201", 2, 16, "no row is called 'pont'", "did you mean 'pond'?"),
    Mistake(ROW + "lamp bell from pond.4\n", "CKT201", 2, 16, "'pond.4'", "did you mean 'pond."),
    Mistake("lamp bell.* from pond.*\n" + ROW, "CKT201", 1, 18, "no row is called 'pond'", "in an earlier line"),
    Mistake(ROPE + "repeater winch from rope delay wait\n", "CKT201", 2, 32, "no value is called 'wait'", "'given'"),
    Mistake(ROPE + 'never "x" for each pond: rope\n', "CKT201", 2, 20, "no row is called 'pond'", ""),
    Mistake("define hold (opens) gives gatt\n  torch gate from opens\nend\n", "CKT201", 1, 27, "'gatt'", "'gate'"),
    Mistake(ROPE + scene("  at 1s bell on"), "CKT201", 3, 9, "'bell'", ""),
    Mistake(ROPE + scene("  at 1s expect rope and bel"), "CKT201", 3, 25, "'bel'", ""),
    Mistake(ROPE + "lamp rope\n", "CKT202", 2, 6, "'rope' is named twice (first in line 1)", "another name"),
    Mistake(ROPE + "circuit a\ncircuit b\n", "CKT202", 3, 9, "stands twice", "keep one"),
    Mistake("language 1\nlanguage 1\n" + ROPE, "CKT202", 2, 10, "stands twice", "keep one"),
    Mistake("given wait 2t\ngiven wait 3t\n" + ROPE, "CKT202", 2, 7, "'wait' is given twice", "keep one"),
    Mistake(LATCH + "lamp gate.inverse from one\n", "CKT203", 4, 6, "can't be the name of a part", ""),
    Mistake(ROPE + "output a.b from rope\n", "CKT203", 2, 8, "can't be the name of an output", "leave out the dot"),
    Mistake("lever pond.1 to race.3\n", "CKT203", 1, 17, "is not a row", "pond.1 to pond.7"),
    Mistake(ROPE + "lamp bell.* from rope\n", "CKT203", 2, 6, "how many parts", "name a row"),
    Mistake(
        ROPE + HOLD + "hold weir (opens rope, shuts rope)\nlamp bell from weir.opens\n",
        *("CKT204", 6, 16, "'opens'", "gate"),
    ),
    Mistake(ROPE + HOLD + "hald weir (opens rope, shuts rope)\n", "CKT205", 5, 1, "'hald'", "did you mean 'hold'?"),
    Mistake(
        ROPE + HOLD + "hold weir (opens rope, shuts rope, shut rope)\n", "CKT206", 5, 36, "no port 'shut'", "'shuts'"
    ),
    Mistake(ROPE + HOLD + "hold weir (opens rope)\n", "CKT207", 5, 6, "port 'shuts'", "add 'shuts SOURCE'"),
    Mistake(ROPE + "output a from b\noutput b from a\n", "CKT208", 2, 15, "leads back to itself", "name a part"),
]

OPTIONS = [
    Mistake("lever rope delay 2t\n", "CKT301", 1, 12, "a lever takes no 'delay'", "starts"),
    Mistake(ROPE + "plate step from rope\n", "CKT301", 2, 12, "a plate takes no 'from'", "no options"),
    Mistake(ROPE + "dust line from rope length 2 length 3\n", "CKT302", 2, 30, "'length' stands twice", "keep one"),
    Mistake("repeater winch\n", "CKT303", 1, 10, "needs 'from'", "add 'from …'"),
    Mistake("button bell\n", "CKT303", 1, 8, "either short or long", "'short'"),
    Mistake(ROPE + "latch gate set rope\n", "CKT303", 2, 7, "'set' and 'reset'", "write for example"),
    Mistake(ROPE + "detector rise\n", "CKT303", 2, 10, "'watches'", "write for example"),
    Mistake(ROPE + 'silence V1 because " "\n', "CKT303", 2, 20, "needs a reason", "say why"),
    Mistake(ROW + "detector rise watches pond.*\n", "CKT304", 2, 15, "watches one thing", "give each thing a detector"),
    Mistake(ROW + "output water from pond.*\n", "CKT304", 2, 19, "one signal, not 3", "name one"),
    Mistake(ROW + 'always "x" every pulse of pond.* lasts 2t\n', "CKT304", 2, 27, "3 signals", "name one"),
    Mistake(
        ROPE + 'lever bell\nlamp low from rope\nalways "x" low follows rope and bell, settled within 4t\n',
        *("CKT304", 4, 24, "'rope and bell' is a condition"),
        "when rope and bell then low within 4t unless not (rope and bell)",
    ),
    Mistake(
        ROPE + 'lamp low from rope\nalways "x" fails because T3 low inverts not rope settled within 4t\n',
        *("CKT304", 3, 41, "'not rope' is a condition", "when not rope then low off within 4t unless not (not rope)"),
    ),
    Mistake(
        ROPE + 'lamp low from rope\ncheck "x"\n  throughout (low or rope) follows rope settled within 2gt\nend\n',
        *("CKT304", 4, 14, "'(low or rope)' is a condition", "when (low or rope) then rope within 2gt"),
    ),
    Mistake(
        ROPE + 'always "x" not rope follows rope off, settled within 2t\n',
        *("CKT304", 2, 12, "'not rope' is a condition", "when CONDITION then X within T"),
    ),
    Mistake(ROPE + "repeater winch from rope delay 5t\n", "CKT305", 2, 32, "", "1t"),
    Mistake(ROPE + "repeater winch from rope delay 3gt\n", "CKT305", 2, 26, "whole number of ticks", ""),
    Mistake(ROPE + "dust line from rope length 0\n", "CKT305", 2, 28, "out of range", "from 1 to 10000"),
    Mistake(ROPE + "dust line from rope length 10001\n", "CKT305", 2, 28, "out of range", "from 1 to 10000"),
    Mistake("lever pond.1 to pond.1001\n", "CKT305", 1, 17, "from 1 to 1000 parts", "number it upwards"),
    Mistake("lever pond.3 to pond.1\n", "CKT305", 1, 17, "from 1 to 1000 parts", "number it upwards"),
    Mistake("analogue depth\n" + scene("  at 1s depth is 16"), "CKT305", 3, 18, "there is no level 16", "from 0 to 15"),
    Mistake(ROPE + scene("  at 1s expect rope at least 99"), "CKT305", 3, 30, "there is no level 99", "from 0 to 15"),
    Mistake(ROPE + scene("  until 25000s", "  until 90000s"), "CKT305", 4, 9, "longer than a day", "shorter"),
    Mistake(ROPE + "dust line from rope length 1234567890123\n", "CKT305", 2, 28, "too large", "9 digits"),
    Mistake("given wait 5t from 1t to 4t\n" + ROPE, "CKT305", 1, 7, "5t is not among", "widen the range"),
    Mistake("given wait 2t from 1t to 4t\n" + scene().replace('e"', 'e" given wait 9t'), "CKT305", 2, 26, "9t", "from"),
    Mistake(ROPE + 'always "x" when rope then rope stable for 0t\n', "CKT305", 2, 43, "no time at all", "from 1gt"),
    Mistake(ROPE + "repeater winch from rope delay 2\n", "CKT306", 2, 32, "'2' needs a unit", "write 2t, 2gt or 2s"),
    Mistake(ROPE + scene("  at 5 rope on"), "CKT306", 3, 6, "'5' needs a unit", "write 5t, 5gt or 5s"),
    Mistake("given wait 2\n" + ROPE + "repeater winch from rope delay wait\n", "CKT306", 3, 32, "needs a unit", "2t"),
    Mistake(ROPE + "repeater winch from rope delay 1.3t\n", "CKT307", 2, 32, "1.3t", "the nearest are 1t and 3gt"),
    Mistake(ROPE + scene("  at 0.33s rope on"), "CKT307", 3, 6, "0.33s", "the nearest are 3t and 7gt"),
    Mistake(ROPE + scene("  at 0.4gt rope on"), "CKT307", 3, 6, "0.4gt", "the nearest are 0t and 1gt"),
    Mistake(ROPE + "dust line from rope length 3t\n", "CKT308", 2, 28, "3t is a duration", "leave out the unit"),
    Mistake("given wait 2t from 1 to 4\n" + ROPE, "CKT308", 1, 7, "must be of one kind", ""),
    Mistake("lever rope starts 3\n", "CKT309", 1, 19, "a lever can't start 3", "on or off"),
    Mistake("analogue depth starts 16\n", "CKT309", 1, 23, "can't start 16", "from 0 to 15"),
    Mistake(ROPE + "block stone from rope\nblock ledge from stone\n", "CKT310", 3, 7, "block to block", "or dust"),
    Mistake(ROPE + "piston arm from rope\nlamp bell from arm\n", "CKT310", 3, 6, "carries no power", "detector watch"),
    Mistake(
        ROPE + "repeater winch from rope locked by rope\n",
        "CKT310",
        2,
        10,
        "locks a repeater (R5)",
        "through a repeater",
    ),
    Mistake(ROPE + "block stone from rope\ndetector rise watches stone\n", "CKT310", 3, 10, "can't watch", "powers it"),
]

ASKED = [
    Mistake(
        ROPE + "lamp bell from rope\n" + scene("  at 1s bell on"), "CKT401", 4, 9, "which is not an input", "levers"
    ),
    Mistake(ROPE + scene("  at 1s press rope"), "CKT401", 3, 9, "takes no 'press'", "'off', 'on' or 'throw'"),
    Mistake(ROPE + 'never "x" rope forbidden\n', "CKT402", 2, 11, "no set–reset latch", "on or off"),
    Mistake(
        LATCH + scene("  by 1s expect gate unknown"), "CKT402", 5, 16, "only a latch can be 'unknown'", "of its own"
    ),
    Mistake(LATCH + 'never "x" gate unknown\n', "CKT402", 4, 11, "only a latch can be 'unknown'", "of its own"),
    Mistake(ROPE + scene("  from 2s to 1s expect rope"), "CKT403", 3, 3, "ends before it begins", "later end"),
    Mistake(ROPE + scene("  from 1s to 1s expect rope"), "CKT403", 3, 3, "ends before it begins", ""),
    Mistake(ROPE + scene("  at 2s rope on", "  by 1s expect rope"), "CKT403", 4, 3, "ends before", "action at 20t"),
    Mistake(ROPE + 'always "x" every gap of rope lasts 3t to 2t\n', "CKT403", 2, 42, "longer than the most", "swap"),
    Mistake(ROPE + 'never "x" when rope then rope off\n', "CKT404", 2, 11, "followed by a condition", "'always'"),
    Mistake(ROPE + 'always "x" rope races\n', "CKT404", 2, 12, "with 'never' only", "'never'"),
    Mistake(
        ROPE + 'check "x"\n  throughout possible rest\nend\n',
        "CKT408",
        3,
        14,
        "about all runs together",
        "outside of checks",
    ),
    Mistake(ROPE + scene("  at 1s rope on", "  at 1s rope off"), "CKT405", 4, 9, "two actions", "different gt"),
    Mistake(ROPE + scene("  at 1s rope on", "  at 20gt throw rope"), "CKT405", 4, 17, "two actions", "different gt"),
    Mistake(ROPE + "forbid Q9\n", "CKT406", 2, 8, "there is no rule 'Q9'", "T3"),
    Mistake(ROPE + 'silence T33 because "so"\n', "CKT406", 2, 9, "there is no rule 'T33'", "did you mean 'T3'?"),
    Mistake(ROPE + 'check "x" fails because Y1\nend\n', "CKT406", 2, 25, "there is no rule 'Y1'", ""),
    Mistake(ROPE + scene() + scene(), "CKT407", 4, 7, "two are titled 'scene'", "its own title"),
]

FILES = [
    Mistake("", "CKT511", 1, 1, "says nothing", "circuit NAME"),
    Mistake("\n\n  # only a remark\n\n", "CKT511", 1, 1, "says nothing", "circuit NAME"),
    Mistake('use "mill.circuit"\n' + ROPE, "CKT501", 1, 5, "'mill.circuit'", "check the path"),
    Mistake('use "../mill.circuit"\n' + ROPE, "CKT505", 1, 5, "outside the folder", "put it under"),
    Mistake('use "/mill.circuit"\n' + ROPE, "CKT505", 1, 5, "outside the folder", "put it under"),
    Mistake(
        "define weir (a) gives b\n  weir inner (a a)\n  output b from inner.b\nend\n",
        "CKT506",
        2,
        3,
        "itself",
        "circle",
    ),
    Mistake("place bed gets sky\nsensor turf at bed withers\n", "CKT107", 2, 20, "'withers'", "write 'fades'"),
    Mistake("language 2\n" + ROPE, "CKT508", 1, 10, "version 1", "write 'language 1'"),
    Mistake("rules olden\n" + ROPE, "CKT509", 1, 7, "'olden'", "did you mean 'older'?"),
    Mistake("rules mine\n" + ROPE, "CKT509", 1, 7, "'mine'", ""),
    Mistake("setting outside_frist yes\n" + ROPE, "CKT510", 1, 9, "'outside_frist'", "did you mean 'outside_first'?"),
    Mistake("setting outside_first 3\n" + ROPE, "CKT510", 1, 23, "yes or no", "write yes or no"),
]

ALL = [*SYNTAX, *NAMES, *OPTIONS, *ASKED, *FILES]


@pytest.mark.parametrize("mistake", ALL, ids=[f"{each.code}-{number}" for number, each in enumerate(ALL)])
def test_a_mistake_is_reported_with_its_place_and_what_to_do(mistake: Mistake) -> None:
    check_mistake(mistake)


def test_every_code_of_the_reference_is_tried_here_or_in_the_tests_of_files_sensors_or_drawings() -> None:
    page = (Path(__file__).parents[2] / "grammar" / "README.md").read_text(encoding="utf-8")
    listed = set(re.findall(r"^\| (CKT\d{3}) \|", page, re.MULTILINE))
    of_files, of_sensors = {"CKT502", "CKT503", "CKT504", "CKT507"}, {"CKT311", "CKT312", "CKT409", "CKT410"}
    of_drawings = {code for code in listed if code.startswith("CKT6")}
    assert listed - {each.code for each in ALL} == of_files | of_sensors | of_drawings


@pytest.mark.parametrize("code", sorted({each.code for each in ALL}))
def test_what_is_reported_is_a_whole_span_and_plain_words(code: str) -> None:
    for mistake in (each for each in ALL if each.code == code):
        for each in told(mistake.text):
            assert each.span.end_column > each.span.column or code in ("CKT501", "CKT511")
            assert each.message
            assert "\n" not in each.message + each.hint


def test_every_mistake_is_reported_with_a_way_to_mend_it() -> None:
    assert [(each.code, each.message) for mistake in ALL for each in told(mistake.text) if not each.hint] == []


def test_two_checks_of_one_title_are_reported_and_neither_is_dropped() -> None:
    text = ROPE + scene("  at 1s expect rope off") + scene("  at 1s expect rope")
    assert codes(text) == ["CKT407"]


def test_two_claims_of_one_title_are_reported_and_neither_is_dropped() -> None:
    assert codes(ROPE + 'always "calm" rope off\nalways "calm" rope\n' + scene()) == ["CKT407"]


def test_a_check_and_a_claim_of_one_title_are_reported_and_neither_is_dropped() -> None:
    assert codes(ROPE + 'always "scene" rope off\n' + scene()) == ["CKT407"]


def test_a_repetition_over_the_same_amount_twice_is_reported() -> None:
    assert codes(ROPE + "for wait in 1t, 1t\n" + scene("  at wait rope on") + "end\n") == ["CKT202"]


def test_the_mend_of_a_missing_unit_is_itself_right() -> None:
    assert codes(ROPE + 'repeater winch from rope delay 2t\nsilence V1 because "mended"\n') == []


@pytest.mark.parametrize("condition", ["rope and bell", "not rope", "(rope or bell)", "rope off"])
@pytest.mark.parametrize(("relation", "while_on"), [("follows", True), ("inverts", False)])
def test_claims_offered_in_place_of_a_relation_to_a_condition_are_read_as_they_are_written(
    condition: str, relation: str, while_on: bool
) -> None:
    """The language reference, "Claims": `X follows Y, settled within T`, and `when … then … within T unless …`."""
    (mistake,) = told(f'{PAIR}always "x" low {relation} {condition}, settled within 2t\n')
    offered = mistake.hint.partition(": ")[2].split("; ")
    assert len(offered) == 2
    body = offered[0].partition(" then ")[2]
    assert body.startswith("low within" if while_on else "low off within")
    claims = "".join(f'always "{number}" {each}\n' for number, each in enumerate(offered))
    assert told(f"{PAIR}{claims}") == ()
