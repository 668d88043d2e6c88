"""What a bench is asked for and what it answers, without the web: one file, the run of its circuit, what is seen.

Whoever shows the bench asks `Workbench.plan` once for each revision, and `Workbench.since` for all that differs from
what he knows already. It computes nothing in between: time passes where `Workbench.pass_time` is called.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from circuitcheck.bench.as_a_check import act_words, as_check, order_words
from circuitcheck.bench.backdrop import graph_picture, one_layer
from circuitcheck.bench.build import Build, asked_of, key_of
from circuitcheck.bench.layout_search import LayoutSearch
from circuitcheck.bench.over_time import Edges
from circuitcheck.bench.seen import Place, Seen
from circuitcheck.bench.senses import Hearing, Light
from circuitcheck.bench.worked import Open, Script, Stopped, Worked
from circuitcheck.checks.conditions import Holds, compiled
from circuitcheck.collector import paused
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import OpenStart, starts
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action
from circuitcheck.examine import Opened, Refused, opened
from circuitcheck.explain.cause import why
from circuitcheck.language.load import load_with
from circuitcheck.model.block_type import Ground
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import atoms
from circuitcheck.model.duration import show
from circuitcheck.model.rules import FULL_POWER
from circuitcheck.plans.changes import changes
from circuitcheck.report.lines import plain, safe
from circuitcheck.report.sheet import FILLS
from circuitcheck.report.terminal.failure import why_lines
from circuitcheck.report.terminal.plans import change_lines
from circuitcheck.report.terminal.verdict_lines import diagnostic_lines

MOST_UNTIL = 20_000
"""How many gt a condition is waited for."""
MOST_TOLD = 12
"""How many parts that change in a gt are named."""
WIDTH = 78
VERBS = ("on", "off", "throw", "press", "is")
"""What can be done to inputs, in the order in which it is shown."""


class Known(NamedTuple):
    """What somebody who is shown the bench knows of it already."""

    revision: int = -1
    state: State | None = None
    epoch: int = -1
    at: int = -1
    besides: int = 0
    """Stands for all that a page shows besides."""


class Workbench:
    """A bench on one file.

    Raises at the first reading, and only then: Refused where the file has no circuit to work or has mistakes, OpenStart
    where it can start in too many ways, and Stopped where its run can't begin.
    """

    def __init__(self, path: str, definition: str = "", root: str = "") -> None:
        self.path = path
        self._definition = definition
        self.root = root
        self.revision = 0
        self.speed = 0
        """How many gt pass in a second; 0 while time stands still."""
        self.open: Open | None = None
        """What is to be chosen before the next gt."""
        self.mistakes: list[str] = []
        """The mistakes of the file as it is now; the circuit is that of the last reading without any."""
        self.news: list[str] = []
        """What the last reading changed."""
        self.verdicts: list[tuple[str, str]] = []
        self.said = ""
        """Why time stopped, where nobody asked for that."""
        self.turn = 0
        """Grows with all that changes what can be chosen: whoever chooses says in which turn he saw it."""
        self.search = LayoutSearch(path, definition, root)
        self._until: tuple[Holds, int] | None = None
        found = opened(path, definition, root)
        if found.diagnostics:
            raise Mistaken(found)
        self._take(found)

    # Reading.

    def _take(self, found: Opened) -> None:
        """Puts a circuit on the bench. Raises OpenStart, Refused and Stopped; then all stays as it was."""
        circuit = found.circuit_study.circuit if found.circuit_study.drawn is None else found.drawn.started
        with paused():
            program = Program(circuit)
            seen = Seen(program, circuit.drawing)
            edges = Edges(seen)
            self.worked = Worked(program, starts(program), edges)
        self.opened, self.seen, self.edges = found, seen, edges
        self._build: Build | None = None
        self._light: Light | None = None
        self._hearing = Hearing(found, circuit)
        self.open = None
        self.revision += 1

    def read_again(self) -> None:
        """Reads the file again; the run goes on with what was done to it, as far as that still is there to be done."""
        if os.path.exists(self.path) and not os.path.isfile(self.path):
            # Of a pipe nothing may ever come.
            self._mistaken([f"{self.path} is a folder or a pipe now, and no file"])
            return
        try:
            found = opened(self.path, self._definition, self.root)
        except Refused as refused:
            self._mistaken([str(refused)])
            return
        if found.diagnostics:
            self._mistaken(_diagnosed(found))
            return
        before, script = self.worked.circuit, self.worked.script
        at, kept = self.worked.now, self._named(script)
        try:
            self._take(found)
        except (OpenStart, Refused, Stopped) as refused:
            self._mistaken([str(refused)])
            return
        self.mistakes = []
        self.news = list(_changed(before, self.worked.circuit))
        if self._until is not None:
            self._until = None
            self.news.append("nothing is waited for any more: the circuit is another one")
        self._go_again(kept, script, at)

    def _mistaken(self, lines: list[str]) -> None:
        if self.mistakes != lines:
            self.mistakes = lines
            self.revision += 1

    def _named(self, script: Script) -> list[tuple[int, str, Action]]:
        names = self.worked.program.names
        return [(at, names[each.device], each) for at, acts in sorted(script.acts.items()) for each in acts]

    def _go_again(self, kept: Sequence[tuple[int, str, Action]], script: Script, at: int) -> None:
        """Does again what was done; what is left of it after `at_once` gt is done as time passes."""
        acts: dict[int, tuple[Action, ...]] = {}
        circuit, number = self.worked.circuit, self.worked.program.number
        for when, name, act in kept:
            part = circuit.by_name.get(name)
            if part is None or act.verb not in part.verbs:
                self.news.append(f"“{act_words(act, name)}” at {show(when)} is left out: it can't be done any more")
                continue
            acts[when] = (*acts.get(when, ()), Action(number[name], act.verb, act.level))
        way = script.start if script.start < len(self.worked.ways) else 0
        try:
            self.worked.go_along(Script(way, {when: each for when, each in acts.items() if when <= at}, {}, at))
        except Stopped as stopped:
            self.news.append(str(stopped))

    # What is asked for.

    def pass_time(self, count: int) -> bool:
        """Lets so many gt pass; fewer, and False, where something is to be chosen first. Raises Stopped."""
        for _ in range(count):
            stops = self._reached() if self.waits else self._step() is not None
            if stops:
                return False
        return True

    @property
    def waits(self) -> bool:
        """Whether time passes until a condition holds, or until the run is where it is heading."""
        return self._until is not None or self.worked.now < self.worked.heading

    def stand_still(self) -> None:
        """Time stops."""
        self.speed, self._until, self.said = 0, None, ""
        self.worked.heading = self.worked.now

    def why(self, name: str) -> list[str]:
        """Why a signal is what it is now, back to what began it, and what reads it. Raises Stopped."""
        circuit = self.worked.circuit
        signal = circuit.signal(name)
        if signal is None:
            raise Stopped(f"nothing is called '{name}'")
        told = why(self.worked.recording(), signal, self.worked.now)
        lines = plain(why_lines(told, WIDTH)).rstrip().split("\n")
        readers = sorted(set(circuit.graph.successors(signal))) if signal in circuit.graph else []
        return [*lines, f"read by: {', '.join(readers)}" if readers else "nothing reads it"]

    def hears(self, name: str) -> dict[str, Any]:
        """What a part hears, and by what it is heard. Raises Stopped."""
        return self._hearing.of(name)

    def check(self, title: str) -> list[str]:
        """What was done so far as a check of the language, with what was seen. Raises Stopped."""
        return as_check(self.worked, self.edges.of, title or "worked by hand")

    def wait_for(self, words: str) -> None:
        """From now on time passes until a condition of the language holds. Raises Stopped."""
        self._until = (self._condition(words), self.worked.now + MOST_UNTIL)

    def _condition(self, words: str) -> Holds:
        if self._definition:
            raise Stopped("a condition can be waited for in the file's own circuit only")
        if not words.strip() or "\n" in words:
            raise Stopped("say what to wait for, such as “gate set” or “open on”")
        loaded = load_with(self.path, [f"at 1gt expect {words}", "until 1gt"], self.root)
        study = next((study for study in loaded.studies if not study.label), None)
        if loaded.diagnostics or study is None:
            first = loaded.diagnostics[0]
            raise Stopped(f"{first.message}; {first.hint}" if first.hint else first.message)
        condition = study.checks[0].expectations[0].condition
        for atom in atoms(condition):
            if self.worked.circuit.signal(atom.name) is None:
                raise Stopped(f"'{atom.name}' is not in the drawing, which is what stands on the bench")
        return compiled(condition, self.worked.program)

    def _reached(self) -> bool:
        """Lets the next gt pass and looks whether what is waited for holds, or is given up."""
        if self._until is None:
            return self._step() is not None
        holds, last = self._until
        before = self.worked.state.levels
        if self._step() is not None or holds(self.worked.state.levels, before):
            self._until = None
            return True
        if self.worked.now >= last:
            self._until = None
            raise Stopped(f"it has not come within {MOST_UNTIL:,}gt")
        return False

    def _step(self) -> Open | None:
        self.open = self.worked.step()
        if self.open is not None:
            self.turn += 1
            self.stand_still()
        return self.open

    # What is answered.

    @property
    def sources(self) -> list[str]:
        """The files that the circuit is read from."""
        return list(self.opened.sources)

    def differs(self, known: Known) -> bool:
        """Whether there is anything that is not known."""
        return known != self._known()

    def _known(self) -> Known:
        worked = self.worked
        shown = (self.speed, self.waits, self.open, self.said, self.turn, worked.refused, self.search.number)
        asked = (*worked.queued, *self.verdicts, *shown)
        return Known(self.revision, self.worked.state, self.edges.epoch, self.worked.now, hash(asked))

    def plan(self) -> dict[str, Any]:
        """All that is shown once for each revision: pictures, inputs, signals."""
        circuit = self.worked.circuit
        return {
            "revision": self.revision,
            "file": safe(os.path.basename(self.path)),
            "name": safe(circuit.name),
            "title": safe(circuit.title),
            "layers": 0 if self.seen.drawing is None else self.seen.drawing.size[0],
            "size": [] if self.seen.drawing is None else self.seen.drawing.size,
            "first": self._first_layer(),
            "graph": graph_picture(circuit) if self.seen.drawing is None else None,
            "inputs": [{"name": part.name, "verbs": sorted(part.verbs, key=VERBS.index)} for part in circuit.inputs],
            "signals": list(self.seen.signals),
            "parts": {key_of(at): name for name, at in self.opened.where.items()},
            "starts": [[f"{name} {level}" for name, level in way.tried] for way in self.worked.ways],
            "mistakes": self.mistakes,
            "news": self.news,
        }

    def _first_layer(self) -> int:
        """The layer to be looked at first: that in which most parts stand."""
        counted = Counter(at[0] for at in self.opened.where.values())
        return max(counted, key=lambda layer: (counted[layer], -layer), default=1)

    def layer(self, number: int) -> dict[str, Any]:
        """The picture of a layer as it stands now, and what its letters mean; levels come apart. Raises Stopped."""
        drawing = self.seen.drawing
        if drawing is None or not 1 <= number <= drawing.size[0]:
            raise Stopped(f"there is no layer {number}")
        places = self.seen.places(self.worked.state, number)
        looks = {at: place.look for at, place in places.items() if place.look is not None}
        return {"revision": self.revision, **one_layer(drawing, number, self.worked.circuit.name, looks)}

    def build(self, words: Mapping[str, str]) -> dict[str, Any]:
        """The build in three dimensions as it stands now, or what differs from how it stood before. Raises Stopped."""
        asked, since = asked_of(words), words.get("since", "")
        if self._build is None:
            self._build = Build(self.seen, self.worked.circuit.name)
        known = int(since) if since.isascii() and since.isdigit() and len(since) < 10 else 0
        return {"revision": self.revision, **self._build.told(self.worked.state, asked, known)}

    def light(self, layer: int) -> dict[str, Any]:
        """The light in a layer now. Raises Stopped."""
        if self.seen.drawing is None:
            raise Stopped("nothing is drawn here")
        if self._light is None:
            self._light = Light(self.worked.program)
        state = self.worked.state
        told = {"revision": self.revision, "time": show(self.worked.now), "number": self._light.number(state)}
        return {**told, **self._light.layer(layer, state)}

    def _standing(self) -> int:
        standing = None if self._build is None else self.seen.standing(self.worked.state)
        return 0 if standing is None else standing.number

    def since(self, known: Known) -> tuple[dict[str, Any], Known]:
        """What differs from what is known, and what is known then."""
        worked, state = self.worked, self.worked.state
        anew = known.revision != self.revision
        before = None if anew else known.state
        levels, places = ({}, self.seen.places(state)) if before is None else self.seen.differences(before, state)
        fresh = anew or known.epoch != self.edges.epoch
        told = {
            "revision": self.revision,
            "turn": self.turn,
            "at": worked.now,
            "time": show(worked.now),
            "end": worked.end,
            "speed": self.speed,
            "waits": self.waits,
            "fresh": fresh,
            "edges": self.edges.since(-1 if fresh else known.at),
            "levels": {key_of(at): level for at, level in levels.items()},
            "places": {key_of(at): _shown(place) for at, place in places.items()},
            "parts": {} if self.seen.drawing is not None else self.seen.parts(before, state),
            "standing": self._standing(),
            "light": 0 if self._light is None else self._light.number(state),
            "told": _told(self.edges.changed),
            "queued": [act_words(each, worked.program.names[each.device]) for each in worked.queued],
            "open": None if self.open is None else [order_words(worked.program, each) for each in self.open.outcomes],
            "refused": worked.refused or self.said,
            "branches": [f"to {show(script.end)}, {len(script.acts)} moments worked" for script in worked.branches],
            "verdicts": self.verdicts,
            "search": self.search.number,
        }
        return told, self._known()


class Mistaken(Refused):
    """The file has mistakes; `opened` says which."""

    def __init__(self, found: Opened) -> None:
        super().__init__(f"{found.path} has mistakes")
        self.opened = found


def _diagnosed(found: Opened) -> list[str]:
    lines: list[str] = []
    for each in found.diagnostics:
        lines += plain(diagnostic_lines(each, found.sources, WIDTH)).rstrip().split("\n")
    return lines


def _changed(before: Circuit, after: Circuit) -> list[str]:
    """What is otherwise than at the last reading, in words."""
    gone = [name for name in before.by_name if name not in after.by_name]
    new = [name for name in after.by_name if name not in before.by_name]
    other = [name for name, part in after.by_name.items() if name in before.by_name and before.by_name[name] != part]
    words = [
        f"{what}: {', '.join(names[:MOST_TOLD])}{', …' if len(names) > MOST_TOLD else ''}"
        for what, names in (("new", new), ("gone", gone), ("changed", other))
        if names
    ]
    if before.drawing is not None and after.drawing is not None:
        drawn = list(changes(before.drawing, after.drawing))[:MOST_TOLD]
        words += plain(change_lines(drawn, WIDTH)).strip().split("\n")
    return [each for each in words if each.strip()] or ["the circuit is the same"]


def _told(changed: Mapping[str, int]) -> list[str]:
    words = [f"{safe(name)} {_level(level)}" for name, level in changed.items()]
    more = len(words) - MOST_TOLD
    return [*words[:MOST_TOLD], *([f"and {more} more"] if more > 0 else [])]


def _level(level: int) -> str:
    return {0: "off", FULL_POWER: "on"}.get(level, f"at {level}")


def _shown(place: Place) -> list[Any]:
    look = place.look
    if look is None:
        return [place.level, "", "nothing", FILLS[Ground.OPEN], "", place.away]
    return [place.level, safe(look.letter), safe(look.words), FILLS[look.ground], look.number, place.away]
