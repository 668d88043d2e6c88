"""`prove`: look at every state a circuit can come to, and say what always holds."""

from __future__ import annotations

import argparse
import sys
import time
from typing import Any

from circuitcheck.commands import common

INTERRUPTED = 130


def add(commands: Any) -> None:
    """Adds the command with its options."""
    example = "circuitcheck prove circuits/sluice.circuit"
    does = "prove what always holds, over every input at every game tick and every unknown order"
    parser = common.parser(commands, "prove", does, example, common.guarded(run))
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    common.root_option(parser)
    parser.add_argument("--define", default="", metavar="NAME", help="prove the claims of the definition of that name")
    common.states_option(parser, 250_000)
    parser.add_argument("--memory", type=common.count(50, 10**6), metavar="MB", help="memory that may be held (4,096)")
    parser.add_argument("--json", action="store_true", help="write the report as JSON")


def run(options: argparse.Namespace) -> int:
    """Proves claim by claim, printing as it goes."""
    from circuitcheck import examine
    from circuitcheck.checks.outcome import GOOD, OPEN, FlashingSearch, Outcome
    from circuitcheck.prove.facts import facts, ticking
    from circuitcheck.prove.flashing import flashing
    from circuitcheck.prove.meter import USUAL_MEMORY, USUAL_STATES, Limits
    from circuitcheck.prove.prover import Prover
    from circuitcheck.report.cautions import search_lines
    from circuitcheck.report.chains import Chains
    from circuitcheck.report.proved import fact_lines, proved_lines

    opened = examine.opened(options.path, options.define, options.root)
    if common.mistakes(opened, options):
        return 2
    study = opened.circuit_study
    limits = Limits(options.states or USUAL_STATES, (options.memory << 20) if options.memory else USUAL_MEMORY)
    progress, chains = Progress(), Chains()
    prover = Prover(study, limits, grown=progress.states)
    outcomes: list[Outcome] = []
    known: list[Outcome] = []
    search: FlashingSearch | None = None
    stopped = False
    try:
        if not study.claims and not options.json:
            common.say(f'  {options.path} claims nothing: add a line such as: always "…" possible rest')
        for claim in study.claims:
            progress.begin(claim.title)
            outcomes.append(prover.prove(claim))
            progress.end()
            if not options.json:
                common.show(proved_lines(outcomes[-1], claim, common.width(options), chains))
                common.flush()
        progress.begin("flashing that it makes by itself")
        search = flashing(study, limits, progress.states)
        progress.end()
        if not options.json:
            common.show(search_lines(search, opened.path, common.width(options)))
            common.flush()
        progress.begin("what can always be brought about")
        known += facts(study, limits, progress.states)
        progress.end()
        if not options.json:
            common.show(fact_lines(known, ticking(prover.machine), common.width(options)))
    except KeyboardInterrupt:
        progress.end()
        stopped = True
        print(f"circuitcheck: stopped; {_known(len(study.claims) - len(outcomes), progress.count)}", file=sys.stderr)
    if options.json:
        from circuitcheck.report.data import proof_data

        common.file_json(opened.path, proof_data(outcomes, known, search))
    verdicts = {outcome.verdict for outcome in outcomes}
    if stopped:
        return INTERRUPTED
    return 1 if verdicts - GOOD - OPEN else 3 if verdicts & OPEN else 0


def _known(left: int, states: int) -> str:
    """What is known when exploring is stopped."""
    if not left:
        return "every claim was done with"
    claims = "1 claim is" if left == 1 else f"{left} claims are"
    return f"{claims} left; of the next, {states:,} states were looked at, and nothing broke it there"


class Progress:
    """One line on stderr that says how far exploring has come; only on a terminal, and wiped in the end."""

    PATIENCE = 0.5

    def __init__(self) -> None:
        self.count = 0
        self._title = ""
        self._shown = False
        self._told = time.monotonic()
        self._wanted = sys.stderr.isatty()

    def begin(self, title: str) -> None:
        """The next claim begins."""
        from circuitcheck.report.lines import safe

        self._title, self.count = safe(title)[:50], 0

    def states(self, count: int) -> None:
        """So many states have been found."""
        self.count = count
        if self._wanted and time.monotonic() - self._told > self.PATIENCE:
            self._told = time.monotonic()
            self._shown = True
            print(f"\r\x1b[2K{count:,} states: {self._title}", end="", file=sys.stderr, flush=True)

    def end(self) -> None:
        """Wipes the line."""
        if self._shown:
            print("\r\x1b[2K", end="", file=sys.stderr, flush=True)
            self._shown = False
