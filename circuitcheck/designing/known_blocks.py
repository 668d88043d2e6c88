"""Blocks that are known to be good: what remembers, what makes a pulse of an edge, what comes longer or later.

Each is written in lines of the language, in which the names of its inputs, of its parts and of its settings stand in
braces. Those of the shelf (`circuits/`) are as they stand there, and are held to its checks.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator, Mapping
from string import Formatter
from typing import NamedTuple

from circuitcheck.designing.netlist import DELAYS

STARTS = ("on", "off")
TICKS = tuple(f"{ticks}t" for ticks in DELAYS)


class Block(NamedTuple):
    """A known block."""

    name: str
    rule: str
    """The rule that says what its parts do."""
    inputs: tuple[str, ...]
    outputs: tuple[str, ...]
    """What it gives out; each must be read but one that is called after another."""
    lines: tuple[str, ...]
    parts: int
    """How many parts with a wait it has."""
    settings: Mapping[str, tuple[str, ...]]
    """What may be chosen of each of its settings."""
    remembers: bool = False
    """Whether it has a round, or a lock: so it stands in only for what has one."""

    @property
    def own(self) -> tuple[str, ...]:
        """The names of its parts."""
        every = {name: None for line in self.lines for _, name, _, _ in Formatter().parse(line) if name}
        return tuple(name for name in every if name not in self.inputs and name not in self.settings)

    @property
    def locks(self) -> list[str]:
        """The inputs that lock a repeater."""
        repeaters = (line for line in self.lines if line.startswith("repeater"))
        return [name for line in repeaters for name in re.findall(r"locked by {(\w+)}", line)]

    def chosen(self) -> Iterator[Mapping[str, str]]:
        """Every way to set it."""
        for chosen in itertools.product(*self.settings.values()):
            yield dict(zip(self.settings, chosen, strict=True))


KNOWN_BLOCKS = (
    Block(
        "delay",
        "R1",
        ("signal",),
        ("{out}",),
        ("repeater  {out}  from {signal}  delay {wait}",),
        1,
        {"wait": TICKS},
    ),
    Block(
        "delay of two repeaters",
        "R6",
        ("signal",),
        ("{out}",),
        ("repeater  {first}  from {signal}  delay 4t", "repeater  {out}  from {first}  delay {wait}"),
        2,
        {"wait": TICKS},
    ),
    Block(
        "longer pulse",
        "R3",
        ("signal",),
        ("{out}",),
        (
            "repeater  {first}   from {signal}  delay 4t",
            "repeater  {second}  from {first}  delay {extra}",
            "dust      {line}    from {first}  length 2",
            "junction  {out}     joins {line}, {second}",
        ),
        2,
        {"extra": TICKS[:3]},
    ),
    Block(
        "edge pulse",
        "K1",
        ("signal",),
        ("{out}",),
        (
            "comparator  {cut}   from {signal}  side {line}  subtract",
            "comparator  {echo}  from {signal}",
            "dust        {line}  from {echo}",
            "repeater    {out}   from {cut}  delay {width}",
        ),
        3,
        {"width": TICKS},
    ),
    Block(
        "set-reset latch",
        "L1",
        ("up", "down"),
        ("{out}", "{out}.inverse"),
        ("latch  {out}  set {up}  reset {down}  starts {start}",),
        2,
        {"start": ("set", "reset")},
        remembers=True,
    ),
    Block(
        "set-reset latch of two torches",
        "L1",
        ("up", "down"),
        ("{out}", "{inverse}"),
        ("torch  {out}  from {down}, {inverse}  starts {start}", "torch  {inverse}  from {up}, {out}"),
        2,
        {"start": STARTS},
        remembers=True,
    ),
    Block(
        "data latch over a lock of its own",
        "R5",
        ("data", "hold"),
        ("{out}",),
        ("latch  {out}  data {data}  locked by {hold}  starts {start}",),
        2,
        {"start": STARTS},
        remembers=True,
    ),
    Block(
        "data latch",
        "R5",
        ("data", "hold"),
        ("{out}",),
        ("repeater  {out}  from {data}  delay 1t  locked by {hold}  starts {start}",),
        1,
        {"start": STARTS},
        remembers=True,
    ),
    Block(
        "toggle",
        "R5",
        ("press",),
        ("{out}",),
        (
            "torch  {turned}  from {out}",
            "torch  {up}      from {press}",
            "latch  {inner}   data {turned}  locked by {press}  starts {other}",
            "latch  {out}     data {inner}   locked by {up}  starts {start}",
        ),
        6,
        {"other": STARTS, "start": STARTS},
        remembers=True,
    ),
)
