"""Borders of what a tape can describe: the smallest that is taken, the chords of what is round, words of refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from clearance.errors import PartError
from clearance.pose import Array
from clearance.well import lip as lips
from clearance.well import parts
from clearance.well.cylinder import CHORD_MM, cylinder
from clearance.well.lip import lip
from clearance.well.part import Part
from clearance.well.tub import Crown, Taper, tub

TAG = parts.Tag(name="it")


def areas(part: Part) -> Array:
    a, b, c = np.moveaxis(part.triangles_mm, 1, 0)
    return np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2


def test_what_a_tag_does_not_say_is_nothing():
    assert (TAG.required_mm, TAG.thickness_mm, TAG.uncertainty_mm, TAG.rides_on) == (0.0, 0.0, 0.0, "body")
    part = parts.wall(TAG, reach_mm=500.0, inboard_mm=100.0)
    assert (part.skin_mm, part.drawn_mm, part.thickness_mm, part.uncertainty_mm) == (0.0, 0.0, 0.0, 0.0)


# ---- plates

DENTED = [(0.0, 0.0, 0.0), (4.0, 0.0, 0.0), (1.0, 1.0, 0.0), (0.0, 4.0, 0.0)]
"""Its third corner stands inward of the line between its neighbours."""


@pytest.mark.parametrize("size", [0.9, 20.0, 300.0])
@pytest.mark.parametrize("start", range(4))
@pytest.mark.parametrize("way", [1, -1])
def test_a_dented_plate_of_any_size_is_covered_by_its_two_triangles_and_no_more(start, way, size):
    ring = (size * np.array(DENTED))[::way]
    ring = np.roll(ring, start, axis=0)
    plate = parts.plate(TAG, corners_mm=ring)
    wanted = shapely.Polygon(ring[:, :2])
    covered = shapely.union_all([shapely.Polygon(t[:, :2]) for t in plate.triangles_mm])
    assert covered.symmetric_difference(wanted).area < 1e-6 * size**2
    assert areas(plate).sum() == pytest.approx(wanted.area)


@pytest.mark.parametrize("at", [(0.0, 0.0, 0.0), (500.0, -700.0, 300.0)])
def test_a_plate_of_less_than_a_square_millimetre_has_no_area_wherever_it_stands(at):
    def right_angled(area: float) -> Part:
        leg = math.sqrt(2.0 * area)
        return parts.plate(TAG, corners_mm=np.array([[0, 0, 0], [leg, 0, 0], [0, leg, 0]]) + at)

    assert areas(right_angled(1.01)) == pytest.approx([1.01])
    with pytest.raises(PartError, match="no area"):
        right_angled(0.99)


def test_a_fourth_corner_is_on_the_plane_to_half_a_millimetre():
    """The plane of the diagonals: a corner lifted by h stands a quarter of it off, and so does each other."""

    def lifted(off: float) -> Part:
        return parts.plate(TAG, corners_mm=[(0, 0, 0), (100, 0, 0), (100, 100, off), (0, 100, 0)])

    assert parts.FLAT_MM == 0.5
    assert len(lifted(0.45).triangles_mm) == 2
    with pytest.raises(PartError, match=r"stands \d+\.\d mm off the plane"):
        lifted(3.0)


# ---- walls and bars


def test_a_wall_on_both_sides_or_on_none_names_its_keys():
    with pytest.raises(PartError, match="not both") as both:
        parts.wall(TAG, reach_mm=500.0, inboard_mm=1.0, outboard_mm=1.0)
    assert (both.value.key, both.value.also) == ("inboard", "outboard")
    with pytest.raises(PartError, match="one of them") as none:
        parts.wall(TAG, reach_mm=500.0)
    assert (none.value.key, none.value.also) == ("inboard", "")


@pytest.mark.parametrize(("long", "pieces"), [(30.0, 1), (99.9, 1), (100.0, 1), (100.1, 2), (250.0, 3)])
def test_a_bar_is_cut_into_the_fewest_equal_pieces_of_a_hundred_millimetres_at_most(long, pieces):
    bar = parts.bar(TAG, points_mm=[(5.0, 6.0, 7.0), (5.0 + long, 6.0, 7.0)], diameter_mm=10.0)
    ends = bar.triangles_mm[:, :2, 0]
    assert len(ends) == pieces
    assert ends[:, 1] - ends[:, 0] == pytest.approx(long / pieces)
    assert (ends[0, 0], ends[-1, 1]) == pytest.approx((5.0, 5.0 + long))


def test_points_of_a_bar_a_thousandth_apart_are_one():
    def with_step(step: float) -> Part:
        return parts.bar(TAG, points_mm=[(0, 0, 0), (50, 0, 0), (50, step, 0)], diameter_mm=10.0)

    assert len(with_step(2e-3).triangles_mm) == 2
    with pytest.raises(PartError, match="points 2 and 3 of the bar are the same point"):
        with_step(0.5e-3)


def test_the_thinnest_bar_is_a_bar():
    assert parts.bar(TAG, points_mm=[(0, 0, 0), (50, 0, 0)], diameter_mm=0.1).skin_mm == 0.05
    for none in (0.0, -1.0):
        with pytest.raises(PartError, match="more than zero"):
            parts.bar(TAG, points_mm=[(0, 0, 0), (50, 0, 0)], diameter_mm=none)


# ---- tubs


def test_a_tub_of_under_a_millimetre_has_all_its_faces():
    faces = tub(
        TAG, reach_mm=9.0, inner_mm=0.3, crown=Crown(height_mm=0.5), outer_mm=0.3, front_mm=0.3, rear_mm=0.4,
        bottom_mm=0.1,
    )  # fmt: skip
    found = {part.name: areas(part).sum() for part in faces}
    assert found == pytest.approx(
        {"it inner wall": 0.7 * 0.6, "it crown": 0.7 * 0.6, "it front": 0.6 * 0.6, "it rear": 0.6 * 0.6}
    )
    # flat faces are drawn as they are
    assert {part.drawn_mm for part in faces} == {0.0}


def test_no_triangle_of_a_tapered_tub_under_an_arch_is_without_area():
    faces = tub(
        TAG, reach_mm=900.0, inner_mm=200.0, crown=Crown(radius_mm=360.0), outer_mm=60.0, front_mm=330.0, rear_mm=330.0,
        taper=Taper(low_mm=-100.0, high_mm=250.0, high_inner_mm=150.0), bottom_mm=100.0, outer_panel_mm=200.0,
    )  # fmt: skip
    for part in faces:
        assert areas(part).min() > 0.0
        assert part.drawn_mm == 0.002


def test_a_crown_of_no_radius_is_refused_and_the_smallest_is_taken():
    for none in (0.0, -2.0):
        with pytest.raises(PartError, match=rf"more than zero; found {none:g} mm") as refused:
            tub(TAG, reach_mm=900.0, inner_mm=200.0, crown=Crown(radius_mm=none), outer_mm=60.0)
        assert refused.value.key == "crown.radius"
    small = tub(TAG, reach_mm=900.0, inner_mm=200.0, crown=Crown(radius_mm=0.5), outer_mm=60.0)
    assert {part.name for part in small} == {"it inner wall", "it crown"}


def test_a_rolled_crown_has_the_fewest_even_chords_that_stay_as_near_as_is_said():
    """A chord over an angle stands off its arc by r (1 - cos(half the angle))."""
    for radius in (30.0, 360.0):
        (crown,) = (
            part
            for part in tub(TAG, reach_mm=900.0, inner_mm=200.0, crown=Crown(radius_mm=radius), outer_mm=60.0)
            if part.name == "it crown"
        )
        chords = len(crown.triangles_mm) // 2
        assert chords % 2 == 0
        assert radius * (1.0 - math.cos(math.pi / chords / 2)) <= crown.drawn_mm
        assert radius * (1.0 - math.cos(math.pi / (chords - 2) / 2)) > crown.drawn_mm


# ---- lips


@pytest.mark.parametrize("radius", [30.0, 400.0])
@pytest.mark.parametrize(("first", "last"), [(-90.0, 90.0), (-60.0, 20.0), (0.0, 360.0)])
def test_a_lip_has_the_fewest_even_chords_that_stay_as_near_as_is_said(radius, first, last):
    edge = lip(TAG, outboard_mm=100.0, radius_mm=radius, from_deg=first, to_deg=last)
    chords = len(edge.triangles_mm)
    assert chords % 2 == 0
    half = math.radians(last - first) / 2
    assert radius * (1.0 - math.cos(half / chords)) <= lips.CHORD_MM
    assert radius * (1.0 - math.cos(half / (chords - 2))) > lips.CHORD_MM
    ends = edge.triangles_mm[[0, -1], [0, 1]]
    for end, angle in zip(ends, (first, last), strict=True):
        at = radius * math.sin(math.radians(angle)), 100.0, radius * math.cos(math.radians(angle))
        assert end == pytest.approx(at, abs=1e-9)


def test_a_flange_rolled_outward_is_drawn_as_much_more_coarsely_as_its_circle_is_larger():
    """400 mm with 20 mm of flange: 420 / 400 of a chord's height; an edge alone has that height, an outline none."""
    assert lip(TAG, outboard_mm=1.0, radius_mm=400.0, return_depth_mm=20.0).drawn_mm == pytest.approx(0.0021)
    assert lip(TAG, outboard_mm=1.0, radius_mm=400.0).drawn_mm == lips.CHORD_MM
    assert lip(TAG, outboard_mm=1.0, outline_mm=[(-9.0, 300.0), (9.0, 300.0)]).drawn_mm == 0.0


