"""The scene as binary glTF 2.0: every part coloured by its gap, the tire and wheel moving through the cycle.

glTF is metres with y up, x and z level; colours in a mesh are linear. So corner axes (x ahead, y outboard, z up) become
(x, z, -y) / 1000, a right corner mirrored first, and sRGB colours are linearised. Written here by hand, since what
matters (names, colours of 16 bits, keyframes that share one clock, no stray extensions) is a page of JSON; a general
library would have to be undone in each of these.

* node "tire and wheel" - the solid in hub axes, standing at the worst position and moving in the animation
* one node per part     - where it stands at that position; parts on the axle or knuckle move too; of an endless sheet
                          only what is near the wheel (see `near`). A part whose far end rides on something else is
                          stretched as it moves: a morph target for each way that end goes from where it stands, by
                          as much as it ever goes, so that weights run from 0 to 1 and its bounds are those of the move
* node "zones"          - the patches that are too close, a child each, just clear of their parts so that they show
* animation "cycle"     - droop to bump straight ahead, lock to lock at ride height, then locks at both ends of travel

Source: Khronos glTF 2.0 specification, ISO/IEC 12113:2022.
"""

from __future__ import annotations

import struct
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import numpy as np

from clearance.export.near import near_the_wheel
from clearance.export.scan import Measured, gap_colours
from clearance.export.stl import real_side
from clearance.gap.map import over_vertices
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import far_move, shares_of
from clearance.plain import json_text
from clearance.pose import Array, Pose, car_steer_deg
from clearance.steady import steady
from clearance.suspension.position import BODY, HUB, Cycle, Position
from clearance.well.blocks import in_blocks
from clearance.well.part import Part
from clearance.zones.zone import Zone

_GLTF = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]])
"""Corner axes to glTF axes: a turn, no mirror."""
_FLOAT, _SHORT, _INT = 5126, 5123, 5125
_KEY_SECONDS = 0.1
_SEGMENT_KEYS = 14
"""Keyframes from one stop of the cycle to the next; linear in between, a chord of 5 degrees at most on common
steering.
"""
_RUBBER, _METAL = (0.06, 0.06, 0.065, 1.0), (0.34, 0.35, 0.36, 1.0)
"""Linear colours beyond the rim's flange and within it."""
_ZONE_LIFT_MM = 0.8
_STILL_M = 1e-6
_TUBE_SIDES = 12


@steady
def scene_glb(
    mockup: MockUp,
    *,
    worst: Position | None = None,
    zones: Sequence[Zone] = (),
    edge_mm: float = 25.0,
    measured: Mapping[str, Measured] | None = None,
) -> bytes:
    """The whole scene, tire and wheel at `worst` (ride height by default); the same bytes for the same mock-up.

    `measured` are those of `measured_scans`, where they are measured already.
    """
    position = worst or Position(steer_deg=_nearest_zero(mockup.suspension.cycle.steer_deg))
    file = _File()
    children = []
    moving: list[tuple[int, str]] = []
    stretched: list[tuple[int, Array]] = []
    vertices, faces = mockup.solid.mesh(0.4)
    beyond = np.hypot(vertices[:, 0], vertices[:, 2]) > mockup.wheel.flange_diameter_mm / 2 + 0.01
    colours = np.where(beyond[:, None], _RUBBER, _METAL)
    hub = file.node("tire and wheel", *real_side(vertices, faces, right_hand=mockup.right_hand), colours)
    file.place(hub, _where(mockup, position, HUB), mockup.right_hand)
    moving.append((hub, HUB))
    children.append(hub)
    frames: dict[str, str] = {}
    for part in mockup.parts:
        vertices, faces, gap, share = _drawn(mockup, part, edge_mm, (measured or {}).get(part.name))
        if len(faces) == 0:
            # nothing of it near the wheel: a node without a mesh would be an empty one
            continue
        vertices = vertices + share[:, None] * far_move(mockup.suspension, part, position.row()[None])
        colours = linear(gap_colours(gap, part.required_mm) / 255.0)
        moves = None if part.far_end is None else _far_moves(mockup, part, position)
        stretch = None if moves is None else (share, _targets(moves))
        node = file.node(part.name, *real_side(vertices, faces, right_hand=mockup.right_hand), colours, stretch=stretch)
        frames[part.name] = part.rides_on
        children.append(node)
        if part.rides_on != BODY:
            file.place(node, _where(mockup, position, part.rides_on), mockup.right_hand)
            moving.append((node, part.rides_on))
        if moves is not None and len(_targets(moves)):
            stretched.append((node, _weights(moves)))
    children += _zone_nodes(file, mockup, zones, frames, position, moving)
    file.root = file.group(mockup.title or "mock-up", children)
    _animate(file, mockup, moving, stretched)
    return file.bytes({"corner": mockup.corner, "worst": _said(mockup, position), "colours": colour_key_text(mockup)})


