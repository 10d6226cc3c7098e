"""Small meshes that never were, as the files that people have: STL, OBJ, PLY; in any unit, on the hub or on a car."""

from __future__ import annotations

import numpy as np

from .moving import Array
from .writing import Tables

Rng = np.random.Generator

_UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
_WAYS = ("+x", "-x", "+y", "-y", "+z", "-z")


def mesh(rng: Rng, at: Array, out: Array, number: int, hand: float) -> tuple[Tables, dict[str, str]]:
    """A [[part]] of kind mesh whose surface comes to a point and faces back along a direction, and its file."""
    points, faces = _shape(rng, at, out)
    unit = str(rng.choice(list(_UNITS)))
    table: Tables = {"kind": "mesh", "unit": unit}
    if rng.random() < 0.5:
        points, table["place"] = _on_a_car(rng, points, hand, _UNITS[unit])
    else:
        points = points / _UNITS[unit]
    ending = str(rng.choice(["stl", "obj", "ply"]))
    table["file"] = f"scan-{number}.{ending}"
    return table, {table["file"]: _TEXTS[ending](points, faces)}


def _shape(rng: Rng, at: Array, out: Array) -> tuple[Array, Array]:
    """A crumpled sheet, or a lump with four corners, nearest to the tire at one of its points."""
    some = rng.normal(size=3)
    one = some - out * (out @ some)
    one = one / np.linalg.norm(one)
    other = np.cross(out, one)
    if rng.random() < 0.3:
        size = rng.uniform(20.0, 120.0)
        around = [one, -0.5 * one + 0.87 * other, -0.5 * one - 0.87 * other]
        points = [at, *(at + size * (way + rng.uniform(0.5, 1.2) * out) for way in around)]
        return np.array(points), np.array([[0, 1, 2], [0, 2, 3], [0, 3, 1], [1, 3, 2]])
    rows, step = int(rng.integers(3, 7)), rng.uniform(12.0, 60.0)
    x, y = np.meshgrid(np.arange(rows) - (rows - 1) / 2.0, np.arange(rows) - (rows - 1) / 2.0, indexing="ij")
    high = rng.uniform(0.0, 0.5 * step, x.shape) + 0.002 * step * (x**2 + y**2)
    points = at + step * (x[..., None] * one + y[..., None] * other) + high[..., None] * out
    i, j = (n.ravel() for n in np.meshgrid(np.arange(rows - 1), np.arange(rows - 1), indexing="ij"))
    a = i * rows + j
    faces = np.concatenate([np.stack([a, a + 1, a + rows + 1], 1), np.stack([a, a + rows + 1, a + rows], 1)])
    return points.reshape(-1, 3), faces


def _on_a_car(rng: Rng, points: Array, hand: float, unit_mm: float) -> tuple[Array, Tables]:
    """The points in the axes of a whole car, and how the corner file says where the hub is in it."""
    ways = rng.permutation(3)
    up, ahead = (str(rng.choice([w for w in _WAYS if w.endswith("xyz"[k])])) for k in ways[:2])
    up_way, ahead_way = (_unit(word) for word in (up, ahead))
    outboard = hand * np.cross(up_way, ahead_way)
    hub = np.round(rng.uniform(-1500.0, 1500.0, 3) / unit_mm, 3)
    moved = (
        hub
        + (np.outer(points[:, 0], ahead_way) + np.outer(points[:, 1], outboard) + np.outer(points[:, 2], up_way))
        / unit_mm
    )
    return moved, {"hub": [float(v) for v in hub], "up": up, "ahead": ahead}


def _unit(word: str) -> Array:
    return (-1.0 if word[0] == "-" else 1.0) * np.eye(3)["xyz".index(word[1])]


def _number(value: float) -> str:
    return f"{value:.7g}"


def _row(values: Array) -> str:
    return " ".join(_number(float(v)) for v in values)


def _stl(points: Array, faces: Array) -> str:
    lines = ["solid scan"]
    for face in faces:
        lines += [
            "facet normal 0 0 0",
            "outer loop",
            *(f"vertex {_row(points[i])}" for i in face),
            "endloop",
            "endfacet",
        ]
    return "\n".join([*lines, "endsolid scan"]) + "\n"


def _obj(points: Array, faces: Array) -> str:
    lines = [f"v {_row(p)}" for p in points] + ["f " + " ".join(str(i + 1) for i in face) for face in faces]
    return "\n".join(lines) + "\n"


def _ply(points: Array, faces: Array) -> str:
    header = [
        "ply", "format ascii 1.0", f"element vertex {len(points)}", "property float x", "property float y",
        "property float z", f"element face {len(faces)}", "property list uchar int vertex_indices", "end_header",
    ]  # fmt: skip
    rows = [*map(_row, points), *("3 " + " ".join(map(str, face)) for face in faces)]
    return "\n".join([*header, *rows]) + "\n"


_TEXTS = {"stl": _stl, "obj": _obj, "ply": _ply}
