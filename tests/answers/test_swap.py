"""A tire and wheel for another, against sums by hand with the formulas of UN R30 and ETRTO (from memory):

D = d + 2 H, d = 25.4 x rim code rounded, H = S1 Ra / 100 rounded;  rolling circumference 3.05 D, radial
S = S1 + 0.4 (A - A1), A1 = 0.85 S1 under aspect 50;  load of an index by ISO 4000-1 (from memory)
"""

from __future__ import annotations

from pathlib import Path

import pytest

import clearance

PICKUP = (Path(__file__).parents[2] / "fixtures" / "corners" / "orchard-pickup-rear.toml").read_text(encoding="utf-8")
NOW = '\n[now]\nsize = "215/75R15 100S"\nwidth = "6 in"\nbackspace = "3.5 in"\n'
INCH = 25.4


def test_one_marking_for_another_by_hand():
    """245/45R17 95W: D 432 + 2 x 110 = 652; 255/40R17 94Y: 432 + 2 x 102 = 636. 636 / 652 = 0.97546: at an indicated
    60 mph 58.53, at 100 km/h 97.55. On 8 in: 245 + 0.4 (203.2 - 208.25) = 243 and 255 + 0.4 (203.2 - 216.75) = 249.6,
    by their measuring rims 8 and 9 in: 243, and 260 (255 + 0.4 (228.6 - 216.75)) - 10.16 = 249.84. 690 and 670 kg."""
    swap = clearance.swapped("245/45R17 95W", "255/40R17 94Y", rim_width_in=8).value
    assert swap.hub_mm == pytest.approx(-8.0)
    assert swap.true_kmh(100.0) == pytest.approx(100 * 636 / 652)
    assert swap.true_kmh(60 * 1.609344) / 1.609344 == pytest.approx(58.53, abs=0.01)
    assert swap.inboard_mm == swap.outboard_mm == pytest.approx((249.84 - 243.0) / 2, abs=0.01)
    assert swap.load_kg == -20


def test_a_bias_tire_rolls_less_far_than_a_radial_of_its_diameter():
    """2.99 D against 3.05 D (UN R30 and ETRTO, from memory)."""
    swap = clearance.swapped("T125/70D16", "T125/70R16").value
    assert swap.hub_mm == 0.0
    assert swap.speed == pytest.approx(3.05 / 2.99 - 1)


def test_two_markings_are_told_from_one_with_its_load_and_speed():
    assert clearance.two_markings(["245/45R17", "95W"]) is None
    assert clearance.two_markings(["245/45R17", "95W", "255/40R17", "94Y"]) == ("245/45R17 95W", "255/40R17 94Y")
    assert clearance.two_markings(["31x10.50R15LT", "235/75R15"]) == ("31x10.50R15LT", "235/75R15")
    assert clearance.two_markings(["nonsense", "235/75R15"]) is None


def test_what_comes_off_is_what_now_says_and_not_the_tire_under_consideration():
    """215/75R15: D 381 + 2 x 161 = 703; on 6 in, S = 215 + 0.4 (152.4 - 150.5) = 216. Its rim is 152.4 + 25.4 = 177.8
    over all, backspace 88.9: offset 0. The pickup: 733.4 over all and 239 wide, offset 95.25 - 101.6 = -6.35."""
    one = clearance.read(PICKUP + NOW)
    (swap,) = clearance.compare(one, one).value.against_now
    assert swap.hub_mm == pytest.approx((28.875 * INCH - 703) / 2, abs=0.01)
    assert swap.speed == pytest.approx(28.875 * INCH / 703 - 1)
    assert swap.inboard_mm == pytest.approx((239 / 2 - 6.35) - 216 / 2, abs=0.3)
    assert swap.outboard_mm == pytest.approx((239 / 2 + 6.35) - 216 / 2, abs=0.3)
    assert swap.old.load_kg == 800


def test_without_now_there_is_nothing_to_compare_with():
    one = clearance.read(PICKUP)
    found = clearance.compare(one, one)
    assert found.value.against_now == ()
    assert "nothing to compare with" in found.words()
    assert found.to_dict()["against_now"] == []


def test_a_now_of_a_diameter_alone_has_speed_and_height_and_no_reach():
    one = clearance.read(PICKUP + '\n[now]\noverall_diameter = "700 mm"\n')
    (swap,) = clearance.compare(one, one).value.against_now
    assert swap.hub_mm == pytest.approx((28.875 * INCH - 700) / 2)
    assert (swap.inboard_mm, swap.outboard_mm, swap.load_kg) == (None, None, None)


@pytest.mark.parametrize(
    ("now", "words"),
    [
        ('width = "6 in"', "what is on the car is not known"),
        ('size = "215/75R15"\nbackspace = "3 in"', "needs the rim's width"),
        ('size = "nonsense"', "nonsense"),
    ],
)
def test_what_cannot_be_on_the_car_is_refused(now, words):
    with pytest.raises(clearance.CornerFileError, match=words):
        clearance.read(f"{PICKUP}\n[now]\n{now}\n")


@pytest.mark.slow
def test_largest_says_speed_and_height_against_what_is_on_the_car():
    plain = PICKUP.split("[load_states]")[0]
    with_now = clearance.largest(clearance.read(plain + NOW), enough=1)
    (fit,) = with_now.value.fits
    assert fit.swap.hub_mm == pytest.approx((fit.tire.overall_diameter_mm - 703) / 2)
    without = clearance.largest(clearance.read(plain), enough=1)
    assert without.value.fits[0].swap is None
    assert "nothing to compare with" in without.words()
