"""Situations whose gap is known by hand: over a plate, beside a wall, at an edge, at a corner, tangent, buried, out of
reach, swallowed, inside the barrel. Lengths mm; the tire is 652 x 243 on 17 x 8, offset 45: widest from -166.5 to
76.5."""

from __future__ import annotations

import math

import numpy as np
import pytest
from oracles import box_triangles, tire_and_wheel

from clearance.description.load import load
from clearance.gap.cycle import over_cycle
from clearance.gap.found import CLEARS, HITS
from clearance.gap.measure import swallows
from clearance.geom.bracket import bracket
from clearance.geom.path import fit
from clearance.mockup.solid import solid_of
from clearance.tire.tire import Tire
from clearance.well.part import Part
from clearance.wheel.wheel import Wheel

SOLID = tire_and_wheel()
LOW, HIGH = -45 - 121.5, -45 + 121.5
RADIUS = 326.0
TOLERANCE = 0.05


def still_path():
    return fit(lambda q: np.array([[0, 0, 0, 0, 1.0, 0, 0, 0, 0]] * len(q)), np.zeros((0, 2)), reach_mm=400)


def straight_path(bump=(-75.0, 90.0)):
    def truth(q):
        zero = np.zeros(len(q))
        return np.column_stack([zero, zero, q[:, 0], zero, zero + 1, zero, zero, zero, zero])

    return fit(truth, np.array([bump]), reach_mm=400)


def sheet(*corners):
    a, b, c, d = (np.array(p, dtype=float) for p in corners)
    return np.array([[a, b, c], [a, c, d]])


def gap(triangles, path=None, solid=SOLID):
    return bracket(np.asarray(triangles, dtype=float), path or still_path(), solid)


def holds(found, exact):
    """The bracket holds the exact value and is as narrow as promised."""
    assert found.finished
    assert found.at_least_mm - 1e-6 <= exact <= found.at_most_mm + 1e-6
    assert found.at_most_mm - found.at_least_mm <= TOLERANCE


@pytest.mark.parametrize("above", [0.5, 3.0, 40.0, 400.0])
def test_under_a_level_plate_the_gap_is_the_height_left(above):
    z = RADIUS + above
    holds(gap(sheet((-900, -500, z), (900, -500, z), (900, 500, z), (-900, 500, z))), above)


def test_under_a_plate_at_full_bump_the_travel_is_taken_off():
    z = RADIUS + 100.0
    plate = sheet((-900, -500, z), (900, -500, z), (900, 500, z), (-900, 500, z))
    found = gap(plate, straight_path((-75, 90)))
    holds(found, 10.0)
    assert found.setting[0] == pytest.approx(90.0, abs=0.06)


@pytest.mark.parametrize("away", [1.0, 25.0])
def test_beside_an_inner_wall_the_gap_is_from_the_widest_point(away):
    y = LOW - away
    holds(gap(sheet((-900, y, -900), (900, y, -900), (900, y, 900), (-900, y, 900)), straight_path()), away)


def test_an_edge_over_the_crown_is_as_near_as_it_is_high():
    """A strip that stands on edge across the tread."""
    z = RADIUS + 12.0
    holds(gap(sheet((0, -400, z), (0, 400, z), (0, 400, z + 200), (0, -400, z + 200))), 12.0)


def test_a_corner_above_the_tread_is_as_near_as_its_point():
    triangles = np.array([[[0.0, -45.0, RADIUS + 7.0], [10, -45, 500], [-10, -40, 500]]])
    holds(gap(triangles), 7.0)


def test_a_point_off_the_shoulder_is_measured_to_the_shoulder():
    """The exact distance in the half plane, straight from the profile's own arcs."""
    point = np.array([0.0, HIGH + 30.0, RADIUS + 30.0])
    triangles = np.array([point + np.array([[0, 0, 0], [0, 200, 200], [0, 210, 200]])])
    exact = float(SOLID.distance(point[None])[0])
    assert exact < 30 * math.sqrt(2) + 80
    holds(gap(triangles), exact)


def test_tangent_is_zero():
    z = RADIUS
    found = gap(sheet((-900, -500, z), (900, -500, z), (900, 500, z), (-900, 500, z)))
    holds(found, 0.0)


def test_buried_by_exactly_three_millimetres():
    z = RADIUS - 3.0
    holds(gap(sheet((-900, -500, z), (900, -500, z), (900, 500, z), (-900, 500, z))), -3.0)


def test_a_box_wholly_inside_the_rubber_is_as_deep_as_its_deepest_face():
    """It crosses no surface; other methods call it clear."""
    box = box_triangles(np.array([0.0, -45.0, 310.0]), np.array([4.0, 4.0, 4.0]))
    holds(gap(box), -(RADIUS - 308.0))


