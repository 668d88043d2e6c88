"""`sweep`: change one thing at a time, and see what of all that is asked still holds."""

from __future__ import annotations

import argparse

from circuitcheck import examine
from circuitcheck.commands import common, printing
from circuitcheck.prove.meter import USUAL_STATES
from circuitcheck.report.terminal.swept import fault_data, fault_lines, tolerance_data, tolerance_lines
from circuitcheck.sweeps.executors import NoCluster, executor_of, usual_workers
from circuitcheck.sweeps.faults import Faults
from circuitcheck.sweeps.tasks import NOT_JUDGED
from circuitcheck.sweeps.tolerance import Tolerances
from circuitcheck.sweeps.variants import first_failing, work_for

STOPPED = "not judged: stopped before"


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Sweeps, and prints what came of it. Exit code 1 where a fault is missed, or the circuit as it stands fails."""
    opened = examine.opened(options.path, options.define, options.root)
    if common.mistakes(opened, options):
        return 2
    study = opened.circuit_study
    if not study.checks and not study.claims:
        raise examine.Refused(f"{options.path} has no check or claim for this circuit, so there is nothing to sweep")
    states = options.states or USUAL_STATES
    workers = options.workers or usual_workers()
    try:
        with printing.progress(options) as progress:
            holds, sound = False, 0
            if options.faults:
                as_it_stands, spent = first_failing((study, states, work_for(states)))
                if as_it_stands.holds is False:
                    broken = f"“{as_it_stands.title}” fails as it stands: {as_it_stands.reason}"
                    return printing.failing(f"{broken}; fix that first")
                holds = as_it_stands.holds is True
                sound = spent if holds else 0
            sweep = Faults(study, states, holds, sound) if options.faults else Tolerances(study, states)
            try:
                with executor_of(workers, options.cluster) as executor:
                    sweep.carry_out(executor, lambda done, of: progress.tell(f"{done:,} of {of:,} tried"))
            except KeyboardInterrupt:
                printing.refuse(f"stopped; {len(sweep.results):,} of {sweep.size:,} were judged")
                _told(options, sweep, STOPPED)
                return printing.INTERRUPTED
        return _told(options, sweep, NOT_JUDGED)
    except NoCluster as error:
        return printing.refuse(str(error))


def _told(options: argparse.Namespace, sweep: Tolerances | Faults, left_out: str) -> int:
    """Prints what a sweep came to, `left_out` being why some of it was not judged. Returns the exit code for it."""
    return _settings(options, sweep, left_out) if isinstance(sweep, Tolerances) else _faults(options, sweep, left_out)


def _settings(options: argparse.Namespace, sweep: Tolerances, left_out: str) -> int:
    found = sweep.found(left_out)
    if options.json:
        printing.file_json(options.path, {"settings": tolerance_data(found)})
    else:
        printing.show(tolerance_lines(found, printing.width(options)))
    verdicts = [verdict for each in found for verdict in each.verdicts]
    chosen = {
        verdict.holds
        for each in found
        for value, verdict in zip(each.setting.values, each.verdicts, strict=True)
        if value == each.setting.chosen
    }
    return 1 if False in chosen else 3 if None in chosen or not all(each.tried for each in verdicts) else 0


def _faults(options: argparse.Namespace, sweep: Faults, left_out: str) -> int:
    found = sweep.found(left_out)
    if options.json:
        printing.file_json(options.path, {"faults": fault_data(found)})
    else:
        printing.show(fault_lines(found, printing.width(options)))
    if any(each.missed for each in found):
        return 1
    return 0 if all(each.detected or each.alike for each in found) else 3
