"""What is written for other programs, read back by other programs; and what can't be written leaves nothing behind."""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import networkx
import pydot
import pytest
from report.calling import call, told
from vcdvcd import VCDVCD

import circuitcheck
from circuitcheck import Simulation
from circuitcheck.examine import opened, traced
from circuitcheck.report.exchange.graph_picture import graph_svg
from circuitcheck.report.exchange.graphs import dot, graphml
from circuitcheck.report.exchange.run_picture import run_svg
from circuitcheck.report.exchange.vcd import vcd
from circuitcheck.report.files import CannotWrite, write_whole

from .trying import SLUICE, circuit_of, run_of, text_of, work

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")  # of pydot, not of the program
SVG = "{http://www.w3.org/2000/svg}"
GAME_TICK = 50
"""Milliseconds (rule C1)."""
LEVELS = (
    "analogue depth", "lever rope", "dust gauge from depth length 3", "comparator head from depth subtract",
    "torch slack from rope", "lamp wet from gauge", "junction meet joins gauge, rope", "repeater winch from meet",
)  # fmt: skip
DONE = (
    "at 10gt depth is 9",
    "at 15gt rope on",
    "at 20gt depth is 2",
    "at 31gt rope off",
    "at 40gt depth is 0",
    "until 3s",
)


def values(path: Path, name: str) -> list[tuple[int, int]]:
    """The (millisecond, value) pairs of a signal, as vcdvcd reads them."""
    read = VCDVCD(str(path))
    (full,) = [each for each in read.signals if each.partition(".")[2] == name]
    return [(at, int(value, 2)) for at, value in read[full].tv]


def simulated(names: list[str]) -> dict[str, list[tuple[int, int]]]:
    """The edges of the same run by the Simulation interface, with the level at the start."""
    run = Simulation(circuit_of(*LEVELS))
    first = {name: run.level(name) for name in names}
    for at, name, verb, level in (
        (10, "depth", "is", 9), (15, "rope", "on", 0), (20, "depth", "is", 2), (31, "rope", "off", 0),
        (40, "depth", "is", 0),
    ):  # fmt: skip
        run.run(gt=at - 1 - run.now)
        work(run, name, verb, level)
        run.run(gt=1)
    run.run(gt=60 - run.now)
    return {name: [(0, first[name]), *((edge.at, edge.level) for edge in run.edges(name))] for name in names}


def test_a_value_change_dump_reads_back_edge_for_edge(tmp_path: Path) -> None:
    # The format: IEEE 1364-2005, clause 18, read by vcdvcd.
    names = ["depth", "rope", "gauge", "head", "slack", "wet", "meet", "winch"]
    path = tmp_path / "run.vcd"
    path.write_text(vcd(run_of(tmp_path, LEVELS, DONE).recording, names), encoding="utf-8")
    expected = simulated(names)
    for name in names:
        wide = name in ("depth", "gauge", "head", "meet")
        edges = [(at * GAME_TICK, level if wide else int(level > 0)) for at, level in expected[name]]
        assert values(path, name) == edges, name
    assert VCDVCD(str(path)).endtime == 60 * GAME_TICK


def test_a_dump_has_the_widths_of_its_signals_and_says_its_scale(tmp_path: Path) -> None:
    path = tmp_path / "run.vcd"
    path.write_text(vcd(traced(opened(SLUICE)).recording, ["pond.1", "sill", "open"]), encoding="utf-8")
    read = VCDVCD(str(path))
    sizes = {name.partition(".")[2]: int(read[name].size) for name in read.signals}
    assert sizes == {"pond.1": 1, "sill": 4, "open": 1}
    assert float(read.timescale["timescale"]) == pytest.approx(0.001)
    assert [at for at, _ in values(path, "open")] == [0, 50 * GAME_TICK, 132 * GAME_TICK]


def test_a_dump_of_more_signals_than_one_letter_names_keeps_them_apart(tmp_path: Path) -> None:
    count = 200
    lines = ["lever rope", *(f"repeater winch{n} from {'rope' if n == 0 else f'winch{n - 1}'}" for n in range(count))]
    recording = run_of(tmp_path, tuple(lines), ("at 10gt rope on", "until 430gt")).recording
    path = tmp_path / "run.vcd"
    path.write_text(vcd(recording, [f"winch{n}" for n in range(count)]), encoding="utf-8")
    read = VCDVCD(str(path))
    assert len(read.signals) == count
    assert len(set(read.references_to_ids.values())) == count
    for n in (0, 93, 94, 95, 199):
        assert values(path, f"winch{n}") == [(0, 0), ((10 + 2 * (n + 1)) * GAME_TICK, 1)]


