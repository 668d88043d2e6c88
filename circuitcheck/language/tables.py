"""The parser of the grammar, made of tables that come with the program.

Working them out takes longer than all else that a small file needs, so `grammar/tables.json` has them as plain data. It
is part of the program, as the grammar is: nothing is read from a folder that anybody else could write to. It names the
grammar that it was made of; tables of another grammar are not used but computed again, which costs nothing but time.
After a change of the grammar: `python -m circuitcheck.language.tables > grammar/tables.json`, which a test compares.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from typing import Any

import lark

Table = dict[str, Any]
"""A parser's states as lark writes them: for each what each token does, (0, next state) or (1, the rule it ends)."""


def parser_of(grammar: str, tables: str, lexer: type, transformer: object) -> lark.Lark:
    """The parser of a grammar, made of tables where they are this grammar's. `transformer` is asked for each node."""
    kept = json.loads(tables) if tables else {}
    if kept.get("grammar") == _digest(grammar):
        try:
            return _loaded(kept, lexer, transformer)
        except (AttributeError, KeyError, TypeError):
            pass  # a lark that keeps them in another form
    return lark.Lark(grammar, parser="lalr", lexer=lexer, transformer=transformer)


def tables_of(grammar: str, lexer: type) -> str:
    """The tables of a grammar as JSON, a rule or a state a line: the same whenever they are made."""
    data, memo = lark.Lark(grammar, parser="lalr", lexer=lexer).memo_serialize(
        [lark.lexer.TerminalDef, lark.grammar.Rule]
    )
    parser = data["parser"]
    ends, tokens, states = _numbered(parser["parser"])
    lines = {
        "words and rules": [memo[number] for number in range(len(memo))],
        "states": states,
    }
    heads = {
        "grammar": _digest(grammar),
        "rules": data["rules"],
        "words": parser["lexer_conf"]["terminals"],
        "ignored": parser["lexer_conf"]["ignore"],
        "tokens": tokens,
        "ends": ends,
    }
    blocks = [f"{json.dumps(name)}: {_written(value)}" for name, value in heads.items()]
    blocks += [f"{json.dumps(name)}: [\n" + ",\n".join(map(_written, rows)) + "\n]" for name, rows in lines.items()]
    return "{\n" + ",\n".join(blocks) + "\n}"


def _written(value: object) -> str:
    return json.dumps(value, separators=(",", ":"))


def _digest(grammar: str) -> str:
    return hashlib.sha256(grammar.encode()).hexdigest()


def _numbered(table: Table) -> tuple[int, list[str], list[list[int]]]:
    """The end, the tokens and the states, numbered in the order in which a walk from the start comes to them.

    A state is a list of its tokens, each with what it does behind it.

    Lark's own numbers differ from run to run. A token leads to a state, told by its number, or ends a rule, told by -1
    minus its number.
    """
    tokens = sorted(table["tokens"].values())
    place = {number: tokens.index(name) for number, name in table["tokens"].items()}
    order = {state: number for number, state in enumerate(_walk(table, place))}
    states = [
        [
            number
            for token, (ends, whither) in sorted(table["states"][state].items(), key=lambda item: place[item[0]])
            for number in (place[token], order[whither] if not ends else -1 - whither["@"])
        ]
        for state in order
    ]
    return order[table["end_states"]["start"]], tokens, states


def _walk(table: Table, place: dict[int, int]) -> Iterator[int]:
    seen = {table["start_states"]["start"]: None}
    for state in (ahead := list(seen)):
        yield state
        leads = sorted((place[token], to) for token, (ends, to) in table["states"][state].items() if not ends)
        new = [to for _, to in leads if to not in seen]
        seen |= dict.fromkeys(new)
        ahead += new


def _loaded(kept: dict[str, Any], lexer: type, transformer: object) -> lark.Lark:
    shifts = [(0, number) for number in range(len(kept["states"]))]
    ends = [(1, {"@": number}) for number in reversed(range(len(kept["words and rules"])))]
    leads = shifts + ends  # -1 minus a rule's number counts from the end
    states = {
        number: {token: leads[to] for token, to in zip(does[::2], does[1::2], strict=True)}
        for number, does in enumerate(kept["states"])
    }
    table = {
        "tokens": dict(enumerate(kept["tokens"])),
        "states": states,
        "start_states": {"start": 0},
        "end_states": {"start": kept["ends"]},
    }
    words = {
        "terminals": kept["words"],
        "ignore": kept["ignored"],
        "g_regex_flags": 0,
        "use_bytes": False,
        "lexer_type": lexer,
        "__type__": "LexerConf",
    }
    rules = {"rules": kept["rules"], "start": ["start"], "parser_type": "lalr", "__type__": "ParserConf"}
    data = {
        "parser": {"lexer_conf": words, "parser_conf": rules, "parser": table},
        "rules": kept["rules"],
        "options": {"parser": "lalr", "lexer": lexer, "start": ["start"]},
    }
    made: Any = lark.Lark.__new__(lark.Lark)
    memo = dict(enumerate(kept["words and rules"]))
    loaded: lark.Lark = made._load({"data": data, "memo": memo}, transformer=transformer)
    return loaded


if __name__ == "__main__":
    from circuitcheck.language.grammar import grammar
    from circuitcheck.language.words import WordLexer

    print(tables_of(grammar(), WordLexer))
