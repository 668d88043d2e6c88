"""The page on the Python interface, made of docstrings: `python -m circuitcheck.python_page > grammar/PYTHON.md`."""

from __future__ import annotations

import ast
import inspect
from collections.abc import Iterator
from enum import Enum
from functools import cached_property

import circuitcheck

GROUPS = {
    "Reading and verifying": ("load", "loads", "LoadedCircuit", "verify_file", "verify_text"),
    "Making a circuit": ("Builder",),
    "Running": ("Simulation",),
    "What signals did": ("Edge", "Pulse", "Row", "Setting"),
    "Verdicts": (
        "FileReport",
        "Exit",
        "StudyResult",
        "Outcome",
        "Verdict",
        "Failure",
        "Check",
        "Claim",
        "Recording",
        "Race",
        "Refusal",
        "Cure",
        "Proof",
        "Leaning",
        "Given",
        "BurnOut",
        "Finding",
        "Flashing",
        "Diagnostic",
        "Span",
    ),
    "Circuits": ("Circuit", "Part", "RuleSet"),
    "Mistakes": (
        "CircuitError",
        "InvalidCircuit",
        "UnknownName",
        "WrongCall",
        "NotAsExpected",
        "OpenOrder",
        "RunGivenUp",
    ),
}
"""The public names, under the headings that they stand under."""
INNER = ("Part",)
"""Classes whose members are between them and the engine."""


class _Raw(str):
    """A text that stands in a signature as it is."""

    __slots__ = ()

    def __repr__(self) -> str:
        return str(self)


def page() -> str:
    """The whole page, in Markdown."""
    listed = [f"* [{title}](#{title.lower().replace(' ', '-')}): {_listed(names)}" for title, names in GROUPS.items()]
    blocks = [
        "# The Python interface",
        "This page is made of the docstrings of the package, and each of its examples is run. All examples go on from "
        "the first. Times are in game ticks (gt) where they are numbers, and levels go from 0 to 15.",
        *_text(circuitcheck),
        "\n".join(listed),
    ]
    for title, names in GROUPS.items():
        blocks.append(f"## {title}")
        for name in names:
            blocks += _described(name, getattr(circuitcheck, name))
    return "\n\n".join(blocks) + "\n"


def _listed(names: tuple[str, ...]) -> str:
    return ", ".join(f"`{name}`" for name in names)


def _described(name: str, thing: object) -> Iterator[str]:
    if not inspect.isclass(thing):
        yield f"### {name}"
        yield f"`{name}{_signature(thing)}`"
        yield from _text(thing)
        return
    made = vars(thing).get("__init__")
    shown = inspect.isfunction(made) and made.__doc__ and not issubclass(thing, Exception)
    yield f"### {name}"
    if issubclass(thing, Exception):
        yield f"Is a {_listed(tuple(base.__name__ for base in thing.__bases__))}."
    if shown:
        yield f"`{name}{_signature(made, bound=True)}`"
        yield inspect.getdoc(made) or ""
    yield from _text(thing)
    yield from _table(thing)
    for own, member in vars(thing).items():
        if not own.startswith("_") and name not in INNER:
            yield from _member(name, own, member)


def _member(owner: str, name: str, member: object) -> Iterator[str]:
    if isinstance(member, property | cached_property):
        got = member.fget if isinstance(member, property) else member.func
        yield f"#### {owner}.{name}"
        yield f"`{name}: {got.__annotations__['return']}`"
        yield from _text(member)
    elif inspect.isfunction(member):
        yield f"#### {owner}.{name}"
        yield f"`{name}{_signature(member, bound=True)}`"
        yield from _text(member)


def _table(thing: type) -> Iterator[str]:
    """The fields of a class, or the members of an enumeration."""
    if issubclass(thing, Enum):
        rows = [f"| `{member.name}` | {member.value} |" for member in thing]
        yield "\n".join(["| member | value |", "| --- | --- |", *rows])
        return
    rows = [f"| `{name}` | `{form.replace('|', chr(92) + '|')}` | {words} |" for name, form, words in _fields(thing)]
    if rows:
        yield "\n".join(["| field | type | meaning |", "| --- | --- | --- |", *rows])


def _fields(thing: type) -> Iterator[tuple[str, str, str]]:
    """The fields that a class declares, with their types and the words below them."""
    (made,) = ast.parse(inspect.getsource(thing)).body
    assert isinstance(made, ast.ClassDef)
    for field, below in zip(made.body, [*made.body[1:], None], strict=True):
        if isinstance(field, ast.AnnAssign) and isinstance(field.target, ast.Name):
            told = isinstance(below, ast.Expr) and isinstance(below.value, ast.Constant)
            words = str(below.value.value) if told else ""  # type: ignore[union-attr]
            form = ast.unparse(field.annotation)
            if not form.startswith("ClassVar"):  # facts of a kind, between it and the engine
                yield field.target.id, form, " ".join(words.split())


def _signature(function: object, bound: bool = False) -> str:
    signature = inspect.signature(function)  # type: ignore[arg-type]
    parameters = [
        each.replace(
            annotation=_Raw(each.annotation) if each.annotation is not each.empty else each.empty,
            default=_Raw("…") if callable(each.default) and each.default is not each.empty else each.default,
        )
        for each in list(signature.parameters.values())[bound:]
    ]
    given = signature.return_annotation
    return str(signature.replace(parameters=parameters, return_annotation=_Raw(given) if given else given))


def _text(thing: object) -> Iterator[str]:
    """A docstring as blocks of Markdown, its examples fenced."""
    for block in (inspect.getdoc(thing) or "").split("\n\n"):
        if block.lstrip().startswith(">>>"):
            yield f"```pycon\n{inspect.cleandoc(block)}\n```"
        else:
            yield block


if __name__ == "__main__":
    print(page(), end="")
