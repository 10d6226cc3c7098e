"""A coloured surface as PLY bytes: opens in any mesh viewer, keeps a colour for every vertex.

Binary, little-endian, millimetres, in the axes it is given in. The vertex carries x, y, z as doubles' nearest floats,
red, green, blue, alpha, and, where given, one more number of its own: `gap_mm`, its least gap over the cycle. The same
surface gives the same bytes. Format: Greg Turk, The PLY Polygon File Format, 1994.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from clearance.errors import OutputError
from clearance.plain import visible
from clearance.pose import Array


def ply(
    vertices_mm: Array,
    faces: npt.NDArray[np.integer],
    colours: npt.NDArray[np.uint8],
    *,
    gap_mm: Array | None = None,
    comment: str = "",
) -> bytes:
    """A surface of vertices (n, 3) and faces (m, 3; none for points) with colours (n, 4), as one PLY file.

    Raises OutputError where the counts do not match.
    """
    count = len(vertices_mm)
    if np.shape(colours) != (count, 4) or (gap_mm is not None and len(gap_mm) != count):
        raise OutputError(f"{count} vertices need {count} colours of four numbers, and as many gaps.")
    fields: list[tuple[str, str]] = [("x", "<f4"), ("y", "<f4"), ("z", "<f4")]
    fields += [(name, "u1") for name in ("red", "green", "blue", "alpha")]
    if gap_mm is not None:
        fields.append(("gap_mm", "<f4"))
    rows = np.zeros(count, dtype=fields)
    for way, name in enumerate("xyz"):
        rows[name] = vertices_mm[:, way]
    for way, name in enumerate(("red", "green", "blue", "alpha")):
        rows[name] = colours[:, way]
    if gap_mm is not None:
        rows["gap_mm"] = gap_mm
    corners = np.zeros(len(faces), dtype=[("count", "u1"), ("corners", "<i4", 3)])
    corners["count"] = 3
    corners["corners"] = np.asarray(faces).reshape(-1, 3)
    return _header(fields, count, len(faces), comment).encode("ascii", "replace") + rows.tobytes() + corners.tobytes()


def _header(fields: list[tuple[str, str]], vertices: int, faces: int, comment: str) -> str:
    kinds = {"<f4": "float", "u1": "uchar"}
    lines = ["ply", "format binary_little_endian 1.0", "comment millimetres"]
    lines += [f"comment {visible(line)}" for line in comment.split("\n") if line.strip()]
    lines += [f"element vertex {vertices}", *(f"property {kinds[kind]} {name}" for name, kind in fields)]
    lines += [f"element face {faces}", "property list uchar int vertex_indices", "end_header"]
    return "\n".join(lines) + "\n"
