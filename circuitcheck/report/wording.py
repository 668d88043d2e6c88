"""What happened, in words: the sentence under a failure, and what its run left open."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from circuitcheck.checks.outcome import Failure
from circuitcheck.checks.trial import Trial
from circuitcheck.diagnostics import Span
from circuitcheck.engine.record import Recording
from circuitcheck.model import claims as model
from circuitcheck.model.duration import show

if TYPE_CHECKING:
    from circuitcheck.checks.drawing.drawn_box import DrawnBox

MOST_STARTING = 4


def expected(failure: Failure) -> str:
    """What was asked, as its author wrote it."""
    return failure.broken.words


def box_said(layers: int, rows: int, columns: int) -> str:
    """The size of a box."""
    places = layers * rows * columns
    return f"{columns} wide, {rows} deep, {layers} high: {places:,} place{'' if places == 1 else 's'}"


def drawn_in(box: DrawnBox) -> str:
    """The box of what is drawn, and how far from the least it may be."""
    said = f"drawn {box_said(box.layers, box.rows, box.columns)}"
    if box.is_least:
        return f"{said}, the least that can hold its parts"
    return f"{said}; no box of fewer than {box.least:,} can hold its parts"


def happened(failure: Failure) -> str:
    """What was so instead, at the gt in which it broke."""
    broken = failure.broken
    if isinstance(broken, model.Expectation):
        if isinstance(broken.condition, model.Atom) and broken.condition.test is model.Test.UNKNOWN:
            return f"at {show(failure.at)} every start and order leads to one state: {_states(failure)}"
        never = f"never from {show(broken.start)} to {show(failure.at)}; there " if broken.eventually else ""
        return f"{never}{_condition(failure, broken.condition)} at {show(failure.at)}{_later(failure, broken)}"
    return _claim(failure, broken.body)


def _later(failure: Failure, broken: model.Expectation) -> str:
    """Where the signal asked for changed soon after, when it did: the expectation may only be too early."""
    atom = broken.condition
    if not isinstance(atom, model.Atom) or atom.test in model.LATCH_TESTS or atom.test in model.EDGES:
        return ""
    later = next(((at, level) for at, level in _edges(failure, atom.name) if at > failure.at), None)
    if later is None:
        return ""
    state = "on" if later[1] == 15 else "off" if later[1] == 0 else f"at {later[1]}"
    return f"; it was {state} from {show(later[0])} on"


def _claim(failure: Failure, body: model.Body) -> str:
    at = show(failure.at)
    if isinstance(body, model.Invariant):
        return f"{_condition(failure, body.condition)} at {at}"
    if isinstance(body, model.Response):
        late = f"no answer within {show(body.within)}: by {at}, " if body.within else f"at {at}, as it was called for, "
        return f"{late}{_condition(failure, body.goal)}"
    if isinstance(body, model.Until):
        return f"{_condition(failure, body.held)} at {at}, before the release"
    if isinstance(body, model.Steady):
        return f"'{body.name}' changed at {at}, less than {show(body.duration)} after the trigger"
    if isinstance(body, model.Relation):
        state = _state(failure, body.name)
        other = _state(failure, body.other)
        both = f"'{body.name}' was {state} and '{body.other}' {other}"
        return f"{both} for more than {show(body.within)}, at {at} still" if body.within else f"{both} at {at}"
    if isinstance(body, model.Lengths):
        return _length(failure, body)
    if isinstance(body, model.ForEver):
        return _for_ever(failure, body)
    if isinstance(body, model.Possible):
        return f"from {at} on no input sequence guarantees it"
    if isinstance(body, model.Unraced):
        return f"by {at} unknown orders have led to different levels"
    if isinstance(body, model.Unburnt):
        return f"eighth off within the window at {at} (T4)"
    assert isinstance(body, model.Delay), "what chance decides has no one run to show"
    return _delay(failure, body)


def _for_ever(failure: Failure, body: model.ForEver) -> str:
    """The round in which what is owed never comes."""
    assert failure.since is not None, "a trace without end has a round"
    since, length = show(failure.since), show(failure.at - failure.since)
    if isinstance(body, model.Resting):
        return f"from {since} on the same {length} come round for ever, though no input changes"
    goal = body.goal if isinstance(body, model.Eventually) else body.condition
    state = _condition(failure, goal)
    if failure.at - failure.since == 1:
        return f"from {since} on everything stays as it is, and {state}"
    return f"from {since} on the same {length} come round for ever, and it is never so: {state} at {show(failure.at)}"


def _length(failure: Failure, body: model.Lengths) -> str:
    """The pulse or gap that was too short or too long, measured in the recording."""
    what = "gap" if body.of_gaps else "pulse"
    edges = _edges(failure, body.name)
    ended = [at for at, level in edges if at <= failure.at and (level > 0) is body.of_gaps]
    began = [at for at, level in edges if at <= failure.at and (level > 0) is not body.of_gaps]
    if ended and began and ended[-1] == failure.at:
        length = show(failure.at - began[-1])
        return f"a {what} of '{body.name}' lasted {length}, from {show(began[-1])} to {show(failure.at)}"
    since = f"since {show(began[-1])}" if began else "since the start"
    return f"a {what} of '{body.name}' still went on at {show(failure.at)}, {since}"


def _delay(failure: Failure, body: model.Delay) -> str:
    ends = [at for at, level in _edges(failure, body.end.name) if at == failure.at and _is_edge(body.end, level)]
    verb = {model.Test.RISES: "rose", model.Test.FALLS: "fell", model.Test.CHANGES: "changed"}
    first = f"'{body.start.name}' {verb[body.start.test]}"
    second = f"'{body.end.name}' {verb[body.end.test]}"
    begun = failure.since
    assert begun is not None, "a delay is broken by its watch, which knows the edge that it counts from"
    if ends:
        return f"{second} at {show(failure.at)}, {show(failure.at - begun)} after {first} at {show(begun)}"
    return f"{first} at {show(begun)}, and by {show(failure.at)} there was no answer: {second} not once since"


def _is_edge(atom: model.Atom, level: int) -> bool:
    if atom.test is model.Test.CHANGES:
        return True
    return (level > 0) is (atom.test is model.Test.RISES)


def _edges(failure: Failure, name: str) -> list[tuple[int, int]]:
    """Every change of a signal at the ends of gt, as (gt, level)."""
    return failure.recording.edges_of(name)


def _condition(failure: Failure, condition: model.Condition) -> str:
    """The state of every signal in a condition."""
    latches = dict(failure.latches)
    said: dict[str, str] = {}
    for atom in model.atoms(condition):
        if atom.test in model.LATCH_TESTS:
            said[atom.name] = latches.get(atom.name, "changing")
        elif atom.test in model.EDGES:
            said[atom.name] = _edge_state(failure, atom.name)
        else:
            said[atom.name] = _state(failure, atom.name)
    shown = [f"'{name}' was {state}" for name, state in list(said.items())[:6]]
    return " and ".join(shown) + (" …" if len(said) > 6 else "")


def _edge_state(failure: Failure, name: str) -> str:
    changed = any(at == failure.at for at, _ in _edges(failure, name))
    return f"{_state(failure, name)}, {'just changed' if changed else 'unchanged'}"


def _state(failure: Failure, name: str) -> str:
    level = failure.recording.level_of(name, failure.at)
    return "on" if level == 15 else "off" if level == 0 else f"at {level}"


def _states(failure: Failure) -> str:
    return ", ".join(f"'{name}' is {state}" for name, state in failure.latches)


def left_open(trial: Trial, recording: Recording) -> Iterator[str]:
    """That the run of a trial is but one way in which it can go, if it is (rules C5, C6)."""
    if len(trial.starts) > 1:
        (start,) = (each for each in trial.starts if each.levels == recording.start)
        more = ", …" if len(start.tried) > MOST_STARTING else ""
        told = f"{', '.join(standing(start.tried[:MOST_STARTING]))}{more}"
        yield f"it can start in {len(trial.starts)} ways (C6): this run starts with {told}"
    if trial.ends > 1:
        yield f"one of {trial.ends} ends that open orders or starts lead to (C5)"


def standing(levels: Iterable[tuple[str, int]]) -> list[str]:
    """How parts stand: `gate on`."""
    return [f"{name} {'on' if level else 'off'}" for name, level in levels]


def sentence(text: str) -> str:
    """A remark as a sentence of its own."""
    return f"{text[0].upper()}{text[1:]}."


def place_in(span: Span, path: str) -> str:
    """A line of the file that a report is about, or of another that it uses; empty for what stands in none."""
    line_ = f"line {span.line}" if span.line else ""
    return line_ if span.file == path or not line_ else f"{span.file}, {line_}"
