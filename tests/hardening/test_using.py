"""`use` takes files out of the named file's folder and below, or out of --root; no way leads past that."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from .hostile import called, harmless, outside

USED = "define hold (opens) gives out\n  repeater out from opens\nend\n"
USING = 'use "{used}"\nlever rope\nhold sluice (opens rope)\nlamp bell from sluice.out\n' + (
    'check "pull"\n  at 1s rope on\n  by 2s expect bell\nend\n'
)
COMMANDS = {
    "verify": [], "prove": [], "explain": [], "try": ["until 1s"], "trace": [], "graph": [], "rules": [],
    "compare": ["mill/a.circuit"], "sweep": ["--workers", "1"],
}  # fmt: skip
"""What is called with a file, and what stands behind it."""

Capsys = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The used file lies beside the mill's folder, and links of every kind lead out of it."""
    monkeypatch.chdir(tmp_path)
    mill = tmp_path / "mill"
    (mill / "deep").mkdir(parents=True)
    (tmp_path / "mill_house").mkdir()
    for place in (tmp_path, tmp_path / "mill_house", mill / "deep"):
        (place / "used.circuit").write_text(USED)
    (mill / "file_link.circuit").symlink_to("../used.circuit")
    (mill / "folder_link").symlink_to("..")
    (mill / "deep" / "back").symlink_to("../../mill_house")
    (mill / "inner.circuit").symlink_to("deep/used.circuit")
    (mill / "between.circuit").write_text('use "../used.circuit"\n')
    return tmp_path


OUTSIDE = [
    "../used.circuit", "deep/../../used.circuit", "{folder}/used.circuit", "file_link.circuit", "between.circuit",
    "deep/back/used.circuit", "folder_link/used.circuit", "../mill_house/used.circuit", "./.././used.circuit",
    "/dev/zero",
]  # fmt: skip


@pytest.mark.parametrize("used", OUTSIDE)
def test_no_way_leads_out_of_the_folder(folder: Path, capsys: Capsys, used: str) -> None:
    (folder / "mill" / "a.circuit").write_text(USING.format(used=used.format(folder=folder)))
    for path in ("mill/a.circuit", str(folder / "mill" / "a.circuit"), "mill/../mill/a.circuit"):
        assert called("verify", path) == 2
        out, _ = capsys.readouterr()
        assert "CKT505" in out
        assert "holds" not in out
        harmless(out)


@pytest.mark.parametrize("command", COMMANDS)
def test_no_command_reads_past_the_folder_and_each_reads_as_far_as_root(
    folder: Path, capsys: Capsys, command: str
) -> None:
    (folder / "mill" / "a.circuit").write_text(USING.format(used="../used.circuit"))
    words = [command, "mill/a.circuit", *COMMANDS[command]]
    assert called(*words) == 2
    assert "CKT505" in capsys.readouterr().out
    assert called(*words, "--root", "mill") == 2
    assert "CKT505" in capsys.readouterr().out
    for root in (".", str(folder), "mill/.."):
        assert called(*words, "--root", root) == 0
        assert "CKT505" not in capsys.readouterr().out


@pytest.mark.parametrize(
    "used", ["deep/used.circuit", "inner.circuit", "deep/../inner.circuit", "{folder}/mill/inner.circuit"]
)
def test_what_lies_in_the_folder_can_be_used_by_any_way(folder: Path, used: str) -> None:
    (folder / "mill" / "a.circuit").write_text(USING.format(used=used.format(folder=folder)))
    assert called("verify", "mill/a.circuit") == 0


@pytest.mark.parametrize("used", [used for used in OUTSIDE if used != "/dev/zero"])
def test_root_widens_it_for_all_ways(folder: Path, used: str) -> None:
    (folder / "mill" / "a.circuit").write_text(USING.format(used=used.format(folder=folder)))
    assert called("verify", "--root", ".", "mill/a.circuit") == 0


def test_a_used_file_that_is_no_plain_file_is_a_mistake_and_nothing_is_waited_for(folder: Path) -> None:
    (folder / "mill" / "a.circuit").write_text(USING.format(used="pipe"))
    os.mkfifo(folder / "mill" / "pipe")
    run = outside("verify", "mill/a.circuit", folder=folder, before="timeout 5")
    assert run.returncode != 124, "it waits for the pipe"
    assert run.returncode == 2
    assert "CKT501" in run.stdout


@pytest.mark.parametrize("used", ["", ".", "deep", "\x01", "x" * 5_000, "loop", "a/" * 2_000])
def test_a_use_of_what_is_no_file_is_a_mistake(folder: Path, capsys: Capsys, used: str) -> None:
    (folder / "mill" / "loop").symlink_to("loop")
    (folder / "mill" / "a.circuit").write_text(USING.format(used=used))
    assert called("verify", "mill/a.circuit") == 2
    out, err = capsys.readouterr()
    assert ("error CKT501" in out, err) == (True, "")
    harmless(out)


SECRET = "torch secret; of another"
"""A line that must be shown to nobody."""


@pytest.mark.parametrize("command", ["verify", "explain", "rules", "graph", "format"])
@pytest.mark.parametrize("path", ["mill/shown.circuit", "mill", "./mill/../mill/shown.circuit", "{folder}/mill"])
def test_a_circuit_file_that_is_a_link_out_of_the_folder_shows_nothing_of_the_other(
    folder: Path, capsys: Capsys, command: str, path: str
) -> None:
    named = path.format(folder=folder)
    if os.path.isdir(named) and command not in ("verify", "format"):
        named += "/shown.circuit"
    (folder / "secret.circuit").write_text(SECRET)
    (folder / "mill" / "between").symlink_to("../secret.circuit")
    (folder / "mill" / "shown.circuit").symlink_to("between")
    assert called(command, named) == 2
    out, err = capsys.readouterr()
    assert "CKT505" in out
    assert "secret" not in out + err
    assert (folder / "secret.circuit").read_text() == SECRET


def test_a_wider_root_takes_in_what_a_link_leads_to(folder: Path, capsys: Capsys) -> None:
    (folder / "good.circuit").write_text(USING.format(used="used.circuit"))
    (folder / "mill" / "link.circuit").symlink_to("../good.circuit")
    (folder / "mill" / "used.circuit").symlink_to("deep/used.circuit")
    assert called("verify", "mill/link.circuit") == 2
    assert called("verify", "--root", ".", "mill/link.circuit") == 0


@pytest.mark.parametrize("way", ["/dev/stdin", "/dev/fd/0", "/proc/self/fd/0"])
def test_standard_input_is_no_link_of_a_checkout(folder: Path, way: str) -> None:
    (folder / "good.circuit").write_text("lever rope\nlamp bell from rope\n")
    for before in ("cat good.circuit |", ""):
        run = outside("verify", way, folder=folder, before=before, after="" if before else "< good.circuit")
        assert (run.returncode, run.stderr) == (0, "")
