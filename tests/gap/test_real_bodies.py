"""Public vehicle bodies that nobody here drew, at fixed positions, against a general collision library's rough answers.

The bodies and the table are described in the SOURCES.md beside them: a plain rounded tire, steering about an upright
axis through the wheel's centre, smallest surface-to-surface distance, good to about 2 mm as that tire's shape was
crude. Agreement is asked to 3 mm where the surfaces do not cross, and a hit where they do.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from oracles import tire_and_wheel

from clearance.geom.bracket import bracket
from clearance.geom.path import fit
from clearance.geom.tree import Tree
from clearance.pose import spin_axis

REAL = Path(__file__).parents[3] / "shared" / "real"
pytestmark = pytest.mark.skipif(not REAL.is_dir(), reason="the public vehicle bodies are not on this machine")

HIT = None
SEDAN = ("sedan-body.obj", (1.388, 0.7979, 0.1301))
VAN = ("leaf-van-body.obj", (0.0, 0.7325, 0.0))
BUMPS = (-50, 0, 50, 80, 100, 120)
TABLE = [
    (*SEDAN, 245, 653.2, 0, (59, 57, 48, 36, 25, 15)),
    (*SEDAN, 205, 676.0, 0, (47, 45, 36, 25, 14, 3)),
    (*SEDAN, 205, 676.0, -25, (45, 43, 32, 18, 8, HIT)),
    (*SEDAN, 205, 676.0, 25, (51, 49, 36, 22, 11, HIT)),
    (*VAN, 228, 772.0, 0, (65, 38, 15, 4, HIT, HIT)),
]


def body(file, centre_m):
    from clearance.well.scan_read import read_mesh

    mesh = read_mesh(REAL / file)
    return (np.asarray(mesh.vertices, dtype=float)[mesh.faces] - np.array(centre_m)) * 1000.0


def still(bump, steer):
    """The wheel's centre at the wheel centre; a positive table angle either way is a turn about the upright axis."""
    row = np.concatenate([[0.0, 0.0, bump], spin_axis(0.0, -steer), np.zeros(3)])
    return fit(lambda q: np.repeat(row[None], len(q), axis=0), np.zeros((0, 2)), reach_mm=450)


@pytest.mark.parametrize(("file", "centre", "width", "diameter", "steer", "row"), TABLE)
def test_public_bodies_at_fixed_positions(file, centre, width, diameter, steer, row):
    solid = tire_and_wheel(
        diameter_mm=diameter, width_mm=width, tread_mm=0.78 * width, rim_in=16.0, rim_width_in=7.0, offset_mm=0.0
    )
    triangles = body(file, centre)
    tree = Tree(triangles)
    for bump, rough in zip(BUMPS, row, strict=True):
        found = bracket(triangles, still(bump, steer), solid, tree=tree, deep_work=20_000)
        if rough is HIT:
            assert found.at_most_mm < 0, bump
        else:
            assert found.at_most_mm == pytest.approx(rough, abs=3.0), bump


def test_the_open_body_already_touches_at_ride_height():
    solid = tire_and_wheel(diameter_mm=750, width_mm=228, tread_mm=175, rim_in=16.0, rim_width_in=6.0, offset_mm=0.0)
    found = bracket(body("open-4x4-body.obj", (0.0, 0.7325, 0.0)), still(0, 0), solid, deep_work=20_000)
    assert found.at_most_mm < 0
