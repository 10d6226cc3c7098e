"""Wheels like this one on another rim: what follows the rim's contour, and what was measured and stays.

Flange heights are those of JIS D 4218:2021 table 3: B contours (10, 12, 13 in) 14.5 mm, J ones 17.5 mm.
"""

from __future__ import annotations

from clearance.answers.tires import rim_of
from clearance.wheel.rim import wheel_for


def test_a_flange_of_the_contour_becomes_that_of_the_other_rim() -> None:
    small, large = wheel_for(13, 5, offset_mm=20), wheel_for(15, 6, offset_mm=20)
    assert rim_of(small, 6, 15).flange_height_mm == large.flange_height_mm == 17.5
    assert rim_of(large, 5, 13).flange_height_mm == small.flange_height_mm == 14.5
    assert rim_of(small, 6, 15).barrel_mm == large.barrel_mm


def test_a_flange_that_was_measured_stays() -> None:
    assert rim_of(wheel_for(13, 5, offset_mm=20, flange_height_mm=16.0), 6, 15).flange_height_mm == 16.0
