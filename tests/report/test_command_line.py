"""The command line: what it writes, where, in what form, and with which exit code."""

from __future__ import annotations

import ast
import json
import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest

from circuitcheck.commands import MODULES
from circuitcheck.commands.command_options import OPTIONS

from .calling import BROKEN, FAILING, GOOD, OPEN, call, told, write

SLUICE = str(Path(__file__).parents[2] / "circuits" / "sluice.circuit")


@pytest.mark.parametrize(
    ("text", "code", "says"),
    [(GOOD, 0, "holds"), (FAILING, 1, "FAILS"), (BROKEN, 2, "error CKT201"), (OPEN, 3, "vacuous")],
    ids=["good", "failing", "broken", "open"],
)
def test_verify_says_what_holds_and_ends_with_its_exit_code(tmp_path: Path, text: str, code: int, says: str) -> None:
    run = call("verify", *write(tmp_path, a=text))
    assert (run.returncode, run.stderr) == (code, "")
    assert says in told(run)


def test_a_failure_is_reported_with_its_place_what_was_expected_and_why(tmp_path: Path) -> None:
    out = told(call("verify", *write(tmp_path, a=FAILING)))
    assert "a.circuit:6:3" in out
    assert all(word in out for word in ("expected", "happened", "because", "bell"))


def test_a_mistake_is_reported_with_its_line_and_a_caret_below(tmp_path: Path) -> None:
    rows = told(call("verify", *write(tmp_path, a=BROKEN))).splitlines()
    (place,) = [number for number, row in enumerate(rows) if "lamp bell from rop" in row]
    assert rows[place + 1].index("^") == rows[place].index("rop")
    assert rows[place + 1].count("^") == 3
    assert any("did you mean 'rope'?" in row for row in rows)


def test_a_missing_file_is_a_mistake_and_no_traceback(tmp_path: Path) -> None:
    run = call("verify", str(tmp_path / "none.circuit"))
    assert run.returncode == 2
    assert "CKT501" in told(run)


def test_an_empty_folder_is_reported_on_stderr(tmp_path: Path) -> None:
    run = call("verify", str(tmp_path))
    assert (run.returncode, told(run)) == (2, "")
    assert "no circuit files" in run.stderr


def test_a_folder_is_verified_with_all_below_it_and_the_gravest_counts(tmp_path: Path) -> None:
    (tmp_path / "deep").mkdir()
    write(tmp_path, a=GOOD)
    write(tmp_path / "deep", b=FAILING)
    (tmp_path / "c.txt").write_text(BROKEN)
    run = call("verify", ".", folder=tmp_path)
    assert run.returncode == 1
    assert "(2 files)" in told(run)


def test_a_mistake_outweighs_a_failure(tmp_path: Path) -> None:
    assert call("verify", *write(tmp_path, a=GOOD, b=FAILING, c=BROKEN, d=OPEN)).returncode == 2


def test_quiet_shows_only_what_does_not_hold(tmp_path: Path) -> None:
    out = told(call("verify", "--quiet", *write(tmp_path, good=GOOD, bad=FAILING)))
    assert "good.circuit" not in out
    assert "bad.circuit" in out


@pytest.mark.parametrize(("name", "value"), [("ROPE", ""), ("NO_COLOR", "1"), ("TERM", "dumb")])
def test_what_is_piped_holds_no_colour(tmp_path: Path, name: str, value: str) -> None:
    assert told(call("verify", *write(tmp_path, a=FAILING), folder=None, **{name: value}))


def on_a_terminal(*words: str, **variables: str) -> bytes:
    """What the program writes to a terminal."""
    control, terminal = pty.openpty()
    environment = {key: value for key, value in os.environ.items() if key != "NO_COLOR"}
    environment |= {"TERM": "xterm", "COLUMNS": "80", **variables}
    command = [sys.executable, "-m", "circuitcheck", *words]
    with subprocess.Popen(command, stdout=terminal, stderr=subprocess.DEVNULL, env=environment) as running:
        os.close(terminal)
        found = b""
        while True:
            try:
                piece = os.read(control, 65_536)
            except OSError:
                break
            if not piece:
                break
            found += piece
        running.wait(60)
    os.close(control)
    return found