def zones_glb(zones: Sequence[Zone], *, right_hand: bool = False) -> bytes:
    """The patches alone, each a named node, coloured by gap."""
    file = _File()
    nodes = [
        file.node(_zone_name(i, zone), *real_side(zone.vertices_mm, zone.faces, right_hand=right_hand), _tones(zone))
        for i, zone in enumerate(zones)
    ]
    file.root = file.group("zones", nodes)
    return file.bytes({})


def colour_key(required_mm: float) -> tuple[tuple[float, str, str], ...]:
    """The scale as data: (gap in mm, sRGB colour "#rrggbb", words), from worst to best, for a part with this
    requirement.
    """
    far = 3.0 * required_mm if required_mm > 0.0 else 75.0
    stops = [(-1.0, "inside the tire"), (0.0, "touching"), (required_mm, "as close as allowed"), (far, "clear")]
    colours = gap_colours(
        np.array([gap if gap != required_mm else required_mm + 1e-6 for gap, _ in stops]), required_mm
    )
    return tuple(
        (gap, "#" + bytes(int(c) for c in colour[:3]).hex(), words)
        for (gap, words), colour in zip(stops, colours, strict=True)
    )


def colour_key_text(mockup: MockUp) -> list[dict[str, Any]]:
    """The scale of every part, as the scene file carries it in its extras."""
    return [
        {"part": part.name, "required_mm": part.required_mm, "key": [list(row) for row in colour_key(part.required_mm)]}
        for part in mockup.parts
    ]


def linear(srgb: Array) -> Array:
    """Linear colour values of sRGB ones, 0 to 1, alpha last and untouched (IEC 61966-2-1)."""
    value = np.asarray(srgb, dtype=float).copy()
    rgb = value[:, :3]
    value[:, :3] = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    return value


def cycle_rows(cycle: Cycle) -> Array:
    """(n, 3): the positions that the animation visits, in order, beginning and ending at ride height."""
    (low, high), (left, right) = cycle.bump_mm, cycle.steer_deg
    rest_b, rest_s = _nearest_zero(cycle.bump_mm), _nearest_zero(cycle.steer_deg)
    stops = [(rest_b, rest_s)]
    if high > low:
        stops += [(high, rest_s), (low, rest_s), (rest_b, rest_s)]
    if right > left:
        stops += [(rest_b, right), (rest_b, left), (rest_b, rest_s)]
    if high > low and right > left:
        stops += [(high, right), (high, left), (low, left), (low, right), (rest_b, rest_s)]
    rows = [stops[0]]
    for (b0, s0), (b1, s1) in pairwise(stops):
        rows += [(b0 + (b1 - b0) * t, s0 + (s1 - s0) * t) for t in np.linspace(0, 1, _SEGMENT_KEYS + 1)[1:]]
    other = _nearest_zero(cycle.other_bump_mm)
    return np.array([[b, other, s] for b, s in rows])


def _nearest_zero(limits: tuple[float, float]) -> float:
    return min(max(0.0, limits[0]), limits[1])


def _where(mockup: MockUp, position: Position, frame: str) -> Pose:
    return mockup.suspension.pose(position.row()[None], frame)


