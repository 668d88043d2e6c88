"""What the program keeps from run to run can't be turned against who runs it."""

from __future__ import annotations

import hashlib
import os
import pickle
import sys
from pathlib import Path

import lark

from circuitcheck.language.shipped import shipped
from circuitcheck.language.words import WordLexer

from .hostile import outside

GOOD = 'lever rope\nlamp bell from rope\ncheck "pull"\n  at 1s rope on\n  by 2s expect bell\nend\n'


class Bomb:
    """Makes a file where it is unpickled."""

    def __init__(self, mark: Path) -> None:
        self._mark = mark

    def __reduce__(self) -> tuple[object, tuple[str, str]]:
        return (open, (str(self._mark), "w"))


def test_nothing_in_the_cache_folder_is_run(tmp_path: Path) -> None:
    """A file there under the name that kept tables once had, with the digest that anybody can work out."""
    made_from = f"{lark.__version__} {sys.version_info[:3]} {WordLexer} {shipped('circuit.lark')}"
    name = f"grammar-{hashlib.sha256(made_from.encode()).hexdigest()[:20]}.tables"
    kept = tmp_path / "cache" / "circuitcheck" / name
    kept.parent.mkdir(parents=True)
    data = pickle.dumps(Bomb(tmp_path / "mark"))
    kept.write_bytes(hashlib.sha256(data).digest() + data)
    (tmp_path / "a.circuit").write_text(GOOD)
    run = outside("verify", "a.circuit", folder=tmp_path, XDG_CACHE_HOME=str(tmp_path / "cache"))
    assert (run.returncode, run.stderr) == (0, "")
    assert not (tmp_path / "mark").exists()


def test_a_run_writes_nothing_that_was_not_asked_for(tmp_path: Path) -> None:
    (tmp_path / "a.circuit").write_text(GOOD)
    (tmp_path / "home").mkdir()
    home = str(tmp_path / "home")
    run = outside("verify", "a.circuit", folder=tmp_path, XDG_CACHE_HOME=home, HOME=home, PYTHONDONTWRITEBYTECODE="1")
    assert run.returncode == 0
    assert os.listdir(home) == []
