"""The scan coloured by its least gap, read back by an independent reader."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import trimesh

from clearance.description.load import load
from clearance.export.scan import coloured_scans, gap_colours
from clearance.gap.cycle import over_cycle

WELL = Path(__file__).resolve().parents[2] / "fixtures" / "corners" / "scanned-well-rear.toml"


@pytest.fixture(scope="module")
def mockup():
    return load(WELL)


@pytest.fixture(scope="module")
def files(mockup):
    return coloured_scans(mockup)


def test_the_colours_say_inside_too_close_and_clear():
    """Vermilion and amber to yellow are red over blue, blue is blue over red, and nothing is both."""
    colours = gap_colours(np.array([-9.0, -0.01, 0.0, 24.99, 25.0, 25.01, 80.0, 1e6]), 25.0).astype(int)
    red_over_blue = colours[:, 0] - colours[:, 2]
    assert (red_over_blue[:5] > 0).all()
    assert (red_over_blue[5:] < 0).all()
    assert (colours[0] == colours[1]).all()
    assert (colours[1] != colours[2]).any()
    assert (colours[:, 3] == 255).all()
    assert gap_colours(np.array([5.0]), 0.0)[0, 2] > 200


def test_the_least_coloured_gap_is_the_certified_one(mockup, files):
    """No vertex is nearer than the certified gap, and the scan is dense: one comes within 3 mm of it."""
    mesh = trimesh.load(io.BytesIO(files["scan-scanned-well.ply"]), file_type="ply", process=False)
    gaps = mesh.metadata["_ply_raw"]["vertex"]["data"]["gap_mm"].reshape(-1)
    found = over_cycle(mockup)
    gap = found[0] if not isinstance(found[0], tuple) else found[0][0]
    # a vertex may say up to the map's tolerance above the truth, never less
    assert gap.at_least_mm - 1e-3 <= gaps.min() <= gap.at_most_mm + 3.0
    expected = gap_colours(gaps, mockup.parts[0].required_mm)
    assert np.abs(mesh.visual.vertex_colors.astype(int) - expected.astype(int)).max() <= 1


def test_the_glb_is_the_same_surface_in_metres_with_y_up(mockup, files):
    scene = trimesh.load(io.BytesIO(files["scan-scanned-well.glb"]), file_type="glb")
    (mesh,) = scene.geometry.values()
    ply = trimesh.load(io.BytesIO(files["scan-scanned-well.ply"]), file_type="ply", process=False)
    # ahead is x in both, up is z there and y here, left is y there and -z here
    expected = np.array([ply.bounds[:, 0], ply.bounds[:, 2], -ply.bounds[::-1, 1]]).T / 1000.0
    assert mesh.bounds == pytest.approx(expected, abs=1e-6)
    assert mesh.visual.kind == "vertex"
    assert list(scene.geometry) == ["scanned well"]


def test_a_right_corner_is_mirrored_on_the_way_out(mockup, files):
    right = coloured_scans(replace(mockup, corner="rear-right"))["scan-scanned-well.ply"]
    one, other = (
        trimesh.load(io.BytesIO(content), file_type="ply", process=False)
        for content in (files["scan-scanned-well.ply"], right)
    )
    assert other.vertices == pytest.approx(one.vertices * [1, -1, 1])
    assert other.face_normals[:50] == pytest.approx(one.face_normals[:50] * [1, -1, 1], abs=1e-6)


def test_the_same_scan_gives_the_same_bytes(mockup, files):
    assert coloured_scans(mockup) == files