def _said(mockup: MockUp, position: Position) -> dict[str, float]:
    return {
        "bump": position.bump_mm,
        "other_bump": position.other_bump_mm,
        "steer": car_steer_deg(position.steer_deg, right_hand=mockup.right_hand),
    }


def _zone_name(number: int, zone: Zone) -> str:
    return f"zone {number + 1}: {zone.part}"


def _tones(zone: Zone) -> Array:
    return linear(gap_colours(zone.gap_mm, zone.required_mm) / 255.0)


def _zone_nodes(
    file: _File,
    mockup: MockUp,
    zones: Sequence[Zone],
    frames: Mapping[str, str],
    position: Position,
    moving: list[tuple[int, str]],
) -> list[int]:
    """The zones, one group for each frame that they ride on; on the side of the part that faces the tire."""
    groups = []
    for frame in sorted({frames[zone.part] for zone in zones}):
        nodes = []
        for i, zone in enumerate(zones):
            if frames[zone.part] == frame:
                lifted = zone.vertices_mm - _ZONE_LIFT_MM * _normals(zone.vertices_mm, zone.faces)
                mesh = real_side(lifted, zone.faces, right_hand=mockup.right_hand)
                nodes.append(file.node(_zone_name(i, zone), *mesh, _tones(zone), glow=True))
        group = file.group("zones" if frame == BODY else f"zones on the {frame}", nodes)
        if frame != BODY:
            file.place(group, _where(mockup, position, frame), mockup.right_hand)
            moving.append((group, frame))
        groups.append(group)
    return groups


def _drawn(
    mockup: MockUp, part: Part, edge_mm: float, measured: Measured | None
) -> tuple[Array, np.ndarray, Array, Array]:
    """A part's mesh near the wheel with each vertex's gap and its share of the far end's move; what is only a line
    becomes a tube of its skin.
    """
    if measured is None or part.endless:
        part = near_the_wheel(mockup, part)
        measured = over_vertices(mockup, part, edge_mm=None if part.kind == "mesh" else edge_mm)
    vertices, faces, gap = measured
    share = shares_of(part, vertices)
    flat = np.linalg.norm(_squares(vertices, faces), axis=1) < 1e-9
    if not flat.any() or part.skin_mm <= 0:
        return vertices, faces[~flat], gap, share
    ends = np.sort(faces[flat], axis=1)
    pairs = np.unique(np.concatenate([ends[:, [0, 1]], ends[:, [1, 2]], ends[:, [0, 2]]]), axis=0)
    pairs = pairs[np.linalg.norm(vertices[pairs[:, 0]] - vertices[pairs[:, 1]], axis=1) > 1e-9]
    if len(pairs) == 0:
        return vertices, faces[~flat], gap, share
    tube, tube_faces, end = _tubes(vertices[pairs[:, 0]], vertices[pairs[:, 1]], part.skin_mm)
    owner = pairs.T.ravel()[end]
    points = np.concatenate([vertices, tube])
    indices = np.concatenate([faces[~flat], tube_faces + len(vertices)])
    return points, indices, np.concatenate([gap, gap[owner]]), np.concatenate([share, share[owner]])


