"""What may change and what is sold: laws of steps, and the offsets and widths that limits leave."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clearance.terms import OPEN_MM, Chains, Coverage, Duals, Limits, OrderTerms, Sold, SpareWell, Steps, Terms

STEPS = st.sampled_from([0.25, 0.5, 1.0, 3.0, 3.175, 6.35])
SIZES = st.lists(st.floats(0.0, 60.0), min_size=1, max_size=6).map(lambda sizes: tuple(sorted(sizes)))
AMOUNT = st.floats(-40.0, 80.0)


def multiples(step: float, low: int = -200, high: int = 400) -> np.ndarray:
    return step * np.arange(low, high)


@settings(derandomize=True, max_examples=200)
@given(step=STEPS, amount=AMOUNT)
def test_the_step_taken_is_the_least_that_is_enough(step, amount):
    """Looked up in a long row of multiples; nothing is sold below nothing."""
    found = Steps(step=step).round_up(amount)
    row = multiples(step, 0)
    assert found == pytest.approx(row[row >= amount - 1e-8].min(), abs=1e-9)


@settings(derandomize=True, max_examples=100)
@given(sizes=SIZES, amount=AMOUNT)
def test_the_size_taken_is_the_least_that_is_enough(sizes, amount):
    found = Steps(sizes=sizes).round_up(amount)
    enough = [size for size in sizes if size >= amount - 1e-8]
    assert found == (min(enough) if enough else None)
    # a list goes before a step
    assert Steps(step=3.0, sizes=sizes).round_up(amount) == found


@settings(derandomize=True, max_examples=200)
@given(step=STEPS, least=AMOUNT, wide=st.floats(0.0, 40.0))
def test_between_two_ends_stand_all_multiples_and_no_other(step, least, wide):
    row = multiples(step)
    wanted = row[(row >= least - 1e-8) & (row <= least + wide + 1e-8)]
    assert Steps(step=step).between(least, least + wide) == pytest.approx(wanted, abs=1e-9)


@pytest.mark.parametrize("off", [-1e-9, 0.0, 1e-9])
def test_what_the_arithmetic_adds_is_no_reason_for_the_next_step(off):
    """0.1 + 0.2 is a little more than 0.3: a hundredth of a micron either way is the same step."""
    assert Steps(step=3.0).round_up(9.0 + off) == 9.0
    assert Steps(step=0.1).round_up(0.1 + 0.2) == pytest.approx(0.3)
    assert Steps(sizes=(9.0, 12.0)).round_up(9.0 + off) == 9.0
    assert Steps(step=3.0).between(9.0 + off, 12.0 - off) == (9.0, 12.0)
    assert Steps(sizes=(9.0, 12.0)).between(9.0 + off, 12.0 - off) == (9.0, 12.0)


@pytest.mark.parametrize("off", [1e-6, 1e-3])
def test_what_can_be_measured_is_the_next_step(off):
    assert Steps(step=3.0).round_up(9.0 + off) == 12.0
    assert Steps(sizes=(9.0, 12.0)).round_up(9.0 + off) == 12.0
    assert Steps(step=3.0).between(9.0 + off, 12.0 - off) == ()
    assert Steps(sizes=(9.0, 12.0)).between(9.0 + off, 12.0 - off) == ()


def test_without_a_step_and_a_list_nothing_is_sold():
    assert Steps().round_up(1.0) is None
    assert Steps().between(0.0, 9.0) == ()


GIVEN = SimpleNamespace(offset_mm=20.0, backspace_mm=140.0, overall_width_mm=240.0)
"""Half its width and its offset make its backspace."""
WIDER = SimpleNamespace(offset_mm=0.0, backspace_mm=130.0, overall_width_mm=260.0)


def test_offsets_on_a_wider_rim_by_hand():
    """Offset is backspace less half the width over both flanges: 140 - 130 = 10 on the wider rim."""
    assert Limits().offsets_mm(WIDER, GIVEN) == (20.0 - OPEN_MM, 20.0 + OPEN_MM)
    assert Limits(backspace_mm=(100.0, 150.0)).offsets_mm(WIDER, GIVEN) == (-30.0, 20.0)
    # the backspace stays, whatever the rim
    assert Limits(other_backspace=False).offsets_mm(WIDER, GIVEN) == (10.0, 10.0)
    assert Limits(other_backspace=False, backspace_mm=(0.0, 1.0)).offsets_mm(GIVEN, GIVEN) == (20.0, 20.0)


def test_widths_are_those_listed_within_those_permitted():
    widths = Limits(rim_widths_in=(7.0, 7.5, 8.0, 8.5, 9.0)).widths_in
    assert widths((7.5, 8.5)) == (7.5, 8.0, 8.5)
    assert widths((8.5, 7.5)) == (7.5, 8.0, 8.5)
    assert widths((8.0,)) == (8.0,)
    # 216 mm is 8.504 in, and 190 mm 7.480: both the code that they were meant as
    assert widths((190 / 25.4, 216 / 25.4)) == (7.5, 8.0, 8.5)
    assert widths((7.6, 8.4)) == (8.0,)
    assert widths(()) == ()
    assert Limits().widths_in((8.0, 8.25)) == (8.0, 8.25)
    # of a width that no file writes: twentieths of an inch from the end are one, to the end itself
    assert Limits(rim_widths_in=(7.95, 8.05)).widths_in((8.0,)) == (7.95, 8.05)


def test_defaults_are_those_that_the_reference_page_states():
    """docs/corner-file.md, [limits], [sold] and the sections beside them: common practice, said there."""
    limits, sold = Limits(), Sold()
    assert (limits.spacer_mm, limits.bump_stop_mm, limits.steering_stop_deg) == (25.0, 60.0, 15.0)
    assert (limits.ride_height_mm, limits.lip_roll_mm, limits.rack_per_deg_mm) == (50.0, 13.0, None)
    assert limits.other_backspace
    assert limits.tire_size
    steps = {name: getattr(sold, name).step for name in Sold.__slots__}
    # a quarter of an inch, an eighth
    quarter, eighth = 25.4 / 4, 25.4 / 8
    assert steps == pytest.approx(
        {
            "spacer_mm": 3.0, "bump_stop_mm": quarter, "backspace_mm": eighth, "ride_height_mm": quarter,
            "steering_stop_deg": 0.5, "camber_deg": 0.25, "lip_roll_mm": 1.0, "rack_washer_mm": 1.0,
            "axle_across_mm": 1.0,
        }
    )  # fmt: skip
    assert OPEN_MM == 50.0
    assert OrderTerms().quantity == 4
    assert (Duals().bulge, Duals().required_mm) == (0.06, 19.0)
    well = SpareWell(diameter_mm=700.0, depth_mm=200.0)
    assert (well.face_up, well.off_centre_mm, well.required_mm) == (False, 0.0, 0.0)
    assert Chains(name="n", tread_mm=9.0, side_mm=9.0).side_mm == 9.0
    assert Terms().limits == limits


def test_the_body_covers_the_tread_between_the_angles_of_the_rule():
    """Council Directive 78/549/EEC, as quoted second-hand: 30 degrees ahead of and 50 behind the wheel's centre."""
    assert (Coverage().ahead_deg, Coverage().behind_deg, Coverage().protrude_mm) == (30.0, 50.0, 0.0)
