"""`explain`: what a circuit is, why an output is inverted, why a signal is what it is."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from circuitcheck.commands import common

if TYPE_CHECKING:
    from circuitcheck.report.terminal.progress import Progress


def add(commands: Any) -> None:
    """Adds the command with its options."""
    example = "circuitcheck explain circuits/sluice.circuit open --input pond.1"
    does = "explain what a circuit computes, why an output is inverted, or why a signal is on or off"
    parser = common.parser(commands, "explain", does, example, common.guarded(run))
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    common.root_option(parser)
    common.quiet_option(parser)
    parser.add_argument(
        "output", nargs="?", metavar="OUTPUT", help="an output: whether it is inverted, and how to invert it"
    )
    parser.add_argument(
        "--input", metavar="NAME", help="the input to compare the output with; all that reach it if left out"
    )
    parser.add_argument("--why", metavar="NAME", help="a signal: why it is on or off, at a time, in a check's run")
    parser.add_argument("--at", metavar="TIME", help="the time, such as 16t")
    parser.add_argument(
        "--check",
        default="",
        metavar="TITLE",
        help="the check whose run is explained; the first that fails if none is named",
    )
    parser.add_argument("--line", action="append", metavar="LINE", help="a line of a check to run instead")
    parser.add_argument("--define", default="", metavar="NAME", help="a definition of the file, standing alone")


def run(options: argparse.Namespace) -> int:
    """Reads, and explains what is asked for."""
    from circuitcheck import examine

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
    with common.progress(options) as progress:
        if options.why:
            return _why(options, opened)
        if options.output:
            return _inversion(options, opened, progress)
        return _reading(options, opened, progress)


def _why(options: argparse.Namespace, opened: Any) -> int:
    from circuitcheck import examine
    from circuitcheck.explain.cause import why
    from circuitcheck.report.terminal.failure import why_lines
    from circuitcheck.report.terminal.traced import heading

    at = examine.game_tick(options.at)
    traced = examine.traced(opened, options.check)
    name = examine.signal(traced.recording.program, options.why)
    if at > traced.recording.until:
        from circuitcheck.model.duration import show

        until = show(traced.recording.until)
        longer = f"a line 'until {options.at}' makes it longer"
        raise examine.Refused(f"the run of '{traced.title}' ends at {until}, before {options.at}; {longer}")
    common.show(heading(traced, common.width(options)))
    common.show(why_lines(why(traced.recording, name, at), common.width(options), at))
    return 0


def _inversion(options: argparse.Namespace, opened: Any, progress: Progress) -> int:
    from circuitcheck import examine
    from circuitcheck.explain.function import inputs_of
    from circuitcheck.explain.inversion import inversion, turns
    from circuitcheck.report.terminal.explained import inversion_lines, turn_lines

    program = opened.program
    output = examine.signal(program, options.output)
    inputs = [examine.input_of(program, options.input)] if options.input else list(inputs_of(program.circuit, output))
    if not inputs:
        raise examine.Refused(f"no input reaches '{options.output}'")
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
        common.show(inversion_lines(first, [other.input for other in others], common.width(options)))
    common.show(turn_lines(turns(program, output), options.output, common.width(options)))
    return 0


def _reading(options: argparse.Namespace, opened: Any, progress: Progress) -> int:
    from circuitcheck.explain.circuit_reading import read_circuit
    from circuitcheck.report.terminal.explained import reading_lines

    program = opened.program
    reading = read_circuit(program, progress.tell)
    common.show(reading_lines(reading, program.circuit, common.width(options)))
    return 0
