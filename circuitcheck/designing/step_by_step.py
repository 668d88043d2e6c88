"""A circuit made smaller one change at a time, as an edit of its own lines, as long as all that its file asks holds.

A part is taken out and another signal read in its place: what it read itself, that of a like part, or any other. A
delay is made shorter. A part reads one signal less. A few parts are exchanged for a known block of fewer. Each step is
run and proved as `verify` does, and, if its outputs are to react as before, the circuit beside what it was
(`same_reactions`). This goes beyond the size of which every netlist can be looked at, and knows every kind of part; so
what it comes to is the best found, and nothing says that it is the least.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from circuitcheck.checks.allowed import allowed
from circuitcheck.curing.edits import Change
from circuitcheck.curing.names import Names
from circuitcheck.curing.parts import replaced
from circuitcheck.curing.search import STATE, Budget, Search
from circuitcheck.curing.settings import settings
from circuitcheck.curing.source_text import DRAWN, Source, first_line, source_of_text
from circuitcheck.curing.trying import fails
from circuitcheck.curing.wires import one_less, sources_of
from circuitcheck.designing.by_blocks import by_blocks, waits
from circuitcheck.designing.flattened import NotFlat, flattened
from circuitcheck.designing.like_parts import Alike
from circuitcheck.designing.netlist import GT_A_TICK
from circuitcheck.designing.remade import remade
from circuitcheck.designing.same_reactions import Reactions, Unlike, given_out
from circuitcheck.engine import work
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import TooManyStarts
from circuitcheck.language import tree
from circuitcheck.model.claims import Study
from circuitcheck.prove.meter import Limits

MOST_PARTS = 300
"""Of larger circuits each single step would be thousands of changes."""

OPENING = ("legend", "piece", "drawing")
"""The words that open what is drawn."""


class Size(NamedTuple):
    """How much there is of a file's own circuit and of each definition standing alone."""

    parts: int
    ticks: int
    """The sum of all delays (t)."""
    wires: int
    """How many signals are read in all."""


@dataclass
class Steps:
    """What was changed, one step after the other, and what it came to."""

    before: Size
    text: str
    steps: list[str] = field(default_factory=list)
    tried: int = 0
    ended: str = ""
    """Why it ended before every single step had been tried on what it came to; empty if it did not."""
    undrawn: bool = False
    """Drawings were left out: they would be those of another circuit."""
    instances: int = 0
    """How many instances were written out part by part: each is changed apart from the others."""
    same: tuple[str, ...] | None = None
    """What was to react just as before, at every gt; None where only what the file asks had to hold."""
    most_shift: int = 0
    """By how many gt all of that together might come later or earlier."""
    shift: int = 0
    """By how many gt it does come later; less than 0 for earlier."""
    unsure: int = 0
    """Of how many changes it was not decided whether all of that reacts as before: they were not made."""
    after: Size = field(init=False)

    def __post_init__(self) -> None:
        self.after = self.before


class Unsuited(Exception):
    """Why a file can't be made smaller so."""


def made_smaller(source: Source, budget: Budget, steps: Steps, told: Callable[[str], None] = lambda what: None) -> None:
    """Makes steps until none holds. Raises Unsuited where something fails, or can't stay the same, to begin with."""
    source = _read(source, steps.text)
    reactions = None if steps.same is None else _reactions(source, budget, steps.most_shift)
    search = Search(source, budget)
    if search.report.exit.name != "HOLDS":
        raise Unsuited("not all that it asks holds as it is; cure it first")
    tried: dict[str, None] = {}
    while True:
        changes = sorted(smaller(source), key=lambda change: change.words in tried)
        found = search.first_that_holds(_worth_it(source, changes, reactions, budget, steps, tried, told))
        steps.ended = search.ended
        if found is None:
            return
        if reactions is not None:
            steps.shift = reactions.last
        steps.steps.append(found.change.words)
        steps.text = found.text
        source = _read(source, steps.text)
        steps.after = size(source)
        search = Search(source, budget)


def _worth_it(
    source: Source,
    changes: Iterable[Change],
    reactions: Reactions | None,
    budget: Budget,
    steps: Steps,
    tried: dict[str, None],
    told: Callable[[str], None],
) -> Iterator[Change]:
    """The changes with which the outputs react as they must, counted; all of them where nothing is said of that."""
    for change in changes:
        steps.tried += 1
        tried[change.words] = None
        told(f"{steps.tried:,} changes tried, {len(steps.steps)} steps made")
        # Once the budget is gone the search is handed the next change, and says so.
        if budget.gone(0) or _holds_so_far(source, change, reactions, budget, steps):
            yield change