def read_dot(text: str) -> Any:
    """The one graph that pydot reads."""
    found = pydot.graph_from_dot_data(text)
    assert found
    (graph,) = found
    return graph


def test_dot_reads_back_with_the_same_parts_and_edges() -> None:
    circuit = circuitcheck.load(SLUICE).circuit
    read = read_dot(dot(circuit))
    names = {node.get_name().strip('"') for node in read.get_nodes()} - {"node", "graph", "edge"}
    assert names == set(circuit.graph.nodes)
    found = [(edge.get_source().strip('"'), edge.get_destination().strip('"')) for edge in read.get_edges()]
    assert len(found) == len(set(found))
    graph = circuit.graph
    joined = {edge for edge in graph.edges if graph.edges[edge]["joined"]}
    assert set(found) - joined == set(graph.edges) - joined
    assert {frozenset(edge) for edge in found} == {frozenset(edge) for edge in graph.edges}
    for edge in read.get_edges():
        facts = graph.edges[edge.get_source().strip('"'), edge.get_destination().strip('"')]
        assert (edge.get("arrowhead") == "odot") is facts["inverts"]
        assert (edge.get("style") == "dashed") is facts["watches"]


def test_dot_draws_lines_that_meet_once_and_without_a_direction() -> None:
    circuit = circuit_of("lever rope", "dust two from rope", "dust one from two", "junction meet joins one, two")
    read = read_dot(dot(circuit))
    found = [frozenset((e.get_source().strip('"'), e.get_destination().strip('"'))) for e in read.get_edges()]
    assert sorted(map(sorted, found)) == [["meet", "one"], ["meet", "two"], ["one", "two"], ["rope", "two"]]
    assert sum(edge.get("dir") == "none" for edge in read.get_edges()) == 3


def test_graphml_reads_back_with_every_attribute(tmp_path: Path) -> None:
    circuit = circuitcheck.load(SLUICE).circuit
    path = tmp_path / "sluice.graphml"
    path.write_text(graphml(circuit), encoding="utf-8")
    read = networkx.read_graphml(path)
    assert {n: read.nodes[n] for n in read} == {n: circuit.graph.nodes[n] for n in circuit.graph}
    edges = {(a, b): facts for a, b, facts in circuit.graph.edges(data=True)}
    assert {(a, b): facts for a, b, facts in read.edges(data=True)} == edges


def test_graphml_is_sound_for_a_strict_reader() -> None:
    etree = pytest.importorskip("lxml.etree")
    root = etree.fromstring(graphml(circuitcheck.load(SLUICE).circuit).encode("utf-8"))
    space = "{http://graphml.graphdrawing.org/xmlns}"
    assert root.tag == f"{space}graphml"
    keys = {key.get("id") for key in root.iter(f"{space}key")}
    assert {data.get("key") for data in root.iter(f"{space}data")} <= keys
    assert len(list(root.iter(f"{space}node"))) == 23


HOSTILE = "</title><script>alert(1)</script> & \" ' ]]> \x1b[31m \x07 \u202e"


def drawings(folder: Path, title: str) -> Iterator[str]:
    """A picture of a run under this title, and one of the graph."""
    recording = run_of(folder, LEVELS, DONE).recording
    yield run_svg(recording, ["depth", "rope", "wet"], title)
    yield graph_svg(recording.program.circuit)


def test_pictures_parse_and_have_a_title_a_description_and_no_script(tmp_path: Path) -> None:
    # What accessible SVG needs: W3C, "Accessible SVG" (title and desc as first children, role img); from memory.
    for drawn in drawings(tmp_path, HOSTILE):
        root = ElementTree.fromstring(drawn)
        assert root.tag == f"{SVG}svg"
        assert [child.tag for child in root][:2] == [f"{SVG}title", f"{SVG}desc"]
        assert all(child.text for child in list(root)[:2])
        assert root.get("role") == "img"
        assert {each.tag for each in root.iter()} <= {
            f"{SVG}{tag}" for tag in ("svg", "title", "desc", "rect", "line", "text", "polyline", "path", "circle",
                                      "polygon", "g")
        }  # fmt: skip
        assert not [name for each in root.iter() for name in each.attrib if name.startswith("on") or "href" in name]
        assert not re.search("[\x00-\x08\x0b-\x1f\u202a-\u202e]", drawn)