def _tubes(start: Array, end: Array, radius_mm: float) -> tuple[Array, np.ndarray, np.ndarray]:
    """Closed tubes between points (n, 3): vertices, faces, and for each vertex its row of (starts, then ends)."""
    count, along = len(start), end - start
    along = along / np.linalg.norm(along, axis=1)[:, None]
    least = np.eye(3)[np.argmin(np.abs(along), axis=1)]
    u = np.cross(along, least)
    u /= np.linalg.norm(u, axis=1)[:, None]
    v = np.cross(along, u)
    angle = np.arange(_TUBE_SIDES) * (2 * np.pi / _TUBE_SIDES)
    ring = radius_mm * (np.cos(angle)[None, :, None] * u[:, None] + np.sin(angle)[None, :, None] * v[:, None])
    # the lids have rings of their own: they are not to round the edge that they make, nor to show within a bar
    rings = [start[:, None] + ring, end[:, None] + ring] * 2
    vertices = np.concatenate(rings, axis=1).reshape(-1, 3)
    i = np.arange(_TUBE_SIDES)
    j, n = (i + 1) % _TUBE_SIDES, _TUBE_SIDES
    fan = np.arange(1, n - 1)
    one = np.concatenate(
        [
            np.column_stack([i, j, j + n]),
            np.column_stack([i, j + n, i + n]),
            np.column_stack([0 * fan, fan + 1, fan]) + 2 * n,
            np.column_stack([0 * fan, fan, fan + 1]) + 3 * n,
        ]
    )
    faces = (np.arange(count)[:, None, None] * 4 * n + one).reshape(-1, 3)
    owner = (np.arange(count)[:, None] + np.repeat([0, count, 0, count], n)[None]).ravel()
    return vertices, faces, owner


def _squares(vertices: Array, faces: np.ndarray) -> Array:
    """(n, 3): square to each face, twice its area long."""
    across = np.empty((len(faces), 3))
    for some in in_blocks(len(faces)):
        a, b, c = (vertices[faces[some, corner]] for corner in range(3))
        across[some] = np.cross(b - a, c - a)
    return across


def _normals(vertices: Array, faces: np.ndarray) -> Array:
    across = _squares(vertices, faces)
    normal = np.zeros_like(vertices)
    for corner in range(3):
        np.add.at(normal, faces[:, corner], across)
    size = np.linalg.norm(normal, axis=1)
    normal[size < 1e-12] = (0.0, 0.0, 1.0)
    return normal / np.where(size < 1e-12, 1.0, size)[:, None]


def _far_moves(mockup: MockUp, part: Part, position: Position) -> Array:
    """(n, 3): how far a part's far end has gone, in metres of the file, from where it is as the file stands, at every
    keyframe.
    """
    rows = cycle_rows(mockup.suspension.cycle)
    moved = far_move(mockup.suspension, part, rows) - far_move(mockup.suspension, part, position.row()[None])
    moves: Array = moved @ _across(mockup.right_hand).T / 1000.0
    return moves


def _targets(moves: Array) -> Array:
    """(m, 3): the furthest that a far end goes each way along each axis; ways that it does not go are left out."""
    down, up = np.minimum(moves.min(axis=0), 0.0), np.maximum(moves.max(axis=0), 0.0)
    ends = np.concatenate([np.diag(down), np.diag(up)])
    targets: Array = ends[np.abs(ends).max(axis=1) > _STILL_M]
    return targets


def _weights(moves: Array) -> Array:
    """(n, m): of these targets, 0 to 1: a move one way along an axis is that share of the furthest that way."""
    targets = _targets(moves)
    axis = np.argmax(np.abs(targets), axis=1)
    furthest = targets[np.arange(len(targets)), axis]
    weights: Array = np.clip(moves[:, axis] / furthest, 0.0, 1.0)
    return weights


def _animate(
    file: _File,
    mockup: MockUp,
    moving: Sequence[tuple[int, str]],
    stretched: Sequence[tuple[int, Array]],
) -> None:
    rows = cycle_rows(mockup.suspension.cycle)
    if len(rows) < 2:
        return
    clock = file.accessor(np.arange(len(rows)) * _KEY_SECONDS, "SCALAR", _FLOAT, limits=True)
    for node, frame in moving:
        pose = mockup.suspension.pose(rows, frame)
        place, turn = placed(pose, mockup.right_hand)
        file.channel(node, "translation", clock, file.accessor(place, "VEC3", _FLOAT))
        file.channel(node, "rotation", clock, file.accessor(turn, "VEC4", _FLOAT))
    for node, weights in stretched:
        file.channel(node, "weights", clock, file.accessor(weights.ravel(), "SCALAR", _FLOAT))


