"""The files of a certificate that no smaller circuit will do: what stands in its folder, and how each is written.

Every file but the proofs follows from the circuit and the list, so that whoever checks makes it again.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from circuitcheck.certificate.folder_files import CIRCUIT, LIST, README, one_line
from circuitcheck.certificate.three_questions import Clause, written
from circuitcheck.designing.exclusion_list import Alone, Core, ExclusionList, Kinds, counted, folder_of, in_words
from circuitcheck.designing.frame import Frame
from circuitcheck.designing.netlist import TORCH, words_of
from circuitcheck.designing.open_netlists import OpenNetlists, moved
from circuitcheck.designing.unrolled import Stimulus

REST = "rest"


def run_name(place: int) -> str:
    """What the files of a run are called, from 1 on."""
    return f"run-{place}"


def alone_name(place: int) -> str:
    """What the file of a netlist is called that the prover alone excludes, from 1 on."""
    return f"alone-{place}.circuit"


# Clauses


def literals_of(core: Core, netlists: OpenNetlists) -> Clause:
    """The bits of a core as literals. Raises KeyError where there are no such bits."""
    return tuple(netlists.bits[bit] if so else -netlists.bits[bit] for bit, so in core)


def core_of(literals: Sequence[int], netlists: OpenNetlists) -> Core:
    """Literals as the bits of a core."""
    bits = {variable: bit for bit, variable in netlists.bits.items()}
    return tuple((bits[abs(each)], each > 0) for each in literals)


def run_clauses(stimulus: Stimulus, cores: Sequence[Core], netlists: OpenNetlists) -> list[Clause]:
    """Some netlist with the bits of one of these cores keeps all that is asked in a run. Raises KeyError."""
    formula = netlists.run(stimulus)
    chosen = []
    for core in cores:
        chosen.append(formula.fresh())
        for literal in literals_of(core, netlists):
            formula.add(-chosen[-1], literal)
    formula.add(*chosen)
    return formula.clauses


def excluded_by(alone: Alone, netlists: OpenNetlists) -> Clause:
    """The bits that are excluded with a netlist. Raises KeyError where it is of other parts."""
    literals = netlists.literals(alone.netlist)
    return tuple(netlists.behind(set(alone.behind), literals, set(alone.still)) if alone.behind else literals)


def under_all_names(core: Clause, netlists: OpenNetlists) -> list[Clause]:
    """That no netlist has these bits, under no names of like parts that the file does not name."""
    renamings = map(netlists.renamed, netlists.renamings())
    return list(dict.fromkeys(tuple(-moved(each, renamed) for each in core) for renamed in renamings))


def rest_clauses(kinds: Kinds, netlists: OpenNetlists) -> list[Clause]:
    """Some netlist of some kinds counts and is not excluded. Raises KeyError."""
    cores = [literals_of(core, netlists) for run in kinds.runs for core in run.cores]
    cores += [excluded_by(each, netlists) for each in kinds.alone]
    slow = [] if kinds.ticks is None else netlists.too_slow(kinds.ticks)
    excluded = [clause for core in cores for clause in under_all_names(core, netlists)]
    return list(dict.fromkeys((*netlists.sensible().clauses, *slow, *excluded)))


def asked_of_all(parts: int, ticks: int | None, frame: Frame) -> Iterator[tuple[dict[str, str], int | None]]:
    """Every choice of kinds that is to be excluded where all netlists are that are smaller, and with how many ticks."""
    for count in range(len(frame.named), parts + (ticks is not None)):
        most = None if ticks is None or count < parts else ticks - 1
        for words in words_of(frame.named, frame.names(count - len(frame.named))):
            if most is None or count <= most:
                yield dict(words), most


# Text


def dimacs(clauses: Sequence[Clause], about: Sequence[str], netlists: OpenNetlists) -> str:
    """Clauses in the DIMACS format, with what they are about, and what each bit is."""
    lines = [f"c {one_line(each)}" for each in about[:-1]]
    lines += [
        f"c {variable} is: {one_line(f'{reader} is powered by {source}')}"
        if isinstance(source, str)
        else f"c {variable} is: {one_line(reader)} waits {source}t"
        for (reader, source), variable in netlists.bits.items()
    ]
    return "\n".join([*lines, written(clauses, one_line(about[-1]))])


def run_text(stimulus: Stimulus, cores: Sequence[Core], netlists: OpenNetlists, frame: Frame) -> str:
    """The file of a run. Raises KeyError for bits, and IndexError for a check, of another circuit."""
    about = [
        f"{in_words(netlists.words)}; {_run_in_words(stimulus, frame)}",
        f"some netlist keeps all that is asked in it, with the bits of one of {counted(len(cores), 'core')}",
    ]
    return dimacs(run_clauses(stimulus, cores, netlists), about, netlists)


def _run_in_words(stimulus: Stimulus, frame: Frame) -> str:
    worked = ", ".join(f"{name} at gt {gt}" for gt, name in sorted(stimulus.worked)) or "nothing"
    of = "" if stimulus.check is None else f" of the check '{frame.study.checks[stimulus.check].title}'"
    begins = "any way of resting" if stimulus.start is None else f"on at the start: {', '.join(sorted(stimulus.start))}"
    return f"a run of {stimulus.gt} gt{of}; worked: {worked}; {begins}"


def rest_text(kinds: Kinds, netlists: OpenNetlists) -> str:
    """The file that says that nothing is left of some kinds. Raises KeyError."""
    ticks = "" if kinds.ticks is None else f", of at most {kinds.ticks}t in all"
    about = [f"{in_words(kinds.words)}{ticks}", "some netlist is excluded by no core and by no netlist of the list"]
    return dimacs(rest_clauses(kinds, netlists), about, netlists)


def alone_text(alone: Alone, frame: Frame) -> str:
    """The circuit file of a netlist that the prover excludes. Raises KeyError where it is of other parts."""
    text = frame.text(alone.netlist)
    torches = [name for name, kind in alone.netlist.kinds if kind.word == TORCH and name in alone.behind]
    return text + "".join(f"never \"'{name}' burns out\"  {name} burnt\n" for name in torches)


def kinds_files(kinds: Kinds, netlists: OpenNetlists, frame: Frame) -> dict[str, str]:
    """The files of some kinds but for the proofs, by their names in their folder. Raises KeyError."""
    found = {
        f"{run_name(place)}.cnf": run_text(run.stimulus, run.cores, netlists, frame)
        for place, run in enumerate(kinds.runs, 1)
    }
    found |= {alone_name(place): alone_text(each, frame) for place, each in enumerate(kinds.alone, 1)}
    return found | {f"{REST}.cnf": rest_text(kinds, netlists)}


def proof_names(kinds: Kinds) -> list[tuple[str, str]]:
    """Of each proof of some kinds the name of its file, without an ending, and its sum."""
    return [*((run_name(place), run.proof) for place, run in enumerate(kinds.runs, 1)), (REST, kinds.proof)]


def about_all(listing: ExclusionList) -> dict[str, str]:
    """The files that say what is in a certificate, by their paths in its folder."""
    return {README: readme(listing), LIST: listing.text()}


def readme(listing: ExclusionList) -> str:
    """What is what in the folder, what is proved and what is taken as given."""
    return "\n".join([*_readme(listing), ""])


def _readme(listing: ExclusionList) -> Iterator[str]:
    alone = sum(len(each.alone) for each in listing.kinds)
    yield f"A certificate: {listing.below.words(f'keeps all that {one_line(listing.main)} asks')}."
    yield ""
    yield "That a circuit that was found keeps it is another matter: see circuitcheck prove --certificate."
    yield ""
    yield "To check it: circuitcheck certified FOLDER"
    yield from _HOW
    yield f"Netlists that no run here excludes: {alone} (alone-N.circuit). Under circuitcheck verify each fails, burns"
    yield "a torch out, or has a claim whose trigger never comes; certified has the prover say so again, no proof does."
    yield ""
    yield from _TAKEN
    yield ""
    yield f"{CIRCUIT}/  the file that asks"
    yield f"{LIST}  which runs exclude what; a core is bits that netlists have in common"
    for place, each in enumerate(listing.kinds, 1):
        ticks = "" if each.ticks is None else f" of at most {each.ticks}t"
        does = f"{counted(len(each.runs), 'run')}, {counted(len(each.alone), 'netlist')} by the prover alone"
        yield f"{folder_of(place, each.words)}  {in_words(each.words)}{ticks}: {does}"


_HOW = """That makes every file again from the circuit and the list, compares them byte for byte, and checks each proof
with a DRAT checker. Any other DRAT checker reads the same files:
  run-N.cnf    DIMACS clauses that nothing makes true together: some netlist with the bits of one of the run's
               cores keeps all that is asked in that run. The clauses are the rules as certificates have them
               (circuitcheck/certificate), step by step, of all netlists of these kinds at once: one variable
               for each part or input that may power another, and for each delay. The comments name them.
  run-N.drat   the proof of that (DRAT)
  rest.cnf     DIMACS clauses over these bits alone that nothing makes true together: some netlist that counts
               has none of the cores, and is none of the netlists that the prover excludes
  rest.drat    the proof of that (DRAT)
So every netlist that counts has a core, and no netlist with that core keeps all that is asked.
""".splitlines()

_TAKEN = """Taken as given, and proved nowhere here:
  the reading of the file's text, the rules as they are written in circuitcheck/certificate, and the DRAT checker;
  that a circuit has torches, repeaters, the file's inputs, and the lamps and dust that it reads, and nothing else:
  no comparators, no locks, no loss over a distance;
  that it rests before anything is worked; that every part, lamp and dust is powered by something, and of the parts
  that the file does not name no set powers only itself;
  that a circuit in which a torch burns out before a claim is done with (rule T4) does not keep that claim, nor one
  in which the claim's trigger never comes;
  that like parts without a name in the file may exchange their names: that is the same circuit. So in rest.cnf each
  core and each netlist stands under all such names, though the list has one of them;
  that a torch does what it does by the parts behind it alone: where one burns out in a netlist of the list, all
  netlists are excluded in which the same stands behind it (those files ask that it does not burn out), and whether
  inputs that are off all through the run in which it does power torches there makes no difference.
The parts that the file names stay in every circuit, so that there is none of fewer.
A run begins in any way of resting, or in the one that is said: a netlist counts in it only if it rests so.
""".splitlines()