def _holds_so_far(source: Source, change: Change, reactions: Reactions | None, budget: Budget, steps: Steps) -> bool:
    """Whether a changed file fails in no run of its checks, and reacts as before if it must; out of the budget."""
    work_begun, steps_begun = work.done(), 0 if reactions is None else reactions.steps
    loaded = source.read(source.changed_text(change))
    holds = loaded.valid and not any(map(_fails, loaded.studies))
    if holds and reactions is not None:
        holds = reactions.same(loaded.studies)
        budget.spent += STATE * (reactions.steps - steps_begun)
        steps.unsure = reactions.undecided
    budget.spent += work.done() - work_begun
    return holds


def _fails(study: Study) -> bool:
    """A check of a study, or a claim watched in its run, plainly fails; that is all that a step needs to know of it."""
    program = Program(study.circuit)
    try:
        return any(
            fails(program, check, study.claims if allowed(check, study.assumptions) else ()) for check in study.checks
        )
    except TooManyStarts:
        return False


def _reactions(source: Source, budget: Budget, most_shift: int) -> Reactions:
    """How the circuits of a file react. Raises Unsuited where that is not one way only, or is not known."""
    try:
        return Reactions(source.loaded.studies, Limits(budget.states, until=budget.until), most_shift)
    except Unlike as unlike:
        raise Unsuited(str(unlike)) from None


def begun(source: Source, same: bool = False, most_shift: int = 0) -> Steps:
    """A file before any step; `same` if its outputs are to react as before, up to a shift (gt). Raises Unsuited."""
    text = undrawn(source)
    undrew = text != source.text
    bare = _read(source, text)
    if not bare.loaded.valid:
        raise Unsuited("its lines are no circuit without its drawing")
    if size(bare).parts > MOST_PARTS:
        raise Unsuited(f"it has {size(bare).parts:,} parts, and {MOST_PARTS:,} are the most that are looked at")
    try:
        text, instances = flattened(bare)
    except NotFlat as pieces:
        raise Unsuited(f"its pieces can't be written out: {pieces}") from None
    bare = _read(source, text)
    if not same and not any(study.checks or study.claims for study in bare.loaded.studies):
        raise Unsuited("nothing is asked of the circuit, so nothing says what must stay so; use --same to keep it all")
    kept = tuple(dict.fromkeys(name for study in bare.loaded.studies for name in given_out(study.circuit)))
    steps = Steps(size(bare), text, undrawn=undrew, instances=instances)
    steps.same, steps.most_shift = kept if same else None, most_shift
    return steps


def _read(source: Source, text: str) -> Source:
    return source_of_text(text, source.path, source.folder, source.root)


def size(source: Source) -> Size:
    """How large a file's own circuit and its definitions are."""
    circuits = {study.circuit.name: study.circuit for study in reversed(source.loaded.studies)}
    parts = [part for each in circuits.values() for part in each.parts if part.behaves]
    waiting = [part for part in parts if waits(part)]
    wires = sum(len(port.sources) for part in parts for port in part.ports())
    return Size(len(waiting), sum(part.lag for part in waiting) // GT_A_TICK, wires)


def undrawn(source: Source) -> str:
    """A file's text without its legends and drawings."""
    lines, statements = list(source.lines), source.file.statements
    gone: set[int] = set()
    for place, statement in enumerate(statements):
        if isinstance(statement, DRAWN):
            first = first_line(statement)
            while not lines[first - 1].split()[:1] or lines[first - 1].split()[0] not in OPENING:
                first -= 1  # the word that opens a block has no place of its own in the tree
            following = first_line(statements[place + 1]) if place + 1 < len(statements) else len(lines) + 1
            last = max(number for number in range(first, following) if lines[number - 1].strip() == "end")
            gone.update(range(first, last + 1))
    return "\n".join(line for number, line in enumerate(lines, 1) if number not in gone) + "\n" if gone else source.text


def smaller(source: Source) -> Iterator[Change]:
    """Every single change that makes a file's circuit smaller: by a part, by a tick, by a connection.

    First two parts are made one that were alike in all runs looked at: of those most will do.
    """
    names, alike = Names(source), Alike(source)
    merged = {change.words: change for change in replaced(source, names, alike)}
    yield from merged.values()
    yield from remade(source, names)
    yield from (change for change in replaced(source, names) if change.words not in merged)
    yield from (change for change in settings(source) if change.later < 0)
    for home, _, statement in source.statements():
        if isinstance(statement, tree.PartLine) and any(len(each.names) > 1 for each in sources_of(statement)):
            yield from one_less(home, statement)
    yield from by_blocks(source, names)
