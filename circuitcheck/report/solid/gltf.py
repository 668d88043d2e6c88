"""The build as glTF 2.0 (ISO/IEC 12113), in its binary form: a node for each thing, a mesh for each shape.

A place is a cube of one unit; its middle is at (east, up, south), so that north is away from who looks, as the standard
has the front of a scene look. Nodes of things stand below nodes of their layers. The only place that imports pygltflib.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

import pygltflib as gltf

from circuitcheck.about import PROGRAM, VERSION
from circuitcheck.model.drawing import At, Drawing
from circuitcheck.plans.solids import Solid
from circuitcheck.report.lines import safe
from circuitcheck.report.sheet import described
from circuitcheck.report.solid.bodies import Body, Point, Tone
from circuitcheck.report.solid.shapes import bodies_of, see_through

MOST_NODES = 65_536
"""How many things are written at most."""


class TooManyNodes(Exception):
    """There are more things than are written; the text says how many."""


class Empty(Exception):
    """There is nothing to write."""


def solid_glb(drawing: Drawing, solids: Mapping[At, Solid], name: str) -> bytes:
    """The build as a file. Raises TooManyNodes and Empty."""
    if not solids:
        raise Empty("nothing stands in the drawing: there is nothing to write")
    if len(solids) > MOST_NODES:
        raise TooManyNodes(f"{len(solids):,} things are too many for one file; {MOST_NODES:,} at most")
    made = _Meshes()
    numbers = {at: made.number(solid) for at, solid in sorted(solids.items())}
    layers = list(_layers(drawing, numbers))
    document = gltf.GLTF2(
        asset=gltf.Asset(version="2.0", generator=f"{PROGRAM} {VERSION}"),
        scene=0,
        scenes=[gltf.Scene(name=safe(name), nodes=[node for node, _ in layers])],
        nodes=[each for _, nodes in layers for each in nodes],
        meshes=made.meshes,
        materials=[_material(clear) for clear in made.materials],
        accessors=made.accessors,
        bufferViews=made.views,
        buffers=[gltf.Buffer(byteLength=len(made.data))],
    )
    document.set_binary_blob(bytes(made.data))
    return b"".join(document.save_to_bytes())


def _layers(drawing: Drawing, meshes: Mapping[At, int]) -> Iterator[tuple[int, list[gltf.Node]]]:
    """Each layer in which anything stands: the number of its node, and that node followed by those of its things."""
    by_layer: dict[int, list[At]] = {}
    for at in meshes:
        by_layer.setdefault(at[0], []).append(at)
    first = 0
    for layer, places in by_layer.items():
        things = [_node(drawing, at, meshes[at]) for at in places]
        children = list(range(first + 1, first + 1 + len(things)))
        yield first, [gltf.Node(name=f"layer {layer}", children=children), *things]
        first += 1 + len(things)


def _node(drawing: Drawing, at: At, mesh: int) -> gltf.Node:
    thing = drawing.things[at]
    layer, row, column = at
    extras = {"layer": layer, "row": row, "column": column, "thing": described(thing), "letter": safe(thing.letter)}
    middle = [column - 0.5, layer - 0.5, row - 0.5]
    return gltf.Node(name=safe(drawing.name(at)), mesh=mesh, translation=middle, extras=extras)


def _material(clear: bool) -> gltf.Material:
    """A dull surface, whose colours are those of its corners."""
    surface = gltf.PbrMetallicRoughness(
        baseColorFactor=[1.0, 1.0, 1.0, 0.4 if clear else 1.0], metallicFactor=0.0, roughnessFactor=1.0
    )
    name, mode = ("seen through", gltf.BLEND) if clear else ("whole", gltf.OPAQUE)
    return gltf.Material(name=name, pbrMetallicRoughness=surface, alphaMode=mode, alphaCutoff=None)


class _Meshes:
    """The mesh of each shape, written once, with all that they share: numbers in one buffer."""

    def __init__(self) -> None:
        self.meshes: list[gltf.Mesh] = []
        self.accessors: list[gltf.Accessor] = []
        self.views: list[gltf.BufferView] = []
        self.data = bytearray()
        self.materials: dict[bool, int] = {}
        """The number of the material of what can be seen through, and of what can't, as far as there is any."""
        self._known: dict[tuple[Body, ...], int] = {}

    def number(self, solid: Solid) -> int:
        """The number of the mesh of a solid."""
        bodies = bodies_of(solid)
        if bodies not in self._known:
            self._known[bodies] = len(self.meshes)
            material = self.materials.setdefault(see_through(solid), len(self.materials))
            self.meshes.append(gltf.Mesh(name=solid.form.name.lower(), primitives=[self._primitive(bodies, material)]))
        return self._known[bodies]

    def _primitive(self, bodies: Sequence[Body], material: int) -> gltf.Primitive:
        points = [_placed(point) for each in bodies for point in each.points]
        colours = [_linear(each.tone) for each in bodies for _ in each.points]
        corners = list(_triangles(bodies))
        attributes = gltf.Attributes(
            POSITION=self._accessor(
                struct.pack(f"<{3 * len(points)}f", *(each for point in points for each in point)),
                gltf.ARRAY_BUFFER,
                componentType=gltf.FLOAT,
                count=len(points),
                type=gltf.VEC3,
                min=[min(axis) for axis in zip(*points, strict=True)],
                max=[max(axis) for axis in zip(*points, strict=True)],
            ),
            COLOR_0=self._accessor(
                bytes(each for colour in colours for each in colour),
                gltf.ARRAY_BUFFER,
                componentType=gltf.UNSIGNED_BYTE,
                normalized=True,
                count=len(points),
                type=gltf.VEC4,
            ),
        )
        indices = self._accessor(
            struct.pack(f"<{len(corners)}H", *corners),
            gltf.ELEMENT_ARRAY_BUFFER,
            componentType=gltf.UNSIGNED_SHORT,
            count=len(corners),
            type=gltf.SCALAR,
        )
        return gltf.Primitive(attributes=attributes, indices=indices, material=material)

    def _accessor(self, data: bytes, target: int, **told: object) -> int:
        """Adds numbers to the buffer. Returns by which number they are read."""
        self.views.append(gltf.BufferView(buffer=0, byteOffset=len(self.data), byteLength=len(data), target=target))
        self.data += data + bytes(-len(data) % 4)
        self.accessors.append(gltf.Accessor(bufferView=len(self.views) - 1, byteOffset=0, **told))
        return len(self.accessors) - 1


def _placed(point: Point) -> Point:
    """A point (up, south, east) as (east, up, south); both are right-handed, so that faces stay outward."""
    up, south, east = point
    return _single((east, up, south))


def _single(point: Point) -> Point:
    """A point as it is read back: in single precision, which least and most must be given in."""
    x, y, z = struct.unpack("<3f", struct.pack("<3f", *point))
    return (x, y, z)


def _triangles(bodies: Sequence[Body]) -> Iterator[int]:
    first = 0
    for body in bodies:
        for start, *others in body.faces:
            for one, other in pairwise(others):
                yield from (first + start, first + one, first + other)
        first += len(body.points)


def _linear(tone: Tone) -> tuple[int, int, int, int]:
    """A colour as the standard wants it at corners: linear in light."""
    red, green, blue = (round(255 * _light(int(tone.value[each : each + 2], 16) / 255)) for each in (1, 3, 5))
    return (red, green, blue, 255)


def _light(channel: float) -> float:
    return channel / 12.92 if channel <= 0.04045 else float(((channel + 0.055) / 1.055) ** 2.4)