def test_a_terminal_gets_colour_unless_it_is_not_wanted(tmp_path: Path) -> None:
    files = write(tmp_path, a=FAILING)
    assert b"\x1b[" in on_a_terminal("verify", *files)
    assert b"\x1b" not in on_a_terminal("verify", *files, NO_COLOR="1")


def test_the_words_are_the_same_with_and_without_colour(tmp_path: Path) -> None:
    import re

    files = write(tmp_path, a=FAILING)
    coloured = re.sub(rb"\x1b\[[0-9;]*m", b"", on_a_terminal("verify", *files, "--width", "100")).decode()
    plain = told(call("verify", *files, "--width", "100"))
    assert [row.rstrip() for row in coloured.splitlines()] == plain.splitlines()


@pytest.mark.parametrize("width", [40, 60, 100])
def test_pictures_keep_to_the_width(tmp_path: Path, width: int) -> None:
    long = GOOD.replace("at 1s rope on\n", "".join(f"at {n}gt throw rope\n  " for n in range(3, 200, 3)))
    out = told(call("verify", "--width", str(width), *write(tmp_path, a=long.replace("bell\nend", "bell off\nend"))))
    rows = [row for row in out.splitlines() if "█" in row]
    assert rows
    assert max(len(row) for row in rows) <= width
    out = told(call("try", SLUICE, "at 5t pond.1 on", "at 30t race.2 on", "until 60t", "--width", str(width)))
    assert max(len(row) for row in out.splitlines() if "█" in row or "·" in row) <= width


@pytest.mark.parametrize("width", ["39", "401", "-5", "wide", "4e1", "²"])
def test_a_width_out_of_bounds_is_reported(width: str) -> None:
    run = call("verify", f"--width={width}", SLUICE)
    assert run.returncode == 2
    assert "40 to 400" in run.stderr
    told(run)


def test_what_is_left_of_a_closed_pipe_is_no_traceback() -> None:
    command = f"{sys.executable} -m circuitcheck verify {SLUICE} | head -1"
    run = subprocess.run(["bash", "-c", command], capture_output=True, text=True, timeout=60, check=False)
    assert (run.stderr, len(run.stdout.splitlines())) == ("", 1)


def test_json_has_stable_keys(tmp_path: Path) -> None:
    run = call("verify", "--json", *write(tmp_path, good=GOOD, bad=FAILING, broken=BROKEN))
    found = json.loads(told(run))
    assert (found["schema_version"], found["exit"]) == (3, {"code": 2, "meaning": "invalid"})
    assert sorted(found) == ["exit", "files", "program", "schema_version", "unchanged"]
    good, bad, broken = found["files"]
    assert sorted(good) == ["circuits", "diagnostics", "findings", "language", "path", "result", "rules", "title"]
    assert [each["result"] for each in (good, bad, broken)] == ["holds", "fails", "invalid"]
    (outcome,) = bad["circuits"][0]["outcomes"]
    assert sorted(outcome) == [
        "detail", "differences", "failure", "given", "meaning", "place", "proof", "race", "runs", "starts", "title",
        "verdict",
    ]  # fmt: skip
    assert (outcome["verdict"], outcome["failure"]["at"]) == ("fails", 20)
    assert sorted(outcome["failure"]) == ["at", "because", "check", "expected", "happened", "place"]
    (diagnostic,) = broken["diagnostics"]
    assert sorted(diagnostic) == ["code", "mend", "message", "place", "severity"]
    assert diagnostic["place"] == {"file": broken["path"], "line": 2, "column": 16, "end_column": 19}


def test_json_of_nothing_is_json_all_the_same(tmp_path: Path) -> None:
    run = call("verify", "--json", str(tmp_path))
    assert run.returncode == 2
    assert json.loads(told(run))["files"] == []


def test_an_output_that_knows_ascii_only_is_written_to(tmp_path: Path) -> None:
    text = FAILING.replace("bell", "glocke_ö").replace("The sluice.", "Die Schleuse – 水")
    for words in (["verify"], ["verify", "--json"]):
        run = call(*words, *write(tmp_path, a=text), PYTHONIOENCODING="ascii")
        assert run.returncode == 1
        assert told(run).isascii()


