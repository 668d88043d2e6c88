"""Small circuits put to the prover: one claim at a time, and every word that a register can come to hold."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cache

from outside.building import SHELF

from circuitcheck.checks.outcome import Outcome
from circuitcheck.engine.program import Program, read
from circuitcheck.language.load import load_text
from circuitcheck.model.claims import Atom, Study
from circuitcheck.prove.burnt_torches import quiet
from circuitcheck.prove.cut import Plan, ProofScope, uncut
from circuitcheck.prove.meter import Limits
from circuitcheck.prove.prover import Prover
from circuitcheck.prove.space import FIELD, MASK, Setting, Space

STATES = 100_000
"""As many states as any circuit here may need."""

STEADY = "assume pond, race stable for 10t"
"""Each of the two levers keeps still for 10t after it was thrown; both may be thrown in one gt."""


def study_of(text: str) -> Study:
    """The one study of a text that has no mistake in it."""
    loaded = load_text(text, folder=SHELF)
    assert not loaded.diagnostics, loaded.diagnostics
    (study,) = loaded.studies
    return study


def circuit(*lines: str) -> str:
    """The text of a circuit with these lines."""
    return "\n".join(["language 1", "circuit known", "rules newer", *lines, ""])


@cache
def _prover(text: str) -> Prover:
    """One prover for all claims about a circuit, so that what can burn out is looked for once."""
    return Prover(study_of(text), Limits(STATES))


def outcome(text: str, claim: str) -> Outcome:
    """The verdict on one claim: its text without a title, for example `never gate races`."""
    quantifier, _, body = claim.partition(" ")
    (made,) = study_of(f'{text}\n{quantifier} "it" {body}\n').claims
    return _prover(text).prove(made)


def broken_at(broken: Outcome) -> int:
    """In which gt the shortest way breaks the claim."""
    assert broken.failure is not None
    return broken.failure.at


def way(broken: Outcome) -> list[tuple[int, str]]:
    """What is thrown on the shortest way: gt and lever."""
    assert broken.proof is not None
    return [(act.at, act.name) for act in broken.proof.trace]


Planner = Callable[[ProofScope], Plan]


def _space(text: str, names: Sequence[str], planner: Planner) -> Space:
    study = study_of(text)
    program = Program(quiet(study.circuit))
    setting = Setting(program, study.assumptions, planner, Limits(STATES).meter())
    return Space(setting, tuple(Atom(name) for name in names), resting=True)


def _everything(space: Space) -> Iterator[tuple[int, int]]:
    """Every answer with every state that can be reached."""
    seen: dict[tuple[int, int], None] = dict.fromkeys(space.starts())
    queue = list(seen)
    for each in queue:
        yield each
        for following in space.successors(each[1]):
            if following not in seen:
                seen[following] = None
                queue.append(following)


def _word(on: Iterable[object]) -> str:
    return "".join("1" if each else "0" for each in on)


def answered_words(text: str, names: Sequence[str], planner: Planner) -> set[str]:
    """Every word that these parts hold at rest, as the space answers its questions."""
    busy = 1 << len(names)
    found = (bits for bits, _ in _everything(_space(text, names, planner)) if not bits & busy)
    return {_word(bits >> number & 1 for number in range(len(names))) for bits in found}


def stored_words(text: str, names: Sequence[str]) -> set[str]:
    """The same, read off the levels of the parts wherever no part waits."""
    space = _space(text, names, uncut)
    piece = space.root.piece
    feeds = [piece.program.probe(name) for name in names]
    states = (piece.locals[state >> FIELD & MASK].state for _, state in _everything(space))
    return {_word(read(each, state.levels) for each in feeds) for state in states if not state.waits}
