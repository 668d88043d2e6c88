"""`response`: how long it takes from the beginning of a phase of the day to an output's edge, by chance."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from typing import Any

from circuitcheck import examine
from circuitcheck.chance.days.assumed import Broken
from circuitcheck.chance.days.together import Plan, live_through
from circuitcheck.chance.days.walk import Watching
from circuitcheck.chance.first_edge.other_builds import by_cells, by_rules, watched_sensors
from circuitcheck.chance.first_edge.response import NoSensor, Response, respond
from circuitcheck.chance.first_edge.what_decides import what_decides
from circuitcheck.chance.machine.joint import TooLarge
from circuitcheck.checks.outcome import FAILING, OPEN, Outcome
from circuitcheck.commands import common, printing
from circuitcheck.diagnostics import NOWHERE, did_you_mean
from circuitcheck.examine import Opened
from circuitcheck.judging.responses import in_time, judged
from circuitcheck.model.claims import Atom, Test, Timely
from circuitcheck.model.light import PHASES
from circuitcheck.report.curve import curve_svg
from circuitcheck.report.files import write_whole
from circuitcheck.report.terminal.broken_assumptions import assumed_data, assumed_lines
from circuitcheck.report.terminal.response_figures import (
    cells_lines,
    decides_lines,
    named,
    response_data,
    response_lines,
    rules_lines,
    turn_data,
    variant_data,
)
from circuitcheck.report.terminal.verdict_lines import outcome_lines

DAYS_OF_ASSUMPTIONS = 300
"""How many days, each with a fresh machine, are lived through to see whether assumptions of proofs are broken."""
Asked = tuple[str, "Atom"]


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Works out each response that is asked for, and prints it."""
    with printing.progress(options) as progress:
        return _respond(options, progress.tell)


def _respond(options: argparse.Namespace, told: Callable[[str], None]) -> int:
    opened = examine.opened(options.path, options.define, options.root)
    if common.mistakes(opened, options):
        return 2
    asked = asked_for(opened, options)
    over = [examine.game_tick(text) for text in options.over or []]
    common.outputs_apart(options, opened.sources, "svg")
    found = []
    for question in asked:
        told(f"from {question[0]} to '{question[1].name}'")
        found.append((question, _worked_out(opened, question)))
    if options.svg:
        curves = [(named(each.phase, each.edge), each.distribution) for _, each in found]
        write_whole(options.svg, curve_svg(curves, f"Responses of {opened.circuit_study.circuit.name}"))
    outcomes = _verdicts(opened, [each for _, each in found]) if options.phase is None else []
    told("days that break what is assumed")
    broken = _assumed(opened, asked)
    if options.json:
        data = [_data(options, opened, each, over) for _, each in found]
        claims = [_claim(each) for each in outcomes]
        assumed = assumed_data(broken, DAYS_OF_ASSUMPTIONS)
        printing.file_json(options.path, {"responses": data, "claims": claims, "assumptions": assumed})
    else:
        for _, each in found:
            _show(options, opened, each, over)
        printing.show(assumed_lines(broken, DAYS_OF_ASSUMPTIONS, printing.width(options)))
        for outcome in outcomes:
            printing.show(outcome_lines(outcome, printing.width(options)))
    return _code(outcomes)


def _claim(outcome: Outcome) -> dict[str, str]:
    return {"title": outcome.title, "verdict": outcome.verdict.name.lower(), "detail": outcome.detail}


