"""Zones as solid bodies: a patch given the thickness of its sheet, closed all round.

The sheet lies behind the patch, away from the tire. Where no thickness was given, `SHEET_MM` is drawn and said so by
`drawn_thickness_mm`. A patch whose triangles do not hang together as a sheet (doubled or crossing triangles of a scan)
becomes one closed prism per triangle. Lengths are millimetres.
"""

from __future__ import annotations

import numpy as np

from clearance.geom.mesh import is_closed
from clearance.pose import Array
from clearance.steady import steady
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
    """A patch moved along its normals by its thickness, joined to itself around its border."""
    across = np.cross(vertices[faces[:, 1]] - vertices[faces[:, 0]], vertices[faces[:, 2]] - vertices[faces[:, 0]])
    size = np.linalg.norm(across, axis=1)
    solid = size > 1e-9
    faces, across, size = faces[solid], across[solid], size[solid]
    used, local = np.unique(faces, return_inverse=True)
    sheet = _sheet(vertices[used], local.reshape(-1, 3), across, thickness_mm)
    if is_closed(sheet[1]):
        return sheet
    return _prisms(vertices[faces], across / size[:, None], thickness_mm)


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


def _prisms(corners: Array, normal: Array, thickness_mm: float) -> tuple[Array, np.ndarray]:
    far = corners + thickness_mm * normal[:, None, :]
    vertices = np.concatenate([corners, far], axis=1).reshape(-1, 3)
    one = np.array([[2, 1, 0], [3, 4, 5], [0, 1, 4], [0, 4, 3], [1, 2, 5], [1, 5, 4], [2, 0, 3], [2, 3, 5]])
    faces = (np.arange(len(corners))[:, None, None] * 6 + one).reshape(-1, 3)
    return vertices, faces
