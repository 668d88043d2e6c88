"""`explain`: what a circuit is, why an output is inverted, why a signal is what it is."""

from __future__ import annotations

import argparse
from typing import Any

from circuitcheck import examine
from circuitcheck.commands import common, printing
from circuitcheck.explain.cause import why
from circuitcheck.explain.circuit_reading import outputs_of, read_circuit
from circuitcheck.explain.function import TooLarge, inputs_of
from circuitcheck.explain.inversion import inversion, turns
from circuitcheck.explain.moving_function import moves, moving_function
from circuitcheck.model.duration import show
from circuitcheck.report.exchange.explained_data import inversions_data, moving_data, reading_data, why_data
from circuitcheck.report.terminal.explained import inversion_lines, reading_lines, turn_lines
from circuitcheck.report.terminal.failure import why_lines
from circuitcheck.report.terminal.moving_machine import moving_lines
from circuitcheck.report.terminal.progress import Progress
from circuitcheck.report.terminal.traced import heading


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Reads, and explains what is asked for."""
    if bool(options.why) is not bool(options.at):
        raise examine.Refused("--why NAME and --at TIME go together")
    common.together(options, "why", "output")
    common.together(options, "why", "input")
    common.together(options, "line", "define")
    common.together(options, "line", "check")
    if options.input and not options.output:
        raise examine.Refused("--input NAME needs an OUTPUT to compare it with")
    if not options.why and (options.check or options.line):
        raise examine.Refused("--check and --line choose the run, and go with --why")
    opened = examine.opened_as_asked(options.path, options.line, options.define, options.root)
    if common.mistakes(opened, options):
        return 2
    with printing.progress(options) as progress:
        if options.why:
            return _why(options, opened)
        if options.output:
            return _inversion(options, opened, progress)
        return _reading(options, opened, progress)


def _why(options: argparse.Namespace, opened: Any) -> int:
    at = examine.game_tick(options.at)
    traced = examine.traced(opened, options.check)
    name = examine.shown(traced.recording.program, options.why)
    if at > traced.recording.until:
        until = show(traced.recording.until)
        longer = f"a line 'until {options.at}' makes it longer"
        raise examine.Refused(f"the run of '{traced.title}' ends at {until}, before {options.at}; {longer}")
    found = why(traced.recording, name, at)
    if options.json:
        printing.file_json(options.path, why_data(found))
        return 0
    printing.show(heading(traced, printing.width(options)))
    printing.show(why_lines(found, printing.width(options), at))
    return 0


def _inversion(options: argparse.Namespace, opened: Any, progress: Progress) -> int:
    program = opened.program
    output = examine.signal(program, options.output)
    if moves(program):
        return _of_moving(options, program, progress)
    inputs = [examine.input_of(program, options.input)] if options.input else list(inputs_of(program.circuit, output))
    if not inputs:
        raise examine.Refused(f"no input reaches '{options.output}'")
    stands = []
    for name in inputs:
        progress.tell(f"paths from '{name}' to '{options.output}'")
        stands.append(inversion(program, output, name))
    if options.json:
        printing.file_json(options.path, inversions_data(options.output, stands, turns(program, output)))
        return 0
    groups: dict[object, list[Any]] = {}
    for found in stands:
        shape = (
            found.relation,
            found.paths.counted,
            tuple((path.lag, path.inverted, len(path.hops)) for path in found.paths.paths),
        )
        groups.setdefault(shape, []).append(found)
    for first, *others in groups.values():
        printing.show(inversion_lines(first, [other.input for other in others], printing.width(options)))
    printing.show(turn_lines(turns(program, output), options.output, printing.width(options)))
    return 0


def _of_moving(options: argparse.Namespace, program: Any, progress: Progress) -> int:
    """What an output is in each configuration of a machine that moves, and over all of its rests."""
    only = (examine.input_of(program, options.input),) if options.input else ()
    progress.tell(f"the rests of the machine, for '{options.output}'")
    found = moving_function(program, options.output, outputs_of(program.circuit))
    if isinstance(found, TooLarge):
        raise examine.Refused(f"'{options.output}' was not computed: {found.why}")
    if options.json:
        printing.file_json(options.path, moving_data(found))
    else:
        printing.show(moving_lines(found, printing.width(options), only))
    return 0


def _reading(options: argparse.Namespace, opened: Any, progress: Progress) -> int:
    program = opened.program
    reading = read_circuit(program, progress.tell)
    if options.json:
        printing.file_json(options.path, reading_data(reading))
        return 0
    printing.show(reading_lines(reading, program.circuit, printing.width(options)))
    return 0
