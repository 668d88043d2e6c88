"""`response`: how long it takes from the beginning of a phase of the day to an output's edge, by chance."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from circuitcheck.commands import common

if TYPE_CHECKING:
    from circuitcheck.chance.days.assumed import Broken
    from circuitcheck.chance.first_edge.response import Response
    from circuitcheck.checks.outcome import Outcome
    from circuitcheck.examine import Opened
    from circuitcheck.model.claims import Atom

DAYS_OF_ASSUMPTIONS = 300
"""How many days, each with a fresh machine, are lived through to see whether assumptions of proofs are broken."""
EDGES = ("rises", "falls", "changes")
Asked = tuple[str, "Atom"]


def add(commands: Any) -> None:
    """Adds the command with its options."""
    example = "circuitcheck response circuits/lampkeeper.circuit dusk dark --over 90s"
    does = "say how long it takes from a phase of the day to an output's edge, with what chance"
    parser = common.parser(commands, "response", does, example, common.guarded(run))
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    response_arguments(parser)
    common.root_option(parser)
    parser.add_argument("--define", default="", metavar="NAME", help="a definition of the file, standing alone")
    parser.add_argument("--over", action="append", metavar="TIME", help="also the chance that it takes more than this")
    parser.add_argument("--brief", action="store_true", help="without the tables of cells and rules")
    parser.add_argument("--svg", type=common.path, metavar="PATH", help="write the curves as SVG")
    common.quiet_option(parser)
    parser.add_argument("--json", action="store_true", help="write the report as JSON")


def response_arguments(parser: Any) -> None:
    """Adds the arguments that say which response is asked for."""
    help_ = "day, dusk, night or dawn; as the file claims if left out"
    parser.add_argument("phase", nargs="?", metavar="PHASE", help=help_)
    parser.add_argument("signal", nargs="?", metavar="SIGNAL", help="the output or part whose edge is waited for")
    parser.add_argument("--edge", choices=EDGES, default="rises", help="the edge that is waited for (rises)")


def run(options: argparse.Namespace) -> int:
    """Works out each response that is asked for, and prints it."""
    with common.progress(options) as progress:
        return _respond(options, progress.tell)


def _respond(options: argparse.Namespace, told: Callable[[str], None]) -> int:
    from circuitcheck import examine
    from circuitcheck.report.terminal.broken_assumptions import assumed_data, assumed_lines

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
        from circuitcheck.report.curve import curve_svg
        from circuitcheck.report.files import write_whole
        from circuitcheck.report.terminal.response_figures import named

        curves = [(named(each.phase, each.edge), each.distribution) for _, each in found]
        write_whole(options.svg, curve_svg(curves, f"Responses of {opened.circuit_study.circuit.name}"))
    outcomes = _verdicts(opened, [each for _, each in found]) if options.phase is None else []
    told("days that break what is assumed")
    broken = _assumed(opened, asked)
    if options.json:
        data = [_data(options, opened, each, over) for _, each in found]
        claims = [_claim(each) for each in outcomes]
        assumed = assumed_data(broken, DAYS_OF_ASSUMPTIONS)
        common.file_json(options.path, {"responses": data, "claims": claims, "assumptions": assumed})
    else:
        from circuitcheck.report.terminal.verdict_lines import outcome_lines

        for _, each in found:
            _show(options, opened, each, over)
        common.show(assumed_lines(broken, DAYS_OF_ASSUMPTIONS, common.width(options)))
        for outcome in outcomes:
            common.show(outcome_lines(outcome, common.width(options)))
    return _code(outcomes)


def _claim(outcome: Outcome) -> dict[str, str]:
    return {"title": outcome.title, "verdict": outcome.verdict.name.lower(), "detail": outcome.detail}


def asked_for(opened: Opened, options: argparse.Namespace) -> list[Asked]:
    """The responses that a call asks for, or else those that the file claims. Raises Refused."""
    from circuitcheck import examine
    from circuitcheck.diagnostics import NOWHERE, did_you_mean
    from circuitcheck.model.claims import Atom, Test, Timely
    from circuitcheck.model.light import PHASES

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
    from circuitcheck import examine
    from circuitcheck.chance.first_edge.response import NoSensor, respond
    from circuitcheck.chance.machine.joint import TooLarge

    try:
        return respond(opened.circuit_study.circuit, *asked)
    except TooLarge as large:
        raise examine.Refused(f"it is too large even to be sampled: {large}") from None
    except NoSensor:
        raise examine.Refused(f"{opened.path} has no sensor: nothing in it changes at random") from None


def _assumed(opened: Opened, asked: Sequence[Asked]) -> Sequence[Broken] | None:
    """How often days simulated beside the figures break what the proofs assume; None where there can be no such."""
    from circuitcheck.chance.days.together import Plan, live_through
    from circuitcheck.chance.days.walk import Watching
    from circuitcheck.chance.machine.joint import TooLarge

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
    from circuitcheck.chance.first_edge.other_builds import by_cells, by_rules, watched_sensors
    from circuitcheck.report.terminal.response_figures import cells_lines, response_lines, rules_lines

    common.show(response_lines(found, over, common.width(options)))
    common.flush()
    if options.brief:
        return
    circuit = opened.circuit_study.circuit
    sensors = {} if options.define else watched_sensors(circuit, found.edge.name)
    for sensor, cells in sensors.items():
        variants = by_cells(opened.path, options.root, sensor, cells, found.phase, found.edge)
        common.show(cells_lines(sensor, variants, cells, common.width(options)))
    common.show(rules_lines(by_rules(circuit, found.phase, found.edge), circuit.rules.name))


def _data(options: argparse.Namespace, opened: Opened, found: Response, over: Sequence[int]) -> dict[str, Any]:
    from circuitcheck.chance.first_edge.other_builds import by_cells, by_rules, watched_sensors
    from circuitcheck.report.terminal.response_figures import response_data, variant_data

    data = response_data(found, over)
    if options.brief:
        return data
    circuit = opened.circuit_study.circuit
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
    from circuitcheck.judging.responses import judged
    from circuitcheck.model.claims import Timely

    study = opened.circuit_study
    known = {(each.phase, each.edge.name, each.edge.test): each for each in found}
    verdicts = []
    for claim in study.claims:
        body = claim.body
        if isinstance(body, Timely):
            response = known[body.phase, body.edge.name, body.edge.test]
            verdicts.append(judged(claim, body, response, study.circuit))
    return verdicts


def _code(outcomes: Sequence[Outcome]) -> int:
    """The exit code for the file's own claims about responses."""
    from circuitcheck.checks.outcome import FAILING, OPEN

    verdicts = {outcome.verdict for outcome in outcomes}
    return 1 if verdicts & FAILING else 3 if verdicts & OPEN else 0
