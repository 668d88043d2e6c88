"""The build as glTF 2.0: `sheets --gltf`, read again by trimesh, which has nothing to do with us.

Source: glTF 2.0, ISO/IEC 12113:2022 (units, axes, accessors, materials); trimesh's own reading of it.
"""

from __future__ import annotations

import json
import struct
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import trimesh

from circuitcheck.model.drawing import MATTERS, Drawing
from circuitcheck.report.solid import gltf

from .calling import MILL, Caller, written
from .drawings import file_of
from .test_solid_picture import EVERYTHING


def document(path: str) -> dict[str, Any]:
    """The JSON chunk of a binary file, which is the first."""
    data = Path(path).read_bytes()
    magic, version, length, chunk, kind = struct.unpack("<4sIII4s", data[:20])
    assert (magic, version, length, kind) == (b"glTF", 2, len(data), b"JSON")
    found: dict[str, Any] = json.loads(data[20 : 20 + chunk])
    return found


def exported(call: Caller, text: str) -> tuple[Any, dict[str, Any], dict[str, Any]]:
    """What trimesh reads of a build, what the file says, and what the sheets say."""
    call.good("sheets", written("build", text), "--gltf", "build.glb")
    return trimesh.load_scene("build.glb"), document("build.glb"), call.data("sheets", "build.circuit")


def test_each_thing_is_a_node_with_its_name_below_its_layer(call: Caller) -> None:
    scene, said, _ = exported(call, MILL)
    assert len(scene.graph.nodes_geometry) == 10
    assert {"rope", "bell", "flame"} <= set(scene.graph.nodes_geometry)
    parents = {
        said["nodes"][child]["name"]: each["name"] for each in said["nodes"] for child in each.get("children", ())
    }
    assert (parents["bell"], parents["block_1_1_1"]) == ("layer 2", "layer 1")
    assert [said["nodes"][each]["name"] for each in said["scenes"][0]["nodes"]] == ["layer 1", "layer 2"]


def test_a_node_says_what_it_is_and_where(call: Caller) -> None:
    _, said, _ = exported(call, MILL)
    (bell,) = (each for each in said["nodes"] if each["name"] == "bell")
    assert {"layer": 2, "row": 1, "column": 3, "letter": "O"}.items() <= bell["extras"].items()
    assert "lamp" in bell["extras"]["thing"]


def test_its_bounds_are_the_box_of_the_drawing(call: Caller) -> None:
    box = file_of("SS./..S/.../..S", ".../.../.../...", ".../.../.../...", "S../.../.../...")
    scene, _, plan = exported(call, box)
    layers, rows, columns = plan["size"]
    assert scene.bounds.tolist() == [[0, 0, 0], [columns, layers, rows]]


def test_a_thing_stands_at_its_place_with_north_at_the_back(call: Caller) -> None:
    scene, _, _ = exported(call, MILL)
    transform, _ = scene.graph["bell"]  # layer 2, row 1, column 3
    assert transform[:3, 3].tolist() == [2.5, 1.5, 0.5]


def test_a_thing_points_the_way_it_faces(call: Caller) -> None:
    """The narrow end of a detector, and the plate of a piston, are on the side that they face."""
    scene, _, _ = exported(call, file_of("SSSSS", "d.P.D", names="left 2 1 1, up 2 1 3, right 2 1 5"))
    for name, axis, sign in (("left", 0, -1), ("right", 0, 1)):
        points = scene.geometry[scene.graph[name][1]].vertices
        front, back = points[points[:, axis] * sign > 0.49], points[points[:, axis] * sign < -0.49]
        assert abs(front[:, 1]).max() < abs(back[:, 1]).max()
    points = scene.geometry[scene.graph["up"][1]].vertices
    assert abs(points[points[:, 1] > 0.49][:, 0]).max() > abs(points[points[:, 1] < -0.49][:, 0]).max()


