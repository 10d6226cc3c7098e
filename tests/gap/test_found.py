"""What a bracket says, at its borders: every word against its meaning, decided the long way."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from clearance.gap.found import CLEARS, HITS, TIGHT, UNDECIDED, Gap, Hidden, verdict_of
from clearance.geom.bracket import DEEP_MM, DEEP_SHARE, TOLERANCE_MM
from clearance.suspension.position import Position

ROUNDING = 1e-3


def gap(low: float, high: float, required: float = 25.0, **more: object) -> Gap:
    zero = np.zeros(3)
    return Gap(
        part="p", required_mm=required, at_least_mm=low, at_most_mm=high, position=Position(), shift_mm=(0.0, 0.0),
        on_part_mm=zero, on_tire_mm=zero, toward_part=zero, at_rest_mm=zero, region="", where="", **more,
    )  # fmt: skip


def words_of(low: float, high: float, required: float) -> set[str]:
    """What could be true of gaps between two ends: each is below zero, or under what is required, or neither."""
    gaps = {low, high, *(g for g in (-1e-9, 0.0, required - 1e-9, required) if low <= g <= high)}
    return {HITS if g < 0.0 else TIGHT if g < required else CLEARS for g in gaps}


ENDS = (-math.inf, -3.0, -0.02, -1e-9, 0.0, 1e-9, 0.03, 9.0, 24.0, 24.98, 25.0 - 1e-9, 25.0, 25.03, 40.0)


@pytest.mark.parametrize(("low", "high"), [(a, b) for a, b in itertools.product(ENDS, ENDS) if a <= b > -math.inf])
def test_a_verdict_says_no_more_than_every_gap_between_the_ends_bears_out(low, high):
    """Where all of them would get one word it is that word. Where not it is `undecided`, but for a bracket as narrow as
    was asked for that lies clear of zero: that is read carefully, as `tight`."""
    for required in (25.0, 0.0):
        possible = words_of(low, high, required)
        narrow = high - low <= 0.05 + ROUNDING
        careful = possible == {TIGHT, CLEARS} and narrow
        wanted = next(iter(possible)) if len(possible) == 1 else TIGHT if careful else UNDECIDED
        assert verdict_of(low, high, required, 0.05) == wanted
        assert gap(low, high, required, tolerance_mm=0.05).verdict == wanted


@pytest.mark.parametrize("tolerance", [0.05, 0.5])
def test_a_bracket_across_the_required_gap_is_read_carefully_up_to_the_width_asked_for(tolerance):
    low = 25.0 - 0.01
    assert verdict_of(low, low + tolerance + 0.5 * ROUNDING, 25.0, tolerance) == TIGHT
    assert verdict_of(low, low + tolerance + 2.0 * ROUNDING, 25.0, tolerance) == UNDECIDED


@pytest.mark.parametrize("tolerance", [0.05, 0.5])
def test_a_bracket_is_finished_where_it_is_as_narrow_as_was_asked(tolerance):
    for high in (30.0, tolerance, 0.0):
        low = high - tolerance
        assert gap(low - 0.5 * ROUNDING, high, tolerance_mm=tolerance).finished
        assert not gap(low - 2.0 * ROUNDING, high, tolerance_mm=tolerance).finished


@pytest.mark.parametrize(
    ("high", "allowed"), [(-1.0, DEEP_MM), (-25.0, DEEP_MM), (-100.0, 2.0), (-1e-9, DEEP_MM), (0.0, TOLERANCE_MM)]
)
def test_a_depth_is_finished_at_half_a_millimetre_or_two_per_cent(high, allowed):
    assert (DEEP_MM, DEEP_SHARE) == (0.5, 0.02)
    assert gap(high - allowed, high).finished
    assert not gap(high - allowed - 2.0 * ROUNDING, high).finished
    # a tolerance that is wider still is what was asked for
    assert gap(high - 3.0, high, tolerance_mm=3.0).finished


def test_a_gap_stands_at_its_lower_end_or_where_nothing_is_known_of_it_at_its_upper():
    assert gap(3.0, 5.0).stands_at_mm == 3.0
    assert gap(-math.inf, 5.0).stands_at_mm == 5.0


def test_what_is_left_over_is_reckoned_from_the_lower_end():
    assert gap(30.0, 31.0).spare_mm == 5.0
    assert gap(20.0, 31.0).spare_mm == -5.0
    assert gap(-math.inf, 31.0).spare_mm == -math.inf


@pytest.mark.parametrize(
    ("low", "high"),
    [(math.nan, 1.0), (1.0, math.nan), (1.0, math.inf), (math.inf, math.inf), (1.0, 0.999), (-math.inf, -math.inf)],
)
def test_ends_out_of_order_or_unknown_above_are_no_bracket(low, high):
    with pytest.raises(ValueError, match="no bracket"):
        gap(low, high)


def test_both_ends_may_be_one():
    assert gap(5.0, 5.0).finished


def test_a_swallowed_wheel_has_no_room():
    for high in (0.0, 0.5, 3.0):
        with pytest.raises(ValueError, match="no room"):
            gap(-math.inf, high, swallowed=True)
        assert not gap(-math.inf, high).swallowed
    assert gap(-math.inf, -1e-9, swallowed=True).verdict == HITS


def test_what_is_not_said_of_a_gap_is_nothing():
    """No move with a far end, no hole, no doubt, a path that is proven."""
    found = gap(1.0, 1.0)
    assert (found.share, found.uncertainty_mm, found.motion_checked, found.boxes) == (0.0, 0.0, 0, 0)
    assert (found.unseen, found.hidden, found.unmeasured, found.per_mm) == (False, (), (), {})
    hole = Hidden(at_least_mm=1.0, across_mm=(2.0, 1.0), area_mm2=2.0, middle_mm=np.zeros(3), where="")
    assert not hole.closed
