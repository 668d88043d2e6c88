"""What passed is recorded outside the checkout, and nothing that a checkout brings along is believed."""

from __future__ import annotations

import json
import os
import shutil
import stat
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from circuitcheck.passed import Passed

from .hostile import called, outside

GOOD = 'lever rope\nlamp bell from rope\ncheck "pull"\n  at 1s rope on\n  by 2s expect bell\nend\n'
FAILING = GOOD.replace("expect bell", "expect bell off")
USED = "define hold (opens) gives out\n  repeater out from opens\nend\n"
USING = 'use "used.circuit"\nlever rope\nhold sluice (opens rope)\nlamp bell from sluice.out\n' + (
    'check "pull"\n  at 1s rope on\n  by 2s expect bell\nend\n'
)
MANNER = "states None root "

Capsys = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def mill(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of a checkout, in which calls are made; the user's cache folder lies beside it."""
    mill = tmp_path / "mill"
    (mill / ".git").mkdir(parents=True)
    (mill / "circuits").mkdir()
    monkeypatch.chdir(mill)
    monkeypatch.delenv("CIRCUITCHECK_RECORD", raising=False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return mill


def kept(folder: Path) -> list[Path]:
    """Every file below a folder."""
    return [each for each in folder.rglob("*") if not each.is_dir()]


def forged(place: Path) -> None:
    """Writes a record by which a.circuit passed just as it stands, as anybody can work it out."""
    made = Passed(str(place), MANNER)
    made.passes("a.circuit", {"a.circuit": Path("a.circuit").read_text()})
    place.write_text(made.text())
    place.chmod(0o600)


def test_the_record_is_kept_in_the_cache_folder_of_the_user_alone(mill: Path, capsys: Capsys) -> None:
    (mill / "a.circuit").write_text(GOOD)
    assert called("verify", "--changed", "a.circuit") == 0
    assert [each.name for each in kept(mill)] == ["a.circuit"]
    (record,) = kept(mill.parent / "cache")
    assert stat.S_IMODE(record.stat().st_mode) == 0o600
    assert stat.S_IMODE(record.parent.stat().st_mode) == 0o700
    capsys.readouterr()
    assert called("verify", "--changed", "--json", "a.circuit") == 0
    assert json.loads(capsys.readouterr().out)["unchanged"] == ["a.circuit"]


def test_each_checkout_has_a_record_of_its_own(mill: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for folder in ("one", "other"):
        (mill.parent / folder).mkdir()
        monkeypatch.chdir(mill.parent / folder)
        Path("a.circuit").write_text(GOOD)
        assert called("verify", "--changed", "a.circuit") == 0
    assert len(kept(mill.parent / "cache")) == 2


@pytest.mark.parametrize("name", [".circuitcheck-passed.json", "circuitcheck-passed.json", ".circuitcheck.json"])
def test_a_record_that_came_with_the_checkout_is_not_believed(mill: Path, capsys: Capsys, name: str) -> None:
    (mill / "a.circuit").write_text(FAILING)
    forged(mill / name)
    before = (mill / name).read_bytes()
    assert called("verify", "--changed", "--junit", "../log.xml", "a.circuit") == 1
    assert "FAILS" in capsys.readouterr().out
    log = (mill.parent / "log.xml").read_text()
    assert ("<failure" in log, "<skipped" in log) == (True, False)
    assert (mill / name).read_bytes() == before


@pytest.mark.parametrize("how", ["option", "variable", "usual"])
@pytest.mark.parametrize("way", ["passed.json", "circuits/passed.json", "../way/passed.json"])
def test_no_place_in_the_checkout_is_taken(
    mill: Path, capsys: Capsys, monkeypatch: pytest.MonkeyPatch, how: str, way: str
) -> None:
    """Told by version control, wherever in it the call is made; links on the way are seen through."""
    (mill.parent / "way").symlink_to("mill/circuits")
    (mill / "circuits" / "a.circuit").write_text(FAILING)
    place = os.path.join(str(mill), way)
    monkeypatch.chdir(mill / "circuits")
    words = ["--record", place] if how == "option" else []
    if how == "variable":
        monkeypatch.setenv("CIRCUITCHECK_RECORD", place)
    if how == "usual":
        monkeypatch.setenv("XDG_CACHE_HOME", os.path.dirname(place))
    assert called("verify", "--changed", *words, "a.circuit") == 2
    out, err = capsys.readouterr()
    assert (out, err.count("\n")) == ("", 1)
    assert "--record" in err
    assert [each.name for each in kept(mill)] == ["a.circuit"]


def test_a_checkout_that_is_verified_from_elsewhere_is_one_too(
    mill: Path, capsys: Capsys, monkeypatch: pytest.MonkeyPatch
) -> None:
    (mill / "circuits" / "a.circuit").write_text(FAILING)
    monkeypatch.chdir(mill.parent)
    assert called("verify", "--changed", "--record", "mill/passed.json", "mill/circuits") == 2
    assert called("verify", "--changed", "--record", "passed.json", "mill/circuits") == 2
    assert "--record" in capsys.readouterr().err


def test_a_named_record_goes_from_one_checkout_to_the_next(mill: Path, capsys: Capsys) -> None:
    """As the caches of CI services do; the option goes before the variable."""
    (mill / "a.circuit").write_text(GOOD)
    record = mill.parent / "kept" / "passed.json"
    words = ["verify", "--changed", "--json", "a.circuit"]
    run = outside(*words, "--record", str(record), folder=mill, CIRCUITCHECK_RECORD=str(mill.parent / "none.json"))
    assert (run.returncode, record.exists(), (mill.parent / "none.json").exists()) == (0, True, False)
    later = mill.parent / "later"
    shutil.copytree(mill, later)
    run = outside(*words, folder=later, CIRCUITCHECK_RECORD=str(record))
    assert (run.returncode, json.loads(run.stdout)["unchanged"]) == (0, ["a.circuit"])


def test_a_link_in_place_of_the_record_is_neither_followed_nor_written_through(mill: Path, capsys: Capsys) -> None:
    (mill / "a.circuit").write_text(GOOD)
    precious, record = mill.parent / "precious.json", mill.parent / "passed.json"
    forged(precious)
    before = precious.read_bytes()
    record.symlink_to("precious.json")
    assert called("verify", "--changed", "--json", "--record", str(record), "a.circuit") == 0
    out, err = capsys.readouterr()
    assert json.loads(out)["unchanged"] == []
    assert str(record) in err
    assert precious.read_bytes() == before
    assert not record.is_symlink()


def _others_can_write(path: Path) -> None:
    forged(path)
    path.chmod(0o666)


UNFIT: dict[str, Callable[[Path], Any]] = {
    "a pipe": lambda path: os.mkfifo(path),
    "an endless device": lambda path: path.symlink_to("/dev/zero"),
    "too large": lambda path: path.write_text(" " * 17_000_000),
    "others can write it": _others_can_write,
}


@pytest.mark.parametrize("kind", UNFIT)
def test_what_is_unfit_for_a_record_is_not_waited_for_and_begun_anew(mill: Path, kind: str) -> None:
    (mill / "a.circuit").write_text(GOOD)
    record = mill.parent / "passed.json"
    UNFIT[kind](record)
    for times, known in ((1, []), (2, ["a.circuit"])):
        words = ["verify", "--changed", "--json", "--record", str(record), "a.circuit"]
        run = outside(*words, folder=mill, before="ulimit -v 4000000; timeout 60")
        assert (run.returncode, json.loads(run.stdout)["unchanged"]) == (0, known)
        assert (str(record) in run.stderr) == (times == 1)


def test_a_record_of_another_user_is_not_believed(mill: Path, capsys: Capsys, monkeypatch: pytest.MonkeyPatch) -> None:
    (mill / "a.circuit").write_text(FAILING)
    forged(mill.parent / "passed.json")
    user = os.getuid() + 1
    monkeypatch.setattr(os, "getuid", lambda: user)
    assert called("verify", "--changed", "--record", "../passed.json", "a.circuit") == 1


@pytest.mark.parametrize("kind", ["a pipe", "an endless device", "too large"])
def test_a_used_file_that_turns_into_something_else_is_not_waited_for(mill: Path, kind: str) -> None:
    (mill / "a.circuit").write_text(USING)
    (mill / "used.circuit").write_text(USED)
    assert called("verify", "--changed", "a.circuit") == 0
    (mill / "used.circuit").unlink()
    UNFIT[kind](mill / "used.circuit")
    run = outside("verify", "--changed", "a.circuit", folder=mill, before="ulimit -v 4000000; timeout 60")
    assert run.returncode == 2


@pytest.mark.parametrize("words", [["--record", "../passed.json"], ["--changed", "--record", ""]])
def test_a_record_that_says_nothing_is_refused(mill: Path, capsys: Capsys, words: list[str]) -> None:
    (mill / "a.circuit").write_text(GOOD)
    assert called("verify", *words, "a.circuit") == 2
    assert "record" in capsys.readouterr().err


def test_a_record_is_never_written_over_a_circuit_or_a_log(mill: Path) -> None:
    (mill / "a.circuit").write_text(GOOD)
    (mill.parent / "b.circuit").write_text(GOOD)
    for words in (["../b.circuit"], ["../log.xml", "--junit", "../log.xml"]):
        assert called("verify", "--changed", "a.circuit", "--record", *words) == 2
    assert (mill.parent / "b.circuit").read_text() == GOOD
