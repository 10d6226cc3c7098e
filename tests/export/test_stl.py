"""STL against trimesh's own reader."""

from __future__ import annotations

import io

import numpy as np
import trimesh

from clearance.export.stl import stl


def box(size: float, at: float = 0.0):
    mesh = trimesh.creation.box(extents=(size, 2 * size, 3 * size))
    return np.asarray(mesh.vertices, dtype=float) + at, np.asarray(mesh.faces)


def read(content: bytes) -> trimesh.Trimesh:
    return trimesh.load(io.BytesIO(content), file_type="stl")


def test_two_boxes_come_back_with_their_volume():
    """10 x 20 x 30 mm and 5 x 10 x 15 mm, apart: 6000 + 750 mm3."""
    mesh = read(stl([box(10.0), box(5.0, at=100.0)]))
    assert mesh.is_watertight
    assert abs(mesh.volume - 6750.0) < 1e-2  # 32-bit coordinates
    assert len(mesh.split()) == 2


def test_a_right_corner_leaves_mirrored_and_still_right_side_out():
    vertices, faces = box(10.0, at=50.0)
    mesh = read(stl([(vertices, faces)], right_hand=True))
    assert mesh.volume > 0
    assert mesh.bounds[0][1] == -60.0
    assert mesh.bounds[1][0] == 55.0


def test_nothing_is_a_valid_file_of_no_triangles():
    assert stl([]) == stl([])
    assert int.from_bytes(stl([])[80:84], "little") == 0


def test_the_same_bodies_give_the_same_bytes():
    assert stl([box(10.0)], name="zones") == stl([box(10.0)], name="zones")
    assert b"millimetres" in stl([box(10.0)])[:80]
