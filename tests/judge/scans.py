"""Small mesh files, as text (STL, OBJ, PLY), to triangles, and where they stand on the hub."""

from __future__ import annotations

import numpy as np

from .moving import Array
from .tape import Table

_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}


def triangles_of(table: Table, text: str, *, hand: float) -> Array:
    """(n, 3, 3): the triangles of a mesh part and the text of its file, in mm from the hub: ahead, outboard, above."""
    corners = _READERS[table["file"][-3:]](text)
    place = table.get("place", "corner axes")
    if place == "corner axes":
        return corners * _MM[table["unit"]]
    up, ahead = _way(place["up"]), _way(place["ahead"])
    outboard = hand * np.cross(up, ahead)
    off = (corners - np.array(place["hub"], dtype=float)) * _MM[table["unit"]]
    return np.stack([off @ ahead, off @ outboard, off @ up], axis=-1)


def _way(word: str) -> Array:
    """ "+x" and the like, as a direction of the file."""
    sign = -1.0 if word.startswith("-") else 1.0
    return sign * np.eye(3)["xyz".index(word[-1])]


def _stl(text: str) -> Array:
    rows = [line.split()[1:] for line in text.splitlines() if line.split()[:1] == ["vertex"]]
    return np.array(rows, dtype=float).reshape(-1, 3, 3)


def _obj(text: str) -> Array:
    lines = [line.split() for line in text.splitlines()]
    points = np.array([words[1:4] for words in lines if words[:1] == ["v"]], dtype=float)
    faces = [[int(word.split("/")[0]) - 1 for word in words[1:4]] for words in lines if words[:1] == ["f"]]
    return points[np.array(faces)]


def _ply(text: str) -> Array:
    header, body = text.split("end_header\n")
    counts = {words[1]: int(words[2]) for words in map(str.split, header.splitlines()) if words[:1] == ["element"]}
    rows = [line.split() for line in body.splitlines()]
    points = np.array(rows[: counts["vertex"]], dtype=float)
    faces = np.array([row[1:4] for row in rows[counts["vertex"] :]], dtype=int)
    return points[faces]


_READERS = {"stl": _stl, "obj": _obj, "ply": _ply}
