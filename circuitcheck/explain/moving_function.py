"""What a settled output computes in a machine that moves: in each configuration in which it rests, and over all rests.

What power reaches depends on where blocks are. So there is a function for each configuration in which the machine
rests, read as if its pistons stayed as they are; changes of inputs that make pistons move lead from one to another.
The table over all rests is filled with what the output is at each rest that was reached (`explain.rests`): where two
rests with the same inputs differ, the output is remembered.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from circuitcheck.engine import work
from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.program import Program, read
from circuitcheck.engine.record import Recording, configuration_at, record
from circuitcheck.engine.start import OpenStart
from circuitcheck.engine.step import Action
from circuitcheck.explain.cause import Step, why
from circuitcheck.explain.function import MOST_INPUTS, Function, TooLarge, formula, function, rewired_by
from circuitcheck.explain.inversion import Inversion, Relation, Turn, relation, torch_behind
from circuitcheck.explain.paths import paths
from circuitcheck.explain.rests import Hurried, Passage, Rest, Rests, every_rest
from circuitcheck.model.drawing import At
from circuitcheck.space.called import called
from circuitcheck.space.configuration import Configuration, Phase
from circuitcheck.space.reading import wired
from circuitcheck.space.scene import displacement, scene

MOST_SEARCHED = 3_000_000
"""How much work is done to find all rests of a machine (`engine.work`)."""
MOST_CONFIGURATIONS = 16
"""In how many configurations the wiring is read for a function of its own."""
MOST_TURNS = 3
"""How many other outputs are named that are the inverse already."""
MOST_SWITCHES = 24
"""Of how many switches between configurations the cause is looked up."""


@dataclass(frozen=True, slots=True)
class RestingConfiguration:
    """One configuration in which the machine rests, and what the output is in it."""

    number: int
    """From 1 on, in the order in which they are reached."""
    out: tuple[str, ...]
    """The pistons that are out."""
    moved: tuple[tuple[str, At], ...]
    """What is not where it is drawn, and where it is."""
    settings: frozenset[int]
    """The rows of the table over all rests at which it rests so."""
    values: frozenset[bool]
    """Whether the output is on at those rests."""
    table: Function | TooLarge
    """The output while every piston stays as it is."""
    formula: str
    inversions: tuple[Inversion, ...]
    """How the output then stands to each input, with the paths that there are in this wiring."""


@dataclass(frozen=True, slots=True)
class Switch:
    """What a change of an input at rest does, if it moves anything or changes the output on the way."""

    inputs: tuple[str, ...]
    """The inputs that do the same."""
    verb: str
    """How they are changed: on, off, press, is (to another level), or change (of a cell that is only felt)."""
    before: int
    """The number of the configuration that it is made in."""
    after: int | None
    """The number of the one that it leads to; None where the machine does not come to rest."""
    pistons: tuple[str, ...]
    """The pistons that start to move by it."""
    was_on: bool
    is_on: bool
    changes: int
    """How often the output changes on the way."""
    steps: tuple[Step, ...]
    """Why the output is then as it is, from the change on; empty where it is as before."""
    why: str = ""
    """Why it was not followed to its end."""


@dataclass(frozen=True, slots=True)
class HurriedRest:
    """A rest that no slow changes lead to: a second one came before the machine had come to rest from the first."""

    setting: int
    is_on: bool
    out: tuple[str, ...]
    moved: tuple[tuple[str, At], ...]
    by: Hurried


@dataclass(frozen=True, slots=True)
class MovingFunction:
    """What one output is, over every rest of a machine that moves."""

    output: str
    inputs: tuple[str, ...]
    """The inputs of the table, which stay as they are put."""
    passing: tuple[str, ...]
    """The other inputs that may have a say: those that give pulses, and cells that are only felt."""
    whole: Function | TooLarge
    """The output over all rests. Rows are open where it is remembered, or where the machine does not come to rest."""
    restless: frozenset[int]
    """The rows at which some change leads to no rest."""
    formula: str
    relations: tuple[tuple[str, Relation], ...]
    """How the output stands to each input of the table, over all rests."""
    inverse: tuple[str, ...]
    """The other outputs that are its inverse at every rest."""
    turns: tuple[Turn, ...]
    """The cheapest ways to have its inverse, cheapest first."""
    gives_pulses: bool
    """Whether it changes on the way from some rest to another, or back to the same, more than the rests say."""
    rests: int
    """How many rests there are."""
    configurations: tuple[RestingConfiguration, ...]
    switches: tuple[Switch, ...]
    hurried: tuple[HurriedRest, ...]
    """The rests at which the output is not as the table says, after changes that follow each other faster."""
    ended: str
    """Why not all rests were followed; empty if all were."""
    hurried_ended: str
    """The same of faster changes."""


def moves(program: Program) -> bool:
    """Whether what power reaches, or where water is, depends on what pistons do."""
    return program.motion is not None and bool(rewired_by(program) or program.motion.flow.place_of)


def survey(
    program: Program, outputs: Sequence[str], most: int = MOST_SEARCHED, hurried: bool = True
) -> Rests | TooLarge:
    """Every rest of a machine that moves, with the changes of these outputs on the way."""
    try:
        return every_rest(program, [program.circuit.signal(name) or name for name in outputs], most, hurried)
    except (work.Undecided, OpenStart, TooManyOrders) as undecided:
        return TooLarge(str(undecided))


def over_rests(program: Program, output: str, most: int) -> Function | TooLarge:
    """The table of an output over all rests that slow changes lead to, and nothing else."""
    found = survey(program, (output,), most, hurried=False)
    return found if isinstance(found, TooLarge) else of_survey(program, (output,), 0, found, detailed=False).whole


def moving_function(
    program: Program, output: str, outputs: Sequence[str], detailed: bool = True, most: int = MOST_SEARCHED
) -> MovingFunction | TooLarge:
    """What an output is in each configuration and over all rests; `outputs` are held against it as its inverse."""
    names = (output, *(name for name in outputs if name != output))
    found = survey(program, names, most)
    return found if isinstance(found, TooLarge) else of_survey(program, names, 0, found, detailed)


def of_survey(
    program: Program, outputs: Sequence[str], place: int, found: Rests, detailed: bool = True
) -> MovingFunction:
    """What one output is, out of the rests of its machine; without details no wiring is read and no cause looked up."""
    return _Reading(program, outputs, place, found).result(detailed)


def _turns(inverse: Iterable[str]) -> Iterator[Turn]:
    """What is an output's inverse already serves in its stead, sooner or later."""
    for name in itertools.islice(inverse, MOST_TURNS):
        yield Turn(f"take it from '{name}', which is its inverse at every rest", 0, None)


