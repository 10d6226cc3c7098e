"""A coloured PLY, read back by an independent reader."""

from __future__ import annotations

import io

import numpy as np
import pytest
import trimesh

from clearance.errors import OutputError
from clearance.export.ply import ply

VERTICES = np.array([[0, 0, 0], [300.5, 0, 0], [0, 200.25, 0], [0, 0, 100]])
FACES = np.array([[0, 1, 2], [0, 3, 1]])
COLOURS = np.array([[255, 0, 0, 255], [0, 255, 0, 255], [0, 0, 255, 255], [9, 8, 7, 255]], dtype=np.uint8)


def test_another_reader_finds_the_surface_its_colours_and_its_gaps():
    gaps = np.array([-3.5, 0.0, 12.25, 40.0])
    content = ply(VERTICES, FACES, COLOURS, gap_mm=gaps, comment="least gap over the cycle")
    mesh = trimesh.load(io.BytesIO(content), file_type="ply", process=False)
    assert mesh.vertices.tolist() == VERTICES.tolist()
    assert mesh.faces.tolist() == FACES.tolist()
    assert mesh.visual.vertex_colors.tolist() == COLOURS.tolist()
    assert mesh.metadata["_ply_raw"]["vertex"]["data"]["gap_mm"].reshape(-1).tolist() == gaps.tolist()
    assert b"comment millimetres\ncomment least gap over the cycle\n" in content


def test_points_have_no_faces():
    content = ply(VERTICES, np.zeros((0, 3), dtype=np.int64), COLOURS)
    cloud = trimesh.load(io.BytesIO(content), file_type="ply", process=False)
    assert cloud.vertices.tolist() == VERTICES.tolist()
    assert b"element face 0" in content


def test_the_same_surface_gives_the_same_bytes():
    assert ply(VERTICES, FACES, COLOURS) == ply(VERTICES.copy(), FACES.copy(), COLOURS.copy())


def test_colours_that_do_not_match_are_refused():
    with pytest.raises(OutputError, match="4 vertices need 4 colours"):
        ply(VERTICES, FACES, COLOURS[:3])
