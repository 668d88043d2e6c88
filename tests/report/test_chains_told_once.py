"""Claims that fail of one cause: its chain is reported once, and from then on it is said where.

The mill's gate comes late behind a slow repeater; what it does follows by hand from R2 and T1.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from .calling import call, told, write

LATE = (
    "lever rope\nrepeater winch from rope delay 4t\ntorch slack from winch\ntorch tight from slack\n"
    "torch loose from tight\nlamp open from tight\nlamp bell from tight\nlamp shut from loose\n"
)
PULL = 'check "pull"\n  at 1s rope on\n  at 5s rope off\n  until 6s\nend\n'
ONE_CAUSE = LATE + PULL + (
    'always "one" when rope then open within 1t unless rope off\n'
    'always "two" when rope then bell within 1t unless rope off\n'
    'always "three" when rope then shut off within 1t unless rope off\n'
    'always "four" open follows rope, settled within 1t\n'
    'always "five" shut inverts rope, settled within 1t\n'
)  # fmt: skip
LONGER = LATE + PULL + 'never "lit" open\nnever "dark" shut off\n'
"""The second chain goes on where the first ends, a torch and 1t later."""


def test_a_chain_is_reported_once_and_other_claims_refer_to_it(tmp_path: Path) -> None:
    out = told(call("verify", "--states", "0", *write(tmp_path, a=ONE_CAUSE)))
    assert out.count("FAILS") == 5
    assert out.count("still waiting") == 1
    assert out.count('as explained for "one"') == 6
    assert len(out.splitlines()) < 50


def test_of_a_longer_chain_only_what_is_new_is_reported(tmp_path: Path) -> None:
    out = told(call("verify", "--states", "0", *write(tmp_path, a=LONGER)))
    lit, dark = out.split(" lit ")[1].split(" dark ")
    for part in ("rope ", "winch ", "slack ", "tight "):
        assert f"t  {part}" in lit
        assert f"t  {part}" not in dark
    assert "t  loose " in dark
    assert "up to 'tight' at 16t as explained for \"lit\"" in dark


@pytest.mark.parametrize("form", ["--junit", "--json"])
def test_what_is_read_apart_tells_the_whole_chain_each_time(tmp_path: Path, form: str) -> None:
    path = tmp_path / "out"
    words = ["--junit", str(path)] if form == "--junit" else ["--json"]
    run = call("verify", "--states", "0", *words, *write(tmp_path, a=ONE_CAUSE))
    text = path.read_text(encoding="utf-8") if form == "--junit" else json.dumps(json.loads(told(run)))
    assert text.count("still waiting") == 5
    assert "as explained for" not in text


def test_prove_tells_a_chain_once(tmp_path: Path) -> None:
    """The two claims are broken by one way: nothing is done, and the lamp at the end of two torches is dark."""
    text = "lever rope\ntorch slack from rope\nlamp open from slack\nlamp bell from slack\n"
    claims = 'always "one" when rope rises then open off\nalways "two" when rope rises then bell off\n'
    out = told(call("prove", *write(tmp_path, a=text + claims)))
    assert out.count("FAILS") == 2
    assert 'as explained for "one"' in out
