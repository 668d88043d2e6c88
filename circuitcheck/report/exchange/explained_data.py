"""Explanations as plain data: what a circuit is, how an output stands to its inputs, why a signal is as it is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from circuitcheck.explain.cause import Step, Why, sentence
from circuitcheck.explain.circuit_reading import OutputReading, Reading, Timing
from circuitcheck.explain.function import Function, TooLarge
from circuitcheck.explain.inversion import Inversion, Turn
from circuitcheck.explain.loops import Loop
from circuitcheck.explain.moving_function import HurriedRest, MovingFunction, RestingConfiguration, Switch
from circuitcheck.explain.paths import SignalPath
from circuitcheck.model.drawing import At


def reading_data(found: Reading) -> dict[str, Any]:
    """A circuit read without a check."""
    return {
        "outputs": [_output(each) for each in found.outputs],
        "loops": [_loop(each) for each in found.loops],
        "locked": list(found.locked),
        "timings": [_timing(each) for each in found.timings],
        "left_out": list(found.left_out),
    }


def inversions_data(output: str, found: Sequence[Inversion], turned: Sequence[Turn]) -> dict[str, Any]:
    """How an output stands to its inputs, and how to turn it round."""
    return {"output": output, "moving": None, "inversions": list(map(_inversion, found)), "turns": _turns(turned)}


def _turns(found: Sequence[Turn]) -> list[dict[str, Any]]:
    return [{"what": each.words, "parts": each.parts, "later": each.lag} for each in found]


def moving_data(found: MovingFunction) -> dict[str, Any]:
    """The same of a machine that moves: over all rests, in each configuration, and what leads from one to another."""
    return {
        "output": found.output,
        "moving": {
            **_whole(found),
            "passing": list(found.passing),
            "relations": [{"input": name, "relation": each.name.lower()} for name, each in found.relations],
            "inverse": list(found.inverse),
            "configurations": [_configuration(each) for each in found.configurations],
            "switches": [_switch(each) for each in found.switches],
            "hurried": [_hurried(each) for each in found.hurried],
            "hurried_ended": found.hurried_ended,
        },
        "inversions": [],
        "turns": _turns(found.turns),
    }


def why_data(found: Why) -> dict[str, Any]:
    """Why a signal is as it is at a time."""
    hindrances = [
        {"at": each.at, "part": each.part, "rule": each.rule, "what": each.words, "hint": each.hint}
        for each in found.hindrances
    ]
    return {
        "signal": found.name,
        "at": found.at,
        "level": found.level,
        "changed": found.changed,
        "steps": list(map(_step, found.steps)),
        "hindrances": hindrances,
    }


def _step(each: Step) -> dict[str, Any]:
    return {"at": each.at, "part": each.part, "level": each.level, "rule": each.rule, "what": sentence(each)}


def _table(table: Function | TooLarge) -> dict[str, Any] | None:
    if not isinstance(table, Function):
        return None
    return {"inputs": list(table.inputs), "on": sorted(table.on), "open": sorted(table.open)}


def _why_not(table: Function | TooLarge) -> str:
    return table.why if isinstance(table, TooLarge) else ""


def _output(each: OutputReading) -> dict[str, Any]:
    return {
        "output": each.output,
        "table": _table(each.table),
        "formula": each.formula,
        "why_not": _why_not(each.table),
        "rests": None if each.moving is None else each.moving.rests,
    }


def _loop(each: Loop) -> dict[str, Any]:
    return {"kind": each.kind.name.lower(), "parts": list(each.parts), "period": each.period}


def _timing(each: Timing) -> dict[str, Any]:
    slowest = each.span.slowest
    return {
        "input": each.input,
        "output": each.output,
        "least": each.span.fastest.lag,
        "most": None if slowest is None else slowest.lag,
        "spacing": each.spacing,
    }


def _inversion(each: Inversion) -> dict[str, Any]:
    return {
        "input": each.input,
        "relation": each.relation.name.lower(),
        "why_not": each.why_not,
        "paths": list(map(_path, each.paths.paths)),
        "counted": each.paths.counted,
        "complete": each.paths.complete,
    }


def _path(each: SignalPath) -> dict[str, Any]:
    hops = [{"part": hop.part, "kind": hop.kind, "inverts": hop.inverts, "lag": hop.lag} for hop in each.hops]
    return {"from": each.start, "inverted": each.inverted, "lag": each.lag, "hops": hops}


def _whole(found: MovingFunction) -> dict[str, Any]:
    return {
        "rests": found.rests,
        "table": _table(found.whole),
        "restless": sorted(found.restless),
        "formula": found.formula,
        "why_not": _why_not(found.whole),
        "gives_pulses": found.gives_pulses,
    }


def _places(moved: Sequence[tuple[str, At]]) -> list[dict[str, Any]]:
    return [{"name": name, "at": list(place)} for name, place in moved]


def _configuration(each: RestingConfiguration) -> dict[str, Any]:
    return {
        "number": each.number,
        "out": list(each.out),
        "moved": _places(each.moved),
        "settings": sorted(each.settings),
        "values": sorted(each.values),
        "table": _table(each.table),
        "formula": each.formula,
        "why_not": _why_not(each.table),
        "inversions": list(map(_inversion, each.inversions)),
    }


def _switch(each: Switch) -> dict[str, Any]:
    return {
        "inputs": list(each.inputs),
        "action": each.verb,
        "before": each.before,
        "after": each.after,
        "pistons": list(each.pistons),
        "was_on": each.was_on,
        "is_on": each.is_on,
        "changes": each.changes,
        "steps": list(map(_step, each.steps)),
        "why": each.why,
    }


def _hurried(each: HurriedRest) -> dict[str, Any]:
    changes = [{"input": change.input, "action": change.verb} for change in (each.by.first, each.by.second)]
    return {
        "setting": each.setting,
        "is_on": each.is_on,
        "out": list(each.out),
        "moved": _places(each.moved),
        "changes": changes,
        "later": each.by.later,
    }