def test_a_flange_may_turn_half_round_either_way_and_no_further():
    for angle in (180.0, -180.0):
        lip(TAG, outboard_mm=1.0, radius_mm=400.0, return_depth_mm=20.0, return_angle_deg=angle)
        with pytest.raises(PartError, match="-180 to 180 are") as refused:
            lip(TAG, outboard_mm=1.0, radius_mm=400.0, return_depth_mm=20.0, return_angle_deg=angle * 1.01)
        assert refused.value.key == "return_angle"


@pytest.mark.parametrize(("depth", "rows"), [(0.5e-3, 1), (2e-3, 2), (0.5, 2)])
def test_a_flange_under_a_thousandth_is_an_edge(depth, rows):
    outline = [(-9.0, 300.0), (0.0, 310.0), (9.0, 300.0)]
    assert len(lip(TAG, outboard_mm=1.0, outline_mm=outline, return_depth_mm=depth).triangles_mm) == 2 * rows


def test_two_points_of_an_outline_that_are_one_are_named():
    with pytest.raises(PartError, match="points 2 and 3 of the outline are the same point") as refused:
        lip(TAG, outboard_mm=1.0, outline_mm=[(-9.0, 300.0), (0.0, 310.0), (0.0, 310.0), (9.0, 300.0)])
    assert refused.value.key == "outline"


