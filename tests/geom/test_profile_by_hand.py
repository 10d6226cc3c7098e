"""Lines and arcs against circle geometry by hand, and bounds against a thousand points of each."""

from __future__ import annotations

import contextlib
import itertools
import math

import numpy as np
import pytest

from clearance.errors import ShapeError
from clearance.geom.profile import JOIN_MM, Arc, Line, Profile, polygon


def arc(start_deg: float, sweep_deg: float, radius: float = 50.0, centre: tuple[float, float] = (7.0, 200.0)) -> Arc:
    def at(deg: float) -> tuple[float, float]:
        return centre[0] + radius * math.cos(math.radians(deg)), centre[1] + radius * math.sin(math.radians(deg))

    return Arc(start=at(start_deg), end=at(start_deg + sweep_deg), centre=centre, ccw=sweep_deg > 0)


SWEEPS = [1.0, 30.0, 90.0, 179.0, 181.0, 270.0, 350.0]
STARTS = [-170.0, -91.0, -35.0, 0.5, 44.0, 89.0, 135.0, 179.0]


@pytest.mark.parametrize("sweep", [s * way for s in SWEEPS for way in (1.0, -1.0)])
@pytest.mark.parametrize("start", STARTS)
def test_an_arc_is_as_long_as_its_angle_says_and_its_points_lie_on_it(start, sweep):
    one = arc(start, sweep)
    assert math.degrees(one.sweep_rad) == pytest.approx(sweep, abs=1e-9)
    assert one.radius_mm == pytest.approx(50.0)
    assert math.degrees(one.start_rad) == pytest.approx(start, abs=1e-9)
    assert one.length_mm == pytest.approx(50.0 * abs(math.radians(sweep)))
    angles = np.radians(start + sweep * np.linspace(0.0, 1.0, len(one.points(0.1))))
    on_it = np.column_stack([7.0 + 50.0 * np.cos(angles), 200.0 + 50.0 * np.sin(angles)])
    assert one.points(0.1) == pytest.approx(on_it, abs=1e-9)
    assert tuple(one.points(0.1)[0]) == one.start
    assert tuple(one.points(0.1)[-1]) == one.end


@pytest.mark.parametrize("chord", [0.002, 0.05, 1.0, 20.0])
@pytest.mark.parametrize("sweep", [20.0, -75.0, 300.0])
def test_an_arc_has_the_fewest_chords_that_stay_as_near_as_asked(chord, sweep):
    """A chord over an angle stands off its arc by r (1 - cos(half the angle)) at its middle."""
    count = len(arc(10.0, sweep).points(chord)) - 1

    def stands_off(chords: int) -> float:
        return 50.0 * (1.0 - math.cos(math.radians(abs(sweep)) / chords / 2.0))

    assert stands_off(count) <= chord * (1.0 + 1e-9)
    assert count == 1 or stands_off(count - 1) > chord


def test_a_chord_coarser_than_the_arc_is_wide_still_goes_round_it():
    """No chord spans more than half a turn: a circle all but closed is no single step."""
    assert len(arc(0.0, 359.0).points(1000.0)) == 3
    assert len(arc(0.0, 90.0).points(1000.0)) == 2


def test_an_arc_of_no_radius_or_no_sweep_is_a_point():
    point = Arc(start=(1.0, 2.0), end=(1.0, 2.0), centre=(1.0, 2.0))
    assert point.length_mm == 0.0
    assert point.points(0.1) == pytest.approx(np.array([[1.0, 2.0], [1.0, 2.0]]))
    for ccw in (True, False):
        still = Arc(start=(5.0, 2.0), end=(5.0, 2.0), centre=(1.0, 2.0), ccw=ccw)
        assert still.sweep_rad == 0.0
        assert still.points(0.1) == pytest.approx(np.array([[5.0, 2.0], [5.0, 2.0]]))


def bulged(start: float, sweep: float) -> Profile:
    """An arc closed to a ring by way of the axis, whichever way round is right."""
    one = arc(start, sweep, centre=(7.0, 400.0))
    (y0, r0), (y1, r1) = one.start, one.end
    down, along, up = (y1, 0.0), (y0, 0.0), (y0, r0)
    elements = [one, Line(start=(y1, r1), end=down), Line(start=down, end=along), Line(start=along, end=up)]
    return Profile(elements=tuple(elements))


def rings() -> list[Profile]:
    """Those of forty-eight that run the right way round."""
    found = []
    for start, sweep in itertools.product(STARTS, (30.0, 90.0, 170.0, -30.0, -90.0, -170.0)):
        with contextlib.suppress(ShapeError):
            found.append(bulged(start, sweep))
    return found


