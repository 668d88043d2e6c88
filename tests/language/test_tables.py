"""The tables of the grammar are kept from run to run; a run without them comes to the same."""

import hashlib
import os
import pickle
import stat
import subprocess
import sys
from pathlib import Path

import lark
import pytest

from circuitcheck.language.builder import Builder
from circuitcheck.language.shipped import shipped
from circuitcheck.language.tables import parser_of
from circuitcheck.language.words import WordLexer

ROOT = Path(__file__).parents[2]
GRAMMAR = shipped("circuit.lark")
SLUICE = (ROOT / "circuits" / "sluice.circuit").read_text(encoding="utf-8")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    return tmp_path / "circuitcheck"


def counted(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Each grammar that tables are worked out of from now on."""
    worked_out: list[str] = []
    made = lark.Lark.__init__

    def init(self: lark.Lark, grammar: str, **options: object) -> None:
        worked_out.append(grammar)
        made(self, grammar, **options)

    monkeypatch.setattr(lark.Lark, "__init__", init)
    return worked_out


def test_tables_are_worked_out_once(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    worked_out = counted(monkeypatch)
    first = parser_of(GRAMMAR, WordLexer, Builder()).parse(SLUICE)
    assert worked_out == [GRAMMAR]
    assert parser_of(GRAMMAR, WordLexer, Builder()).parse(SLUICE) == first
    assert worked_out == [GRAMMAR]
    assert len(list(folder.iterdir())) == 1


def test_another_grammar_has_tables_of_its_own(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    parser_of(GRAMMAR, WordLexer, Builder())
    worked_out = counted(monkeypatch)
    other = GRAMMAR.replace('THROW: "throw"', 'THROW: "toss"')
    parser_of(other, WordLexer, Builder())
    assert worked_out == [other]
    assert len(list(folder.iterdir())) == 2


def test_what_was_not_written_by_us_whole_is_worked_out_again(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = parser_of(GRAMMAR, WordLexer, Builder()).parse(SLUICE)
    (kept,) = folder.iterdir()
    good = kept.read_bytes()
    worked_out = counted(monkeypatch)
    turned = good[:40] + bytes([good[40] ^ 1]) + good[41:]
    for bad in (b"", b"no tables at all", pickle.dumps("tables of others"), good[:-1], turned):
        kept.write_bytes(bad)
        assert parser_of(GRAMMAR, WordLexer, Builder()).parse(SLUICE) == first
        assert worked_out == [GRAMMAR]
        parser_of(GRAMMAR, WordLexer, Builder())
        assert worked_out == [GRAMMAR]
        worked_out.clear()


def test_tables_that_lark_does_not_take_are_worked_out_again(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    parser_of(GRAMMAR, WordLexer, Builder())
    (kept,) = folder.iterdir()
    data = pickle.dumps({"data": {}, "memo": {0: {"__type__": "Rule"}}})
    kept.write_bytes(hashlib.sha256(data).digest() + data)
    worked_out = counted(monkeypatch)
    parser_of(GRAMMAR, WordLexer, Builder())
    assert worked_out == [GRAMMAR]


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="files have no owner here")
def test_tables_of_another_user_are_not_read(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    parser_of(GRAMMAR, WordLexer, Builder())
    worked_out = counted(monkeypatch)
    user = os.getuid() + 1
    monkeypatch.setattr(os, "getuid", lambda: user)
    parser_of(GRAMMAR, WordLexer, Builder())
    assert worked_out == [GRAMMAR]


def test_where_nothing_can_be_kept_all_goes_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("")
    for home in (str(tmp_path / "file"), "not/absolute"):
        monkeypatch.setenv("XDG_CACHE_HOME", home)
        monkeypatch.chdir(tmp_path)
        assert parser_of(GRAMMAR, WordLexer, Builder()).parse(SLUICE) is not None
    assert [each.name for each in tmp_path.iterdir()] == ["file"]


@pytest.mark.skipif(os.name != "posix", reason="modes of folders are not those of Windows")
def test_the_folder_is_its_users_alone(folder: Path) -> None:
    parser_of(GRAMMAR, WordLexer, Builder())
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700


def test_many_first_runs_at_once_keep_one_whole_table(folder: Path) -> None:
    command = [sys.executable, "-m", "circuitcheck", "verify", "--states", "0", "circuits/gates.circuit"]
    runs = [
        subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, env={**os.environ, "XDG_CACHE_HOME": str(folder)})
        for _ in range(6)
    ]
    said = [run.communicate()[0] for run in runs]
    assert {run.returncode for run in runs} == {0}
    assert len(set(said)) == 1
    (kept,) = (folder / "circuitcheck").iterdir()
    assert kept.name.startswith("grammar-")
    assert kept.name.endswith(".tables")


def test_the_same_is_said_of_every_mistake(folder: Path) -> None:
    """Kept tables number their states otherwise than fresh ones: what is accepted next must not hang on it."""
    assert not folder.exists()
    script = (
        "from circuitcheck.language.load import load_text\n"
        "words = open('circuits/sluice.circuit', encoding='utf-8').read().split(' ')\n"
        "for place in range(0, len(words), 5):\n"
        "    print(load_text(' '.join(words[:place] + words[place + 1:])).diagnostics)"
    )
    fresh, kept = (
        subprocess.run(
            [sys.executable, "-c", script],
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=True,
            env={**os.environ, "XDG_CACHE_HOME": str(folder), "PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "2")
    )
    assert fresh == kept
    assert fresh.count("\n") > 50
