"""Pictures show an endless sheet near the wheel only, and nothing that could be near is left out."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
import trimesh

from clearance.description.load import load
from clearance.export.glb import scene_glb
from clearance.export.near import near_the_wheel
from clearance.gap.cycle import over_cycle

CORNER = """
title = "Endless"
corner = "front-left"
[tire]
size = "205/55R16"
[wheel]
diameter = "16 in"
width = "6.5 in"
offset = "45 mm"
[suspension]
kind = "straight"
bump = "70 mm"
droop = "80 mm"
[steering]
left = "33 deg"
right = "28 deg"
axis = { through = ["0 mm", "-90 mm", "0 mm"], inclination = "9 deg", caster = "4 deg" }
[[part]]
name = "inner wall"
kind = "wall"
inboard = "330 mm"
ahead = "2 m"
[[part]]
name = "well"
kind = "tub"
inner = "340 mm"
crown = "440 mm"
outer = "97 mm"
rear = "420 mm"
outer_panel = "400 mm"
taper = { low = "60 mm", high = "240 mm", inner = "300 mm" }
[[part]]
name = "backing plate"
kind = "wall"
inboard = "150 mm"
rides_on = "knuckle"
[[part]]
name = "far wall"
kind = "wall"
inboard = "900 mm"
ahead = "-1500 mm"
[[part]]
name = "floor"
kind = "plate"
corners = [["-1500 mm", "-200 mm", "450 mm"], ["1500 mm", "-200 mm", "450 mm"], ["1500 mm", "100 mm", "450 mm"]]
"""


@pytest.fixture(scope="module")
def mockup(tmp_path_factory):
    path = tmp_path_factory.mktemp("endless") / "corner.toml"
    path.write_text(CORNER)
    return load(path)


def size(part) -> np.ndarray:
    spots = part.triangles_mm.reshape(-1, 3)
    return np.stack([spots.min(axis=0), spots.max(axis=0)])


def test_sides_without_bound_are_named(mockup):
    endless = {part.name: set(part.endless) for part in mockup.parts}
    assert endless == {
        "inner wall": {"behind", "above", "below"},
        "well inner wall": {"ahead", "below"},
        "well crown": {"ahead"},
        "well rear": {"below"},
        "well outer panel": {"ahead"},
        "backing plate": {"ahead", "behind", "above", "below"},
        "far wall": {"behind", "above", "below"},
        "floor": set(),
    }


def test_endless_sides_end_near_the_wheel_and_given_ones_where_they_were_given(mockup):
    """From the hub at ride height: reach and a quarter, 25 mm of gap to keep, and the travel of 70 and 80 mm."""
    wall = mockup.part("inner wall")
    drawn = size(near_the_wheel(mockup, wall))
    room = 1.25 * mockup.solid.reach_mm + wall.required_mm
    assert drawn[1, 0] == 2000.0
    # as it steers about a leaning axis, 90 mm inboard, the hub rises and falls by some millimetres and swings by less
    # than those 90
    assert drawn[0, 2] == pytest.approx(-room - 80, abs=10)
    assert drawn[1, 2] == pytest.approx(room + 70, abs=10)
    assert -room - 90 < drawn[0, 0] <= -room
    assert size(wall)[0, 2] < 1.6 * drawn[0, 2]
    floor = mockup.part("floor")
    assert near_the_wheel(mockup, floor) is floor


def test_a_sheet_on_the_knuckle_ends_near_the_wheel_that_it_goes_with(mockup):
    plate = mockup.part("backing plate")
    room = 1.25 * mockup.solid.reach_mm + plate.required_mm
    assert size(near_the_wheel(mockup, plate)) == pytest.approx(
        np.array([[-room, -150, -room], [room, -150, room]]), abs=0.01
    )


def test_a_sheet_that_is_nowhere_near_is_drawn_as_it_is(mockup):
    """Its given edge lies 1.5 m behind the wheel, so nothing of it is near to that side."""
    far = mockup.part("far wall")
    drawn = size(near_the_wheel(mockup, far))
    assert drawn[:, 0] == pytest.approx(size(far)[:, 0])


def test_what_is_drawn_still_holds_every_place_that_is_closest(mockup):
    near = tuple(near_the_wheel(mockup, part) for part in mockup.parts)
    whole, drawn = over_cycle(mockup), over_cycle(replace(mockup, parts=near))
    for one, other in zip(whole, drawn, strict=True):
        if one.part != "far wall":
            # each is bracketed to 0.05 mm
            assert other.at_least_mm == pytest.approx(one.at_least_mm, abs=0.1), one.part


def test_the_area_that_is_drawn_is_the_area_inside_the_box(mockup):
    """A wall of three endless sides against the rectangle that it must be, whatever its triangles."""
    drawn = near_the_wheel(mockup, mockup.part("inner wall"))
    a, b, c = (drawn.triangles_mm[:, i] for i in range(3))
    area = np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2
    low, high = size(drawn)
    assert area == pytest.approx((high[0] - low[0]) * (high[2] - low[2]), rel=1e-9)


def test_the_scene_has_the_sheets_near_the_wheel(mockup):
    read = trimesh.load(io.BytesIO(scene_glb(mockup)), file_type="glb")
    crown = read.geometry[read.graph["well crown"][1]].extents * 1000.0
    length = float(np.ptp(size(near_the_wheel(mockup, mockup.part("well crown")))[:, 0]))
    assert crown[0] == pytest.approx(length, abs=0.1)
    assert length < 0.8 * np.ptp(size(mockup.part("well crown"))[:, 0])
