"""The window: its ends, put back into a check, give the required gap; a step past them do not."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from mockups import REACH_MM, between_walls, steered, under_ceiling

import clearance
from clearance.answers.changed import with_offset
from clearance.answers.checked import Spare, all_clear, binding, gaps_of, spare_mm
from clearance.answers.search import Measured, edge, first_that_clears, least_that_clears, outermost
from clearance.answers.seen import seen_by_wheel
from clearance.answers.window import window
from clearance.answers.window_picture import picture_of
from clearance.terms import Limits
from clearance.well.parts import Tag, bar, wall

OPEN = Limits()


@cache
def walled():
    """The window between two walls on a 7 and an 8 in rim."""
    return window(between_walls(), OPEN, widths_in=[7, 8])


def ends_hold(mockup, stretch):
    """Issue: ends give the required gap to the tolerance (0.05, and 0.1 for the step), 0.2 mm past them do not."""
    for end, way in ((stretch.least, -1), (stretch.most, +1)):
        assert all_clear(gaps_of(with_offset(mockup, end.offset_mm)))
        if not end.at_limit:
            tight = gaps_of(with_offset(mockup, end.offset_mm))
            assert -1e-9 <= spare_mm(binding(tight)) <= 0.1 + 0.05 + 1e-9
            assert not all_clear(gaps_of(with_offset(mockup, end.offset_mm + way * 0.2)))


def test_between_two_walls_the_window_is_a_subtraction():
    """Section 230: inner wall 170 keeps 20 to offset 170 - 20 - 115 = 35; outer 150 from -(150 - 20 - 115) = -15."""
    mockup = between_walls()
    (stretch,) = walled().widths[0].stretches
    # the last tenth that clears lies up to a tenth, and the bracket's 0.05, inside the exact end
    assert -15.0 <= stretch.least.offset_mm <= -15.0 + 0.15
    assert 35.0 - 0.15 <= stretch.most.offset_mm <= 35.0
    assert (stretch.least.binds.part, stretch.most.binds.part) == ("outer wall", "inner wall")
    ends_hold(mockup, stretch)


def test_the_rim_width_moves_both_ends_by_a_fifth_of_its_change():
    """0.4 mm of section a mm of rim (UN R30 6.1.1.1): an inch of rim is 10.16 mm of section, 5.08 mm at each end."""
    narrow, wide = walled().widths
    assert wide.section_width_mm - narrow.section_width_mm == pytest.approx(10.16)
    # both ends are rounded inward to a tenth
    assert narrow.stretches[0].most.offset_mm - wide.stretches[0].most.offset_mm == pytest.approx(5.08, abs=0.16)
    assert wide.stretches[0].least.offset_mm - narrow.stretches[0].least.offset_mm == pytest.approx(5.08, abs=0.16)


@pytest.mark.slow
@settings(max_examples=6, deadline=None)
@given(inboard=st.floats(140, 190), outboard=st.floats(140, 190), required=st.floats(2, 30))
def test_every_pair_of_walls_gives_its_own_window_or_none(inboard, outboard, required):
    row = window(between_walls(inboard=inboard, outboard=outboard, required=required), OPEN, widths_in=[7]).widths[0]
    low, high = 115 + required - outboard, inboard - required - 115
    if high - low > 1.0:
        (stretch,) = row.stretches
        # the search ends 50 mm either way of the wheel's own offset
        assert max(low, -50) <= stretch.least.offset_mm <= max(low, -50) + 0.2
        assert min(high, 50) - 0.2 <= stretch.most.offset_mm <= min(high, 50)
    elif high < low - 0.2:
        assert not row.stretches
        # nothing clears; the closest offset misses by at least half of what is missing
        assert row.closest_spare_mm <= (high - low) / 2 + 1e-6


def test_a_slanting_part_is_found_by_measuring_not_by_a_formula():
    """A round bar over the shoulder: no simple sum, so only the ends themselves can be checked."""
    mockup = between_walls(inboard=300.0, outboard=300.0)
    tube = bar(
        Tag(name="bar", required_mm=10.0), points_mm=((-300.0, -120.0, 380.0), (300.0, -160.0, 400.0)), diameter_mm=25.0
    )
    mockup = replace(mockup, parts=(*mockup.parts, tube))
    for stretch in window(mockup, OPEN, widths_in=[7]).widths[0].stretches:
        ends_hold(mockup, stretch)


def test_a_steered_wheel_keeps_its_ends_too():
    mockup = steered()
    (stretch,) = window(mockup, OPEN, widths_in=[7]).widths[0].stretches
    assert stretch.most.binds.part == "rail"
    assert abs(stretch.most.binds.position.steer_deg) > 5
    ends_hold(mockup, stretch)


def test_nothing_clears_under_a_low_ceiling_and_it_says_what_and_by_how_much():
    """Ceiling 430, radius 350, bump 90: 10 mm inside, 30 mm short of 20, whatever the offset."""
    found = window(under_ceiling(), OPEN, widths_in=[7])
    row = found.widths[0]
    assert not row.stretches
    assert row.closest_binds.part == "ceiling"
    # a depth is bracketed to half a millimetre
    assert row.closest_spare_mm == pytest.approx(-30.0, abs=0.5)
    assert found.given_past_mm() is None


def test_the_given_wheel_is_inside_or_outside_by_the_distance_to_the_nearer_end():
    inside = window(between_walls(offset=10.0), OPEN, widths_in=[7])
    outside = window(between_walls(offset=40.0), OPEN, widths_in=[7])
    # ends -15 and 35, each rounded inward by up to 0.15
    assert inside.given_past_mm() == pytest.approx(-25.0, abs=0.16)
    assert outside.given_past_mm() == pytest.approx(5.0, abs=0.16)


def test_the_limits_of_what_may_be_ordered_are_kept():
    half = 8 * 25.4 / 2
    limits = Limits(backspace_mm=(half - 5.0, half + 5.0))
    (stretch,) = window(between_walls(), limits, widths_in=[7]).widths[0].stretches
    assert stretch.least.at_limit
    assert stretch.most.at_limit
    assert (stretch.least.offset_mm, stretch.most.offset_mm) == (-5.0, 5.0)


@pytest.mark.parametrize("offset", [-20.0, 0.0, 25.0])
def test_what_the_wheel_sees_is_never_less_than_the_proven_gap(offset):
    """The rings are real points at real positions, so their distance bounds the true least gap from above."""
    mockup = steered()
    seen = seen_by_wheel(mockup, within_mm=mockup.solid.reach_mm + 60)
    gaps = {g.part: g for g in gaps_of(with_offset(mockup, offset))}
    for one in seen:
        rough = one.gap_mm(mockup.solid.chain, -offset)
        assert rough >= gaps[one.part].at_least_mm - 1e-6
        # and the grid's own error stays within what the answers allow for it
        assert rough <= gaps[one.part].at_most_mm + 3.0


def test_the_picture_shows_every_width_and_the_wheel_on_order():
    found = walled()
    words = {mark.text for mark in picture_of(found).marks if hasattr(mark, "text")}
    assert {"7 in", "8 in", "on order"} <= words
    assert any("inner wall" in word for word in words)


def falling(at, slope=1.0):
    return Measured(lambda x: Spare(slope * (at - x), slope * (at - x)), 0.1)


@given(st.floats(0.05, 90), st.floats(0.05, 1.0))
def test_an_edge_lies_between_a_step_that_clears_and_one_that_does_not(at, slope):
    spare = falling(at, slope)
    found = edge(spare, 0, 1000)
    assert spare.clears(found)
    assert not spare.clears(found + 1)
    assert len(spare.known) < 40


@given(st.floats(0.05, 90), st.floats(0.05, 1.0))
def test_walking_out_finds_the_same_edge(at, slope):
    spare = falling(at, slope)
    found, at_limit = outermost(spare, 0, 1000, guess=at - 1.0)
    assert not at_limit
    assert spare.clears(found)
    assert not spare.clears(found + 1)


@given(st.floats(0.05, 90), st.floats(0.05, 1.0))
def test_the_least_that_clears_is_the_least(at, slope):
    spare = Measured(lambda x: Spare(slope * (x - at), slope * (x - at)), 0.1)
    for search in (least_that_clears, first_that_clears):
        found = search(spare, 1000)
        assert spare.clears(found)
        assert not spare.clears(found - 1)
    assert first_that_clears(Measured(lambda x: Spare(-1.0, -1.0), 0.1), 100) is None
    assert least_that_clears(Measured(lambda x: Spare(-1.0, -1.0), 0.1), 100) is None


def test_a_wall_close_by_on_a_bounded_patch_still_binds():
    """A small plate that only the bumped wheel meets: the grid must not step over it."""
    patch = wall(
        Tag(name="patch", required_mm=10.0),
        reach_mm=REACH_MM,
        inboard_mm=150.0,
        above_mm=360.0,
        below_mm=-330.0,
        ahead_mm=15.0,
        behind_mm=15.0,
    )
    mockup = between_walls(inboard=400.0, outboard=400.0)
    mockup = replace(mockup, parts=(*mockup.parts, patch))
    (stretch,) = window(mockup, OPEN, widths_in=[7]).widths[0].stretches
    assert stretch.most.binds.part == "patch"
    ends_hold(mockup, stretch)
    assert np.isfinite(stretch.best_spare_mm)


def test_two_stretches_where_a_bar_stands_in_the_middle_of_the_room():
    """A thin bar over the tread's middle, with room for the narrow tire on either side: two stretches."""
    mockup = between_walls(inboard=400.0, outboard=400.0, bump=(0.0, 0.0))
    tube = bar(Tag(name="bar", required_mm=4.0), points_mm=((-40.0, 0.0, 345.0), (40.0, 0.0, 345.0)), diameter_mm=10.0)
    narrow = replace(mockup.tire, section_width_mm=150.0, tread_width_mm=100.0)
    mockup = replace(mockup, tire=narrow, wheel=replace(mockup.wheel, width_in=4.0), parts=(*mockup.parts, tube))
    limits = Limits(backspace_mm=(-60.0, 190.0))
    stretches = window(mockup, limits, widths_in=[4.0]).widths[0].stretches
    assert len(stretches) == 2
    inner, outer = stretches
    assert inner.most.binds.part == outer.least.binds.part == "bar"
    for stretch in stretches:
        ends_hold(mockup, stretch)


ON_LEAVES = """
corner = "rear-left"
[tire]
size = "215/75R15"
[wheel]
diameter = "15 in"
width = "7 in"
backspace = "4 in"
[suspension]
kind = "axle-by-travel"
carried_by = "leaf springs"
bump = "3 in"
droop = "2 1/2 in"
track = "58 in"
articulation = "3 in"
[[part]]
name = "inner wall"
kind = "wall"
inboard = "7 1/2 in"
[[part]]
name = "leaf spring"
kind = "wall"
inboard = "5 3/4 in"
rides_on = "axle"
"""


def test_unmeasured_links_hide_no_part_from_the_end_that_it_stops():
    """The coarse look holds the axle level, where the spring is nearer; it is the wall that a rolling axle meets."""
    mockup = clearance.read(ON_LEAVES)
    (row,) = window(mockup, Limits(), widths_in=(7.0,)).widths
    (stretch,) = row.stretches
    past = gaps_of(with_offset(mockup, stretch.most.offset_mm + 0.1))
    assert binding(past).part == "inner wall"
    assert stretch.most.binds.part == "inner wall"
    at_best = gaps_of(with_offset(mockup, stretch.best_offset_mm))
    assert stretch.best_spare_mm == spare_mm(binding(at_best))
