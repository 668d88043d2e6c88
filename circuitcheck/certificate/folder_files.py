"""The files of a certificate: what stands in its folder, and how each is written."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from circuitcheck.certificate.cases import Case
from circuitcheck.certificate.gates import Model
from circuitcheck.certificate.three_questions import QUESTIONS, Clause, question, written

VERSION = 1
LIST, README, SYSTEM, WITNESS, INVARIANT, TRACE = (
    "certificate.json", "README.txt", "system.aag", "witness.aag", "invariant.cnf", "trace.witness"
)  # fmt: skip
CIRCUIT = "circuit"
"""The folder in which the circuit's files stand."""
EXCLUDED = "excluded"
"""What a list has that is about netlists."""
LONGEST_NAME = 40
PROVED, BROKEN, NOT_CERTIFIED = "proved", "broken", "not certified"
MORE_RUNS = "a system has every run of its circuit, and may have more; only the engine tells whether this is one"
ASKED = {
    "start": "nothing starts outside the invariant",
    "step": "no step leads out of the invariant",
    "claim": "where the invariant holds, the claim is not broken",
}
"""What each question's proof shows."""


class Entry(NamedTuple):
    """What the list of a certificate says of a claim."""

    words: str
    """The claim as its author wrote it."""
    kind: str
    folder: str = ""
    """Where its files are."""
    inside: tuple[str, ...] = ()
    """The parts in its system."""
    sums: tuple[str, ...] = ()
    """The SHA-256 sums of what came from a solver: the proofs in their order, or the run."""
    why: str = ""
    """Why it is not certified."""
    rounds: int = 0
    """Of a claim about runs without end: how many rounds go by at most while something is owed."""


class Listed(NamedTuple):
    """The list of a certificate."""

    main: str
    """The circuit's file, in its folder."""
    define: str
    """The definition whose claims these are, or nothing."""
    sources: Mapping[str, str]
    """The SHA-256 sums of the circuit's files, by their paths."""
    entries: tuple[Entry, ...]

    def text(self) -> str:
        """The list as it is written."""
        claims = [each._asdict() for each in self.entries]
        about = {"certificate": VERSION, "circuit": self.main, "define": self.define}
        data = {**about, "sources": dict(self.sources), "claims": claims}
        return json.dumps(data, indent=1, ensure_ascii=True) + "\n"


class Unreadable(Exception):
    """A file of a certificate is not what it should be; the text says how."""


def listed(text: str) -> Listed:
    """Reads the list of a certificate. Raises Unreadable."""
    try:
        data = json.loads(text)
        if data["certificate"] != VERSION:
            raise Unreadable(f"it is of version {data['certificate']!r}, and this program knows version {VERSION}")
        entries = tuple(
            Entry(
                str(each["words"]),
                str(each["kind"]),
                str(each["folder"]),
                tuple(map(str, each["inside"])),
                tuple(map(str, each["sums"])),
                str(each["why"]),
                int(each.get("rounds", 0)),
            )
            for each in data["claims"]
        )
        sources = {str(path): str(known) for path, known in data["sources"].items()}
        return Listed(str(data["circuit"]), str(data["define"]), sources, entries)
    except (ValueError, OverflowError, KeyError, TypeError, AttributeError, RecursionError) as wrong:
        raise Unreadable("it is no list of a certificate") from wrong


def tells_exclusions(text: str) -> bool:
    """Whether the list of a certificate is about netlists that are excluded, and not about claims."""
    try:
        data = json.loads(text)
        return isinstance(data, dict) and EXCLUDED in data
    except (ValueError, RecursionError):
        return False


def sum_of(text: str) -> str:
    """The SHA-256 sum of a file."""
    return hashlib.sha256(text.encode("utf-8", "backslashreplace")).hexdigest()


def folder_name(place: int, title: str) -> str:
    """A folder's name for a claim: its number, and what of its title is safe in a file name."""
    safe = re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-")[:LONGEST_NAME].strip("-")
    return f"{place}-{safe}" if safe else str(place)


# One claim


def proof_files(case: Case, invariant: Sequence[Clause]) -> dict[str, str]:
    """The files of a claim that is proved, but for the proofs, which are the solver's."""
    model = case.model
    files = {
        SYSTEM: system_text(case),
        WITNESS: witness(model, invariant).text(["The same system; what is bad is to be outside the invariant."]),
        INVARIANT: invariant_text(model, invariant),
    }
    return files | {f"{which}.cnf": written(question(model, invariant, which), ASKED[which]) for which in QUESTIONS}


def system_text(case: Case) -> str:
    """The transition system of a claim as an AIGER file."""
    free = ", ".join(map(one_line, case.left_free)) or "none"
    return case.model.text(["A step is one gt; the first is gt 0.", f"Parts left free: {free}."])


def witness(model: Model, invariant: Sequence[Clause]) -> Model:
    """The system with another property: it is bad to be outside the invariant."""
    ands = list(model.ands)
    top = model.most

    def both(one: int, other: int) -> int:
        nonlocal top
        top += 1
        ands.append((2 * top, min(one, other), max(one, other)))
        return 2 * top

    held = 1
    for clause in invariant:
        none = 1
        for number in clause:
            false = 2 * abs(number) | int(number > 0)
            none = false if none == 1 else both(none, false)
        held = none ^ 1 if held == 1 else both(held, none ^ 1)
    return Model(model.inputs, model.latches, tuple(ands), model.constraints, held ^ 1)


