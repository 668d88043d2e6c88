"""`prove`: look at every state a circuit can reach, and say what always holds."""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterable
from dataclasses import dataclass, field

from circuitcheck import examine
from circuitcheck.certificate.folder_files import about_all, begun
from circuitcheck.checks.outcome import GOOD, OPEN, FlashingSearch, Outcome
from circuitcheck.commands import common, printing
from circuitcheck.examine import Opened
from circuitcheck.judging.certificates import Files, certificates, nothing_yet, with_done
from circuitcheck.judging.door import leaned, proved, prover_of
from circuitcheck.model.claims import Study
from circuitcheck.prove.facts import facts, ticking
from circuitcheck.prove.flashing_by_itself import flashing
from circuitcheck.prove.meter import USUAL_MEMORY, USUAL_STATES, Limits, seconds_from_now
from circuitcheck.prove.prover import Prover
from circuitcheck.report.files import GrowingFolder, refuse_folder
from circuitcheck.report.terminal.cautions import search_lines
from circuitcheck.report.terminal.certified_lines import certified_lines, written_lines
from circuitcheck.report.terminal.chains import Chains
from circuitcheck.report.terminal.proved import fact_lines, leaning_lines, proved_lines


@dataclass
class Found:
    """What has been found so far, and how many states for what is explored now."""

    claims: list[Outcome] = field(default_factory=list)
    facts: list[Outcome] = field(default_factory=list)
    flashing: FlashingSearch | None = None
    states: int = 0


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Proves claim by claim, printing as it goes."""
    opened = examine.opened(options.path, options.define, options.root)
    if common.mistakes(opened, options):
        return 2
    if options.certificate:
        refuse_folder(options.certificate)
    found = Found()
    code = 0
    try:
        _explore(options, opened.circuit_study, found)
    except KeyboardInterrupt:
        code = printing.INTERRUPTED
        printing.refuse(f"stopped; {_left(len(opened.circuit_study.claims) - len(found.claims), found.states)}")
    if options.json:
        from circuitcheck.report.exchange.data import proof_data

        printing.file_json(opened.path, proof_data(found.claims, found.facts, found.flashing))
    if options.certificate and not code:
        code = _certify(options, opened, found)
    verdicts = {outcome.verdict for outcome in found.claims}
    return code or (1 if verdicts - GOOD - OPEN else 3 if verdicts & OPEN else 0)


def _explore(options: argparse.Namespace, study: Study, found: Found) -> None:
    """Adds to what has been found: each claim, then flashing, then the rest; says each as it falls."""
    limits = _limits(options)
    chains = Chains()
    with printing.progress(options) as progress:

        def grown(states: int) -> None:
            found.states = states
            progress.count(f"{states:,} states found")

        progress.tell("wired up")
        prover = prover_of(study, limits, grown=grown)
        if not study.claims and not options.json:
            printing.say(f'  {options.path} claims nothing: add a line such as: always "…" possible rest')
        for claim in study.claims:
            progress.tell(claim.title)
            found.states = 0
            found.claims.append(proved(prover, study, claim, limits))
            if not options.json:
                printing.show(proved_lines(found.claims[-1], claim, printing.width(options), chains))
                printing.flush()
        progress.tell("flashing that it makes by itself")
        found.flashing = flashing(study, limits, grown)
        if not options.json:
            printing.show(search_lines(found.flashing, options.path, printing.width(options)))
            printing.flush()
        progress.tell("what each proof depends on")
        _leanings(options, leaned(prover, study, tuple(found.claims), limits, grown), found)
        if not options.only_claims:
            progress.tell("what is worth knowing besides")
            _besides(options, study, limits, prover, found)


def _certify(options: argparse.Namespace, opened: Opened, found: Found) -> int:
    """Writes the certificate claim by claim, and says what is in it. Returns the exit code that it ends with."""
    paths = {path: os.path.abspath(path) for path in opened.sources}
    top = os.path.commonpath([os.path.dirname(path) for path in paths.values()])
    inside = {path: os.path.relpath(there, top).replace(os.sep, "/") for path, there in paths.items()}
    texts = {inside[path]: "\n".join(lines) + "\n" for path, lines in opened.sources.items()}
    study, code = opened.circuit_study, 0
    files = Files(inside[opened.path], options.define, texts)
    listing = nothing_yet(study, files)
    folder = GrowingFolder(options.certificate, begun(listing, texts))
    with printing.progress(options) as progress:
        try:
            for done in certificates(study, found.claims, _limits(options), progress.tell):
                listing = with_done(listing, done)
                folder.grow(done.entry.folder, done.files, about_all(listing))
                if not options.json:
                    printing.show(certified_lines(done.entry))
                    printing.flush()
        except KeyboardInterrupt:
            code = printing.INTERRUPTED
    if not options.json:
        printing.show(written_lines(listing, options.certificate, printing.width(options)))
    return code


def _limits(options: argparse.Namespace) -> Limits:
    memory = (options.memory << 20) if options.memory else USUAL_MEMORY
    return Limits(options.states or USUAL_STATES, memory, seconds_from_now(options.seconds))


def _leanings(options: argparse.Namespace, leaned: Iterable[Outcome], found: Found) -> None:
    """What each proof depends on; what is known of it is said if it is stopped as well."""
    try:
        for place, outcome in enumerate(leaned):
            found.claims[place] = outcome
    finally:
        if not options.json:
            printing.show(leaning_lines(found.claims, printing.width(options)))
            printing.flush()


def _besides(options: argparse.Namespace, study: Study, limits: Limits, prover: Prover, found: Found) -> None:
    """What nobody asked for and is worth knowing; what is known of it is said if it is stopped as well."""
    try:
        found.facts.extend(facts(study, limits))
    finally:
        if not options.json:
            printing.show(fact_lines(found.facts, ticking(prover.program), printing.width(options)))


def _left(claims: int, states: int) -> str:
    """What is known when exploring is stopped."""
    if not claims:
        return "every claim was done with"
    left = "1 claim is" if claims == 1 else f"{claims} claims are"
    return f"{left} left; of the next, {states:,} states were explored, and nothing broke it there"