def test_far_beyond_reach_is_still_right():
    z = RADIUS + 25_000.0
    holds(gap(sheet((-90, -50, z), (90, -50, z), (90, 50, z), (-90, 50, z))), 25_000.0)


def test_inside_the_barrel_the_gap_is_to_the_barrel():
    """A caliper, a box inside the rim: its outer edge against the hollow of the barrel."""
    wheel = Wheel(diameter_in=17.0, width_in=8.0, offset_mm=45.0, barrel_inner_diameter_mm=390.0)
    solid = solid_of(Tire(overall_diameter_mm=652, section_width_mm=243, tread_width_mm=205, rim_diameter_in=17), wheel)
    box = box_triangles(np.array([0.0, -60.0, 165.0]), np.array([80.0, 60.0, 40.0]))
    holds(gap(box, solid=solid), 195.0 - math.hypot(40.0, 185.0))


def test_a_closed_box_around_everything_swallows_it():
    around = Part(name="crate", kind="box", triangles_mm=box_triangles(np.zeros(3), np.array([2000.0, 2000, 2000])))
    assert swallows(around, around.triangles_mm[0, 0], np.zeros(3))


def test_an_open_tub_does_not_swallow():
    open_box = box_triangles(np.zeros(3), np.array([2000.0, 2000, 2000]))[1:]
    part = Part(name="tub", kind="mesh", triangles_mm=open_box)
    assert not swallows(part, open_box[0, 0], np.zeros(3))


def test_a_box_beside_the_wheel_does_not_swallow():
    part = Part(name="rail", kind="box", triangles_mm=box_triangles(np.array([900.0, 0, 0]), np.full(3, 200.0)))
    assert not swallows(part, part.triangles_mm[0, 0], np.zeros(3))


def test_verdict_words_follow_the_bracket():
    from clearance.gap.found import TIGHT, UNDECIDED, Gap
    from clearance.suspension.position import Position

    def verdict(low, high, required, **more):
        zero = np.zeros(3)
        return Gap(
            part="p", required_mm=required, at_least_mm=low, at_most_mm=high, position=Position(), shift_mm=(0, 0),
            at_rest_mm=zero, on_part_mm=zero, on_tire_mm=zero, toward_part=zero, region="", where="", **more,
        ).verdict  # fmt: skip

    assert verdict(25.0, 25.04, 25.0) == CLEARS
    assert verdict(24.98, 25.02, 25.0) == TIGHT
    assert verdict(3.0, 3.05, 25.0) == TIGHT
    assert verdict(-0.03, 0.01, 25.0) == UNDECIDED  # it may touch
    assert verdict(0.0, 0.04, 25.0) == TIGHT
    assert verdict(-3.0, -2.96, 25.0) == HITS
    assert verdict(10.0, 30.0, 25.0) == UNDECIDED
    assert verdict(10.0, 20.0, 25.0) == TIGHT
    assert verdict(-10.0, 20.0, 25.0) == UNDECIDED
    assert verdict(-14.0, -10.0, 25.0) == HITS
    assert verdict(-np.inf, 20.0, 25.0) == UNDECIDED
    assert verdict(-np.inf, -400.0, 25.0, swallowed=True) == HITS
    for low, high, more in ((2.0, 1.0, {}), (np.nan, 1.0, {}), (1.0, np.inf, {}), (100.0, 100.05, {"swallowed": True})):
        with pytest.raises(ValueError):  # noqa: PT011 - whichever of them it says
            verdict(low, high, 25.0, **more)


@pytest.mark.parametrize("turned", [0.0, 0.4, 0.8, 1.2, 1.6])
def test_an_arch_that_turns_its_outer_side_to_the_tire_is_as_near_as_its_arc(turned, tmp_path):
    """The arc's lowest point is 500 - 100 above the hub, and the tread 340: the chords that stand for it are higher."""
    file = tmp_path / "arch.toml"
    file.write_text(
        f"""corner = "rear-left"
        [tire]
        overall_diameter = "680 mm"
        section_width = "225 mm"
        shape = "square"
        [wheel]
        diameter = "16 in"
        width = "7 in"
        offset = "0 mm"
        [suspension]
        kind = "straight"
        bump = "1 mm"
        droop = "0 mm"
        [[part]]
        name = "lip"
        kind = "lip"
        outboard = "0 mm"
        radius = "100 mm"
        centre = ["0 mm", "500 mm"]
        from = "{120 + turned} deg"
        to = "240 deg"
        """,
        encoding="utf-8",
    )
    found = over_cycle(load(file), tolerance_mm=0.006)[0]
    assert found.finished
    assert found.at_least_mm <= 59.0 <= found.at_most_mm + 1e-9
