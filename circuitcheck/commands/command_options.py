"""The options of every command, apart from what each does: help and completion read these and import no command.

Those of the commands about drawings stand in `drawing_options`, about what happens by chance in `chance_options`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from circuitcheck.commands import arguments, chance_options, drawing_options

SHELLS = ("bash", "zsh")


def _verify(commands: Any) -> None:
    example = "circuitcheck verify circuits/sluice.circuit"
    does = "run every check of circuit files and say what holds, and why not"
    parser = arguments.parser(commands, "verify", does, example)
    parser.add_argument("paths", nargs="+", metavar="PATH", help="circuit files, or folders of them")
    arguments.root_option(parser)
    parser.add_argument("--json", action="store_true", help="write the report as JSON")
    parser.add_argument(
        "--sarif", type=arguments.path, metavar="FILE", help="also write failures and warnings as SARIF 2.1.0"
    )
    parser.add_argument("--junit", type=arguments.path, metavar="FILE", help="also write the verdicts as a JUnit log")
    parser.add_argument(
        "--changed",
        action="store_true",
        help="leave out files that are unchanged since they passed, with all they use",
    )
    parser.add_argument("--record", type=arguments.path, metavar="FILE", help="where --changed keeps what passed")
    parser.add_argument("--watch", action="store_true", help="verify again at each save, until Ctrl-C")
    parser.add_argument(
        "--jobs", type=arguments.count(1, 256), default=1, metavar="N", help="processes to share the work"
    )
    parser.add_argument(
        "--states",
        type=arguments.count(0, 10**9),
        metavar="N",
        help="budget of states for each claim (250,000); with 0, claims are only watched in the checks' runs",
    )
    arguments.seconds_option(parser, "limit of seconds for proving the claims of a file (no bound)")
    parser.add_argument("--quiet", action="store_true", help="show only what does not hold, and no progress")


def _format(commands: Any) -> None:
    example = "circuitcheck format --check circuits"
    does = "put circuit files into the standard layout: words in columns, blocks indented, comments kept"
    parser = arguments.parser(commands, "format", does, example)
    parser.add_argument("paths", nargs="+", metavar="PATH", help="circuit files, or folders of them")
    parser.add_argument("--check", action="store_true", help="change nothing, name the files not in it, and exit 1")
    parser.add_argument("--quiet", action="store_true", help="name only files with mistakes")


def _prove(commands: Any) -> None:
    example = "circuitcheck prove circuits/sluice.circuit"
    does = "prove what always holds, over every input at every game tick and every unknown order"
    parser = arguments.parser(commands, "prove", does, example)
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    arguments.root_option(parser)
    parser.add_argument("--define", default="", metavar="NAME", help="prove the claims of the definition of that name")
    arguments.states_option(parser, 250_000)
    parser.add_argument("--memory", type=arguments.count(50, 10**6), metavar="MB", help="limit of memory (4,096)")
    arguments.seconds_option(parser, "seconds after which proving ends (no bound)")
    parser.add_argument("--only-claims", action="store_true", help="prove only what the file claims")
    parser.add_argument(
        "--certificate",
        type=arguments.path,
        metavar="FOLDER",
        help="write a new folder of proofs that others can check",
    )
    arguments.quiet_option(parser)
    parser.add_argument("--json", action="store_true", help="write the report as JSON")


def _certified(commands: Any) -> None:
    example = "circuitcheck certified sluice-proofs"
    does = "check a folder of proofs that prove or least has written, apart from what found them (an extra)"
    parser = arguments.parser(commands, "certified", does, example)
    parser.add_argument("folder", metavar="FOLDER", help="a folder that prove or least --certificate has written")
    help_ = "the circuit file that it is to be about; the one in the folder if left out"
    parser.add_argument("--file", type=arguments.path, metavar="FILE", help=help_)
    arguments.root_option(parser)
    help_ = "of a folder of least: budget of states for one claim of a netlist that no proof excludes (50,000)"
    parser.add_argument("--states", type=arguments.count(1, 10**9), metavar="N", help=help_)
    arguments.seconds_option(parser, "of a folder of least: after so many seconds nothing more is checked")
    arguments.quiet_option(parser)


def _cure(commands: Any) -> None:
    example = "circuitcheck cure weir.circuit --write cured.circuit"
    does = "find the least changes of a file in which something fails, so that all of it holds"
    parser = arguments.parser(commands, "cure", does, example)
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    arguments.root_option(parser)
    parser.add_argument("--write", type=arguments.path, metavar="FILE", help="write the first cure as a new file")
    parser.add_argument(
        "--tries", type=arguments.count(0, 10**9), metavar="N", help="how many changes are tried at most (60,000)"
    )
    arguments.states_option(parser, 250_000)
    arguments.seconds_option(parser, "seconds after which the search ends (no bound)")
    arguments.quiet_option(parser)
    parser.add_argument("--json", action="store_true", help="write the report as JSON")


def _sweep(commands: Any) -> None:
    example = "circuitcheck sweep circuits/sluice.circuit"
    does = "change one setting at a time and say how far each can go; or, with --faults, how good the checks are"
    parser = arguments.parser(commands, "sweep", does, example)
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    arguments.root_option(parser)
    parser.add_argument("--define", default="", metavar="NAME", help="sweep the definition of that name")
    parser.add_argument(
        "--faults", action="store_true", help="put single faults in, and list those that no check detects"
    )
    arguments.states_option(parser, 50_000)
    parser.add_argument("--workers", type=arguments.count(1, 512), metavar="N", help="processes to share the work")
    parser.add_argument("--cluster", default="", metavar="ADDRESS", help="a cluster to share the work (an extra)")
    arguments.quiet_option(parser)
    parser.add_argument("--json", action="store_true", help="write the report as JSON")


def _rules(commands: Any) -> None:
    example = "circuitcheck rules circuits/sluice.circuit"
    does = "judge every check and claim under each named set of rules, as one table"
    parser = arguments.parser(commands, "rules", does, example)
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    arguments.root_option(parser)
    arguments.states_option(parser, 250_000)
    parser.add_argument("--json", action="store_true", help="write the table as JSON")


def _try(commands: Any) -> None:
    example = 'circuitcheck try circuits/sluice.circuit "at 5t pond.1 on" "until 30t"'
    parser = arguments.parser(commands, "try", "set a circuit's inputs and draw what happens", example)
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    arguments.root_option(parser)
    parser.add_argument(
        "lines", nargs="+", metavar="LINE", help='lines of a check, such as "at 5t pond.1 on" or "until 30t"'
    )
    parser.add_argument(
        "--show", action="append", metavar="NAME", help="a signal to draw; inputs and outputs if none is named"
    )


def _bench(commands: Any) -> None:
    example = "circuitcheck bench circuits/sluice.circuit"
    does = "work a circuit by hand in a browser, on this machine alone (takes the extra 'bench')"
    parser = arguments.parser(commands, "bench", does, example)
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    arguments.root_option(parser)
    parser.add_argument("--define", default="", metavar="NAME", help="a definition of the file, standing alone")
    help_ = "the port to serve it on; any that is free if left out"
    parser.add_argument("--port", type=arguments.count(0, 65_535), default=0, metavar="N", help=help_)
    parser.add_argument("--no-browser", action="store_true", help="only print the address")


def _trace(commands: Any) -> None:
    example = 'circuitcheck trace circuits/sluice.circuit --check "it opens on time" --account'
    parser = arguments.parser(commands, "trace", "draw the run of a check over time", example)
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    arguments.root_option(parser)
    parser.add_argument("--check", default="", metavar="TITLE", help="the check; the first that fails if none is named")
    parser.add_argument("--define", default="", metavar="NAME", help="a definition of the file, standing alone")
    parser.add_argument("--line", action="append", metavar="LINE", help="a line of a check to run instead")
    parser.add_argument("--show", action="append", metavar="NAME", help="a signal to show")
    parser.add_argument("--account", action="store_true", help="list every change with its rule and cause, row by row")
    parser.add_argument(
        "--vcd", type=arguments.path, metavar="PATH", help="write the run as a value change dump (IEEE 1364)"
    )
    parser.add_argument("--svg", type=arguments.path, metavar="PATH", help="write the picture as SVG")


def _explain(commands: Any) -> None:
    example = "circuitcheck explain circuits/sluice.circuit open --input pond.1"
    does = "explain what a circuit computes, why an output is inverted, or why a signal is on or off"
    parser = arguments.parser(commands, "explain", does, example)
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    arguments.root_option(parser)
    arguments.quiet_option(parser)
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
    parser.add_argument("--json", action="store_true", help="write it as JSON")


def _diagnose(commands: Any) -> None:
    example = 'circuitcheck diagnose circuits/sluice.circuit "pond.1 on" "open off" "shut on"'
    does = "list the single building mistakes that explain what you see of a build that does not work"
    parser = arguments.parser(commands, "diagnose", does, example)
    parser.add_argument("path", metavar="FILE", help="a circuit file: the machine as it was meant")
    arguments.root_option(parser)
    arguments.quiet_option(parser)
    parser.add_argument(
        "lines",
        nargs="+",
        metavar="SEEN",
        help='what was done ("pond.1 on") and what is seen once settled ("open off"), or lines of a check with times',
    )


def _least(commands: Any) -> None:
    example = "circuitcheck least weir.circuit --write made.circuit"
    does = "find the fewest torches and repeaters for which all that a file asks holds"
    parser = arguments.parser(commands, "least", does, example)
    parser.add_argument("path", metavar="FILE", help="a circuit file with checks or claims; it may have no parts yet")
    arguments.quiet_option(parser)
    parser.add_argument(
        "--most",
        type=arguments.count(0, 8),
        metavar="N",
        help="up to how many torches and repeaters; as many as the file has if left out, or 3; not with --by-steps",
    )
    parser.add_argument(
        "--by-steps",
        action="store_true",
        help="make the file's own circuit smaller one change at a time, whatever parts it has: best found, not least",
    )
    parser.add_argument(
        "--same",
        action="store_true",
        help="every output must be as before at every gt, as long as no torch burns out; needs no claims",
    )
    parser.add_argument(
        "--shift",
        type=arguments.count(0, 40),
        default=0,
        metavar="N",
        help="with --same: lamps and the like may all react up to so many gt earlier or later, by one constant shift",
    )
    arguments.states_option(parser, 50_000)
    arguments.seconds_option(
        parser, "search for so many seconds, not as long as 15,000,000 states last, which is up to ten minutes"
    )
    parser.add_argument("--write", type=arguments.path, metavar="PATH", help="write the file with what was found")
    parser.add_argument(
        "--certificate",
        type=arguments.path,
        metavar="FOLDER",
        help="write a new folder of proofs that no smaller circuit will do, which others can check",
    )
    parser.add_argument("--json", action="store_true", help="write it as JSON")


def _compare(commands: Any) -> None:
    example = "circuitcheck compare old.circuit new.circuit"
    does = "compare two circuits: what they compute, how they react, what they cost"
    parser = arguments.parser(commands, "compare", does, example)
    parser.add_argument("first", metavar="A", help="a circuit file")
    parser.add_argument("second", metavar="B", help="another, with the same inputs and outputs")
    arguments.root_option(parser)
    arguments.quiet_option(parser)
    parser.add_argument("--define", default="", metavar="NAME", help="compare the definition of that name in each")


def _graph(commands: Any) -> None:
    example = "circuitcheck graph circuits/sluice.circuit --svg sluice.svg"
    does = "write the signal graph: DOT to standard output, or files"
    parser = arguments.parser(commands, "graph", does, example)
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    arguments.root_option(parser)
    parser.add_argument("--define", default="", metavar="NAME", help="a definition of the file, standing alone")
    parser.add_argument("--dot", type=arguments.path, metavar="PATH", help="write DOT to a file")
    parser.add_argument("--graphml", type=arguments.path, metavar="PATH", help="write GraphML to a file")
    parser.add_argument("--svg", type=arguments.path, metavar="PATH", help="draw it as SVG")


def _report(commands: Any) -> None:
    example = "circuitcheck report circuits/sluice.circuit -o sluice.html"
    does = "verify a file and write one page for a browser: verdicts, runs, graph, light, layers as powered"
    parser = arguments.parser(commands, "report", does, example)
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    parser.add_argument(
        "-o", "--output", type=arguments.path, required=True, metavar="PATH", help="where to write the page (HTML)"
    )
    arguments.root_option(parser)
    parser.add_argument(
        "--states",
        type=arguments.count(0, 10**9),
        metavar="N",
        help="budget of states for each claim (250,000); with 0, claims are only watched in the checks' runs",
    )
    parser.add_argument("--covered", action="store_true", help="begin with the answers covered, for teaching")


def _editor(commands: Any) -> None:
    example = "circuitcheck editor"
    does = "answer an editor over standard input and output (Language Server Protocol; takes the extra 'editor')"
    parser = arguments.parser(commands, "editor", does, example)
    arguments.root_option(parser)


def _completion(commands: Any) -> None:
    example = 'eval "$(circuitcheck completion bash)"'
    does = "write a script that completes commands, options and files in a shell"
    parser = arguments.parser(commands, "completion", does, example)
    parser.add_argument("shell", choices=SHELLS, help="the shell that the script is for")


def _manual(commands: Any) -> None:
    does = "show the page on exit codes, the environment and files"
    arguments.parser(commands, "manual", does, "circuitcheck manual")


OPTIONS: Mapping[str, Callable[[Any], None]] = {
    "verify": _verify,
    "format": _format,
    "prove": _prove,
    "certified": _certified,
    "cure": _cure,
    "sweep": _sweep,
    "rules": _rules,
    "light": drawing_options.light,
    "response": chance_options.response,
    "days": chance_options.days,
    "try": _try,
    "bench": _bench,
    "trace": _trace,
    "explain": _explain,
    "diagnose": _diagnose,
    "least": _least,
    "draw": drawing_options.draw,
    "compact": drawing_options.compact,
    "compare": _compare,
    "graph": _graph,
    "report": _report,
    "sheets": drawing_options.sheets,
    "hears": drawing_options.hears,
    "tile": drawing_options.tile,
    "editor": _editor,
    "completion": _completion,
    "manual": _manual,
}
"""What adds each command with its options, in the order in which help shows them."""