class _Reading:
    def __init__(self, program: Program, outputs: Sequence[str], place: int, found: Rests) -> None:
        self._program = program
        self._found = found
        self._outputs = outputs
        self._place = place
        self._feeds = [program.probe(program.circuit.signal(name) or name) for name in outputs]
        part = program.circuit.by_name
        self._inputs = tuple(
            name for name in found.inputs if "press" not in part[name].verbs and name not in found.only_felt
        )
        numbers: dict[Configuration, int] = {}
        for rest in found.rests:
            numbers.setdefault(rest.configuration, len(numbers) + 1)
        self._numbers = numbers

    def result(self, detailed: bool) -> MovingFunction:
        found = self._found
        whole, restless = self._whole()
        words, relations = "", list[tuple[str, Relation]]()
        if isinstance(whole, Function):
            words = formula(whole)
            for name in self._inputs:
                relations.append((name, Relation.UNKNOWN if restless else relation(whole, name)))
        output, inverse = self._outputs[self._place], self._inverse()
        return MovingFunction(
            output,
            self._inputs,
            tuple(name for name in found.inputs if name not in self._inputs),
            whole,
            restless,
            words,
            tuple(relations),
            inverse,
            (*_turns(inverse), torch_behind(output)),
            any(each.changes[self._place] > 1 for each in found.passages),
            len(found.rests),
            tuple(self._configurations(detailed)),
            tuple(self._switches()) if detailed else (),
            tuple(self._hurried(whole)),
            found.ended,
            found.hurried_ended,
        )

    # What is on at rest

    def _is_on(self, levels: Sequence[int], place: int | None = None) -> bool:
        return read(self._feeds[self._place if place is None else place], levels) > 0

    def _setting(self, levels: Sequence[int]) -> int:
        number = self._program.number
        return sum(1 << bit for bit, name in enumerate(self._inputs) if levels[number[name]])

    def _whole(self) -> tuple[Function | TooLarge, frozenset[int]]:
        """The table over all rests, and the rows at which the machine may not come to rest."""
        if self._found.ended:
            return TooLarge(self._found.ended), frozenset()
        if len(self._inputs) > MOST_INPUTS:
            return TooLarge(
                f"{len(self._inputs)} inputs have a say, and a table is filled for {MOST_INPUTS}"
            ), frozenset()
        values: dict[int, set[bool]] = {}
        for rest in self._found.rests:
            values.setdefault(self._setting(rest.levels), set()).add(self._is_on(rest.levels))
        restless = frozenset(self._after(each) for each in self._found.passages if each.after is None)
        on = frozenset(row for row, found in values.items() if found == {True})
        rows = range(1 << len(self._inputs))
        still_open = frozenset(row for row in rows if len(values.get(row, ())) != 1) | restless
        return Function(self._inputs, on - restless, still_open), restless

    def _after(self, passage: Passage) -> int:
        """The row of the table that a change leads to."""
        row = self._setting(self._found.rests[passage.before].levels)
        name = passage.change.input
        return row ^ 1 << self._inputs.index(name) if name in self._inputs else row

    def _inverse(self) -> tuple[str, ...]:
        places = (place for place in range(len(self._outputs)) if place != self._place)
        rests = self._found.rests
        return tuple(
            self._outputs[place]
            for place in places
            if all(self._is_on(rest.levels, place) is not self._is_on(rest.levels) for rest in rests)
        )

    # Configurations

    def _configurations(self, detailed: bool) -> Iterable[RestingConfiguration]:
        left = TooLarge(f"the wiring is read for a function in {MOST_CONFIGURATIONS} configurations")
        for now, number in self._numbers.items():
            rests = [rest for rest in self._found.rests if rest.configuration == now]
            table: Function | TooLarge = left
            inversions: tuple[Inversion, ...] = ()
            if detailed and number <= MOST_CONFIGURATIONS:
                table, inversions = self._standing(now, rests[0].levels)
            yield RestingConfiguration(
                number,
                *self._displaced(now),
                frozenset(self._setting(rest.levels) for rest in rests),
                frozenset(self._is_on(rest.levels) for rest in rests),
                table,
                formula(table) if isinstance(table, Function) else "",
                inversions,
            )

    def _displaced(self, now: Configuration) -> tuple[tuple[str, ...], tuple[tuple[str, At], ...]]:
        """The pistons that are out, and what is not where it is drawn."""
        assert self._program.motion is not None
        name, circuit = self._program.motion.drawing.name, self._program.circuit
        out = tuple(name(home) for home, phase in now.phases if phase is Phase.OUT)
        return out, tuple((called(circuit, home), place) for home, place in now.places)

    def _standing(self, now: Configuration, levels: bytes) -> tuple[Function | TooLarge, tuple[Inversion, ...]]:
        """The output in the wiring of one configuration, and how it stands to each input there."""
        motion = self._program.motion
        assert motion is not None
        drawing = scene(motion.drawing, displacement(motion.drawing, now))
        parts, where = wired(drawing, self._program.rules)
        circuit = replace(self._program.circuit, parts=parts, drawing=drawing, where=where)
        output = self._outputs[self._place]
        signal = circuit.signal(output) or output
        if signal not in circuit.by_name:
            return TooLarge(f"nothing reads '{output}' there"), ()
        program = Program(circuit, still=True)
        stays = {number for number, device in enumerate(self._program.devices) if device.strokes}
        stays |= motion.block_devices(motion.drawing.things)
        names = self._program.names
        held = {program.number[names[each]]: levels[each] for each in stays if names[each] in program.number}
        table = function(program, signal, held=held)
        return table, tuple(self._inversion(program, signal, table, name) for name in self._inputs)

    def _inversion(self, program: Program, signal: str, table: Function | TooLarge, name: str) -> Inversion:
        found = paths(program.circuit, name, signal)
        output = self._outputs[self._place]
        if isinstance(table, TooLarge):
            return Inversion(output, name, Relation.UNKNOWN, found, table.why)
        return Inversion(output, name, relation(table, name), found)

    # What switches between them

    def _switches(self) -> Iterable[Switch]:
        groups: dict[tuple[object, ...], list[Passage]] = {}
        for each in self._found.passages:
            before, after, was, now = self._led(each)
            number = None if after is None else self._numbers[after.configuration]
            if number != self._numbers[before.configuration] or each.changes[self._place]:
                verb = self._verb(each)
                key = (self._numbers[before.configuration], verb, number, was, now, each.changes, each.why)
                groups.setdefault(key, []).append(each)
        for passages in list(groups.values())[:MOST_SWITCHES]:
            yield self._switch(passages)

    def _led(self, passage: Passage) -> tuple[Rest, Rest | None, bool, bool]:
        """The rests that a change leads from and to, and whether the output is on before and after."""
        before = self._found.rests[passage.before]
        after = None if passage.after is None else self._found.rests[passage.after]
        was = self._is_on(before.levels)
        return before, after, was, was if after is None else self._is_on(after.levels)

    def _verb(self, passage: Passage) -> str:
        """How an input is changed; of a cell that is only felt, either way is the same."""
        return "change" if passage.change.input in self._found.only_felt else passage.change.verb

    def _switch(self, passages: Sequence[Passage]) -> Switch:
        first = passages[0]
        before, after, was, now = self._led(first)
        recording = self._recorded(before, first)
        at = before.next_change_at
        names = self._program.names
        strokes = [names[each.device] for each in recording.changes if each.stroke is not None and each.at >= at]
        steps: tuple[Step, ...] = ()
        if after is not None and now is not was and self._ends_so(recording, after):
            output = self._outputs[self._place]
            signal = self._program.circuit.signal(output) or output
            steps = tuple(replace(step, at=step.at - at) for step in why(recording, signal, recording.until).steps)
        return Switch(
            tuple(dict.fromkeys(each.change.input for each in passages)),
            self._verb(first),
            self._numbers[before.configuration],
            None if after is None else self._numbers[after.configuration],
            tuple(dict.fromkeys(strokes)),
            was,
            now,
            first.changes[self._place],
            steps,
            first.why,
        )

    def _ends_so(self, recording: Recording, after: Rest) -> bool:
        """Whether a run came to this rest, which it need not where an order is open (rule C5)."""
        same = self._is_on(recording.levels_at(recording.until)) is self._is_on(after.levels)
        return same and configuration_at(recording, recording.until) == after.configuration

    def _recorded(self, before: Rest, passage: Passage) -> Recording:
        """A run from the start to a rest, and on through a change."""
        number = self._program.number
        changes = (*before.reached_by, (before.next_change_at, passage.change))
        actions = [(at, Action(number[each.input], each.verb, each.level)) for at, each in changes]
        return record(self._program, before.start, actions, (), before.next_change_at + passage.lasts)

    def _hurried(self, whole: Function | TooLarge) -> Iterable[HurriedRest]:
        if isinstance(whole, TooLarge):
            return
        for each in self._found.hurried:
            row, on = self._setting(each.levels), self._is_on(each.levels)
            if row not in whole.open and (row in whole.on) is not on:
                yield HurriedRest(row, on, *self._displaced(each.configuration), each)
