"""What a settled output computes: its truth table over the inputs that reach it, and a formula where it is readable.

The table is filled by letting the circuit come to rest (`engine.settle`) once for each row, so that what a part does is
written in one place only. Rows at which the output depends on what went before (a latch, a lock) stay open.
This is the only module that imports sympy, and only when a formula is asked for.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from circuitcheck.engine import work
from circuitcheck.engine.program import Program, read
from circuitcheck.engine.settle import settle
from circuitcheck.engine.start import TooManyStarts, resting
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.rules import FULL_POWER

MOST_INPUTS = 12
"""Over how many inputs a table is filled: 4096 rows."""
MOST_WORK = 400_000
"""How many parts are looked at, over all rows of one table, before it is left unfilled."""
MOST_FORMULA_INPUTS = 6
MOST_OPEN_TRIED = 8
"""For how many rows of a table that look remembered every way to rest is tried."""
LONGEST_FORMULA = 90
"""How many letters a formula may have before it is left out as unreadable."""


@dataclass(frozen=True, slots=True)
class TooLarge:
    """Why a table was not filled."""

    why: str


@dataclass(frozen=True, slots=True)
class Function:
    """The settled value of one signal. Row r has input i on where bit i of r is set."""

    inputs: tuple[str, ...]
    on: frozenset[int]
    """The rows at which the signal is on."""
    open: frozenset[int] = frozenset()
    """The rows at which it depends on what went before."""

    @property
    def rows(self) -> range:
        """All rows of the table."""
        return range(1 << len(self.inputs))

    def over(self, inputs: Sequence[str]) -> Function:
        """The same function over more inputs, or the same in another order."""
        places = [inputs.index(name) for name in self.inputs]

        def own(row: int) -> int:
            return sum(1 << bit for bit, place in enumerate(places) if row >> place & 1)

        rows = range(1 << len(inputs))
        on = frozenset(row for row in rows if own(row) in self.on)
        return Function(tuple(inputs), on, frozenset(row for row in rows if own(row) in self.open))

    def inverse(self) -> Function:
        """The function that is on where this one is off."""
        return Function(self.inputs, frozenset(self.rows) - self.on - self.open, self.open)


def inputs_of(circuit: Circuit, name: str) -> tuple[str, ...]:
    """The inputs from which power or change can reach a signal, in the order of the file."""
    import networkx

    reached = networkx.ancestors(circuit.graph, name) | {name}
    return tuple(part.name for part in circuit.inputs if part.name in reached)


def rewired_by(program: Program) -> str:
    """The first piston whose strokes change what power reaches, so that no one wiring says it all; empty for none."""
    return program.motion.rewires() if program.motion is not None else ""


def function(
    program: Program, name: str, inputs: Sequence[str] | None = None, held: Mapping[int, int] | None = None
) -> Function | TooLarge:
    """The settled function of a signal over the inputs that reach it, or over those named; some devices may be held."""
    names = tuple(inputs) if inputs is not None else inputs_of(program.circuit, name)
    if len(names) > MOST_INPUTS:
        return TooLarge(f"{len(names)} inputs reach it, and a table is filled for {MOST_INPUTS} at most")
    if len(program.devices) << len(names) > MOST_WORK:
        return TooLarge(f"{1 << len(names)} rows of {len(program.devices)} parts are more than the program computes")
    piston = rewired_by(program)
    if piston:
        return TooLarge(f"the strokes of '{piston}' change what power reaches, and a table is filled for one wiring")
    analogue = next((each for each in names if program.circuit.by_name[each].graded), None)
    if analogue is not None:
        return TooLarge(f"'{analogue}' has levels between off and full, and a table has on and off only")
    numbers = [program.number[each] for each in names]
    others = [number for number, device in enumerate(program.devices) if device.part.verbs]
    on: set[int] = set()
    unknown: set[int] = set()
    for row in range(1 << len(names)):
        fixed = dict.fromkeys(others, 0) | dict(held or {})
        fixed |= {number: FULL_POWER if row >> bit & 1 else 0 for bit, number in enumerate(numbers)}
        # Once many rows have been found to be remembered, the others that look so are taken to be.
        value = _value(program, name, fixed, thorough=len(unknown) < MOST_OPEN_TRIED)
        if value is None:
            unknown.add(row)
        elif value:
            on.add(row)
    return Function(names, frozenset(on), frozenset(unknown))


def filled(program: Program, name: str, inputs: Sequence[str], most: int) -> Function | TooLarge:
    """The same within a bound of work (`engine.work`)."""
    try:
        with work.bounded(most):
            return function(program, name, inputs)
    except work.OutOfWork as out:
        return TooLarge(str(out))


def _value(program: Program, name: str, fixed: dict[int, int], thorough: bool) -> bool | None:
    """Whether a signal is on at rest while some devices are held; None if that depends on what went before."""
    feeds = program.probe(name)
    bounds = settle(program, fixed)
    low, high = read(feeds, bounds.low) > 0, read(feeds, bounds.high) > 0
    if low is high:
        return low
    if not thorough:
        return None
    try:
        # Parts whose own level is open may still agree on this signal's, however they came to rest.
        found = {read(feeds, levels) > 0 for levels in resting(program, bounds, set(fixed))}
    except TooManyStarts:
        return None
    return found.pop() if len(found) == 1 else None


# Formulas


def formula(table: Function) -> str:
    """The function in the words of conditions; empty where it would not be readable."""
    if table.open:
        return ""
    needed = [bit for bit in range(len(table.inputs)) if _matters(table, bit)]
    if not needed:
        return "always on" if table.on else "always off"
    parity = _parity(table, needed)
    if parity:
        return parity
    least = _threshold(table, needed)
    if least:
        return f"at least {least} of {', '.join(table.inputs[bit] for bit in needed)}"
    if len(needed) > MOST_FORMULA_INPUTS:
        return ""
    text = _shortest(table, needed)
    return text if len(text) <= LONGEST_FORMULA else ""


def _matters(table: Function, bit: int) -> bool:
    return any((row in table.on) is not (row ^ (1 << bit) in table.on) for row in table.rows)


def _parity(table: Function, needed: Sequence[int]) -> str:
    """`an odd number of …` where that is what it is."""
    if len(needed) < 2:
        return ""
    odd = all((row in table.on) is (sum(row >> bit & 1 for bit in needed) % 2 == 1) for row in table.rows)
    even = all((row in table.on) is (sum(row >> bit & 1 for bit in needed) % 2 == 0) for row in table.rows)
    names = [table.inputs[bit] for bit in needed]
    if odd and len(names) == 2:
        return f"either {names[0]} or {names[1]}, not both"
    if even and len(names) == 2:
        return f"both of {names[0]} and {names[1]}, or neither"
    if odd or even:
        return f"an {'odd' if odd else 'even'} number of {', '.join(names)}"
    return ""


def _threshold(table: Function, needed: Sequence[int]) -> int:
    """The k of `at least k of …`, where that is what the function is and neither `and` nor `or` says it; else 0."""
    counts = [(sum(row >> bit & 1 for bit in needed), row in table.on) for row in table.rows]
    least = min((count for count, on in counts if on), default=0)
    fits = all(on is (count >= least) for count, on in counts)
    return least if fits and 1 < least < len(needed) else 0


def _shortest(table: Function, needed: Sequence[int]) -> str:
    from sympy import Symbol
    from sympy.logic.boolalg import POSform, SOPform

    # Numbered symbols, because a name of the circuit may be anything.
    symbols = [Symbol(f"x{place}") for place in range(len(needed))]
    on_rows = [row for row in range(1 << len(needed)) if _spread(row, needed) in table.on]
    minterms = [[row >> place & 1 for place in range(len(needed))] for row in on_rows]
    names = {symbol: table.inputs[bit] for symbol, bit in zip(symbols, needed, strict=True)}
    shown = [_words(form(symbols, minterms), names) for form in (SOPform, POSform)]
    return min(shown, key=len)


def _spread(row: int, needed: Sequence[int]) -> int:
    return sum(1 << bit for place, bit in enumerate(needed) if row >> place & 1)


def _words(expression: object, names: dict[object, str]) -> str:
    """A sympy expression in the words of conditions."""
    from sympy.logic.boolalg import And, Not, Or

    if isinstance(expression, Not):
        return f"not {_words(expression.args[0], names)}"
    if isinstance(expression, And | Or):
        word = " and " if isinstance(expression, And) else " or "
        return word.join(
            sorted((_bracketed(part, names) for part in expression.args), key=lambda text: text.lstrip("("))
        )
    return names[expression]


def _bracketed(expression: object, names: dict[object, str]) -> str:
    from sympy.logic.boolalg import And, Or

    text = _words(expression, names)
    return f"({text})" if isinstance(expression, And | Or) else text
