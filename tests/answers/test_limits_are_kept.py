"""What [limits] and [sold] say of backspace and rims has one meaning for window, largest and least change."""

from __future__ import annotations

import numpy as np
import pytest
from few import SHIPPED, without

import clearance

# what binds is the wall inboard, and the leaf pack and lip outboard
PLAIN = without(SHIPPED, "bed floor", "frame rail", "shock", "tailpipe").split("[load_states]")[0].split("[limits]")[0]
INCH = clearance.MM_PER_INCH


def corner(limits="", sold="", text=PLAIN):
    sections = (f"\n[limits]\n{limits}\n" if limits else "") + (f"\n[sold]\n{sold}\n" if sold else "")
    return clearance.read(text + sections)


def test_a_backspace_limit_is_one_of_backspace_on_every_rim():
    """3.5 to 4 in of backspace: on an 8 in rim that is another offset than on a 7 in one."""
    one = corner('backspace = { least = "3.5 in", most = "4 in" }\nrim_widths = ["7 in", "8 in"]')
    found = clearance.window(one).value
    assert [row.width_in for row in found.widths] == [7.0, 8.0]
    for row in found.widths:
        for stretch in row.stretches:
            assert 3.5 * INCH - 0.11 <= stretch.least.backspace_mm <= stretch.most.backspace_mm <= 4 * INCH + 0.11
    fits = clearance.largest(one, enough=4).value.fits
    assert fits
    assert all(3.5 * INCH - 1e-6 <= fit.wheel.backspace_mm <= 4 * INCH + 1e-6 for fit in fits)


def test_largest_takes_only_rims_that_may_be_had():
    fits = clearance.largest(corner('rim_widths = ["7 in"]'), enough=3).value.fits
    assert {fit.wheel.width_in for fit in fits} == {7.0}


@pytest.mark.slow
def test_a_backspace_is_one_that_is_sold():
    """In eighths of an inch, or off a list: never 4.32 in."""
    for fit in clearance.largest(corner(), enough=3).value.fits:
        eighths = 8.0 * fit.wheel.backspace_mm / INCH
        assert eighths == pytest.approx(round(eighths), abs=1e-6)
    listed = corner(sold='backspace = ["3 in", "3 1/2 in", "4 in"]')
    for fit in clearance.largest(listed, enough=3).value.fits:
        assert min(abs(fit.wheel.backspace_mm / INCH - one) for one in (3.0, 3.5, 4.0)) < 1e-6


@pytest.mark.slow
def test_no_other_backspace_is_offered_where_there_is_none():
    """`backspace = false`: the wheel as it is, in all three."""
    tight = PLAIN.replace('inboard = "6 in" ', 'inboard = "5 3/4 in" ')
    assert tight != PLAIN
    offered = clearance.least_change(corner(text=tight)).value
    assert "less backspace" in {change.knob for change in offered.changes}
    fixed = corner("backspace = false", text=tight)
    found = clearance.least_change(fixed).value
    assert not {change.knob for change in found.changes} & {"less backspace", "more backspace"}
    assert not any("backspace" in change.knob for one in found.combinations for change in one.changes)
    fits = clearance.largest(fixed, enough=2).value.fits
    assert all(fit.wheel.backspace_mm == pytest.approx(3.75 * INCH) for fit in fits)
    low, high = fixed.terms.limits.offsets_mm(fixed.wheel, fixed.wheel)
    assert low == high == pytest.approx(fixed.wheel.offset_mm)


def test_what_is_bought_is_a_backspace_and_not_a_change_of_one():
    """The wall 1/4 in nearer than the wheel allows: the exact change, then the next backspace that is sold."""
    tight = corner(
        sold='backspace = ["3 in", "3 9/16 in", "4 in"]',
        text=PLAIN.replace('inboard = "6 in" ', 'inboard = "5 3/4 in" '),
    )
    change = next(one for one in clearance.least_change(tight).value.changes if one.knob == "less backspace")
    bought = (tight.wheel.backspace_mm - change.bought) / INCH
    assert change.bought >= change.exact
    assert min(abs(bought - one) for one in (3.0, 3.5625)) < 1e-6


