"""Rims, offsets and bolt circles against standards and trade tables."""

from __future__ import annotations

import math

import pytest

from clearance.units import MM_PER_INCH
from clearance.wheel.bolt_circle import KNOWN, BoltCircle, from_chord
from clearance.wheel.contour import bead_seat_diameter_mm, contour_of, well_floor_mm
from clearance.wheel.fasteners import Thread
from clearance.wheel.inspection import FAR_EDGE, HoleReading, circle_from_holes_mm
from clearance.wheel.rim import wheel_for

# ISO 4000-2 table 4, specified rim diameter D (from memory; the steps are arithmetic)
BEAD_SEATS = [
    (10, 253.2), (12, 304.0), (13, 329.4), (14, 354.8), (15, 380.2), (16, 405.6), (17, 436.6), (18, 462.0),
    (19, 487.4), (20, 512.8), (21, 538.2), (22, 563.6), (23, 589.0), (24, 614.4),
]  # fmt: skip


@pytest.mark.parametrize(("code", "diameter"), BEAD_SEATS)
def test_bead_seat_diameters_by_code(code: int, diameter: float) -> None:
    """ISO 4000-2 table 4 (from memory)."""
    assert bead_seat_diameter_mm(code) == pytest.approx(diameter, abs=1e-9)


def test_j_flanges_are_17_5_mm_high() -> None:
    """JIS D 4218:2021 table 3 (ISO 4000-2:2013): J contour, G = 17.5; so 17 in is 471.6 mm over its flanges."""
    assert contour_of(17).flange_height_mm == 17.5
    assert wheel_for(17, 8, offset_mm=30).flange_diameter_mm == pytest.approx(471.6)


def test_b_flanges_of_10_12_and_13_inch_rims_are_14_5_mm_high() -> None:
    """JIS D 4218:2021 table 3: B contour, codes 10, 12 and 13; flange width 10.0, well depth 15.0."""
    for code in (10, 12, 13):
        contour = contour_of(code)
        assert (contour.flange_height_mm, contour.flange_width_mm, contour.well_depth_mm) == (14.5, 10.0, 15.0)


@pytest.mark.parametrize(("code", "floor"), [(15, 345.6), (16, 371.0), (17, 402.0), (18, 427.4)])
def test_well_floors(code: int, floor: float) -> None:
    """D - 2 H with H = 17.3 (JIS D 4218:2021 table 3)."""
    assert well_floor_mm(code) == pytest.approx(floor, abs=1e-9)


# width, offset (mm) -> backspace (in): nominal width plus one inch, the trade rule; arithmetic
BACKSPACES = [(8.0, 0.0, 4.500), (8.0, 25.4, 5.500), (7.0, 35.0, 5.378), (8.0, 45.0, 6.272), (9.0, -12.0, 4.528),
              (9.5, 22.0, 6.116)]  # fmt: skip


@pytest.mark.parametrize(("width", "offset", "backspace_in"), BACKSPACES)
def test_backspace_of_an_offset_and_back(width: float, offset: float, backspace_in: float) -> None:
    """BS = (W + 1) / 2 + ET / 25.4, the trade rule; three decimals of an inch are 0.013 mm."""
    wheel = wheel_for(15, width, offset_mm=offset)
    assert wheel.backspace_mm / MM_PER_INCH == pytest.approx(backspace_in, abs=0.0006)
    again = wheel_for(15, width, backspace_mm=backspace_in * MM_PER_INCH)
    assert again.offset_mm == pytest.approx(offset, abs=0.0006 * MM_PER_INCH)


def test_backspace_in_millimetres() -> None:
    """7 in ET 35: 136.60 mm; 8 in ET 45: 159.30; 9 in ET -12: 115.00; 9.5 in ET 22: 155.35 (arithmetic)."""
    for width, offset, backspace in ((7, 35, 136.60), (8, 45, 159.30), (9, -12, 115.00), (9.5, 22, 155.35)):
        assert wheel_for(15, width, offset_mm=offset).backspace_mm == pytest.approx(backspace, abs=0.005)


def test_flanges_of_the_standards_least_width_take_1_7_mm_off_the_backspace() -> None:
    """Trade flange 12.7 mm, JIS D 4218:2021 least 11.0 mm."""
    trade, least = (wheel_for(15, 7, offset_mm=0, flange_thickness_mm=flange) for flange in (12.7, 11.0))
    assert trade.backspace_mm - least.backspace_mm == pytest.approx(1.7)