def test_what_a_file_says_is_shown_as_it_stands_and_obeyed_by_nothing(tmp_path: Path) -> None:
    text = GOOD.replace("pull", "[/foo] [torch] :x: \x1b[31mred \u202eterces\u2066 \x07")
    for code, asked in ((0, text), (1, text.replace("expect bell\n", "expect bell off\n"))):
        run = call("verify", *write(tmp_path, a=asked))
        out = told(run)
        assert run.returncode == code
        assert "[/foo] [torch] :x: \ufffd[31mred \ufffdterces\ufffd \ufffd" in out
        shown = on_a_terminal("verify", str(tmp_path / "a.circuit")).decode()
        assert "[/foo] [torch] :x: \ufffd[31mred" in shown
        assert not {"\u202e", "\u2066", "\x07"} & set(out + shown)


def test_a_mistake_in_such_a_line_is_shown_harmlessly(tmp_path: Path) -> None:
    run = call("verify", *write(tmp_path, a='check "\x1b]0;title\x07 \u202e" 7\nend\n'))
    assert run.returncode == 2
    assert not {"\u202e", "\x07"} & set(told(run))


def test_a_path_with_marks_is_shown_harmlessly(tmp_path: Path) -> None:
    (tmp_path / "a\x1b[31m\u202e.circuit").write_text(BROKEN, encoding="utf-8")
    told(call("verify", str(tmp_path)))
    (tmp_path / "\x1b[31m").mkdir()
    run = call("verify", str(tmp_path / "\x1b[31m"))
    assert "\x1b" not in run.stderr


@pytest.mark.parametrize(
    ("lines", "code", "says"),
    [
        (["at 5t pond.1 on", "until 30t"], 0, "pond.1"),
        (["at 5t pond.1 on", "at 30t expect gate set"], 0, "gate"),
        (["at 5t pond.1 on", "at 6t expect gate set"], 1, "FAILS"),
        (["at 5t pont.1 on"], 2, "CKT201"),
        (["at 5 pond.1 on"], 2, "CKT306"),
        (["nonsense"], 2, "CKT101"),
        (["end"], 2, "CKT"),
        (["at 5t pond.1 on", "end", "lever x"], 2, "CKT"),
        ([""], 0, "gate"),
        (['end\ncheck "x"'], 2, "CKT"),
    ],
)
def test_try_works_the_inputs_and_draws_what_happens(lines: list[str], code: int, says: str) -> None:
    run = call("try", SLUICE, *lines)
    out = told(run)
    assert run.returncode == code, out
    assert says in out


def test_try_shows_the_signals_that_are_named() -> None:
    run = call("try", SLUICE, "at 5t pond.1 on", "until 20t", "--show", "opening", "--show", "water")
    assert run.returncode == 0
    assert [row.split()[0] for row in told(run).splitlines() if "·" in row] == ["opening", "water"]


OPEN_START = (
    "lever rope\nlever chain\nlatch gate set rope reset chain\nlamp open from gate\n"
    'check "pull"\n  at 10t rope on\n  by 20t expect open\nend\n'
)


def test_no_start_is_picked_in_silence_be_it_tried_traced_or_put_on_a_page(tmp_path: Path) -> None:
    """C6, L1: nothing sets or resets it, so it starts with either side on; the check holds from both."""
    (path,) = write(tmp_path, mill=OPEN_START)
    says = "it can start in 2 ways (C6): this run starts with"
    for words in (["try", path, "at 10t rope on", "until 20t"], ["trace", path]):
        assert says in " ".join(told(call(*words)).split())
        one = OPEN_START.replace("reset chain", "reset chain starts set")
        assert says not in " ".join(told(call(words[0], *write(tmp_path, one=one), *words[2:])).split())
    page = tmp_path / "page.html"
    assert call("report", path, "-o", str(page)).returncode == 0
    assert says[1:] in page.read_text(encoding="utf-8")


