"""The list of a certificate that no smaller circuit will do: which runs exclude which netlists, and what else does."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, NamedTuple

from circuitcheck.certificate.folder_files import EXCLUDED, VERSION, Unreadable
from circuitcheck.designing.netlist import DELAYS, REPEATER, TORCH, Kind, Netlist, Words
from circuitcheck.designing.open_system import Bit
from circuitcheck.designing.unrolled import Stimulus

MOST_PARTS, MOST_GT, MOST_STATES = 8, 2_000, 10**9
"""So that a list of somebody else's takes a bounded time to check."""

Core = tuple[tuple[Bit, bool], ...]
"""Bits that netlists have in common, and whether each is so; none where it is all netlists of their kinds."""


class Run(NamedTuple):
    """A run, and what it excludes."""

    stimulus: Stimulus
    cores: tuple[Core, ...]
    proof: str
    """The SHA-256 sum of the proof."""


class Alone(NamedTuple):
    """A netlist that is excluded by what the prover says of it, and by no run that is certified."""

    netlist: Netlist
    behind: tuple[str, ...]
    """Where all netlists with the same behind a torch are excluded with it, since that burns out: all parts there."""
    still: tuple[str, ...] = ()
    """Inputs that may power those parts or not, since they are off as it does."""


class Kinds(NamedTuple):
    """What excludes all netlists of some kinds, or all of them that have no more ticks than so many."""

    words: Words
    ticks: int | None
    runs: tuple[Run, ...]
    alone: tuple[Alone, ...]
    proof: str
    """The SHA-256 sum of the proof that nothing is left."""


class Below(NamedTuple):
    """What is excluded in all: netlists of fewer parts, and those of as many that have fewer ticks."""

    parts: int
    ticks: int | None

    def words(self, does: str) -> str:
        """In words; `does` says what none of them does."""
        fewer = f"no circuit of fewer than {self.parts} torches and repeaters {does}"
        if self.parts <= 1:
            fewer = f"no circuit without a torch or a repeater {does}" if self.parts else "nothing is excluded"
        if self.ticks is None or self.ticks <= self.parts:  # each part has 1t at least
            return fewer
        return f"{fewer}, and none of {counted(self.parts, 'part')} with less than {self.ticks}t in all"


class ExclusionList(NamedTuple):
    """The list of a certificate."""

    main: str
    """The circuit's file, in its folder."""
    source: str
    """The SHA-256 sum of that file."""
    states: int
    """How many states the prover may look at for a claim of one netlist."""
    below: Below
    kinds: tuple[Kinds, ...]

    def text(self) -> str:
        """The list as it is written."""
        data = {
            "certificate": VERSION,
            "circuit": self.main,
            "source": self.source,
            "states": self.states,
            "below": self.below._asdict(),
            EXCLUDED: [_kinds_data(each) for each in self.kinds],
        }
        return json.dumps(data, indent=1, ensure_ascii=True) + "\n"


def folder_of(place: int, words: Words) -> str:
    """The folder of some kinds: its number, and what they are."""
    torches = sum(word == TORCH for word in words.values())
    return f"{place:02}-{torches}-torch-{len(words) - torches}-repeater"


def in_words(words: Words) -> str:
    """Some kinds in words."""
    torches = sum(word == TORCH for word in words.values())
    each = [counted(torches, "torch", "torches"), counted(len(words) - torches, "repeater")]
    return " and ".join(word for word in each if not word.startswith("0 ")) or "no part"


def counted(number: int, what: str, many: str = "") -> str:
    """A number of things in words."""
    return f"{number} {what}" if number == 1 else f"{number} {many or what + 's'}"


def exclusion_list(text: str) -> ExclusionList:
    """Reads a list. Raises Unreadable."""
    try:
        data = json.loads(text)
        if data["certificate"] != VERSION:
            raise Unreadable(f"it is of version {data['certificate']!r}, and this program knows version {VERSION}")
        ticks = data["below"]["ticks"]
        below = Below(_within(data["below"]["parts"], MOST_PARTS + 1), None if ticks is None else _within(ticks))
        return ExclusionList(
            str(data["circuit"]),
            str(data["source"]),
            _within(data["states"], MOST_STATES),
            below,
            tuple(map(_kinds_of, data[EXCLUDED])),
        )
    except (ValueError, OverflowError, KeyError, TypeError, AttributeError, RecursionError) as wrong:
        raise Unreadable("it is no list of a certificate") from wrong


def _kinds_data(kinds: Kinds) -> dict[str, Any]:
    return {
        "kinds": dict(kinds.words),
        "ticks": kinds.ticks,
        "runs": [
            {
                **each.stimulus._asdict(),
                "worked": sorted(each.stimulus.worked),
                "start": None if each.stimulus.start is None else sorted(each.stimulus.start),
                "cores": [[[*bit, so] for bit, so in core] for core in each.cores],
                "proof": each.proof,
            }
            for each in kinds.runs
        ],
        "alone": [
            {
                "delays": {name: kind.delay for name, kind in each.netlist.kinds if kind.word == REPEATER},
                "sources": dict(each.netlist.sources),
                "behind": each.behind,
                "still": each.still,
            }
            for each in kinds.alone
        ],
        "proof": kinds.proof,
    }


def _kinds_of(data: Mapping[str, Any]) -> Kinds:
    words = {str(name): str(word) for name, word in data["kinds"].items()}
    if len(words) > MOST_PARTS or not {TORCH, REPEATER}.issuperset(words.values()):
        raise ValueError
    return Kinds(
        words,
        None if data["ticks"] is None else _within(data["ticks"]),
        tuple(_run_of(each) for each in data["runs"]),
        tuple(_alone_of(each, words) for each in data["alone"]),
        str(data["proof"]),
    )


def _run_of(data: Mapping[str, Any]) -> Run:
    worked = frozenset((_within(gt), str(name)) for gt, name in data["worked"])
    check, start = data["check"], data["start"]
    stimulus = Stimulus(
        worked,
        _within(data["gt"]),
        None if check is None else _within(check),
        None if start is None else frozenset(map(str, start)),
    )
    return Run(stimulus, tuple(tuple(map(_literal, core)) for core in data["cores"]), str(data["proof"]))


def _literal(data: tuple[str, str | int, bool]) -> tuple[Bit, bool]:
    reader, source, so = data
    if not isinstance(source, str | int) or not isinstance(so, bool):
        raise ValueError
    return (str(reader), source), so


def _alone_of(data: Mapping[str, Any], words: Words) -> Alone:
    delays = {str(name): int(delay) for name, delay in data["delays"].items()}
    if not set(DELAYS).issuperset(delays.values()):
        raise ValueError
    kinds = tuple((name, Kind(word, delays.get(name, 1))) for name, word in words.items())
    sources = ((str(name), tuple(map(str, each))) for name, each in data["sources"].items())
    behind, still = (tuple(map(str, data[word])) for word in ("behind", "still"))
    return Alone(Netlist(kinds, tuple(sources)), behind, still)


def _within(number: Any, most: int = MOST_GT) -> int:
    if not isinstance(number, int) or not 0 <= number <= most:
        raise ValueError
    return number