def test_edges_move_with_width_and_offset() -> None:
    """Outer edge by (W2 - W1) 12.7 - (ET2 - ET1), inner by (W2 - W1) 12.7 + (ET2 - ET1): arithmetic."""
    one, other = wheel_for(15, 7, offset_mm=35), wheel_for(15, 8.5, offset_mm=20)
    assert other.frontspace_mm - one.frontspace_mm == pytest.approx(1.5 * 12.7 + 15)
    assert other.backspace_mm - one.backspace_mm == pytest.approx(1.5 * 12.7 - 15)


# studs, circle, centre distances: adjacent, then skipping one (D sin(k pi / n), arithmetic)
CHORDS = [
    (5, 114.3, 67.184, 108.706), (5, 120.65, 70.916, 114.745), (5, 100.0, 58.779, 95.106), (5, 112.0, 65.832, 106.518),
    (5, 127.0, 74.649, None), (6, 139.7, 69.850, None), (8, 165.1, 63.181, None), (4, 100.0, 70.711, 100.0),
]  # fmt: skip


@pytest.mark.parametrize(("studs", "diameter", "adjacent", "skipping"), CHORDS)
def test_chords_of_bolt_circles(studs: int, diameter: float, adjacent: float, skipping: float | None) -> None:
    """Trade tables of stud distances; D sin(k pi / n)."""
    circle = BoltCircle(studs=studs, diameter_mm=diameter)
    assert circle.chord_mm() == pytest.approx(adjacent, abs=5e-4)
    assert from_chord(studs, adjacent).diameter_mm == pytest.approx(diameter, abs=1.5e-3)
    if skipping is not None:
        assert circle.chord_mm(2) == pytest.approx(skipping, abs=5e-4)


# factor on the adjacent centre distance: 1 / sin(pi / n)
@pytest.mark.parametrize(("studs", "factor"), [(3, 1.15470), (4, 1.41421), (5, 1.70130), (6, 2.0), (8, 2.61313)])
def test_factor_from_adjacent_studs(studs: int, factor: float) -> None:
    """Trade factor table; 1 / sin(pi / n)."""
    assert from_chord(studs, 60.0).diameter_mm / 60.0 == pytest.approx(factor, abs=5e-6)


# millimetres = inches as trade tables print them
PATTERNS = [
    (4, 98, 3.86), (4, 100, 3.94), (4, 110, 4.33), (4, 114.3, 4.5), (5, 100, 3.94), (5, 110, 4.33), (5, 112, 4.41),
    (5, 114.3, 4.5), (5, 115, 4.53), (5, 120, 4.72), (5, 120.65, 4.75), (5, 127, 5.0), (5, 130, 5.12), (5, 139.7, 5.5),
    (5, 150, 5.91), (5, 165.1, 6.5), (5, 205, 8.07), (6, 139.7, 5.5), (8, 165.1, 6.5), (8, 170, 6.69),
]  # fmt: skip


@pytest.mark.parametrize(("studs", "mm", "inch"), PATTERNS)
def test_known_patterns_read_alike_in_both_units(studs: int, mm: float, inch: float) -> None:
    """Trade tables; two decimals of an inch are 0.13 mm."""
    written = BoltCircle.parse(f"{studs} x {inch} in")
    assert abs(written.diameter_mm - mm) <= 0.005 * MM_PER_INCH + 1e-9
    assert (studs, mm) in KNOWN


def test_a_tape_from_edge_to_centre() -> None:
    """5 x 4.5 in, 16 mm holes: far edge of one hole to the centre of the next but one is 108.706 + 8."""
    reading = HoleReading(holes=5, on=2, reading_mm=108.706 + 8, hole_diameter_mm=16, start=FAR_EDGE)
    assert circle_from_holes_mm(reading) == pytest.approx(114.3, abs=1e-3)


# turns that make one diameter of engagement
TURNS = [("M12x1.5", 8.0), ("M12x1.25", 9.6), ("M14x1.5", 9.33), ("1/2-20", 10.0), ("7/16-20", 8.75)]


@pytest.mark.parametrize(("thread", "turns"), TURNS)
def test_turns_for_one_diameter_of_thread(thread: str, turns: float) -> None:
    """At least one stud diameter, which trade pages quote as the SAE's advice (common practice): d / pitch."""
    assert Thread.parse(thread).turns == pytest.approx(turns, abs=0.005)


def test_overall_width_is_the_number_plus_one_inch() -> None:
    """Trade rule: lips of about half an inch each."""
    assert wheel_for(15, 7, offset_mm=0).overall_width_mm == pytest.approx(8 * MM_PER_INCH)
    assert math.isclose(wheel_for(15, 7, offset_mm=0, overall_width_mm=200.0).flange_thickness_mm, 11.1)