@pytest.mark.parametrize(("columns", "most"), [("60", 60), ("1", 40), ("9999", 400), ("wide", 100), ("", 100)])
def test_columns_says_how_wide_to_write(columns: str, most: int) -> None:
    """POSIX.1-2017, 8.3: COLUMNS is a number of columns that the user prefers to any other."""
    widest = max(map(len, told(call("explain", SLUICE, COLUMNS=columns)).splitlines()))
    assert most - 12 < widest <= most or (most == 400 and widest > 100)
    narrow = max(map(len, told(call("explain", SLUICE, "--width", "50", COLUMNS=columns)).splitlines()))
    assert narrow <= 50


def test_try_names_the_nearest_signal_to_one_that_is_none() -> None:
    run = call("try", SLUICE, "until 20t", "--show", "openning")
    assert run.returncode == 2
    assert "did you mean 'opening'?" in run.stderr


@pytest.mark.parametrize("words", [["--help"], ["verify", "--help"], ["try", "--help"], ["--version"]])
def test_help_is_given_for_every_command(words: list[str]) -> None:
    run = call(*words)
    assert (run.returncode, run.stderr) == (0, "")
    assert "circuitcheck" in told(run)


@pytest.mark.parametrize("words", [[], ["verify"], ["try"], ["try", SLUICE], ["verify", "--x"]])
def test_a_wrong_call_is_reported_on_stderr(words: list[str]) -> None:
    run = call(*words)
    assert (run.returncode, told(run)) == (2, "")
    assert "usage" in run.stderr


def test_a_command_that_is_none_is_reported_with_the_nearest_one() -> None:
    run = call("vreify", SLUICE)
    assert (run.returncode, told(run)) == (2, "")
    assert run.stderr == "circuitcheck: there is no command 'vreify': did you mean 'verify'?\n"


def test_a_forbidden_finding_is_counted_as_that(tmp_path: Path) -> None:
    run = call("verify", *write(tmp_path, a=GOOD + "lever idle\nforbid V1\n"))
    assert run.returncode == 1
    assert "  FORBID   line 8  V1" in told(run)
    assert told(run).endswith("1 of 1 checks and claims hold, 1 forbidden (1 file)\n")


@pytest.mark.parametrize(
    "words",
    [
        ["verify", "a.circuit", "--junit", "a.circuit"],
        ["verify", "a.circuit", "--sarif", "b.circuit"],
        ["verify", "a.circuit", "--junit", "log", "--sarif", "./log"],
        ["trace", "a.circuit", "--vcd", "a.circuit"],
        ["trace", "a.circuit", "--vcd", "run", "--svg", "run"],
        ["graph", "a.circuit", "--dot", "a.circuit"],
        ["graph", "link", "--svg", "a.txt"],
    ],
    ids=" ".join,
)
def test_no_output_is_written_over_what_is_read_or_over_another(tmp_path: Path, words: list[str]) -> None:
    write(tmp_path, a=GOOD)
    (tmp_path / "a.txt").write_text(GOOD, encoding="utf-8")
    (tmp_path / "link").symlink_to("a.txt")
    run = call(*words, folder=tmp_path)
    assert (run.returncode, run.stdout) == (2, "")
    assert "would be written over" in run.stderr
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.circuit", "a.txt", "link"]
    assert (tmp_path / "a.circuit").read_text(encoding="utf-8") == (tmp_path / "a.txt").read_text(encoding="utf-8")


def test_no_log_is_written_over_a_file_that_is_used(tmp_path: Path) -> None:
    piece = "define hold (opens) gives out\n  repeater out from opens\nend\n"
    (tmp_path / "piece.txt").write_text(piece, encoding="utf-8")
    (tmp_path / "link.xml").symlink_to("piece.txt")
    write(tmp_path, a='use "piece.txt"\nlever rope\nhold gate (opens rope)\nlamp bell from gate.out\n')
    for log in ("piece.txt", "link.xml"):
        run = call("verify", "a.circuit", "--junit", log, folder=tmp_path)
        assert run.returncode == 2
        assert "would be written over: it is read" in run.stderr
    assert (tmp_path / "piece.txt").read_text(encoding="utf-8") == piece
    words = ["verify", "--changed", "a.circuit", "--junit", str(tmp_path / "passed.json")]
    inner = tmp_path / "inner"
    inner.mkdir()
    write(inner, a="lever rope\n")
    run = call(*words, folder=inner, CIRCUITCHECK_RECORD=words[-1])
    assert (run.returncode, (tmp_path / "passed.json").exists()) == (2, False)