def test_a_picture_of_the_graph_shows_every_part_and_inversion(tmp_path: Path) -> None:
    circuit = circuitcheck.load(SLUICE).circuit
    root = ElementTree.fromstring(graph_svg(circuit))
    shown = {each.text for each in root.iter(f"{SVG}text")}
    assert set(circuit.graph.nodes) <= shown
    inverting = [edge for edge in circuit.graph.edges if circuit.graph.edges[edge]["inverts"]]
    assert len([each for each in root.iter(f"{SVG}g") if each.get("class") == "inverts"]) == len(inverting)
    assert len(list(root.iter(f"{SVG}path"))) == circuit.graph.number_of_edges()


def test_a_hostile_title_does_no_harm_in_any_file(tmp_path: Path) -> None:
    title = "</title><script>x</script> & ' ]]> \x1b[31m $end \u202e"
    path = tmp_path / "mill.circuit"
    check = 'check "<b>$end</b>"\n  at 10gt rope on\n  by 2s expect bell\nend\n'
    path.write_text(f'circuit mill "{title}"\nlever rope\nlamp bell from rope\n{check}', encoding="utf-8")
    outs = {what: tmp_path / f"out.{what}" for what in ("vcd", "svg", "dot", "graphml")}
    run = call("trace", str(path), "--vcd", str(outs["vcd"]), "--svg", str(outs["svg"]))
    told(run)
    assert run.returncode == 0
    more = call("graph", str(path), "--dot", str(outs["dot"]), "--graphml", str(outs["graphml"]))
    assert more.returncode == 0, more.stderr
    assert values(outs["vcd"], "bell") == [(0, 0), (500, 1)]
    assert ElementTree.parse(outs["svg"]).getroot().findtext(f"{SVG}title") == "<b>$end</b>"
    assert len(read_dot(outs["dot"].read_text(encoding="utf-8")).get_edges()) == 1
    assert set(networkx.read_graphml(outs["graphml"])) == {"rope", "bell"}


WRITERS = (("trace", "--vcd"), ("trace", "--svg"), ("graph", "--dot"), ("graph", "--graphml"), ("graph", "--svg"))


@pytest.mark.parametrize(("command", "option"), WRITERS)
def test_what_cannot_be_written_is_one_line_and_leaves_nothing_behind(
    command: str, option: str, tmp_path: Path
) -> None:
    run = call(command, str(SLUICE), option, str(tmp_path / "gone" / "out"))
    assert (run.returncode, told(run), len(run.stderr.splitlines())) == (2, "", 1)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("target", ["gone/out", "folder", "folder/", "file/out"])
def test_a_place_that_is_no_place_for_a_file_is_left_as_it_is(target: str, tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    (tmp_path / "file").write_text("old", encoding="utf-8")
    with pytest.raises(CannotWrite, match="can't be written"):
        write_whole(f"{tmp_path}/{target}", "new")
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["file", "folder"]
    assert (tmp_path / "file").read_text(encoding="utf-8") == "old"


def test_an_old_file_is_kept_where_a_new_one_cannot_be_written(tmp_path: Path) -> None:
    out = tmp_path / "out.dot"
    out.write_text("old", encoding="utf-8")
    bad = tmp_path / "bad.circuit"
    bad.write_text(text_of("lever rope", "lamp bell from rop"), encoding="utf-8")
    assert call("graph", str(bad), "--dot", str(out)).returncode == 2
    assert out.read_text(encoding="utf-8") == "old"
    many = tmp_path / "many.circuit"
    many.write_text(text_of("lever rope", *(f"lamp bell{n} from rope" for n in range(401))), encoding="utf-8")
    run = call("graph", str(many), "--svg", str(out))
    assert (run.returncode, len(run.stderr.splitlines())) == (2, 1)
    assert out.read_text(encoding="utf-8") == "old"
    assert call("graph", str(SLUICE), "--dot", str(out)).returncode == 0
    assert out.read_text(encoding="utf-8").startswith("digraph")
    assert stat.S_IMODE(out.stat().st_mode) & 0o111 == 0


def test_a_folder_that_may_not_be_written_to_is_one_line(tmp_path: Path) -> None:
    # Nobody may make files in /proc, not even the one who may do all else.
    target = "/proc/sluice.svg"
    if not os.path.isdir("/proc"):
        pytest.skip("this system has no /proc")
    run = call("graph", str(SLUICE), "--svg", target)
    assert (run.returncode, told(run), len(run.stderr.splitlines())) == (2, "", 1)


def test_a_file_marked_read_only_is_kept_as_it_is(tmp_path: Path) -> None:
    out = tmp_path / "out.svg"
    out.write_text("old", encoding="utf-8")
    out.chmod(0o444)
    run = call("graph", str(SLUICE), "--svg", str(out))
    assert (run.returncode, len(run.stderr.splitlines())) == (2, 1)
    assert out.read_text(encoding="utf-8") == "old"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["out.svg"]
