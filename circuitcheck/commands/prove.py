"""`prove`: look at every state a circuit can reach, and say what always holds."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from circuitcheck import examine
from circuitcheck.certificate.folder_files import Listed, about_all, begun
from circuitcheck.checks.finding import FlashingSearch
from circuitcheck.checks.outcome import GOOD, OPEN, Outcome
from circuitcheck.commands import common, printing
from circuitcheck.examine import Opened
from circuitcheck.judging.certificates import Files, certificates, nothing_yet, with_done
from circuitcheck.judging.door import leaned, proved, prover_of
from circuitcheck.model.claims import Study
from circuitcheck.prove.facts import facts, ticking
from circuitcheck.prove.flashing_by_itself import flashing
from circuitcheck.prove.interrupts import interrupts_wait
from circuitcheck.prove.meter import USUAL_MEMORY, USUAL_STATES, Limits, seconds_from_now
from circuitcheck.prove.prover import Prover
from circuitcheck.report.files import CannotWrite, GrowingFolder, refuse_folder
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
    listing: Listed | None = None
    """What is certified, where that is asked for."""
    tell: Callable[[str], None] = lambda words: None
    """What is said of how far exploring has come."""

    def grown(self, states: int) -> None:
        """So many states have been found."""
        self.states = states
        self.tell(f"{states:,} states found")


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Proves claim by claim, printing as it goes."""
    opened = examine.opened(options.path, options.define, options.root)
    if common.mistakes(opened, options):
        return 2
    if options.certificate:
        refuse_folder(options.certificate)
    study, limits = opened.circuit_study, _limits(options)
    found = Found()
    code = 0
    try:
        prover = prover_of(study, limits, grown=found.grown)
        _explore(options, study, limits, prover, found)
        if options.certificate:
            code = _certify(options, opened, found)
        _afterwards(options, study, limits, prover, found)
    except KeyboardInterrupt:
        code = printing.INTERRUPTED
        printing.refuse(f"stopped; {_left(len(study.claims) - len(found.claims), found.states)}")
    if options.json:
        from circuitcheck.report.exchange.data import certificate_data, proof_data

        data = proof_data(found.claims, found.facts, found.flashing)
        written = {} if found.listing is None else {"certificate": certificate_data(found.listing, options.certificate)}
        printing.file_json(opened.path, {**data, **written})
    verdicts = {outcome.verdict for outcome in found.claims}
    return code or (1 if verdicts - GOOD - OPEN else 3 if verdicts & OPEN else 0)


def _explore(options: argparse.Namespace, study: Study, limits: Limits, prover: Prover, found: Found) -> None:
    """Adds to what has been found: each claim, then flashing; says each as it falls."""
    chains = Chains()
    with printing.progress(options) as progress:
        found.tell = progress.count
        progress.tell("wired up")
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
        found.flashing = flashing(study, limits, found.grown)
        if not options.json:
            printing.show(search_lines(found.flashing, options.path, printing.width(options)))
            printing.flush()


def _afterwards(options: argparse.Namespace, study: Study, limits: Limits, prover: Prover, found: Found) -> None:
    """Adds what each proof depends on, and what nobody asked for."""
    with printing.progress(options) as progress:
        found.tell = progress.count
        progress.tell("what each proof depends on")
        _leanings(options, leaned(prover, study, tuple(found.claims), limits, found.grown), found)
        if not options.only_claims:
            progress.tell("what is worth knowing besides")
            _besides(options, study, limits, prover, found)


def _certify(options: argparse.Namespace, opened: Opened, found: Found) -> int:
    """Writes the certificate as far as there is room for it. Returns the exit code that asks for."""
    try:
        _write_certificate(options, opened, found)
    except CannotWrite as why:
        return printing.refuse(str(why))
    return 0


def _write_certificate(options: argparse.Namespace, opened: Opened, found: Found) -> None:
    """Writes the certificate claim by claim, and says what is in it; that as well if it ends early."""
    paths = {path: os.path.abspath(path) for path in opened.sources}
    top = os.path.commonpath([os.path.dirname(path) for path in paths.values()])
    inside = {path: os.path.relpath(there, top).replace(os.sep, "/") for path, there in paths.items()}
    texts = {inside[path]: "\n".join(lines) + "\n" for path, lines in opened.sources.items()}
    study = opened.circuit_study
    listing = nothing_yet(study, Files(inside[opened.path], options.define, texts))
    with interrupts_wait():
        folder = GrowingFolder(options.certificate, begun(listing, texts))
        found.listing = listing
    try:
        with printing.progress(options) as progress:
            for done in certificates(study, found.claims, _limits(options), progress.tell):
                listing = with_done(listing, done)
                with interrupts_wait():
                    folder.grow(done.entry.folder, done.files, about_all(listing))
                    found.listing = listing
                if not options.json:
                    printing.show(certified_lines(done.entry))
                    printing.flush()
    finally:
        if not options.json:
            printing.show(written_lines(found.listing, options.certificate, printing.width(options)))


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
