"""`sweep`: change one thing at a time, and see what of all that is asked still holds."""

from __future__ import annotations

import argparse
import sys
from typing import Any

from circuitcheck.commands import common


def add(commands: Any) -> None:
    """Adds the command with its options."""
    example = "circuitcheck sweep circuits/sluice.circuit"
    does = "change one setting at a time and say how far each can go; or, with --faults, how good the checks are"
    parser = common.parser(commands, "sweep", does, example, common.guarded(run))
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    common.root_option(parser)
    parser.add_argument("--define", default="", metavar="NAME", help="sweep the definition of that name")
    parser.add_argument("--faults", action="store_true", help="put single faults in, and list those nothing notices")
    common.states_option(parser, 50_000)
    parser.add_argument("--workers", type=common.count(1, 512), metavar="N", help="processes to spread it over")
    parser.add_argument("--cluster", default="", metavar="ADDRESS", help="a cluster to spread it over (an extra)")
    parser.add_argument("--json", action="store_true", help="write the report as JSON")


def run(options: argparse.Namespace) -> int:
    """Sweeps, and prints what came of it. Exit code 1 where a fault is missed, or the circuit as it stands fails."""
    from circuitcheck import examine
    from circuitcheck.prove.executors import NoCluster, executor_of, usual_workers
    from circuitcheck.prove.sweep import USUAL_STATES

    opened = examine.opened(options.path, options.define, options.root)
    if common.mistakes(opened, options):
        return 2
    study = opened.circuit_study
    if not study.checks and not study.claims:
        raise examine.Refused(f"{options.path} asks nothing of this circuit: there is no check or claim to sweep by")
    states = options.states or USUAL_STATES
    workers = options.workers or usual_workers()
    try:
        with executor_of(workers, options.cluster) as executor:
            return (
                _faults(options, study, states, executor)
                if options.faults
                else _settings(options, study, states, executor)
            )
    except NoCluster as error:
        return common.refuse(str(error))


def _settings(options: argparse.Namespace, study: Any, states: int, executor: Any) -> int:
    from circuitcheck.prove.tolerance import Tolerances
    from circuitcheck.report.swept import tolerance_data, tolerance_lines

    sweep = Tolerances(study, states)
    sweep.carry_out(executor, _told)
    found = sweep.found()
    _wiped()
    if options.json:
        common.file_json(options.path, {"settings": tolerance_data(found)})
    else:
        common.show(tolerance_lines(found, common.width(options)))
    chosen = {
        verdict.holds
        for each in found
        for value, verdict in zip(each.setting.values, each.verdicts, strict=True)
        if value == each.setting.chosen
    }
    return 1 if False in chosen else 3 if None in chosen else 0


def _faults(options: argparse.Namespace, study: Any, states: int, executor: Any) -> int:
    from circuitcheck.prove.faults import Faults
    from circuitcheck.prove.variants import verdicts
    from circuitcheck.report.swept import fault_data, fault_lines

    as_it_stands, _ = verdicts((study, states))
    if as_it_stands.holds is False:
        return common.failing(f"“{as_it_stands.title}” fails as it stands: {as_it_stands.reason}; mend that first")
    sweep = Faults(study, states)
    sweep.carry_out(executor, _told)
    found = sweep.found()
    _wiped()
    if options.json:
        common.file_json(options.path, {"faults": fault_data(found)})
    else:
        common.show(fault_lines(found, common.width(options)))
    missed = any(each.verdicts.tried and each.verdicts.holds is not False and not each.alike for each in found)
    return 1 if missed else 0 if all(each.verdicts.tried for each in found) else 3


def _told(done: int, of: int) -> None:
    if sys.stderr.isatty():
        print(f"\r\x1b[2K{done} of {of} tried", end="", file=sys.stderr, flush=True)


def _wiped() -> None:
    if sys.stderr.isatty():
        print("\r\x1b[2K", end="", file=sys.stderr, flush=True)
