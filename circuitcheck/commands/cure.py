"""`cure`: the least changes of a file with which all that it asks holds."""

from __future__ import annotations

import argparse

from circuitcheck.commands import common, printing
from circuitcheck.curing.search import Budget, Found, Search, TooLarge
from circuitcheck.curing.source_text import Source, source_of
from circuitcheck.examine import Opened, Refused
from circuitcheck.report.files import write_whole
from circuitcheck.report.terminal.cures import cure_data, cure_lines, cured_words, nothing_to_cure

STOPPED = "it was stopped"


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Searches and prints what came of it. Exit code 1 where there is no cure, 3 where not all of it was tried."""
    source = source_of(options.path, options.root)
    opened = Opened(source.path, source.loaded.diagnostics, source.loaded.sources, None, source.loaded.studies)
    if common.mistakes(opened, options):
        return 2
    common.new_file(options.write)
    common.found_from(options.write, source.loaded)
    try:
        search = Search(source, Budget.of(options.tries, options.states, options.seconds))
    except TooLarge as large:
        raise Refused(f"{options.path} can't be cured: {large}") from None
    if not search.report.outcomes and search.nothing_fails:
        raise Refused(f"{options.path} has no check and no claim, so nothing says what a cure would be")
    stopped = False
    with printing.progress(options) as progress:
        try:
            search.carry_out(progress.tell)
            search.look_besides(progress.tell)
        except KeyboardInterrupt:
            stopped = True
    found = search.found(STOPPED if stopped else "")
    _tell(options, source, search, found)
    if options.write and found.cures:
        _write(options, source, found)
    if stopped:
        return printing.INTERRUPTED
    if search.nothing_fails:
        return int(search.report.exit)
    return 0 if found.cures else 3 if found.ended or found.undecided else 1


def _tell(options: argparse.Namespace, source: Source, search: Search, found: Found) -> None:
    if options.json:
        printing.file_json(options.path, cure_data(source, found))
    elif search.nothing_fails:
        printing.show(nothing_to_cure(search.report, printing.width(options)))
    else:
        printing.show(cure_lines(source, found, printing.width(options)))


def _write(options: argparse.Namespace, source: Source, found: Found) -> None:
    first = found.cures[0]
    write_whole(options.write, first.text)
    if not options.json:
        printing.say(cured_words(options.write, first))
