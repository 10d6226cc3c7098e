"""A round body with flat ends against sums by hand. Lengths mm, points [ahead, outboard, above]."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh

from clearance.errors import PartError
from clearance.well.cylinder import CHORD_MM, cylinder
from clearance.well.parts import Tag

TAG = Tag(name="tank")
SLANTED = ((10.0, -300.0, 50.0), (310.0, -260.0, 90.0))


def solid(part):
    mesh = trimesh.Trimesh(*trimesh.triangles.to_kwargs(part.triangles_mm).values())
    mesh.merge_vertices()
    return mesh


@pytest.mark.parametrize("diameter", [6.0, 60.0, 600.0])
@pytest.mark.parametrize("ends", [SLANTED, ((0.0, 0.0, 0.0), (0.0, 0.0, 250.0)), ((0.0, 9.0, 0.0), (0.0, -9.0, 0.0))])
def test_it_is_closed_faces_outward_and_holds_what_a_cylinder_holds(ends, diameter):
    """pi r^2 h, less what the chords cut off: at most a chord's height over the round side."""
    part = cylinder(TAG, ends_mm=ends, diameter_mm=diameter)
    long, radius = math.dist(*ends), diameter / 2
    mesh = solid(part)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    short = math.pi * radius**2 * long - mesh.volume
    assert 0.0 < short < 2.0 * math.pi * radius * long * part.drawn_mm
    assert 0.0 < part.drawn_mm <= CHORD_MM * 1.001 or diameter < 60.0


def test_its_corners_lie_on_the_true_surface():
    part = cylinder(TAG, ends_mm=SLANTED, diameter_mm=80.0)
    near, far = map(np.array, SLANTED)
    along = (far - near) / np.linalg.norm(far - near)
    corners = part.triangles_mm.reshape(-1, 3) - near
    way = corners @ along
    away = np.linalg.norm(corners - way[:, None] * along, axis=1)
    assert np.isclose(way, 0.0).sum() + np.isclose(way, np.linalg.norm(far - near)).sum() == len(way)
    assert (np.isclose(away, 40.0) | np.isclose(away, 0.0)).all()


def test_a_tire_beside_a_tank_is_as_far_as_the_sum_says(tmp_path):
    """A tank across the car above a wheel that does not move: the tread's top to its lowest line.

    Tire 640 high: its top is 320 above the hub. The tank's middle is 450 above, its radius 100: 450 - 100 - 320 = 30.
    """
    from clearance.description.load import of_text
    from clearance.gap.cycle import over_cycle

    text = """
corner = "rear-left"
[tire]
size = "225/60R15"
overall_diameter = "640 mm"
section_width = "230 mm"
shape = "square"
[wheel]
diameter = "15 in"
width = "7 in"
offset = "0 mm"
[suspension]
kind = "straight"
bump = "0 mm"
droop = "0 mm"
[[part]]
name = "tank"
kind = "cylinder"
ends = [["0 mm", "-400 mm", "450 mm"], ["0 mm", "400 mm", "450 mm"]]
diameter = "200 mm"
"""
    mockup = of_text(text, tmp_path / "corner.toml")
    (gap,) = over_cycle(mockup)
    assert gap.at_least_mm <= 30.0 <= gap.at_most_mm + 1e-9
    assert gap.at_most_mm - gap.at_least_mm <= 0.05 + 1e-9
    assert gap.required_mm == 25.0
    assert mockup.parts[0].required_from == "default for a cylinder, common practice"


@pytest.mark.parametrize(
    ("ends", "diameter", "words"),
    [
        (((1.0, 2.0, 3.0), (1.0, 2.0, 3.0)), 50.0, "same point"),
        (SLANTED, 0.0, "more than zero"),
        (SLANTED, -5.0, "zero"),
    ],
)
def test_what_is_no_cylinder_is_refused(ends, diameter, words):
    with pytest.raises(PartError, match=words):
        cylinder(TAG, ends_mm=ends, diameter_mm=diameter)