def test_two_files_that_only_look_alike_are_both_verified(tmp_path: Path) -> None:
    """A link to a folder elsewhere: `link/../a.circuit` is not the file that it seems to be."""
    (tmp_path / "far" / "inner").mkdir(parents=True)
    (tmp_path / "link").symlink_to("far/inner")
    write(tmp_path, a=GOOD)
    write(tmp_path / "far", a=FAILING)
    run = call("verify", "a.circuit", "./a.circuit", "link/../a.circuit", folder=tmp_path)
    assert run.returncode == 1
    assert "(2 files)" in told(run)


def test_a_plain_verify_loads_nothing_heavy(tmp_path: Path) -> None:
    files = write(tmp_path, a=GOOD)
    program = (
        "import sys\nfrom circuitcheck.cli import main\n"
        f"try:\n    main(['verify', {files[0]!r}])\n"
        "except SystemExit as end:\n    assert end.code == 0\n"
        "print(sorted({'sympy', 'networkx', 'rich', 'pytest'} & set(sys.modules)))\n"
    )
    run = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, timeout=60, check=True)
    assert run.stdout.splitlines()[-1] == "[]"


MOVING = {
    "checks.drawing": {"after_strokes", "meddling", "own_blocks"},
    "engine": {"configured", "gauge", "motion", "moving_orders", "stroke_effects", "stroke_orders"}
    | {"water_flow", "water_place"},
    "model.parts": {"self_arming"},
    "prove": {"influence", "symbolic"},
    "space": {"flowing", "occupied", "pushed_light", "refusals", "scene", "strokes", "unfelt", "water", "water_light"}
    | {"water_looks", "wirings"},
}
"""By its package, what only a circuit in which pistons move things needs, or one that claims something."""
STANDS_STILL = """legend
  .  air
  S  block
  -  dust
  a  lever  named rope
  O  lamp   named bell
end
drawing
  layer 1
    SSS
  end
  layer 2
    a-O
  end
end
check "the bell follows the rope"
  at 0 rope on
  at 10 expect bell on
end
"""


@pytest.mark.parametrize("moves", [False, True], ids=["nothing moves", "a piston moves"])
def test_what_moves_is_loaded_only_for_a_circuit_in_which_something_does(tmp_path: Path, moves: bool) -> None:
    """Start-up is part of the product, and most circuits stand still."""
    text = STANDS_STILL.replace("named bell\n", "named bell\n  P  piston  facing north\n", 1) if moves else STANDS_STILL
    files = write(tmp_path, a=text.replace("a-O", "aPO") if moves else text)
    program = (
        "import sys\nfrom circuitcheck.cli import main\n"
        f"try:\n    main(['verify', {files[0]!r}])\n"
        "except SystemExit:\n    pass\n"
        "print([each for each in sys.modules if each.startswith('circuitcheck.')])\n"
    )
    run = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, timeout=60, check=True)
    loaded = set(ast.literal_eval(run.stdout.splitlines()[-1]))
    found = {f"circuitcheck.{package}.{file}" for package, files in MOVING.items() for file in files} & loaded
    assert "circuitcheck.space.circuit" in loaded
    assert bool(found) is moves


def test_options_are_there_for_every_command_in_the_order_of_help() -> None:
    assert list(OPTIONS) == list(MODULES)


@pytest.mark.parametrize("words", [["--help"], ["--version"], ["sheets", "--help"]])
def test_help_imports_no_command_and_no_engine(words: list[str]) -> None:
    program = (
        "import sys\nfrom circuitcheck.cli import main\n"
        f"try:\n    main({words!r})\nexcept SystemExit as end:\n    assert end.code == 0\n"
        "print([each for each in sys.modules if each.startswith('circuitcheck.')])\n"
    )
    run = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, timeout=60, check=True)
    loaded = set(ast.literal_eval(run.stdout.splitlines()[-1]))
    assert "circuitcheck.commands.command_options" in loaded
    assert not loaded & {f"circuitcheck.commands.{each}" for each in (*MODULES.values(), "common")}
    assert not [each for each in loaded if each.startswith(("circuitcheck.engine", "circuitcheck.examine"))]
