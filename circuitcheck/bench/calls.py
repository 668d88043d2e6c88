"""What can be asked of a bench, by the words in which a page asks for it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from circuitcheck.bench.layout_search import Wanted
from circuitcheck.bench.workbench import Workbench
from circuitcheck.bench.worked import Stopped

FASTEST = 2_000
"""How many gt may pass in a second."""
SECONDS = 120
"""How long a search for a layout takes, where nothing else is said."""
LONGEST_WORDS = 1_000
MOST_NUMBER = 10**9


class Call(NamedTuple):
    """What a call says besides what is to be done."""

    name: str
    verb: str
    words: str
    number: int
    turn: int
    """The turn in which the page saw what it chooses; -1 where it says none."""


def answered(bench: Workbench, asked: Mapping[str, Any]) -> dict[str, Any]:
    """Does what is asked. Returns what answers it at once. Raises Stopped."""
    what = _word(asked, "do")
    if what in SEARCHES:
        return SEARCHES[what](bench, asked)
    doing = DOES.get(what)
    if doing is None:
        raise Stopped(f"'{what}' can't be asked of a bench")
    name, verb, words = (_word(asked, key) for key in ("name", "verb", "words"))
    call = Call(name, verb, words, _number(asked, "number", 0), _number(asked, "turn", -1))
    if what in ONLY_ASKS:
        return doing(bench, call) or {}
    if what in CHOOSES and call.turn not in (-1, bench.turn):
        raise Stopped("something else has been done meanwhile, here or on another page: look again, then choose")
    if what not in WHILE_TIME_PASSES:
        bench.stand_still()
    if what != "speed":
        bench.open = None
        bench.turn += 1
    return doing(bench, call) or {}


def _word(asked: Mapping[str, Any], key: str) -> str:
    found = asked.get(key, "")
    if not isinstance(found, str) or len(found) > LONGEST_WORDS:
        raise Stopped(f"'{key}' must be a short text")
    return found


def _number(asked: Mapping[str, Any], key: str, otherwise: int) -> int:
    if key not in asked:
        return otherwise
    found = asked[key]
    if isinstance(found, bool) or not isinstance(found, int) or not 0 <= found <= MOST_NUMBER:
        raise Stopped(f"'{key}' must be a whole number")
    return found


def _search(bench: Workbench, asked: Mapping[str, Any]) -> dict[str, Any]:
    seconds, layers, seed = (
        _number(asked, key, usual) for key, usual in (("seconds", SECONDS), ("layers", 0), ("seed", 1))
    )
    wanted = Wanted(seconds, layers, _word(asked, "box"), seed, asked.get("fewest_things") is True)
    bench.search.begin(bench.seen.drawing is not None, wanted)
    return {}


def _stop_search(bench: Workbench, _asked: Mapping[str, Any]) -> dict[str, Any]:
    bench.search.stop()
    return {}


def _run(bench: Workbench, call: Call) -> None:
    bench.speed = min(call.number, FASTEST)


def _on(bench: Workbench, call: Call) -> None:
    bench.pass_time(min(max(call.number, 1), bench.worked.at_once))


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
    "hears": lambda bench, call: bench.hears(call.name),
    "check": lambda bench, call: {"lines": bench.check(call.words)},
}
"""What can be asked of a bench."""
SEARCHES: Mapping[str, Callable[[Workbench, Mapping[str, Any]], dict[str, Any]]] = {
    "search": _search,
    "stop search": _stop_search,
    "write": lambda bench, asked: {"written": bench.search.write(_word(asked, "name"))},
}
"""What can be asked of the search for a layout; the run goes on meanwhile."""
ONLY_ASKS = ("why", "hears", "check")
"""What changes nothing."""
CHOOSES = ("choose", "branch")
"""What is chosen out of what a page shows, which another page may have changed."""
WHILE_TIME_PASSES = ("act", "take back")
"""What can be done without time standing still."""