def test_offsets_of_a_limit_by_hand():
    """Backspace 100 to 120 mm on a rim 228.6 mm over its flanges: offsets 100 - 114.3 and 120 - 114.3."""
    given = clearance.wheel_from(diameter_in=15, width_in=7, backspace_mm=100.0)
    rim = clearance.wheel_from(diameter_in=15, width_in=8, backspace_mm=100.0)
    assert rim.overall_width_mm == pytest.approx(228.6)
    assert clearance.Limits(backspace_mm=(100.0, 120.0)).offsets_mm(rim, given) == pytest.approx((-14.3, 5.7))
    assert clearance.Limits().offsets_mm(rim, given) == pytest.approx((given.offset_mm - 50.0, given.offset_mm + 50.0))
    assert np.ptp(clearance.Limits(other_backspace=False).offsets_mm(rim, given)) == 0.0
    assert clearance.Limits(rim_widths_in=(6.0, 7.0, 9.5)).widths_in((6.5, 7.0, 8.0)) == (7.0,)


SOLD_LISTS = (
    'spacer = ["5 mm", "8 mm", "15 mm"]\nbump_stop = ["10 mm", "25 mm"]\nbackspace = ["3 in", "3 9/16 in", "4 in"]\n'
    'ride_height = ["1 in"]\nlip_roll = ["4 mm", "9 mm"]'
)
LISTED = {
    "spacer": (5.0, 8.0, 15.0),
    "bump stop": (10.0, 25.0),
    "ride height": (25.4,),
    "lip rolled": (4.0, 9.0),
    "lip trimmed up": (4.0, 9.0),
}
NEARER = PLAIN.replace('inboard = "6 in" ', 'inboard = "5 3/4 in" ').replace(
    'outboard = "5 5/8 in"', 'outboard = "5 in"'
)


@pytest.mark.parametrize("backspace", ['{ least = "3 1/8 in", most = "4 in" }', "false"])
def test_every_change_of_every_combination_is_one_that_the_file_sells_and_allows(backspace):
    """Read off the file by hand, without the rooms that search: each amount is on its list and within its limit, each
    backspace too; and the corner so changed clears by a whole check."""
    limits = f'backspace = {backspace}\nspacer = "12 mm"\nbump_stop = "20 mm"\nlip_trim = "5 mm"\ntire_size = false'
    one = corner(limits, SOLD_LISTS, NEARER)
    most = {"spacer": 12.0, "bump stop": 20.0, "ride height": 50.0, "lip rolled": 13.0, "lip trimmed up": 5.0}
    found = clearance.least_change(one).value.combinations
    assert found
    for combination in found:
        for change in combination.changes:
            if change.knob in LISTED:
                assert min(abs(change.amount - size) for size in LISTED[change.knob]) < 1e-6
                assert change.amount <= most[change.knob] + 1e-6
                continue
            assert "backspace" in change.knob
            assert backspace != "false"
            way = -1.0 if change.knob.startswith("less") else 1.0
            after = (3.75 * INCH + way * change.amount) / INCH
            assert min(abs(after - size) for size in (3.5625, 4.0)) < 1e-6
        assert {gap.verdict for gap in combination.gaps} == {"clears"}
        assert {gap.part for gap in combination.gaps} == {part.name for part in one.parts}
    knobs = {change.knob for combination in found for change in combination.changes}
    assert backspace != "false" or not any("backspace" in knob for knob in knobs)


def test_window_largest_and_compare_keep_the_same_limits():
    """One rim, one list of backspaces: the window is of that rim, and whatever largest gives is on the list."""
    limits = 'rim_widths = ["7 in"]\nbackspace = { least = "3 1/2 in", most = "4 in" }'
    one = corner(limits, 'backspace = ["3 in", "3 9/16 in", "4 in"]')
    assert [row.width_in for row in clearance.window(one).value.widths] == [7.0]
    for fit in clearance.largest(one, enough=3).value.fits:
        assert fit.wheel.width_in == 7.0
        assert min(abs(fit.wheel.backspace_mm / INCH - size) for size in (3.5625, 4.0)) < 1e-6
    # compare proposes nothing: both wheels are as their files have them
    compared = clearance.compare(one, corner(limits)).value
    assert compared.swap.inboard_mm == compared.swap.outboard_mm == 0.0
