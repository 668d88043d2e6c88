"""`sweep`: change one thing at a time, and see what of all that is asked still holds."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from circuitcheck.commands import common

if TYPE_CHECKING:
    from circuitcheck.sweeps.faults import Faults
    from circuitcheck.sweeps.tolerance import Tolerances

STOPPED = "not judged: stopped before"


def add(commands: Any) -> None:
    """Adds the command with its options."""
    example = "circuitcheck sweep circuits/sluice.circuit"
    does = "change one setting at a time and say how far each can go; or, with --faults, how good the checks are"
    parser = common.parser(commands, "sweep", does, example, common.guarded(run))
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    common.root_option(parser)
    parser.add_argument("--define", default="", metavar="NAME", help="sweep the definition of that name")
    parser.add_argument(
        "--faults", action="store_true", help="put single faults in, and list those that no check detects"
    )
    common.states_option(parser, 50_000)
    parser.add_argument("--workers", type=common.count(1, 512), metavar="N", help="processes to share the work")
    parser.add_argument("--cluster", default="", metavar="ADDRESS", help="a cluster to share the work (an extra)")
    common.quiet_option(parser)
    parser.add_argument("--json", action="store_true", help="write the report as JSON")


def run(options: argparse.Namespace) -> int:
    """Sweeps, and prints what came of it. Exit code 1 where a fault is missed, or the circuit as it stands fails."""
    from circuitcheck import examine
    from circuitcheck.prove.meter import USUAL_STATES
    from circuitcheck.sweeps.executors import NoCluster, executor_of, usual_workers
    from circuitcheck.sweeps.faults import Faults
    from circuitcheck.sweeps.tasks import NOT_JUDGED
    from circuitcheck.sweeps.tolerance import Tolerances
    from circuitcheck.sweeps.variants import first_failing, share_of

    opened = examine.opened(options.path, options.define, options.root)
    if common.mistakes(opened, options):
        return 2
    study = opened.circuit_study
    if not study.checks and not study.claims:
        raise examine.Refused(f"{options.path} has no check or claim for this circuit, so there is nothing to sweep")
    states = options.states or USUAL_STATES
    workers = options.workers or usual_workers()
    try:
        with common.progress(options) as progress:
            sound = False
            if options.faults:
                as_it_stands, _ = first_failing((study, states, share_of(states, 1)))
                if as_it_stands.holds is False:
                    broken = f"“{as_it_stands.title}” fails as it stands: {as_it_stands.reason}"
                    return common.failing(f"{broken}; fix that first")
                sound = as_it_stands.holds is True
            sweep = Faults(study, states, sound) if options.faults else Tolerances(study, states)
            try:
                with executor_of(workers, options.cluster) as executor:
                    sweep.carry_out(executor, lambda done, of: progress.tell(f"{done:,} of {of:,} tried"))
            except KeyboardInterrupt:
                common.refuse(f"stopped; {len(sweep.results):,} of {sweep.size:,} were judged")
                _told(options, sweep, STOPPED)
                return common.INTERRUPTED
        return _told(options, sweep, NOT_JUDGED)
    except NoCluster as error:
        return common.refuse(str(error))


def _told(options: argparse.Namespace, sweep: Tolerances | Faults, left_out: str) -> int:
    """Prints what a sweep came to, `left_out` being why some of it was not judged. Returns the exit code for it."""
    from circuitcheck.sweeps.tolerance import Tolerances

    return _settings(options, sweep, left_out) if isinstance(sweep, Tolerances) else _faults(options, sweep, left_out)


def _settings(options: argparse.Namespace, sweep: Tolerances, left_out: str) -> int:
    from circuitcheck.report.terminal.swept import tolerance_data, tolerance_lines

    found = sweep.found(left_out)
    if options.json:
        common.file_json(options.path, {"settings": tolerance_data(found)})
    else:
        common.show(tolerance_lines(found, common.width(options)))
    verdicts = [verdict for each in found for verdict in each.verdicts]
    chosen = {
        verdict.holds
        for each in found
        for value, verdict in zip(each.setting.values, each.verdicts, strict=True)
        if value == each.setting.chosen
    }
    return 1 if False in chosen else 3 if None in chosen or not all(each.tried for each in verdicts) else 0


def _faults(options: argparse.Namespace, sweep: Faults, left_out: str) -> int:
    from circuitcheck.report.terminal.swept import fault_data, fault_lines

    found = sweep.found(left_out)
    if options.json:
        common.file_json(options.path, {"faults": fault_data(found)})
    else:
        common.show(fault_lines(found, common.width(options)))
    missed = any(each.verdicts.tried and each.verdicts.holds is not False and not each.alike for each in found)
    return 1 if missed else 0 if all(each.verdicts.tried for each in found) else 3
