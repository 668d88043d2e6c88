"""What a person is reported a failure: expected, happened, the picture around it, and why."""

from __future__ import annotations

from collections.abc import Iterator

from circuitcheck.checks.outcome import Failure, Outcome, Race
from circuitcheck.explain.cause import Why, sentence
from circuitcheck.explain.noteworthy import noteworthy
from circuitcheck.model.claims import Claim
from circuitcheck.model.duration import show
from circuitcheck.report import wording
from circuitcheck.report.lines import Line, Style, line, safe, wrapped
from circuitcheck.report.terminal.chains import NOTHING_KNOWN, Chains, Known
from circuitcheck.report.terminal.picture import picture, window

MOST_STEPS_SHOWN = 10


def failure_lines(outcome: Outcome, failure: Failure, width: int, chains: Chains | None = None) -> Iterator[Line]:
    """One failure: the line that was broken, what was so instead, what decided, the picture and the causes.

    What `chains` says was reported before is referred to; without it the failure stands alone, and all is reported.
    """
    span = failure.broken.span
    during = ""
    if isinstance(failure.broken, Claim) and failure.check is not None and failure.check.title != outcome.title:
        during = f', during "{safe(failure.check.title)}"'
    place = f"   [{safe(str(span))}]" if span.line else ""
    yield from _row("expected", f"{safe(wording.expected(failure))}{place}", width)
    yield from _row("happened", safe(wording.happened(failure)) + during, width)
    if outcome.race is not None:
        yield from _race(outcome.race, width)
    if outcome.starts:
        started = ", ".join(wording.standing(outcome.starts[:6]))
        yield from _row("started", f"{safe(started)} (declare a start: L5, C6)", width)
    found = noteworthy(failure, outcome.undetermined)
    whys, names = found.causes, found.signals
    known = [NOTHING_KNOWN if chains is None else chains.known(each) for each in whys]
    if chains is not None and chains.drawn(failure) and whys and all(each.wholly for each in known):
        for each, before in zip(whys, known, strict=True):
            yield from why_lines(each, width, known=before)
        return
    first, last = window(failure.recording, names, failure.at)
    yield line()
    yield from picture(failure.recording, names, first, last, width, failure.at)
    yield line()
    for each, before in zip(whys, known, strict=True):
        yield from why_lines(each, width, known=before)
        if chains is not None:
            chains.told(each, outcome.title)


def _row(label: str, text: str, width: int) -> list[Line]:
    indent = f"    {label:<10}"
    return wrapped(text, width, indent, " " * len(indent))


def _race(race: Race, width: int) -> Iterator[Line]:
    who = "Worked" if race.by_hand else "Due"
    text = (
        f"{who} in one gt, {show(race.at)}: here '{safe(race.first)}' comes before '{safe(race.second)}', "
        f"and the other way round it {'holds' if race.cure_sought else 'goes the other way'}. "
        "Nothing but the build decides (C5)."
    )
    yield from _row("race", text, width)
    if not race.cure_sought:
        return
    if race.cure is not None:
        yield from _row("cure", f"tried, and it holds over every order: {safe(race.cure.words)}", width)
    else:
        yield from _row("cure", "none of the small changes that were tried holds over every order", width)


def why_lines(each: Why, width: int, at: int | None = None, known: Known = NOTHING_KNOWN) -> Iterator[Line]:
    """The causes of one signal's level, oldest first; with the time asked about, if that is worth saying.

    What is `known`, as it was reported before, is referred to only.
    """
    when = f" at {show(at)}" if at is not None else ""
    state = "on" if each.level == 15 else "off" if each.level == 0 else f"at {each.level}"
    if not each.steps and not each.hindrances:
        fed = ", ".join(
            f"'{safe(name)}' {'off' if level == 0 else 'on' if level == 15 else f'at {level}'}"
            for name, level in each.fed_by
        )
        with_what = f"; it is fed by {fed}" if fed else ""
        yield from _row(
            "because", f"'{safe(each.name)}' is {state}{when}, as it has been since the start{with_what}", width
        )
        return
    if known.wholly:
        yield from _row(
            "because", f"'{safe(each.name)}' is {state}{when}, as explained for \"{safe(known.title)}\"", width
        )
        return
    yield from _row("because", f"'{safe(each.name)}' is {state}{when}:", width)
    left = each.steps[known.steps :]
    if known.steps:
        last = each.steps[known.steps - 1]
        text = f"up to '{safe(last.part)}' at {show(last.at)} as explained for \"{safe(known.title)}\"; from there on:"
        yield from wrapped(text, width, "      … ", "        ")
    steps = left[-MOST_STEPS_SHOWN:]
    longest = max((len(safe(step.part)) for step in steps), default=0)
    left_out = len(left) - len(steps)
    if left_out:
        yield line(f"      … and before that {left_out} more step{'' if left_out == 1 else 's'}")
    for step in steps:
        text = f"{safe(step.part):<{longest}}  {sentence(step)} ({step.rule})"
        yield from wrapped(text, width, f"      {show(step.at):>6}  ", " " * 14)
    if each.changed and each.hindrances:
        yield from wrapped("since then, upstream, and perhaps why it did not change once more:", width, "      ")
    for hindrance in each.hindrances:
        text = f"{safe(hindrance.part)}  {safe(hindrance.words)} ({hindrance.rule})"
        yield from wrapped(text, width, f"      {show(hindrance.at):>6}  ", " " * 14, Style.DOUBT)
        if hindrance.hint and not each.changed:
            yield from wrapped(f"it takes: {hindrance.hint}", width, " " * 14, " " * 24)
