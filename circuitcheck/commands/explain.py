"""`explain`: what a circuit is, why an output is inverted, why a signal is what it is."""

from __future__ import annotations

import argparse
from typing import Any

from circuitcheck import examine
from circuitcheck.commands import common, printing
from circuitcheck.explain.cause import why
from circuitcheck.explain.circuit_reading import read_circuit
from circuitcheck.explain.function import inputs_of, rewired_by
from circuitcheck.explain.inversion import inversion, turns
from circuitcheck.model.duration import show
from circuitcheck.report.terminal.explained import inversion_lines, reading_lines, turn_lines
from circuitcheck.report.terminal.failure import why_lines
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
    name = examine.signal(traced.recording.program, options.why)
    if at > traced.recording.until:
        until = show(traced.recording.until)
        longer = f"a line 'until {options.at}' makes it longer"
        raise examine.Refused(f"the run of '{traced.title}' ends at {until}, before {options.at}; {longer}")
    printing.show(heading(traced, printing.width(options)))
    printing.show(why_lines(why(traced.recording, name, at), printing.width(options), at))
    return 0


def _inversion(options: argparse.Namespace, opened: Any, progress: Progress) -> int:
    program = opened.program
    output = examine.signal(program, options.output)
    inputs = [examine.input_of(program, options.input)] if options.input else list(inputs_of(program.circuit, output))
    if not inputs:
        piston = rewired_by(program)
        where = f" with every piston at home, and what '{piston}' moves is not followed here" if piston else ""
        raise examine.Refused(f"no input reaches '{options.output}'{where}")
    groups: dict[object, list[Any]] = {}
    for name in inputs:
        progress.tell(f"paths from '{name}' to '{options.output}'")
        found = inversion(program, output, name)
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


def _reading(options: argparse.Namespace, opened: Any, progress: Progress) -> int:
    program = opened.program
    reading = read_circuit(program, progress.tell)
    printing.show(reading_lines(reading, program.circuit, printing.width(options)))
    return 0