def test_every_solid_is_watertight_and_looks_outward(call: Caller) -> None:
    scene, _, _ = exported(call, file_of(*EVERYTHING))
    assert len(scene.geometry) >= len(MATTERS) - 1
    for name, mesh in scene.geometry.items():
        assert (mesh.is_watertight, mesh.is_winding_consistent) == (True, True), name
        assert 0 < mesh.volume <= 1 + 1e-9, name


def test_things_that_look_alike_share_one_mesh(call: Caller) -> None:
    _, said, _ = exported(call, MILL)
    blocks = [each["mesh"] for each in said["nodes"] if each["name"].startswith("block_")]
    assert (len(blocks), len(set(blocks))) == (6, 1)
    assert len(said["meshes"]) == 5  # block, lever, dust, lamp, torch


def test_what_can_be_seen_through_is_blended(call: Caller) -> None:
    _, said, _ = exported(call, file_of("SS", "GS"))
    materials = {
        each["name"]: said["materials"][said["meshes"][each["mesh"]]["primitives"][0]["material"]]
        for each in said["nodes"]
        if "mesh" in each
    }
    assert materials["glass_2_1_1"]["alphaMode"] == "BLEND"
    assert materials["block_2_1_2"].get("alphaMode", "OPAQUE") == "OPAQUE"


def test_the_same_build_gives_the_same_file(call: Caller) -> None:
    path = written("mill", MILL)
    call.good("sheets", path, "--gltf", "one.glb")
    call.good("sheets", path, "--gltf", "other.glb")
    assert Path("one.glb").read_bytes() == Path("other.glb").read_bytes()


# Bad input


@pytest.mark.parametrize("letter", ["水", "<", "\\", '"'])
def test_strange_letters_come_through_as_text(call: Caller, letter: str) -> None:
    text = file_of("SS", "O.", names="öl 2 1 1").replace("O  lamp", f"{letter}  lamp").replace("O.", f"{letter}.")
    path = written("strange", text)
    call.good("sheets", path, "--gltf", "o.glb")
    (node,) = (each for each in document("o.glb")["nodes"] if each["name"] == "öl")
    assert letter in node["extras"]["letter"]


@pytest.mark.parametrize(
    "words",
    [
        ("--gltf", "nowhere/o.glb"),
        ("--gltf", "."),
        ("--gltf", "mill.circuit"),
        ("--gltf", "o.glb", "--solid", "o.glb"),
        ("--gltf", "o.glb", "--since", "mill.circuit"),
        ("--gltf", "o.glb", "--cut", "row 1"),
    ],
)
def test_a_call_that_cannot_be_done_is_one_line_and_writes_nothing(call: Caller, words: tuple[str, ...]) -> None:
    call.refused("sheets", written("mill", MILL), *words)
    assert [each.name for each in Path().iterdir()] == ["mill.circuit"]


def test_too_many_things_and_none_are_refused(call: Caller, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(gltf, "MOST_NODES", 9)
    assert "10 things" in call.refused("sheets", written("mill", MILL), "--gltf", "o.glb")
    assert not Path("o.glb").exists()
    with pytest.raises(gltf.Empty):
        gltf.solid_glb(Drawing({}, {}), {}, "mill")


def test_without_the_extra_it_says_how_to_install_it(call: Caller) -> None:
    path = written("mill", MILL)
    script = (
        "import sys; sys.modules['pygltflib'] = None\n"
        f"from circuitcheck.cli import main; main(['sheets', '{path}', '--gltf', 'o.glb'])"
    )
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, timeout=60, check=False)
    assert (run.returncode, run.stdout, run.stderr.count("\n")) == (2, "", 1)
    assert "circuitcheck[gltf]" in run.stderr


def test_the_library_is_imported_only_where_it_is_asked_for(call: Caller) -> None:
    path = written("mill", MILL)
    script = (
        "import sys; from circuitcheck.cli import main\n"
        f"try: main(['sheets', '{path}', '--solid', 'o.svg'])\n"
        "except SystemExit: print('pygltflib' in sys.modules)"
    )
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, timeout=60, check=True)
    assert run.stdout.endswith("False\n")
