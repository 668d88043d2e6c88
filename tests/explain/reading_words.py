"""A small reader of formulas in words: names, `and`, `or`, `not`, brackets, and the forms that count."""

from __future__ import annotations

import functools
import itertools
import operator
import re
from collections.abc import Callable, Mapping
from typing import Any

Maker = Callable[..., Any]


def _both(*values: bool) -> bool:
    return all(values)


def _any(*values: bool) -> bool:
    return any(values)


def _odd(*values: bool) -> bool:
    return functools.reduce(operator.xor, values)


def evaluated(
    words: str,
    values: Mapping[str, Any],
    conjoin: Maker = _both,
    disjoin: Maker = _any,
    invert: Maker = operator.not_,
    odd: Maker = _odd,
) -> Any:
    """A formula over these values: of truth, or of whatever the makers make."""
    pair = re.fullmatch(r"either (\S+) or (\S+), not both", words)
    if pair:
        return odd(values[pair[1]], values[pair[2]])
    counted = re.fullmatch(r"an (odd|even) number of (.+)", words)
    if counted:
        made = odd(*(values[name] for name in counted[2].split(", ")))
        return made if counted[1] == "odd" else invert(made)
    both = re.fullmatch(r"both of (\S+) and (\S+), or neither", words)
    if both:
        return invert(odd(values[both[1]], values[both[2]]))
    least = re.fullmatch(r"at least (\d+) of (.+)", words)
    if least:
        names = least[2].split(", ")
        groups = itertools.combinations(names, int(least[1]))
        return disjoin(*(conjoin(*(values[name] for name in group)) for group in groups))
    if words in ("always on", "always off"):
        return words == "always on"
    tokens = re.findall(r"[()]|[^\s()]+", words)
    made = _alternatives(tokens, values, conjoin, disjoin, invert)
    assert not tokens, f"left over: {tokens}"
    return made


def _alternatives(tokens: list[str], values: Mapping[str, Any], conjoin: Maker, disjoin: Maker, invert: Maker) -> Any:
    """One level between brackets: all `and` or all `or`, never mixed (the language's own rule, CKT106)."""
    parts = [_term(tokens, values, conjoin, disjoin, invert)]
    joints = set()
    while tokens and tokens[0] in ("and", "or"):
        joints.add(tokens.pop(0))
        parts.append(_term(tokens, values, conjoin, disjoin, invert))
    assert len(joints) < 2, "'and' and 'or' are mixed without brackets"
    return parts[0] if not joints else (conjoin if joints == {"and"} else disjoin)(*parts)


def _term(tokens: list[str], values: Mapping[str, Any], conjoin: Maker, disjoin: Maker, invert: Maker) -> Any:
    token = tokens.pop(0)
    if token == "not":
        return invert(_term(tokens, values, conjoin, disjoin, invert))
    if token == "(":
        made = _alternatives(tokens, values, conjoin, disjoin, invert)
        assert tokens.pop(0) == ")"
        return made
    return values[token]