def placed(pose: Pose, right_hand: bool) -> tuple[Array, Array]:
    """Poses in corner axes as glTF translations (n, 3) in metres and unit quaternions (n, 4) x, y, z, w without
    jumps.
    """
    across = _across(right_hand)
    place = pose.origin_mm @ across.T / 1000.0
    turn = across @ pose.turn @ across.T
    quaternion = _quaternions(turn)
    for i in range(1, len(quaternion)):
        if quaternion[i] @ quaternion[i - 1] < 0:
            quaternion[i] = -quaternion[i]
    return place, quaternion


def _across(right_hand: bool) -> Array:
    """(3, 3): from the corner axes inside the package to those of the file, a right corner's mirror included."""
    across: Array = _GLTF @ np.diag([1.0, -1.0 if right_hand else 1.0, 1.0])
    return across


def _quaternions(turn: Array) -> Array:
    """Unit quaternions (n, 4) x, y, z, w with w >= 0, of turns (n, 3, 3).

    By the largest of the four, which is never near nothing (Shepperd, "Quaternion from rotation matrix", 1978; from
    memory). Held against scipy's in the tests: its rotations take longer to load than all of this to do.
    """
    trace = np.trace(turn, axis1=1, axis2=2)
    found = np.empty((len(turn), 4))
    largest = np.argmax(np.column_stack([np.diagonal(turn, axis1=1, axis2=2), trace]), axis=1)
    for i in range(3):
        m, j, k = turn[largest == i], (i + 1) % 3, (i + 2) % 3
        row = np.empty((len(m), 4))
        row[:, i] = 1.0 - trace[largest == i] + 2.0 * m[:, i, i]
        row[:, j], row[:, k] = m[:, j, i] + m[:, i, j], m[:, k, i] + m[:, i, k]
        row[:, 3] = m[:, k, j] - m[:, j, k]
        found[largest == i] = row
    m = turn[largest == 3]
    found[largest == 3] = np.column_stack(
        [m[:, 2, 1] - m[:, 1, 2], m[:, 0, 2] - m[:, 2, 0], m[:, 1, 0] - m[:, 0, 1], 1.0 + trace[largest == 3]]
    )
    found /= np.linalg.norm(found, axis=1)[:, None]
    quaternion: Array = np.where(found[:, 3:] < 0.0, -found, found) + 0.0
    return quaternion


