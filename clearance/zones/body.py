"""Zones as solid bodies: a patch given the thickness of its sheet, closed all round.

The sheet lies behind the patch, away from the tire. Where no thickness was given, `SHEET_MM` is drawn and said so by
`drawn_thickness_mm`. A patch without a border, as a box that lies in the tire whole, is the body itself.
Lengths are millimetres.
"""

from __future__ import annotations

import numpy as np

from clearance.pose import Array
from clearance.steady import steady
from clearance.zones.sheets import sheets_of
from clearance.zones.zone import Zone

SHEET_MM = 1.5
"""Thickness drawn where none was given: a common body sheet with its coating (common practice)."""


def drawn_thickness_mm(zone: Zone) -> float:
    """The thickness that the zone's body has."""
    return zone.thickness_mm if zone.thickness_mm > 0 else SHEET_MM


@steady
def body_of(zone: Zone) -> tuple[Array, np.ndarray]:
    """A closed body: vertices (v, 3) and outward faces (t, 3)."""
    thick = drawn_thickness_mm(zone)
    return thickened(zone.vertices_mm, zone.faces, thick)


def thickened(vertices: Array, faces: np.ndarray, thickness_mm: float) -> tuple[Array, np.ndarray]:
    """A patch moved along its normals by its thickness, joined to itself around its border; a patch that has no border
    is the surface of what must go, and is the body itself.

    Where the triangles do not hang together as one sheet, a closed body for each sheet that they are.
    """
    size = np.linalg.norm(_across(vertices, faces), axis=1)
    bodies = []
    for sheet in sheets_of(faces[size > 1e-9]):
        points = vertices[sheet.vertices]
        if sheet.closed:
            bodies.append((points, sheet.faces[:, ::-1]))
        else:
            bodies.append(_sheet(points, sheet.faces, _across(points, sheet.faces), thickness_mm))
    counts = np.cumsum([0, *(len(points) for points, _ in bodies)])
    moved = [one + at for (_, one), at in zip(bodies, counts[:-1], strict=True)]
    return np.concatenate([points for points, _ in bodies]), np.concatenate(moved)


def _across(vertices: Array, faces: np.ndarray) -> Array:
    a, b, c = (vertices[faces[:, i]] for i in range(3))
    across: Array = np.cross(b - a, c - a)
    return across


def _sheet(vertices: Array, faces: np.ndarray, across: Array, thickness_mm: float) -> tuple[Array, np.ndarray]:
    normal = np.zeros_like(vertices)
    for corner in range(3):
        np.add.at(normal, faces[:, corner], across)
    normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-12)[:, None]
    count = len(vertices)
    half = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    key = half[:, 0] * count + half[:, 1]
    border = half[~np.isin(key, half[:, 1] * count + half[:, 0])]
    a, b = border.T
    walls = [np.column_stack([a, b, b + count]), np.column_stack([a, b + count, a + count])]
    body = np.concatenate([faces + count, faces[:, ::-1], *walls])
    return np.concatenate([vertices, vertices + thickness_mm * normal]), body
