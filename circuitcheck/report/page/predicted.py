"""Predicting on a stage: a question before each event, and what a learner said beside what happened.

The page's script puts in times, names and levels, and counts; every other word stands here.
"""

from __future__ import annotations

from xml.etree.ElementTree import Element

from circuitcheck.report.page.markup import add, behind

GUESSES = (("it comes on, or rises", "up"), ("it goes off, or falls", "down"), ("it stays as it is", "same"))
HEADINGS = ("At", "Signal", "You said", "What happened", "So?")
SO, OTHERWISE = "as you said", "otherwise"


def predicting(box: Element) -> None:
    """What turns the questions on, the question of the moment, and the answers given so far."""
    label = add(box, "label", attributes={"class": "asks"})
    behind(add(label, "input", attributes={"type": "checkbox", "class": "ask", "autocomplete": "off"}), "")
    label[-1].tail = " Ask me before each event"
    _question(add(box, "div", attributes={"class": "question", "role": "group", "hidden": ""}))
    _answers(add(box, "div", attributes={"class": "said", "hidden": ""}))


def _question(box: Element) -> None:
    box.set("aria-label", "What will happen?")
    words = add(box, "p", "At ")
    behind(add(words, "b", attributes={"class": "when-asked"}), ", what will happen to ")
    behind(add(words, "bdi", attributes={"class": "who"}), "? Its level is ")
    behind(add(words, "b", attributes={"class": "level-now"}), " now.")
    for said, way in GUESSES:
        add(box, "button", said, {"type": "button", "class": "guess", "data-way": way})


def _answers(box: Element) -> None:
    table = add(box, "table")
    add(table, "caption", "What you said of this run")
    top = add(add(table, "thead"), "tr")
    for heading in HEADINGS:
        add(top, "th", heading, {"scope": "col"})
    add(table, "tbody")
    add(box, "p", attributes={"class": "score", "role": "status", "data-so": SO, "data-otherwise": OTHERWISE})
