"""Claims and traces written in the language of circuit files, ready to be pasted into one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from circuitcheck.model import claims as model
from circuitcheck.model.duration import show

TESTS = {
    model.Test.ON: "on",
    model.Test.OFF: "off",
    model.Test.LEVEL: "is {level}",
    model.Test.AT_LEAST: "at least {level}",
    model.Test.AT_MOST: "at most {level}",
    model.Test.RISES: "rises",
    model.Test.FALLS: "falls",
    model.Test.CHANGES: "changes",
    model.Test.SET: "set",
    model.Test.RESET: "reset",
    model.Test.FORBIDDEN: "forbidden",
    model.Test.UNKNOWN: "unknown",
}


def condition(asked: model.Condition, alone: bool = True) -> str:
    """A condition; in brackets where it does not stand alone and is made of several."""
    if isinstance(asked, model.Atom):
        return f"{asked.name} {TESTS[asked.test].format(level=asked.level)}"
    if isinstance(asked, model.Not):
        return f"not {condition(asked.part, alone=False)}"
    word = " and " if isinstance(asked, model.AllOf) else " or "
    text = word.join(condition(part, alone=False) for part in asked.parts)
    return text if alone or len(asked.parts) == 1 else f"({text})"


def body(claimed: model.Body) -> str:
    """What is claimed, as it stands behind a claim's title or behind `throughout`."""
    if isinstance(claimed, model.Invariant):
        return condition(claimed.condition)
    if isinstance(claimed, model.Response):
        unless = "" if claimed.unless is None else f" unless {condition(claimed.unless)}"
        trigger, goal = condition(claimed.trigger), condition(claimed.goal)
        return f"when {trigger} then {goal} within {show(claimed.within)}{unless}"
    if isinstance(claimed, model.Until):
        trigger, held, release = map(condition, (claimed.trigger, claimed.held, claimed.release))
        return f"when {trigger} then {held} until {release}"
    if isinstance(claimed, model.Steady):
        return f"when {condition(claimed.trigger)} then {claimed.name} stable for {show(claimed.duration)}"
    if isinstance(claimed, model.Relation):
        verb = "inverts" if claimed.inverted else "follows"
        return f"{claimed.name} {verb} {claimed.other}, settled within {show(claimed.within)}"
    if isinstance(claimed, model.Lengths):
        what = "gap" if claimed.of_gaps else "pulse"
        return f"every {what} of {claimed.name} lasts {_bounds(claimed.least, claimed.most)}"
    if isinstance(claimed, model.Delay):
        return (
            f"from {condition(claimed.start)} to {condition(claimed.end)} takes {_bounds(claimed.least, claimed.most)}"
        )
    if isinstance(claimed, model.Possible):
        return "possible rest" if claimed.condition is None else f"possible {condition(claimed.condition)}"
    if isinstance(claimed, model.ForEver):
        return _for_ever(claimed)
    if isinstance(claimed, model.Timely):
        bounds = ", ".join(bound.words for bound in claimed.bounds)
        days = f" when {claimed.days}" if claimed.days else ""
        return f"response of {claimed.phase} to {condition(claimed.edge)}{days}: {bounds}"
    word = "races" if isinstance(claimed, model.Unraced) else "burnt"
    first = claimed.names[0]
    return f"{first if len(claimed.names) == 1 else first.rpartition('.')[0] + '.*'} {word}"


def _for_ever(claimed: model.ForEver) -> str:
    if isinstance(claimed, model.Resting):
        return "comes to rest"
    given = ", ".join(f"{condition(each)} again and again" for each in claimed.given)
    fair = f" if {given}" if given else ""
    if isinstance(claimed, model.Recurring):
        return f"{condition(claimed.condition)} again and again{fair}"
    meanwhile = "" if claimed.meanwhile is None else f", {condition(claimed.meanwhile)} until then"
    return f"when {condition(claimed.trigger)} then eventually {condition(claimed.goal)}{meanwhile}{fair}"


def _bounds(least: int | None, most: int | None) -> str:
    if least is not None and most is not None:
        return show(least) if least == most else f"{show(least)} to {show(most)}"
    return f"at most {show(most)}" if most is not None else f"at least {show(least or 0)}"


def action(act: model.Act) -> str:
    """One outside action."""
    if act.verb in ("throw", "press"):
        return f"{act.verb} {act.name}"
    return f"{act.name} is {act.level}" if act.verb == "is" else f"{act.name} {act.verb}"


def check(
    claim: model.Claim, acts: Sequence[model.Act], until: int, levels: Sequence[tuple[str, int]] = ()
) -> list[str]:
    """The counterexample to a claim as a check; for a race, with the levels that signals have in one order."""
    title = f"a counterexample to: {claim.title}"
    said = f" fails because {claim.fails_because}" if claim.fails_because else ""
    lines = [f'check "{title}"{said}', *_acts(acts)]
    if isinstance(claim.body, model.Unburnt):
        lines.insert(0, "forbid T4")
    if isinstance(claim.body, model.Unraced) and levels:
        # Asking for one of the levels shows that nothing decides between them.
        lines += [f"  at {show(until)} expect {name} is {level}" for name, level in levels]
    elif isinstance(claim.body, model.Possible | model.Unraced | model.Unburnt | model.ForEver):
        lines.append(f"  until {show(until)}")
    else:
        lines.append(f"  throughout {body(claim.body)}")
        lines.append(f"  until {show(until)}")
    return [*lines, "end"]


def _acts(acts: Iterable[model.Act]) -> list[str]:
    by_time: dict[int, list[str]] = {}
    for act in acts:
        by_time.setdefault(act.at, []).append(action(act))
    return [f"  at {show(at)} {', '.join(done)}" for at, done in by_time.items()]


def trace(acts: Sequence[model.Act], since: int = 0, most: int = 8) -> str:
    """A way in one line: what is done when, counted from a gt."""
    if not acts:
        return "nothing is done"
    shown = [f"{action(act)} at {show(since + act.at)}" for act in acts[:most]]
    return ", ".join(shown) + (f", and {len(acts) - most} more" if len(acts) > most else "")
