"""Relief and least change: what is answered clears when it is measured again, and a step less does not."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from mockups import between_walls, steered, tire, under_ceiling

from clearance.answers.changed import (
    with_body_lifted,
    with_bump_stop,
    with_camber,
    with_cycle,
    with_locks,
    with_offset,
    with_part_moved,
)
from clearance.answers.checked import all_clear, binding, gaps_of, spare_mm
from clearance.answers.knobs import knobs_of
from clearance.answers.least_change import least_change, least_of
from clearance.answers.relief import map_of, relief
from clearance.pose import camber_deg
from clearance.suspension.position import Cycle
from clearance.terms import Limits, Sold, Steps, Terms
from clearance.tire.catalog import sizes_from_csv
from clearance.well.lip import lip
from clearance.well.parts import Tag, bar

OPEN = Terms()


# ---- relief


def test_a_wall_moves_inboard_by_exactly_what_is_missing():
    """Wall 130 inboard, tire to 115: 15 mm, must keep 20, so 5 mm; the other wall is fine."""
    (one,) = relief(between_walls(inboard=130.0))
    best = one.moves[0]
    assert (one.before.part, best.way) == ("inner wall", "inboard")
    # rounded up to a tenth, and up to the bracket's 0.05 above that
    assert 5.0 <= best.distance_mm <= 5.15


def test_relief_measured_again_clears_and_a_tenth_less_does_not():
    mockup = between_walls(inboard=300.0, outboard=300.0)
    tube = bar(
        Tag(name="bar", required_mm=30.0), points_mm=((-300.0, -100.0, 420.0), (300.0, -130.0, 440.0)), diameter_mm=20.0
    )
    mockup = replace(mockup, parts=(*mockup.parts, tube))
    (one,) = relief(mockup)
    assert len(one.moves) >= 2
    for move in one.moves:
        way = np.array(move.direction)
        assert all_clear(gaps_of(with_part_moved(mockup, "bar", move.distance_mm * way), ("bar",)))
        assert not all_clear(gaps_of(with_part_moved(mockup, "bar", (move.distance_mm - 0.2) * way), ("bar",)))
    least = one.moves[0]
    assert all_clear(gaps_of(with_part_moved(mockup, "bar", least.distance_mm * np.array(least.direction))))


def test_a_move_is_never_less_than_what_is_missing():
    """A part that moves d opens its gap by no more than d."""
    (one,) = relief(under_ceiling(height=455.0))
    missing = -spare_mm(one.before)
    # a depth may be bracketed half a millimetre wide
    assert all(move.distance_mm >= missing - 0.5 for move in one.moves)


def test_nothing_to_move_where_everything_clears():
    assert relief(between_walls()) == ()


def test_the_map_of_a_flat_ceiling_takes_off_the_shortfall_where_the_tire_comes_closest():
    """Ceiling 455, radius 350, bump 90: 15 mm under it, 5 mm short of 20 along the line over the axle."""
    found = map_of(under_ceiling(height=455.0), "ceiling")
    # the gap's own bracket, and the distance from the crown to the nearest corner of the mesh, which lies lower
    assert 0.0 <= found.most_mm <= 5.1
    assert found.volume_mm3 >= 0.0


# ---- least change


def change_of(found, knob):
    return next(c for c in found.changes if c.knob == knob)


def clears_and_less_does_not(mockup, knob, exact, less):
    assert all_clear(gaps_of(knob.apply(mockup, exact)))
    assert not all_clear(gaps_of(knob.apply(mockup, exact - less)))


def test_the_bump_stop_is_the_shortfall_of_a_flat_ceiling_and_is_bought_in_quarter_inches():
    """Ceiling 455, radius 350, bump 90: 15, must keep 20: 5 mm of travel, bought as 1/4 in."""
    mockup = under_ceiling(height=455.0)
    found = least_change(mockup, OPEN)
    stop = change_of(found, "bump stop")
    assert 5.0 <= stop.exact <= 5.15
    assert stop.bought == pytest.approx(6.35)
    assert "of 90 mm left" in stop.cost


def test_a_solid_axle_4x4_needs_half_the_difference_of_diameters():
    """Practice: the largest tire that clears with the springs out is 30 1/4 in, the new one measures 32 1/2 in.

    The stops come down by half the difference, 1.13 in (28.6 mm), bought as 1 1/4 in.
    """
    small, large = 30.25 * 25.4, 32.5 * 25.4
    # a ceiling that the smaller tire just clears at full bump, by the width of the bracket
    mockup = under_ceiling(height=small / 2 + 90.0 + 20.0 + 0.05, diameter=small)
    assert all_clear(gaps_of(mockup))
    taller = replace(mockup, tire=tire(diameter=large))
    sections = Terms(limits=Limits(tire_size=False))
    stop = change_of(least_change(taller, sections), "bump stop")
    assert stop.exact == pytest.approx((large - small) / 2, abs=0.16)
    assert round(stop.exact / 25.4, 2) == pytest.approx(1.13, abs=0.006)
    assert stop.bought == pytest.approx(1.25 * 25.4)


@pytest.mark.slow
def test_every_single_change_clears_and_a_step_less_does_not():
    """Issue: measured again it clears, and 0.2 mm less does not (for a turn, what moves the tread 0.2 mm)."""
    mockup = steered(rail=-200.0)
    limits = Limits(camber_deg=(-3.0, 3.0), tire_size=False, spacer_mm=60.0)
    found = least_change(mockup, Terms(limits=limits))
    knobs = {k.name: k for k in knobs_of(mockup, limits, Sold(), ("rail",))}
    names = {c.knob for c in found.changes}
    assert {"spacer", "steering stop, left"} <= names
    assert "steering stop, both" not in names
    for change in found.changes:
        knob = knobs[change.knob]
        clears_and_less_does_not(mockup, knob, change.exact, 0.2 / knob.mm_per_unit if knob.unit == "mm" else 0.06)
        if change.bought is not None:
            assert change.bought >= change.exact - 1e-9
            assert all_clear(gaps_of(knob.apply(mockup, change.bought)))


@pytest.mark.slow
def test_the_lock_lost_is_said_in_rack_travel_where_it_is_given():
    found = least_change(steered(rail=-200.0), Terms(limits=Limits(rack_per_deg_mm=1.4, tire_size=False)))
    stop = change_of(found, "steering stop, left")
    assert f"{stop.bought * 1.4:.1f} mm of rack travel" in stop.cost


@pytest.mark.slow
def test_a_lip_is_rolled_by_what_is_missing():
    mockup = between_walls(inboard=300.0, outboard=400.0, bump=(-60.0, 80.0))
    edge = lip(
        Tag(name="lip", required_mm=10.0),
        outboard_mm=118.0,
        centre_mm=(0.0, 0.0),
        radius_mm=405.0,
        return_depth_mm=15.0,
    )
    mockup = replace(mockup, parts=(*mockup.parts, edge))
    assert not all_clear(gaps_of(mockup))
    limits = Limits(lip_roll_mm=40.0, lip_trim_mm=40.0, tire_size=False)
    found = least_change(mockup, Terms(limits=limits))
    knobs = {k.name: k for k in knobs_of(mockup, limits, Sold(), ("lip",))}
    rolled = [c for c in found.changes if c.knob.startswith("lip")]
    assert rolled
    for change in rolled:
        clears_and_less_does_not(mockup, knobs[change.knob], change.exact, 0.2)


def test_a_spacer_that_hits_the_other_wall_is_not_offered():
    """Inner wall 5 mm short, outer wall with 3 mm to spare: no offset clears both, so only a pair or a tire can."""
    mockup = between_walls(inboard=130.0, outboard=138.0)
    limits = Limits(tire_size=False, bump_stop_mm=None, ride_height_mm=None)
    found = least_change(mockup, Terms(limits=limits))
    assert not found.changes
    assert set(found.tried) == {"spacer", "less backspace", "more backspace"}


def test_two_together_where_no_single_one_does():
    """A wall 5 mm short that only a spacer cures, and a ceiling 5 mm short that only the stop cures."""
    mockup = under_ceiling(height=455.0)
    wall_near = between_walls(inboard=130.0, outboard=400.0).parts[:1]
    mockup = replace(mockup, parts=(*wall_near, mockup.parts[-1]))
    limits = Limits(tire_size=False, ride_height_mm=None, backspace_mm=(101.6, 101.6), spacer_mm=12.0)
    found = least_change(mockup, Terms(limits=limits))
    assert not found.changes
    best = found.combinations[0]
    assert {change.knob: change.amount for change in best.changes} == {"spacer": 6.0, "bump stop": pytest.approx(6.35)}
    assert all_clear(best.gaps)


def test_the_next_tire_size_down_clears():
    """Ceiling 455 lets a radius of 345 keep 20 at 90 bump: a 690 mm tire, no 700."""
    sizes = sizes_from_csv(
        "size,section_width_mm,overall_diameter_mm,rim_least_in,rim_most_in\n"
        "225/75R15,230,698,6,8\n215/75R15,225,689,6,8\n205/75R15,215,660,6,8\n",
        name="test",
    )
    found = least_change(under_ceiling(height=455.0), OPEN, sizes)
    assert found.smaller is not None
    assert found.smaller.size == "215/75R15"
    assert all_clear(found.smaller.gaps)


def test_nothing_to_change_where_it_clears():
    found = least_change(between_walls(), OPEN)
    assert (found.changes, found.combinations, found.smaller, found.tried) == ((), (), None, ())


@pytest.mark.parametrize(("steps", "want"), [(Steps(step=3.0), 9.0), (Steps(sizes=(5.0, 8.0, 15.0)), 8.0)])
def test_what_is_bought_is_the_next_size_sold(steps, want):
    assert steps.round_up(7.2) == want
    assert steps.round_up(want) == want


# ---- laws of the changes themselves


def least(mockup):
    return binding(gaps_of(mockup)).at_least_mm


@settings(max_examples=6, deadline=None)
@given(taller=st.floats(0.0, 60.0))
def test_a_taller_stop_never_loses_gap(taller):
    mockup = under_ceiling(height=470.0)
    # two brackets, each 0.05 wide (half a millimetre where inside)
    assert least(with_bump_stop(mockup, taller)) >= least(mockup) - 0.05


@settings(max_examples=4, deadline=None)
@given(left=st.floats(0.0, 15.0), right=st.floats(0.0, 15.0))
def test_less_lock_never_loses_gap(left, right):
    mockup = steered()
    assert least(with_locks(mockup, left, right)) >= least(mockup) - 0.05


@settings(max_examples=6, deadline=None)
@given(shift=st.floats(-30.0, 30.0))
def test_a_shift_of_the_wheel_changes_no_gap_by_more_than_itself(shift):
    mockup = between_walls(inboard=190.0, outboard=190.0)
    before = {g.part: g for g in gaps_of(mockup)}
    for gap in gaps_of(with_offset(mockup, shift)):
        assert abs(gap.at_least_mm - before[gap.part].at_least_mm) <= abs(shift) + 0.06


def test_camber_is_added_to_the_hub_and_lifting_the_body_lifts_only_what_rides_on_it():
    mockup = steered()
    leaned = with_camber(mockup, -1.5)
    axis = leaned.suspension.pose(np.zeros((1, 3))).axis[0]
    assert camber_deg(axis) == pytest.approx(-1.5, abs=1e-9)
    rail = mockup.part("rail")
    on_axle = replace(rail, name="perch", rides_on="axle")
    both = with_body_lifted(replace(mockup, parts=(rail, on_axle)), 25.0)
    assert np.allclose(both.part("rail").triangles_mm[..., 2] - rail.triangles_mm[..., 2], 25.0)
    assert np.array_equal(both.part("perch").triangles_mm, rail.triangles_mm)


def test_another_cycle_is_the_cycle_that_is_measured():
    mockup = with_cycle(under_ceiling(height=470.0), Cycle(bump_mm=(10.0, 10.0)))
    gap = next(g for g in gaps_of(mockup) if g.part == "ceiling")
    # 470 less 350 less 10
    assert gap.at_least_mm == pytest.approx(110.0, abs=0.051)


def test_least_of_gives_none_where_the_limit_does_not_reach():
    mockup = under_ceiling(height=455.0)
    limits = Limits(bump_stop_mm=4.0)
    (stop,) = [k for k in knobs_of(mockup, limits, Sold(), ("ceiling",)) if k.name == "bump stop"]
    assert least_of(mockup, stop, ("ceiling",)) is None
