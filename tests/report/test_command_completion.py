"""The completion script completes in a real bash; the manual says what exit codes mean."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from circuitcheck.commands import MODULES
from circuitcheck.commands.manual import EXITS
from circuitcheck.verify import Exit

from .calling import FAILING, GOOD, OPEN, call, told, write

ASK = """
source ./script
COMP_WORDS=("$@") COMP_CWORD=$(($# - 1)) COMP_LINE="$*" COMP_POINT=${#COMP_LINE}
function=$(complete -p circuitcheck | sed 's/.*-F \\([^ ]*\\).*/\\1/')
"$function" circuitcheck "${@: -1}" "${@: -2:1}"
printf '%s\\n' "${COMPREPLY[@]}"
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the script, a circuit and a folder in it."""
    made = tmp_path_factory.mktemp("mill")
    (made / "script").write_text(told(call("completion", "bash")), encoding="utf-8")
    write(made, sluice=GOOD)
    (made / "inner").mkdir()
    return made


@pytest.mark.skipif(shutil.which("bash") is None, reason="there is no bash here")
@pytest.mark.parametrize(
    ("typed", "offered"),
    [
        ("circuitcheck ver", {"verify"}),
        ("circuitcheck co", {"compact", "compare", "completion"}),
        ("circuitcheck verify --j", {"--json", "--junit", "--jobs"}),
        ("circuitcheck format --ch", {"--check"}),
        ("circuitcheck verify sl", {"sluice.circuit"}),
        ("circuitcheck explain sl", {"sluice.circuit"}),
        ("circuitcheck verify --root in", {"inner"}),
        ("circuitcheck completion z", {"zsh"}),
    ],
)
def test_bash_completes_commands_options_files_and_folders(folder: Path, typed: str, offered: set[str]) -> None:
    ask = ["bash", "--norc", "-c", ASK, "bash", *typed.split(" ")]
    run = subprocess.run(ask, cwd=folder, capture_output=True, encoding="utf-8", timeout=30, check=True)
    assert set(run.stdout.split()) == offered
    assert run.stderr == ""


@pytest.mark.skipif(shutil.which("zsh") is None, reason="there is no zsh here")
def test_zsh_reads_its_script(tmp_path: Path) -> None:
    (tmp_path / "script").write_text(told(call("completion", "zsh")), encoding="utf-8")
    subprocess.run(["zsh", "-n", "script"], cwd=tmp_path, check=True, timeout=30)


def test_every_command_has_a_worked_line_in_its_help() -> None:
    for name in MODULES:
        shown = " ".join(told(call(name, "--help")).split())
        assert f"for example: {'eval' if name == 'completion' else 'circuitcheck ' + name}" in shown


def test_the_manual_names_every_command_and_exit_code() -> None:
    page = told(call("manual", "--width", "60"))
    assert all(f" {name}" in page for name in MODULES)
    assert all(f"\n    {code}\n" in page for code in EXITS)
    assert max(map(len, page.splitlines())) <= 60
    assert [int(each) for each in Exit] == list(EXITS)


def test_exit_codes_are_as_the_manual_says(tmp_path: Path) -> None:
    write(tmp_path, good=GOOD, failing=FAILING, open=OPEN, ugly=GOOD.replace("lamp ", "lamp    "))
    calls = {
        ("verify", "good.circuit"): 0,
        ("verify", "failing.circuit"): 1,
        ("verify", "failing.circuit", "missing.circuit"): 2,
        ("verify", "open.circuit"): 3,
        ("compare", "good.circuit", "failing.circuit"): 0,
        ("format", "--check", "ugly.circuit"): 1,
        ("verify",): 2,
    }
    assert {words: call(*words, folder=tmp_path).returncode for words in calls} == calls
