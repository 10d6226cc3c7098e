"""Binary STL: triangles in millimetres, for printers, CAD and slicers.

STL has no unit; this package always writes millimetres and says so in the header. A right corner leaves mirrored, so
that the file shows the real side of the car. Format: 80 bytes of header, a count, and 50 bytes a triangle,
little-endian (3D Systems, StereoLithography Interface Specification, 1989).
"""

from __future__ import annotations

import struct
from collections.abc import Iterable

import numpy as np

from clearance.plain import ascii_only
from clearance.pose import Array, mirrored

Body = tuple[Array, np.ndarray]
"""Vertices (v, 3) in mm and outward faces (t, 3)."""
_RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def stl(bodies: Iterable[Body], *, name: str = "clearance", right_hand: bool = False) -> bytes:
    """One STL file of several bodies, the same bytes for the same bodies.

    >>> corner = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
    >>> len(stl([(corner, np.array([[0, 1, 2]]))]))
    134
    """
    corners = [real_side(vertices, faces, right_hand=right_hand) for vertices, faces in bodies]
    soup = np.concatenate([v[f] for v, f in corners]) if corners else np.zeros((0, 3, 3))
    records = np.zeros(len(soup), dtype=_RECORD)
    records["corners"] = soup
    across = np.cross(soup[:, 1] - soup[:, 0], soup[:, 2] - soup[:, 0])
    size = np.linalg.norm(across, axis=1)
    records["normal"] = across / np.where(size > 0, size, 1.0)[:, None]
    head = ascii_only(name)[:60] + b", millimetres"
    return head.ljust(80, b" ") + struct.pack("<I", len(soup)) + records.tobytes()


def real_side(vertices_mm: Array, faces: np.ndarray, *, right_hand: bool) -> Body:
    """Corner axes as the real car has them: of a right corner the mirror image, its faces named the other way round."""
    if not right_hand:
        return vertices_mm, faces
    return mirrored(vertices_mm), faces[:, ::-1]