@dataclass(slots=True)
class _File:
    """A glTF file being put together."""

    data: bytearray = field(default_factory=bytearray)
    views: list[dict[str, Any]] = field(default_factory=list)
    accessors: list[dict[str, Any]] = field(default_factory=list)
    meshes: list[dict[str, Any]] = field(default_factory=list)
    nodes: list[dict[str, Any]] = field(default_factory=list)
    samplers: list[dict[str, Any]] = field(default_factory=list)
    channels: list[dict[str, Any]] = field(default_factory=list)
    root: int = 0
    glows: bool = False

    def accessor(self, values: np.ndarray, kind: str, component: int, *, limits: bool = False, target: int = 0) -> int:
        """Store an array and give its number."""
        dtype = {_FLOAT: "<f4", _SHORT: "<u2", _INT: "<u4"}[component]
        stored = np.ascontiguousarray(values, dtype=dtype)
        view: dict[str, Any] = {"buffer": 0, "byteOffset": len(self.data), "byteLength": stored.nbytes}
        if target:
            view["target"] = target
        self.data += stored.tobytes() + b"\0" * (-stored.nbytes % 4)
        self.views.append(view)
        entry: dict[str, Any] = {"bufferView": len(self.views) - 1, "componentType": component, "type": kind}
        entry["count"] = stored.size if kind == "SCALAR" else len(stored)
        if component == _SHORT:
            entry["normalized"] = True
        if limits:
            table = stored.reshape(entry["count"], -1)
            entry["min"] = [float(x) for x in table.min(axis=0)]
            entry["max"] = [float(x) for x in table.max(axis=0)]
        self.accessors.append(entry)
        return len(self.accessors) - 1

    def node(
        self,
        name: str,
        vertices_mm: Array,
        faces: np.ndarray,
        colours: Array,
        *,
        glow: bool = False,
        stretch: tuple[Array, Array] | None = None,
    ) -> int:
        """A node with a mesh in millimetres of corner axes and linear colours (v, 4); empty where there are no
        faces. With `stretch`, each vertex's share (v,) of moves (m, 3) in metres, it has a morph target for each.
        """
        if len(faces) == 0:
            return self.group(name, [])
        used, local = np.unique(faces, return_inverse=True)
        points = vertices_mm[used] @ _GLTF.T / 1000.0
        index = local.reshape(-1, 3)
        attributes = {
            "POSITION": self.accessor(points, "VEC3", _FLOAT, limits=True, target=34962),
            "NORMAL": self.accessor(_normals(points, index), "VEC3", _FLOAT, target=34962),
            "COLOR_0": self.accessor(np.rint(colours[used] * 65535.0), "VEC4", _SHORT, target=34962),
        }
        indices = self.accessor(index.ravel(), "SCALAR", _INT, target=34963)
        self.glows |= glow
        primitive = {"attributes": attributes, "indices": indices, "material": 1 if glow else 0, "mode": 4}
        mesh: dict[str, Any] = {"name": name, "primitives": [primitive]}
        if stretch is not None and len(stretch[1]):
            moves = [stretch[0][used][:, None] * move for move in stretch[1]]
            targets = [self.accessor(move, "VEC3", _FLOAT, limits=True, target=34962) for move in moves]
            primitive["targets"] = [{"POSITION": target} for target in targets]
            mesh["weights"] = [0.0] * len(targets)
        self.meshes.append(mesh)
        self.nodes.append({"name": name, "mesh": len(self.meshes) - 1})
        return len(self.nodes) - 1

    def group(self, name: str, children: Sequence[int]) -> int:
        """A node that holds others."""
        self.nodes.append({"name": name, **({"children": list(children)} if children else {})})
        return len(self.nodes) - 1

    def place(self, node: int, pose: Pose, right_hand: bool) -> None:
        """Stand a node at one pose."""
        place, turn = placed(pose, right_hand)
        self.nodes[node]["translation"] = [float(np.float32(x)) for x in place[0]]
        self.nodes[node]["rotation"] = [float(x) for x in turn[0]]

    def channel(self, node: int, path: str, clock: int, values: int) -> None:
        """Move a node along keyframes, linear between them."""
        self.samplers.append({"input": clock, "output": values, "interpolation": "LINEAR"})
        self.channels.append({"sampler": len(self.samplers) - 1, "target": {"node": node, "path": path}})

    def bytes(self, extras: Mapping[str, Any]) -> bytes:
        """The file."""
        whole: dict[str, Any] = {
            "asset": {"version": "2.0", "generator": "clearance"},
            "scene": 0,
            "scenes": [{"nodes": [self.root], **({"extras": dict(extras)} if extras else {})}],
            "nodes": self.nodes,
        }
        if self.meshes:
            surface = {"metallicFactor": 0.0, "roughnessFactor": 0.9}
            whole["materials"] = [{"name": "gap", "pbrMetallicRoughness": surface, "doubleSided": True}]
            if self.glows:
                zone = {"name": "zone", "pbrMetallicRoughness": surface, "doubleSided": True}
                whole["materials"].append({**zone, "emissiveFactor": [0.25, 0.06, 0.0]})
            whole |= {"meshes": self.meshes, "accessors": self.accessors, "bufferViews": self.views}
            whole["buffers"] = [{"byteLength": len(self.data)}]
        if self.channels:
            whole["animations"] = [{"name": "cycle", "samplers": self.samplers, "channels": self.channels}]
        text = json_text(whole, indent=None, compact=True).encode()
        text += b" " * (-len(text) % 4)
        body = struct.pack("<I4s", len(text), b"JSON") + text
        if self.data:
            body += struct.pack("<I4s", len(self.data), b"BIN\0") + bytes(self.data)
        return struct.pack("<4sII", b"glTF", 2, 12 + len(body)) + body
