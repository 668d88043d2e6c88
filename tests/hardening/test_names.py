"""Hostile titles, reasons, part names, file names and folder names, in everything that is written."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import pydot
import pytest
from junitparser import JUnitXml
from lxml import etree
from vcdvcd import VCDVCD

from .hostile import CIRCUIT, FILES, PARTS, TEXTS, called, drawn, harmless

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")  # of pydot, not of the program

Capsys = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def _in_the_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


USED = "define hold (opens) gives out\n  repeater out from opens\nend\nlever on\n"


def strings(value: Any) -> str:
    """All texts in a JSON document together; strict readers take each of them (RFC 8259, 8.2)."""
    if isinstance(value, str):
        value.encode("utf-8")
        return value
    inner = [*value, *value.values()] if isinstance(value, dict) else value if isinstance(value, list) else []
    return "\n".join(map(strings, inner))


def everything(path: str, capsys: Capsys) -> None:
    """Verifies, tries, traces, explains and draws a file that fails; what a person is shown of it is harmless."""
    logs = ["--sarif", "o.sarif", "--junit", "o.xml"]
    for words in [
        ["verify", *logs, "--", path], ["verify", "--quiet", "--", path], ["graph", "--", path],
        ["trace", "--vcd", "o.vcd", "--svg", "run.svg", "--", path], ["trace", "--", path], ["explain", "--", path],
        ["graph", "--dot", "o.dot", "--graphml", "o.graphml", "--svg", "graph.svg", "--", path],
        ["try", "--", path, "until 1s"], ["rules", "--", path],
    ]:  # fmt: skip
        code = 1 if words[0] in ("verify", "rules") else 0
        got = called(*words)
        out, err = capsys.readouterr()
        assert (words[0], got, err) == (words[0], code, "")
        harmless(out)
    for words in (["verify"], ["rules"], ["sweep", "--workers", "1"]):
        called(*words, "--json", "--", path)
        out, err = capsys.readouterr()
        assert json.loads(out)
        harmless(out)
        harmless(err)
    called("report", "-o", "o.html", "--", path)
    harmless(capsys.readouterr().out)
    for name in ("o.sarif", "o.xml", "o.vcd", "run.svg", "o.dot", "o.graphml", "graph.svg", "o.html"):
        harmless(Path(name).read_bytes().decode("utf-8"))
    log = json.loads(Path("o.sarif").read_text(encoding="utf-8"))
    harmless(strings(log))
    assert JUnitXml.fromstring(Path("o.xml").read_bytes()).tests == 2
    etree.parse("o.graphml")


@pytest.mark.parametrize("title", TEXTS, ids=[ascii(text)[:20] for text in TEXTS])
def test_hostile_titles_and_reasons_are_shown_and_obeyed_by_nothing(capsys: Capsys, title: str) -> None:
    Path("a.circuit").write_text(CIRCUIT.format(title=title, name="rope"), encoding="utf-8", newline="\n")
    everything("a.circuit", capsys)
    assert called("verify", "--json", "a.circuit") == 1
    outcomes = json.loads(capsys.readouterr().out)["files"][0]["circuits"][0]["outcomes"]
    assert outcomes[0]["title"] == title  # machines are given what the file says
    drawn(Path("run.svg"))
    drawn(Path("graph.svg"))


@pytest.mark.parametrize("name", PARTS, ids=[ascii(name)[:20] for name in PARTS])
def test_hostile_part_names_come_back_out_of_every_picture_and_dump(capsys: Capsys, name: str) -> None:
    Path("a.circuit").write_text(CIRCUIT.format(title="pull", name=name), encoding="utf-8")
    everything("a.circuit", capsys)
    signals = VCDVCD(vcd_string=Path("o.vcd").read_text(encoding="utf-8")).signals  # IEEE 1364-2005, clause 18
    assert f"sluice.{name}" in signals
    (graph,) = pydot.graph_from_dot_data(Path("o.dot").read_text(encoding="utf-8")) or []
    assert {node.get_name().strip('"') for node in graph.get_nodes()} >= {name, "idle", "bell"}
    nodes = etree.parse("o.graphml").getroot().iter("{http://graphml.graphdrawing.org/xmlns}node")
    assert {node.get("id") for node in nodes} == {name, "idle", "bell"}
    assert name in drawn(Path("run.svg"))
    assert name[:15] in "".join(drawn(Path("graph.svg")))


@pytest.mark.parametrize("name", FILES, ids=[ascii(name)[:20] for name in FILES])
def test_hostile_file_names_are_shown_and_obeyed_by_nothing(capsys: Capsys, name: str) -> None:
    """Without a line `circuit`, the file's name is the circuit's."""
    path = f"{name}.circuit"
    text = CIRCUIT.format(title="pull", name="rope").partition("\n")[2]
    Path(path).write_text(text, encoding="utf-8")
    everything(path, capsys)
    (scope,) = [line.split() for line in Path("o.vcd").read_text("utf-8").split("\n") if line.startswith("$scope")]
    assert (len(scope), scope[:2], scope[3]) == (4, ["$scope", "module"], "$end")  # IEEE 1364-2005, 18.2.3.4
    assert scope[2] != "$end"
    assert f"{scope[2]}.rope" in VCDVCD(vcd_string=Path("o.vcd").read_text("utf-8")).signals
    assert len(pydot.graph_from_dot_data(Path("o.dot").read_text("utf-8")) or []) == 1
    drawn(Path("run.svg"))
    drawn(Path("graph.svg"))


@pytest.mark.parametrize("name", FILES, ids=[ascii(name)[:20] for name in FILES])
def test_hostile_folder_names_are_shown_and_obeyed_by_nothing(capsys: Capsys, name: str) -> None:
    os.mkdir(name)
    (Path(name) / "used.circuit").write_text(USED)
    (Path(name) / "a.circuit").write_text('use "used.circuit"\n' + CIRCUIT.format(title="pull", name="rope"))
    for words in (["verify"], ["trace"], ["explain"], ["prove"], ["sweep"], ["graph"]):
        files = [f"{name}/a.circuit"] if words[0] != "verify" else ["./" + name]
        assert called(*words, "--", *files) == 2
        out, err = capsys.readouterr()
        assert ("CKT103" in out, err) == (True, "")
        harmless(out)
    os.mkdir("empty" + name[:200])
    assert called("verify", "--", "empty" + name[:200]) == 2
    harmless(capsys.readouterr().err)


def test_what_is_wrong_with_a_call_is_reported_without_obeying_it(capsys: Capsys) -> None:
    for words in (["verify", "--\x1b[31m\u202e", "x"], ["verify", "--jobs", "\x9b31m", "x"], ["rules", "x", "\u2029"]):
        assert called(*words) == 2
        out, err = capsys.readouterr()
        assert (out, "circuitcheck" in err) == ("", True)
        harmless(err)


def test_a_document_for_machines_is_in_plain_letters_and_says_what_the_file_says(capsys: Capsys) -> None:
    """RFC 8259, 7: an escape and the letter that it stands for are the same string; so are two units of UTF-16."""
    title = "back \u202e\u2066 \x85\x9b31m \u2028\u2029 \U000e0001 水車 \uffff \x7f"
    Path("a.circuit").write_text(CIRCUIT.format(title=title, name="öl"), encoding="utf-8", newline="\n")
    called("verify", "--json", "a.circuit")
    out = capsys.readouterr().out
    harmless(out)
    assert "水車" in out
    (outcome, _) = json.loads(out)["files"][0]["circuits"][0]["outcomes"]
    assert outcome["title"] == title


def test_a_long_name_makes_no_report_out_of_proportion(capsys: Capsys) -> None:
    """A file of 60,000 letters is reported in less than a million, by every command."""
    Path("a.circuit").write_text(CIRCUIT.format(title="pull", name="x" * 10_000))
    for words in (["verify"], ["trace"], ["trace", "--account"], ["explain"], ["graph"], ["rules"]):
        called(*words, "a.circuit")
        assert (words, len(capsys.readouterr().out) < 1_000_000) == (words, True)


def test_an_account_of_hostile_names_is_harmless(capsys: Capsys) -> None:
    for name in PARTS:
        Path("a.circuit").write_text(CIRCUIT.format(title=TEXTS[1], name=name[:40]), encoding="utf-8")
        assert called("trace", "--account", "a.circuit") == 0
        harmless(capsys.readouterr().out)