def invariant_text(model: Model, invariant: Sequence[Clause]) -> str:
    """The clauses of an invariant, with what each variable is."""
    names = {latch.literal >> 1: latch.name for latch in model.latches}
    used = sorted({abs(number) for clause in invariant for number in clause})
    lines = [f"c {number} is: {one_line(names[number])}" for number in used]
    return "\n".join([*lines, written(invariant, "each of these clauses holds in every state that can be reached")])


def invariant_of(text: str, model: Model) -> tuple[Clause, ...]:
    """Reads the clauses of an invariant. Raises Unreadable."""
    latches = {latch.literal >> 1 for latch in model.latches}
    found = []
    for line in text.splitlines():
        if line.startswith(("c ", "p ")):
            continue
        try:
            *clause, end = map(int, line.split())
        except ValueError as wrong:
            raise Unreadable("it holds a line that is no clause") from wrong
        if end or not clause or not latches.issuperset(map(abs, clause)):
            raise Unreadable("it holds a clause that is not about what the system holds")
        found.append(tuple(clause))
    return tuple(found)


def trace_text(state: Sequence[int], steps: Sequence[Sequence[int]]) -> str:
    """A run that breaks a claim, in the form of AIGER's witnesses: the first state, and the inputs of each step."""
    lines = ["1", "b0", "".join(map(str, state))]
    return "\n".join([*lines, *("".join(map(str, step)) for step in steps), "."]) + "\n"


def trace_of(text: str, model: Model) -> tuple[list[int], list[list[int]]]:
    """Reads a run. Raises Unreadable."""
    lines = text.splitlines()
    if lines[:2] != ["1", "b0"] or lines[-1:] != ["."] or len(lines) < 5:
        raise Unreadable("it is no run in the form of AIGER's witnesses")
    widths = [len(model.latches), *[len(model.inputs)] * (len(lines) - 4)]
    rows = lines[2:-1]
    if any(len(row) != width or set(row) - {"0", "1"} for row, width in zip(rows, widths, strict=True)):
        raise Unreadable("it has other bits than the system has")
    state, *steps = [[int(bit) for bit in row] for row in rows]
    return state, steps


def breaks(model: Model, state: Sequence[int], steps: Sequence[Sequence[int]]) -> str:
    """What is wrong with a run that is to break a claim; nothing if it does."""
    if any(latch.reset not in (None, bit) for latch, bit in zip(model.latches, state, strict=True)):
        return "its first state is none in which the system starts"
    for at, inputs in enumerate(steps):
        values = model.values(state, inputs)
        if any(not values[each >> 1] ^ each & 1 for each in model.constraints):
            return f"its step {at} is none of the system's"
        if at == len(steps) - 1:
            return "" if values[model.bad >> 1] ^ model.bad & 1 else "it does not break the claim"
        state = [values[latch.then >> 1] ^ latch.then & 1 for latch in model.latches]
    return "it has no step"


# The whole


def readme(entries: Sequence[Entry], main: str) -> str:
    """What is what in the folder, and how to check it."""
    return "\n".join(_readme(entries, main)) + "\n"


def _readme(entries: Sequence[Entry], main: str) -> Iterator[str]:
    yield f"A certificate for the claims of {one_line(main)}"
    yield ""
    yield "To check it: circuitcheck certified FOLDER"
    yield "That makes every file below again from the circuit, with rules written apart from those that found"
    yield "the proofs, compares them byte for byte, and checks each proof with a DRAT checker. No prover, engine"
    yield "or solver has a part in it."
    yield ""
    yield "Taken as given: the reading of the circuit's text, the rules (until a torch burns out, rule T4), what"
    yield "the file assumes of the inputs, and the DRAT checker."
    yield ""
    for entry in entries:
        yield f"{one_line(entry.words)}"
        if entry.kind == NOT_CERTIFIED:
            yield f"    not certified: {one_line(entry.why)}"
        else:
            yield f"    {entry.kind}: {entry.folder}{_rounds(entry)}"
    yield ""
    yield f"{CIRCUIT}/          the circuit as it was certified"
    yield f"{LIST}  the list of the claims, with the parts in the system of each"
    yield "Of a claim that is proved:"
    yield f"{SYSTEM}        the transition system (AIGER 1.9, text form); bad is what breaks the claim"
    yield f"{WITNESS}       the same system; bad is to be outside the invariant"
    yield f"{INVARIANT}     the invariant: clauses over the latches of the system"
    for which in QUESTIONS:
        yield f"{which + '.cnf':<18}DIMACS clauses that nothing makes true together: {ASKED[which]}"
        yield f"{which + '.drat':<18}the proof of that (DRAT)"
    yield "Of a claim that is broken:"
    yield f"{TRACE}     a run of its system that breaks it, in the form of AIGER's witnesses: {MORE_RUNS}"


def _rounds(entry: Entry) -> str:
    """What is proved of a claim about runs without end."""
    if not entry.rounds:
        return ""
    counted = "1 round goes" if entry.rounds == 1 else f"{entry.rounds} rounds go"
    return f" (at most {counted} by while it is owed: see circuitcheck/certificate/round_rules.py)"


def one_line(text: str) -> str:
    """Text of a user's as one line without anything that a terminal would take for more."""
    return "".join(each if each.isprintable() else "?" for each in text)


def about_all(listing: Listed) -> dict[str, str]:
    """The files that say what is in a certificate, by their paths in its folder."""
    return {README: readme(listing.entries, listing.main), LIST: listing.text()}


def begun(listing: Listed, sources: Mapping[str, str]) -> dict[str, str]:
    """The files that a certificate begins with, before anything is certified."""
    return {**about_all(listing), **{f"{CIRCUIT}/{path}": text for path, text in sources.items()}}
