"""What chooses the moment that a stage shows: a list of those at which something changes, and an account of each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice
from typing import NamedTuple
from xml.etree.ElementTree import Element

from circuitcheck.engine.record import Recording
from circuitcheck.model.duration import show
from circuitcheck.report.lines import Style, plain
from circuitcheck.report.page.first_sections import WIDE, Covers
from circuitcheck.report.page.markup import add, name_of
from circuitcheck.report.terminal.account import account
from circuitcheck.report.wording import left_open, sentence, standing
from circuitcheck.runs_shown import Ran
from circuitcheck.scenes import MOST_STARTS, Choice, Moment

MOST_NAMED = 4
"""How many changes the list of moments names of each."""
MOST_ROWS = 8
"""How many moments are seen at once in the list."""
START = "the start"


# Words for what can be chosen


ALONE = "as it starts"
"""What the only choice is called where there is no run."""


class Listed(NamedTuple):
    """A choice in words: what it is called, the rows that tell each of its moments, and what is to be said of it."""

    choice: Choice
    title: str
    rows: list[list[str]]
    notes: list[str]


def listed(choice: Choice) -> Listed:
    recording = choice.recording
    several = choice.ran is None or choice.ways > 1
    start = f"{choice.number} of {choice.ways}: {_several(standing(choice.tried))}" if several else ""
    if choice.ran is None and choice.ways == 1:
        start = ALONE
    notes = []
    if choice.ways > MOST_STARTS:
        notes.append(f"Only the first {MOST_STARTS} of {choice.ways} starts can be chosen.")
    if choice.ran is None or recording is None:
        return Listed(choice, start, [], notes)
    if isinstance(choice.ran, Ran):
        notes += map(sentence, left_open(choice.ran.trial, recording))
    if choice.cut:
        notes.append(f"Only the first {len(choice.moments)} moments can be chosen.")
    title = f"{choice.ran.title} – {start}" if several else choice.ran.title
    return Listed(choice, title, list(_told(choice, recording)), notes)


def _told(choice: Choice, recording: Recording) -> Iterator[list[str]]:
    """The rows of the account that tell each moment, without its time, which stands in the list of moments."""
    told = (row for row in account(recording, (), WIDE) if row[0].style is not Style.FAINT)
    for moment in choice.moments:
        rows = islice(told, len(moment.changes))  # one for each change, in the same order
        yield [_row(plain([row]).strip().removeprefix(show(moment.at))) for row in rows]


def _row(told: str) -> str:
    """A row of the account without its columns: `gate on: its block is unpowered, …`."""
    words = told.split()
    what = 3 if words[1] == "at" else 2
    return f"{' '.join(words[:what])}: {' '.join(words[what:])}"


# The page


def choosing(box: Element, label: str, choices: Sequence[Listed], number: int, covers: Covers) -> None:
    """What chooses a run or a start, and a moment of it."""
    _choice(
        add(box, "div", attributes={"class": "choosing"}),
        f"scene-{number}-run",
        label,
        [each.title for each in choices],
    )
    for place, shown in enumerate(choices):
        holder = add(box, "div", attributes={"class": "moments"})
        select = _choice(holder, f"scene-{number}-moments-{place}", "Moment", [])
        select.set("size", str(min(len(shown.choice.moments) + 1, MOST_ROWS)))
        for option, asked in ((START, START), *map(_label, shown.choice.moments, shown.rows)):
            add(select, "option", option, {"data-told": option, "data-asked": asked})
        for note in shown.notes:
            add(holder, "p", note, {"class": "note"})
    add(box, "p", attributes={"class": "status", "role": "status"})
    if any(shown.choice.moments for shown in choices):
        happening = add(box, "div", attributes={"class": "happening"})
        covers.over(happening, "What happens at this moment").set("class", "answer happens")


def _choice(parent: Element, name: str, label: str, options: Sequence[str]) -> Element:
    add(parent, "label", label, {"for": name})
    select = add(parent, "select", attributes={"id": name, "autocomplete": "off"})
    for option in options:
        add(select, "option", option)
    return select


def _label(moment: Moment, rows: Sequence[str]) -> tuple[str, str]:
    """What the list says of a moment, and what it says while the answers are covered: only the actions."""
    told = [row.partition(":")[0] for row in rows]
    hands = [words for change, words in zip(moment.changes, told, strict=True) if change.by_hand]
    at = show(moment.at)
    return f"{at}: {_several(told)}", f"{at}: {_several(hands)}" if hands else at


def _several(words: Sequence[str]) -> str:
    more = len(words) - MOST_NAMED
    return ", ".join(words[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


def account_of(parent: Element, shown: Listed) -> None:
    """The whole run in words, for whoever does not see its picture; the page's script shows each moment of it."""
    box = add(parent, "details", attributes={"class": "account"})
    add(box, "summary", "This run in words")
    moments = add(box, "ol")
    for moment, told in zip(shown.choice.moments, shown.rows, strict=True):
        each = add(moments, "li")
        add(each, "b", show(moment.at))
        rows = add(each, "ul", attributes={"class": "told"})
        for row in told:
            name_of(add(rows, "li"), row)
    if not shown.choice.moments:
        add(moments, "li", "Nothing changes.")
