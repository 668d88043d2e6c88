"""What the Python interface raises: one base, and below it a class for each thing to tell apart.

The classes below the base are also the usual ones of Python (ValueError, KeyError, AssertionError, RuntimeError).
"""

from __future__ import annotations

import os

from circuitcheck.diagnostics import Diagnostic


class CircuitError(Exception):
    """The base of everything that the Python interface raises: what is wrong, and in `hint` what to do.

    >>> try:
    ...     mill.start().press("rope")
    ... except circuitcheck.CircuitError as refused:
    ...     print(refused)
    ...     print(refused.hint)
    'rope' has no such action (it takes set('rope', True), set('rope', False) or throw('rope'))
    it takes set('rope', True), set('rope', False) or throw('rope')
    """

    def __init__(self, what: str, hint: str = "") -> None:
        super().__init__(what, hint)
        self.what = what
        self.hint = hint

    def __str__(self) -> str:
        return f"{self.what} ({self.hint})" if self.hint else self.what


class InvalidCircuit(CircuitError, ValueError):
    """The circuit's text has mistakes; they stand in `diagnostics`.

    >>> try:
    ...     circuitcheck.loads("lamp bell from rop")
    ... except circuitcheck.InvalidCircuit as refused:
    ...     print([each.code for each in refused.diagnostics])
    ['CKT201']
    """

    def __init__(self, diagnostics: tuple[Diagnostic, ...], words: str = "") -> None:
        """`words` are what was expected, where that is what has the mistakes and not a file."""
        rows = [f"{words or each.span}: {each.message}{f' ({each.hint})' * bool(each.hint)}" for each in diagnostics]
        super().__init__("\n".join(rows))
        self.args = (diagnostics, words)
        self.diagnostics = diagnostics


class UnknownName(CircuitError, KeyError):
    """No part of the circuit has this name.

    >>> mill.start().level("opens")
    Traceback (most recent call last):
    circuitcheck.errors.UnknownName: no part is called 'opens' (did you mean 'open'?)
    """


class WrongCall(CircuitError, ValueError):
    """A call that can't be carried out: an action that the part does not take, no time, a step in the wrong order.

    >>> mill.start().run("2 days")
    Traceback (most recent call last):
    circuitcheck.errors.WrongCall: '2 days' is not a duration (write for example 16t, 3gt or 1.5s)
    """


class NotAsExpected(CircuitError, AssertionError):
    """A run is not as was expected; the text says what happened, and why, as for a check of a file.

    >>> try:
    ...     mill.start().expect("open on")
    ... except circuitcheck.NotAsExpected as failed:
    ...     print(str(failed).splitlines()[0])
    fails at 0t: 'open' was off at 0t
    """


class OpenOrder(CircuitError, RuntimeError):
    """The signal asked for depends on an order or a start that nothing decides (rules C5, L5).

    >>> both = circuitcheck.loads('''
    ... lever one
    ... lever two
    ... latch gate  set one  reset two  starts reset
    ... ''')
    >>> run = both.start().set("one", True).set("two", True).run("1s").set("one", False).set("two", False).run("1s")
    >>> sorted(run.levels("gate"))
    [0, 15]
    >>> run.is_on("gate")
    Traceback (most recent call last):
    circuitcheck.errors.OpenOrder: 'gate' is 0 or 15 at 20t: an open order or start decides (levels('gate') gives all)
    """


class RunGivenUp(CircuitError, RuntimeError):
    """A run that can't go on: it grew past what is followed, or the files of its circuit are gone or changed.

    >>> raise circuitcheck.RunGivenUp("the file 'parts.circuit' has changed", "load the circuit again")
    Traceback (most recent call last):
    circuitcheck.errors.RunGivenUp: the file 'parts.circuit' has changed (load the circuit again)
    """


def must_be_text(value: object) -> None:
    """Refuses what is no text where the text of a circuit is asked for. Raises WrongCall."""
    if not isinstance(value, str):
        raise WrongCall(f"{value!r:.60} is no text of a circuit", "give a str; load() and verify_file() take a path")


def must_be_name(value: object) -> None:
    """Refuses what names no part, output or kind. Raises WrongCall."""
    if not isinstance(value, str):
        raise WrongCall(f"{value!r:.60} is no name", "give a str, such as 'rope'")


def must_be_words(*values: object) -> None:
    """Refuses what is no line, condition or title in the language. Raises WrongCall."""
    for each in values:
        if not isinstance(each, str):
            raise WrongCall(f"{each!r:.60} is no text in the language", "give a str, such as 'open on'")


def must_be_path(value: object) -> None:
    """Refuses what names no file. Raises WrongCall."""
    if not isinstance(value, str | os.PathLike):
        raise WrongCall(f"{value!r:.60} is no path", "give a str or a pathlib.Path")


def must_be_count(value: object) -> None:
    """Refuses what is no number of states. Raises WrongCall."""
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise WrongCall(f"{value!r:.60} is no number of states", "give a whole number from 0 on")