def asked_for(opened: Opened, options: argparse.Namespace) -> list[Asked]:
    """The responses that a call asks for, or else those that the file claims. Raises Refused."""
    if options.phase is None:
        claims = [claim.body for claim in opened.circuit_study.claims if isinstance(claim.body, Timely)]
        if not claims:
            raise examine.Refused(f"{options.path} claims no response: name a PHASE and a SIGNAL")
        return list(dict.fromkeys((body.phase, body.edge._replace(span=NOWHERE)) for body in claims))
    if options.phase not in PHASES:
        near = did_you_mean(options.phase, PHASES) or f"the phases are {', '.join(PHASES)}"
        raise examine.Refused(f"no phase of the day is called '{options.phase}'; {near}")
    if options.signal is None:
        raise examine.Refused(f"a PHASE needs the SIGNAL that is waited for, as in: response FILE {options.phase} dark")
    name = examine.signal(opened.program, options.signal)
    return [(options.phase, Atom(name, Test(options.edge)))]


def _worked_out(opened: Opened, asked: Asked) -> Response:
    try:
        return respond(opened.circuit_study.circuit, *asked)
    except TooLarge as large:
        raise examine.Refused(f"it is too large even to be sampled: {large}") from None
    except NoSensor:
        raise examine.Refused(f"{opened.path} has no sensor: nothing in it changes at random") from None


def _assumed(opened: Opened, asked: Sequence[Asked]) -> Sequence[Broken] | None:
    """How often days simulated beside the figures break what the proofs assume; None where there can be no such."""
    study = opened.circuit_study
    if not study.assumptions:
        return ()
    watching = Watching(tuple(edge for _, edge in asked), tuple(phase for phase, _ in asked))
    plan = Plan(study.circuit, watching, DAYS_OF_ASSUMPTIONS, 1, assumptions=study.assumptions)
    try:
        return live_through(plan).broken
    except TooLarge:
        return None


def _show(options: argparse.Namespace, opened: Opened, found: Response, over: Sequence[int]) -> None:
    printing.show(response_lines(found, over, printing.width(options)))
    printing.flush()
    circuit = opened.circuit_study.circuit
    if options.decides:
        turns = what_decides(circuit, found.phase, found.edge)
        printing.show(decides_lines(found, turns))
    if options.brief:
        return
    sensors = {} if options.define else watched_sensors(circuit, found.edge.name)
    for sensor, cells in sensors.items():
        variants = by_cells(opened.path, options.root, sensor, cells, found.phase, found.edge)
        printing.show(cells_lines(sensor, variants, cells, printing.width(options)))
    printing.show(rules_lines(by_rules(circuit, found.phase, found.edge), circuit.rules.name))


def _data(options: argparse.Namespace, opened: Opened, found: Response, over: Sequence[int]) -> dict[str, Any]:
    data, circuit = response_data(found, over), opened.circuit_study.circuit
    if options.decides:
        turns = what_decides(circuit, found.phase, found.edge)
        data["decides"] = [turn_data(found, turn) for turn in turns]
    if options.brief:
        return data
    tables = {
        sensor: [
            variant_data(each) for each in by_cells(opened.path, options.root, sensor, cells, found.phase, found.edge)
        ]
        for sensor, cells in ({} if options.define else watched_sensors(circuit, found.edge.name)).items()
    }
    rules = [variant_data(each) for each in by_rules(circuit, found.phase, found.edge)]
    return {**data, "by_cells": tables, "by_rules": rules}


def _verdicts(opened: Opened, found: Sequence[Response]) -> list[Outcome]:
    """What the file's own claims about responses come to."""
    study = opened.circuit_study
    known = {(each.phase, each.edge.name, each.edge.test): each for each in found}
    verdicts = []
    for claim in study.claims:
        body = claim.body
        if isinstance(body, Timely) and body.days:
            verdicts.append(in_time(claim, study.circuit))
        elif isinstance(body, Timely):
            response = known[body.phase, body.edge.name, body.edge.test]
            verdicts.append(judged(claim, body, response, study.circuit))
    return verdicts


def _code(outcomes: Sequence[Outcome]) -> int:
    """The exit code for the file's own claims about responses."""
    verdicts = {outcome.verdict for outcome in outcomes}
    return 1 if verdicts & FAILING else 3 if verdicts & OPEN else 0
