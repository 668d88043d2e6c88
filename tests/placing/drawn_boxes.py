"""Small drawings, and what the house reads of them: all of a tiny box, or some by chance."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator, Sequence
from dataclasses import replace

from circuitcheck.checks.drawing.wiring_graph import Wiring, wiring
from circuitcheck.model.circuit import Circuit, Output
from circuitcheck.model.drawing import MATTERS, At, Direction, Drawing, Thing
from circuitcheck.model.rules import USUAL, RuleSet
from circuitcheck.placing.exact_clauses import NO
from circuitcheck.placing.exact_places import Box, Places
from circuitcheck.space.circuit import read

MATERIALS = frozenset({"glass", "half", "dot"})


def part(word: str, way: Direction | None = None) -> Thing:
    """A part that faces, or is held, a way."""
    numbers = (("delay", 2),) if word == "repeater" else ()
    flags = frozenset({"short"}) if word == "button" else frozenset[str]()
    kind = MATTERS[word]
    if kind.held:
        return Thing(kind, on=way, numbers=numbers, flags=flags)
    return Thing(kind, facing=way, numbers=numbers, flags=flags)


def ways(word: str) -> tuple[Direction | None, ...]:
    """The ways in which a part may face or be held."""
    kind = MATTERS[word]
    return kind.held or kind.facing.value or (None,)


def drawing(box: Box, things: dict[At, Thing], names: dict[At, str]) -> Drawing:
    """A drawing of a box."""
    return Drawing(dict(sorted(things.items())), names, size=(box.height, box.depth, box.width))


def circuit_of(drawn: Drawing, rules: RuleSet = USUAL) -> Circuit | None:
    """The circuit that the house reads, which gives out the dust that has a name; None where something can't stand."""
    made = read(drawn, rules)
    if made.mistakes:
        return None
    named = [name for at, name in drawn.names.items() if drawn.things[at].is_dust]
    return replace(made.circuit, outputs=tuple(Output(f"out of {name}", name) for name in named))


def wiring_of(drawn: Drawing, rules: RuleSet = USUAL) -> Wiring | None:
    """Who gives to whom in a drawing, as the house reads it; None where something can't stand."""
    circuit = circuit_of(drawn, rules)
    if circuit is None:
        return None
    return wiring(circuit, [output.source for output in circuit.outputs])


def every(box: Box, words: Sequence[str], others: Sequence[str] = ("block", "dust")) -> Iterator[Drawing]:
    """Every drawing of a box that has these parts, and of other things as many as it likes."""
    rest = [Thing(MATTERS[word]) for word in others]
    for places in itertools.permutations(box.places, len(words)):
        if any(one > other for a, b, one, other in zip(words, words[1:], places, places[1:], strict=False) if a == b):
            continue  # parts of one kind are alike
        names = {place: f"p{number}" for number, place in enumerate(places)}
        free = [place for place in box.places if place not in names]
        for facing in itertools.product(*map(ways, words)):
            parts = {place: part(word, way) for place, word, way in zip(places, words, facing, strict=True)}
            for filled in itertools.product([None, *rest], repeat=len(free)):
                things = {place: thing for place, thing in zip(free, filled, strict=True) if thing is not None}
                yield drawing(box, {**parts, **things}, names)


def by_chance(chance: random.Random, box: Box, words: Sequence[str], given_out: bool) -> Drawing:
    """A drawing of a box with these parts in which most things can stand."""
    things: dict[At, Thing] = {}
    names: dict[At, str] = {}
    free = box.places
    for number, word in enumerate(words):
        for _ in range(30):
            way = chance.choice(ways(word))
            place = chance.choice(free)
            if place not in things and _put(chance, box, things, place, part(word, way)):
                names[place] = f"p{number}"
                break
    for _ in range(box.volume):
        place = chance.choice(free)
        if place not in things:
            _put(chance, box, things, place, _filling(chance))
    dust = [place for place, thing in things.items() if thing.is_dust]
    if given_out and dust:
        names[chance.choice(dust)] = "o"
    return drawing(box, things, names)


def _filling(chance: random.Random) -> Thing:
    word = chance.choice(["dust"] * 6 + ["block"] * 2 + ["dot", "glass", "half"])
    if word == "dot":
        return Thing(MATTERS["dust"], shape="dot")
    return Thing(MATTERS[word], end="top" if word == "half" else "")


def _put(chance: random.Random, box: Box, things: dict[At, Thing], place: At, thing: Thing) -> bool:
    """Puts a thing at a place with what it needs to stand; answers whether it did."""
    kind = thing.block_type
    needs = thing.on if thing.on is not None else Direction.BELOW if kind.lies else None
    if needs is not None:
        under = needs.from_(place)
        if not box.has(under):
            return False
        if under in things:
            if not things[under].block_type.solid and chance.random() < 0.9:
                return False
        else:
            word = chance.choice(["block"] * 8 + ["glass", "half"]) if kind.lies else "block"
            things[under] = Thing(MATTERS[word], end="top" if word == "half" else "")
    things[place] = thing
    return True


def mutant(chance: random.Random, box: Box, drawn: Drawing) -> Drawing:
    """A drawing in which something is taken away, put down, moved or turned; its parts are the same."""
    things, names = dict(drawn.things), dict(drawn.names)
    place = chance.choice(box.places)
    thing = things.get(place)
    if thing is not None and thing.is_part:
        if chance.random() < 0.5:
            things[place] = replace(part(thing.word, chance.choice(ways(thing.word))), numbers=thing.numbers)
        else:
            other = chance.choice(box.places)
            swapped = things.pop(place), things.pop(other, None)
            called = names.pop(place), names.pop(other, None)
            for at, each, name in ((other, swapped[0], called[0]), (place, swapped[1], called[1])):
                if each is not None:
                    things[at] = each
                if name is not None:
                    names[at] = name
    elif thing is None or place not in names:
        things.pop(place, None)
        if chance.random() < 0.7:
            things[place] = _filling(chance)
    return drawing(box, things, names)


def as_drawn(places: Places, drawn: Drawing) -> list[int]:
    """The literals that say that in a box all stands as it is drawn."""
    found = []
    at = {name: place for place, name in drawn.names.items()}
    for place in places.places:
        thing = drawn.things.get(place)
        word, shape = ("", "") if thing is None else (thing.word, thing.shape)
        plain = {"block": places.block, "dust": places.dust, "glass": places.glass, "half": places.half}
        for kind, literals in plain.items():
            found.append(literals[place] if word == kind else -literals[place])
        found.append(places.dot[place] if shape == "dot" else -places.dot[place])
    for name in (part.name for part in places.wanted.parts):
        thing = drawn.things[at[name]]
        found.append(places.way(name, at[name], thing.on or thing.facing))
    found += [literals.get(at[name], NO) for name, literals in places.named.items()]
    return found


KINDS = ("lever", "button", "torch", "torch", "torch", "repeater", "repeater", "comparator", "lamp")


def some_words(chance: random.Random, most: int) -> list[str]:
    """Some kinds of part by chance."""
    return [chance.choice(KINDS) for _ in range(chance.randint(1, most))]