def test_bounds_hold_every_point_of_an_arc_and_no_more():
    profiles = rings()
    assert len(profiles) >= 20
    for profile in profiles:
        fine = profile.outline(1e-6)
        low, high, least, most = profile.bounds
        assert (low, high) == pytest.approx((fine[:, 0].min(), fine[:, 0].max()), abs=2e-6)
        assert (least, most) == pytest.approx((fine[:, 1].min(), fine[:, 1].max()), abs=2e-6)
        moved = profile.moved(-33.0)
        assert moved.bounds == pytest.approx((low - 33.0, high - 33.0, least, most), abs=1e-9)
        assert moved.outline(0.1) == pytest.approx(profile.outline(0.1) + np.array([-33.0, 0.0]), abs=1e-9)
        assert [type(e) for e in moved.elements] == [type(e) for e in profile.elements]


SQUARE = [(0.0, 0.0), (10.0, 0.0), (10.0, 8.0), (0.0, 8.0)]


def test_ends_a_hair_apart_are_one_point_and_further_apart_are_not():
    def with_slit(wide: float) -> Profile:
        a, b, c, d = SQUARE
        lines = [Line(start=a, end=b), Line(start=(b[0] + wide, b[1]), end=c), Line(start=c, end=d)]
        return Profile(elements=(*lines, Line(start=d, end=a)))

    with_slit(0.5 * JOIN_MM)
    with pytest.raises(ShapeError, match=r"an element ends at \(10\.000, 0\.000\) and the next starts at \(10\.001, "):
        with_slit(1e-3)
    with pytest.raises(ShapeError, match="open"):
        with_slit(2.0 * JOIN_MM)
    # it is below a micron, the last digit that is ever printed
    assert JOIN_MM <= 1e-3


def test_an_open_chain_says_both_places_and_names():
    with pytest.raises(ShapeError) as refused:
        Profile(
            elements=(
                Line(start=(0.0, 1.0), end=(2.0, 3.0), label="tread"),
                Line(start=(4.0, 5.0), end=(0.0, 1.0), label="side"),
            )
        )
    assert "tread ends at (2.000, 3.000) and side starts at (4.000, 5.000)" in str(refused.value)


def test_a_single_element_is_no_profile():
    with pytest.raises(ShapeError, match="at least two elements; found 1"):
        Profile(elements=(Line(start=(0.0, 0.0), end=(0.0, 0.0)),))
    half = [Arc(start=(5.0, 0.0), end=(-5.0, 0.0), centre=(0.0, 0.0)), Line(start=(-5.0, 0.0), end=(5.0, 0.0))]
    assert Profile(elements=tuple(half)).bounds == pytest.approx((-5.0, 5.0, 0.0, 5.0))


def test_an_arc_that_dips_a_little_below_the_axis_is_refused():
    """A chord of 20 mm on a circle of 100 mm dips 100 - sqrt(100^2 - 10^2) = 0.501 mm."""
    high = math.sqrt(100.0**2 - 10.0**2)
    dipping = Arc(start=(-10.0, 0.0), end=(10.0, 0.0), centre=(0.0, high))
    lines = [Line(start=(10.0, 0.0), end=(10.0, 50.0)), Line(start=(10.0, 50.0), end=(-10.0, 50.0))]
    with pytest.raises(ShapeError, match=r"dips 0\.(4|5)\d\d mm below"):
        Profile(elements=(dipping, *lines, Line(start=(-10.0, 50.0), end=(-10.0, 0.0))))


def test_a_coordinate_that_is_no_number_is_refused():
    with pytest.raises(ShapeError):
        polygon([(0.0, 0.0), (math.inf, 0.0), (10.0, 8.0)])


def test_what_runs_along_the_axis_or_has_no_length_is_no_surface():
    ring = [(0.0, 0.0), (10.0, 0.0), (10.0, 8.0), (10.0, 8.0), (0.0, 8.0)]
    shape = polygon(ring, "wall")
    assert len(shape.elements) == 5
    assert [(e.start, e.end) for e in shape.surfaces] == [
        ((10.0, 0.0), (10.0, 8.0)), ((10.0, 8.0), (0.0, 8.0)), ((0.0, 8.0), (0.0, 0.0)),
    ]  # fmt: skip
    assert {e.label for e in shape.elements} == {"wall"}
    # a line a hair off the axis at one end is a surface
    lifted = polygon([(0.0, 0.0), (10.0, 0.001), (10.0, 8.0), (0.0, 8.0)])
    assert len(lifted.surfaces) == 4
    lifted = polygon([(0.0, 0.001), (10.0, 0.0), (10.0, 8.0), (0.0, 8.0)])
    assert len(lifted.surfaces) == 4


def test_a_line_is_its_two_ends():
    line = Line(start=(1.0, 2.0), end=(4.0, 6.0))
    assert line.length_mm == 5.0
    assert line.points(0.001) == pytest.approx(np.array([[1.0, 2.0], [4.0, 6.0]]))


def test_which_way_round_is_told_by_the_area_however_small():
    polygon([(0.0, 0.0), (0.01, 0.0), (0.01, 0.01)])
    for ring in ([(0.0, 0.0), (0.01, 0.01), (0.01, 0.0)], [(0.0, 1.0), (5.0, 1.0)]):
        with pytest.raises(ShapeError, match="wrong way round"):
            polygon(ring)