def test_a_lip_turns_away_from_its_own_centre():
    """An arch about a point far above the hub's height: its flange, rolled up, grows away from that point."""
    outline = [(700.0 + 300.0 * math.sin(a), 100.0 + 300.0 * math.cos(a)) for a in np.linspace(-1.2, 1.2, 9)]
    for ring in (outline, outline[::-1]):
        flange = lip(
            TAG, outboard_mm=1.0, outline_mm=ring, centre_mm=(700.0, 100.0), return_depth_mm=20.0, return_angle_deg=90.0
        )
        far = np.hypot(flange.triangles_mm[:, :, 0] - 700.0, flange.triangles_mm[:, :, 2] - 100.0)
        assert far.min() == pytest.approx(300.0)
        assert far.max() == pytest.approx(320.0, abs=0.3)


# ---- cylinders


@pytest.mark.parametrize("diameter", [0.2, 0.5, 1.0, 3.0, 600.0])
def test_a_cylinder_has_the_fewest_chords_that_stay_as_near_as_is_said(diameter):
    """And says how far they lie inside: r (1 - cos(half the angle)). Two dozen at least."""
    body = cylinder(TAG, ends_mm=((0, 0, 0), (0, 0, 90)), diameter_mm=diameter)
    chords, radius = len(body.triangles_mm) // 4, diameter / 2
    assert body.drawn_mm == pytest.approx(radius * (1.0 - math.cos(math.pi / chords)))
    assert body.drawn_mm <= CHORD_MM * (1.0 + 1e-9) or chords >= 24
    assert chords >= 24
    assert chords == 24 or radius * (1.0 - math.cos(math.pi / (chords - 1))) > CHORD_MM


def test_a_cylinder_a_hundredth_long_is_one_and_a_ten_thousandth_is_a_point():
    assert np.ptp(cylinder(TAG, ends_mm=((0, 0, 0), (0, 0, 0.01)), diameter_mm=5.0).triangles_mm[..., 2]) == 0.01
    with pytest.raises(PartError, match="same point"):
        cylinder(TAG, ends_mm=((0, 0, 0), (0, 0, 1e-4)), diameter_mm=5.0)
