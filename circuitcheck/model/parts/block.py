"""The solid block: strongly powered by parts, weakly by dust, never by a block (rule P4)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from circuitcheck.model.parts.base import Kind, Part, Port, Request, from_option


@dataclass(frozen=True, slots=True, kw_only=True)
class Block(Part):
    """A solid block. What feeds it decides its strength: dust powers it weakly, everything else strongly."""

    feeds: tuple[str, ...]
    word: ClassVar[str] = "block"
    powered_by: ClassVar[tuple[str, ...]] = ("feeds",)

    def ports(self) -> tuple[Port, ...]:
        return (Port("power", self.feeds),)


def build(request: Request) -> tuple[Part, ...]:
    return (Block(name=request.name, span=request.span, feeds=request.feeds("from")),)


KIND = Kind(
    "block",
    "a solid block: passes the power of parts to all beside it, that of dust to all but dust",
    (from_option("what powers it: a torch under it, a repeater into it, a lever on it, dust on it"),),
    build,
)
