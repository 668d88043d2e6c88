"""`prove`: look at every state a circuit can reach, and say what always holds."""

from __future__ import annotations

import argparse
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from circuitcheck.commands import common

if TYPE_CHECKING:
    from circuitcheck.checks.outcome import FlashingSearch, Outcome
    from circuitcheck.model.claims import Study
    from circuitcheck.prove.meter import Limits
    from circuitcheck.prove.prover import Prover


def add(commands: Any) -> None:
    """Adds the command with its options."""
    example = "circuitcheck prove circuits/sluice.circuit"
    does = "prove what always holds, over every input at every game tick and every unknown order"
    parser = common.parser(commands, "prove", does, example, common.guarded(run))
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    common.root_option(parser)
    parser.add_argument("--define", default="", metavar="NAME", help="prove the claims of the definition of that name")
    common.states_option(parser, 250_000)
    parser.add_argument("--memory", type=common.count(50, 10**6), metavar="MB", help="limit of memory (4,096)")
    common.seconds_option(parser, "seconds after which proving ends (no bound)")
    parser.add_argument("--only-claims", action="store_true", help="prove only what the file claims")
    common.quiet_option(parser)
    parser.add_argument("--json", action="store_true", help="write the report as JSON")


@dataclass
class Found:
    """What has been found so far, and how many states for what is explored now."""

    claims: list[Outcome] = field(default_factory=list)
    facts: list[Outcome] = field(default_factory=list)
    flashing: FlashingSearch | None = None
    states: int = 0


def run(options: argparse.Namespace) -> int:
    """Proves claim by claim, printing as it goes."""
    from circuitcheck import examine
    from circuitcheck.checks.outcome import GOOD, OPEN

    opened = examine.opened(options.path, options.define, options.root)
    if common.mistakes(opened, options):
        return 2
    found = Found()
    code = 0
    try:
        _explore(options, opened.circuit_study, found)
    except KeyboardInterrupt:
        code = common.INTERRUPTED
        common.refuse(f"stopped; {_left(len(opened.circuit_study.claims) - len(found.claims), found.states)}")
    if options.json:
        from circuitcheck.report.exchange.data import proof_data

        common.file_json(opened.path, proof_data(found.claims, found.facts, found.flashing))
    verdicts = {outcome.verdict for outcome in found.claims}
    return code or (1 if verdicts - GOOD - OPEN else 3 if verdicts & OPEN else 0)


def _explore(options: argparse.Namespace, study: Study, found: Found) -> None:
    """Adds to what has been found: each claim, then flashing, then what nobody asked for; says each as it falls."""
    from circuitcheck.judging.door import prover_of
    from circuitcheck.prove.flashing_by_itself import flashing
    from circuitcheck.prove.meter import USUAL_MEMORY, USUAL_STATES, Limits, seconds_from_now
    from circuitcheck.report.terminal.cautions import search_lines
    from circuitcheck.report.terminal.chains import Chains
    from circuitcheck.report.terminal.proved import proved_lines

    memory = (options.memory << 20) if options.memory else USUAL_MEMORY
    limits = Limits(options.states or USUAL_STATES, memory, seconds_from_now(options.seconds))
    chains = Chains()
    with common.progress(options) as progress:

        def grown(states: int) -> None:
            found.states = states
            progress.count(f"{states:,} states found")

        progress.tell("wired up")
        prover = prover_of(study, limits, grown=grown)
        if not study.claims and not options.json:
            common.say(f'  {options.path} claims nothing: add a line such as: always "…" possible rest')
        for claim in study.claims:
            progress.tell(claim.title)
            found.states = 0
            found.claims.append(prover.prove(claim))
            if not options.json:
                common.show(proved_lines(found.claims[-1], claim, common.width(options), chains))
                common.flush()
        progress.tell("flashing that it makes by itself")
        found.flashing = flashing(study, limits, grown)
        if not options.json:
            common.show(search_lines(found.flashing, options.path, common.width(options)))
            common.flush()
        if not options.only_claims:
            progress.tell("what is worth knowing besides")
            _besides(options, study, limits, prover, found)


def _besides(options: argparse.Namespace, study: Study, limits: Limits, prover: Prover, found: Found) -> None:
    """What nobody asked for and is worth knowing; what is known of it is said if it is stopped as well."""
    from circuitcheck.prove.facts import facts, ticking
    from circuitcheck.report.terminal.proved import fact_lines

    try:
        found.facts.extend(facts(study, limits))
    finally:
        if not options.json:
            common.show(fact_lines(found.facts, ticking(prover.program), common.width(options)))


def _left(claims: int, states: int) -> str:
    """What is known when exploring is stopped."""
    if not claims:
        return "every claim was done with"
    left = "1 claim is" if claims == 1 else f"{claims} claims are"
    return f"{left} left; of the next, {states:,} states were explored, and nothing broke it there"
