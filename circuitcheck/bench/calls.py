"""What can be asked of a bench, by the words in which a page asks for it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from circuitcheck.bench.workbench import Workbench
from circuitcheck.bench.worked import Stopped

MOST_AT_ONCE = 20_000
"""How many gt may pass in one call."""
FASTEST = 2_000
"""How many gt may pass in a second."""
LONGEST_WORDS = 1_000
MOST_NUMBER = 10**9


class Call(NamedTuple):
    """What a call says besides what is to be done."""

    name: str
    verb: str
    words: str
    number: int


def answered(bench: Workbench, asked: Mapping[str, Any]) -> dict[str, Any]:
    """Does what is asked. Returns what answers it at once. Raises Stopped."""
    what = _word(asked, "do")
    doing = DOES.get(what)
    if doing is None:
        raise Stopped(f"'{what}' can't be asked of a bench")
    call = Call(_word(asked, "name"), _word(asked, "verb"), _word(asked, "words"), _number(asked))
    bench.stand_still()
    if what not in ONLY_ASKS:
        bench.open = None
    return doing(bench, call) or {}


def _word(asked: Mapping[str, Any], key: str) -> str:
    found = asked.get(key, "")
    if not isinstance(found, str) or len(found) > LONGEST_WORDS:
        raise Stopped(f"'{key}' must be a short text")
    return found


def _number(asked: Mapping[str, Any]) -> int:
    found = asked.get("number", 0)
    if isinstance(found, bool) or not isinstance(found, int) or not 0 <= found <= MOST_NUMBER:
        raise Stopped("'number' must be a whole number")
    return found


def _run(bench: Workbench, call: Call) -> None:
    bench.speed = min(call.number, FASTEST)


def _on(bench: Workbench, call: Call) -> None:
    bench.pass_time(min(max(call.number, 1), MOST_AT_ONCE))


DOES: Mapping[str, Callable[[Workbench, Call], dict[str, Any] | None]] = {
    "act": lambda bench, call: bench.worked.act(call.name, call.verb, call.number),
    "take back": lambda bench, _: bench.worked.take_back(),
    "step": _on,
    "speed": _run,
    "until": lambda bench, call: bench.wait_for(call.words),
    "choose": lambda bench, call: bench.worked.choose(call.number),
    "back": lambda bench, call: bench.worked.back_to(call.number),
    "otherwise": lambda bench, _: bench.worked.leave_ahead(),
    "restart": lambda bench, call: bench.worked.restart(call.number),
    "branch": lambda bench, call: bench.worked.branch(call.number),
    "why": lambda bench, call: {"lines": bench.why(call.name)},
    "check": lambda bench, call: {"lines": bench.check(call.words)},
}
"""What can be asked of a bench."""
ONLY_ASKS = ("why", "check", "speed")
"""What changes nothing of where the run stands."""
