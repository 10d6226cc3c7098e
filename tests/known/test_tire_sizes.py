"""Tire dimensions against the outside world: UN R30's formulas worked by hand, makers' sheets, FMVSS rows, tables.

Rows of METRIC are UN R30's arithmetic (S = S1 + 0.4 (A - x S1), d and H rounded, halves up) on the measuring rim; the
formula of S is quoted in 6.1.1.1, the rest is from memory, and the results agree with the handbooks from memory.
"""

from __future__ import annotations

import pytest

from clearance.tire.dimensions import dimensions_for
from clearance.units import MM_PER_INCH

# size, measuring rim (in), S, H, D
METRIC = [
    ("145/80R13", 4.0, 145, 116, 562),
    ("155/70R13", 4.5, 157, 109, 548),
    ("165/70R13", 5.0, 170, 116, 562),
    ("175/70R13", 5.0, 177, 123, 576),
    ("185/60R14", 5.5, 189, 111, 578),
    ("185/65R14", 5.5, 189, 120, 596),
    ("195/60R14", 6.0, 201, 117, 590),
    ("205/60R15", 6.0, 209, 123, 627),
    ("195/65R15", 6.0, 201, 127, 635),
    ("205/65R15", 6.0, 209, 133, 647),
    ("215/75R15", 6.0, 216, 161, 703),
    ("225/75R15", 6.0, 223, 169, 719),
    ("235/75R15", 6.5, 235, 176, 733),
    ("255/60R15", 7.5, 260, 153, 687),
    ("275/60R15", 8.0, 279, 165, 711),
    ("205/55R16", 6.5, 214, 113, 632),
    ("215/65R16", 6.5, 221, 140, 686),
    ("225/50R16", 7.0, 233, 113, 632),
    ("225/55R16", 7.0, 233, 124, 654),
    ("245/70R16", 7.0, 248, 172, 750),
    ("265/75R16", 7.5, 267, 199, 804),
    ("215/45R17", 7.0, 213, 97, 626),
    ("225/45R17", 7.5, 225, 101, 634),
    ("225/50R17", 7.0, 233, 113, 658),
    ("235/45R17", 8.0, 236, 106, 644),
    ("245/45R17", 8.0, 243, 110, 652),
    ("255/40R17", 9.0, 260, 102, 636),
    ("255/45R17", 8.5, 255, 115, 662),
    ("275/40R17", 9.5, 278, 110, 652),
    ("225/40R18", 8.0, 230, 90, 637),
    ("235/40R18", 8.5, 241, 94, 645),
    ("245/40R18", 8.5, 248, 98, 653),
    ("255/35R18", 9.0, 260, 89, 635),
    ("285/35R18", 10.0, 290, 100, 657),
    ("255/35R19", 9.0, 260, 89, 661),
    ("275/35R20", 9.5, 278, 96, 700),
    ("T125/70D16", 4.0, 131, 88, 582),
]


@pytest.mark.parametrize(("size", "rim_in", "section", "height", "overall"), METRIC)
def test_a_metric_size_has_the_dimensions_of_un_r30(
    size: str, rim_in: float, section: int, height: int, overall: int
) -> None:
    """See the module: UN R30 6.1.1.1, 6.1.2, 6.1.2.1."""
    found = dimensions_for(size)
    assert found.measuring_rim_in == rim_in
    assert found.section_width_mm == section
    assert found.section_height_mm == height
    assert found.overall_diameter_mm == overall


def test_rounding_by_r30_differs_from_exact_inches() -> None:
    """225/50R17: R30 rounds 431.8 to 432 and 112.5 to 113, so D is 658; exact inches would give 656.8."""
    exact = 17 * MM_PER_INCH + 2 * 112.5
    assert dimensions_for("225/50R17").overall_diameter_mm - exact == pytest.approx(658 - 656.8)


# Test reports of radials, measured on the rim: section width and overall diameter in inches
MEASURED = [
    ("205/60R15", 8.23, None),
    ("215/75R15", 8.63, 27.62),
    ("225/75R15", 8.95, 28.29),
    ("235/75R15", 9.41, 28.91),
]


@pytest.mark.parametrize(("size", "section_in", "overall_in"), MEASURED)
def test_published_measurements_lie_within_the_tolerance_of_the_formula(
    size: str, section_in: float, overall_in: float | None
) -> None:
    """Section widths and diameters that a tire seller and a test print, against UN R30's limits."""
    found = dimensions_for(size)
    assert section_in * MM_PER_INCH <= found.greatest_width_mm
    if overall_in is not None:
        assert found.least_diameter_mm <= overall_in * MM_PER_INCH <= found.greatest_diameter_mm


def test_205_60r15_measures_exactly_what_the_formula_says() -> None:
    """A published test: 8.23 in (209 mm) on a 6.0 in rim; permitted rims 5.5 to 7.5 in."""
    found = dimensions_for("205/60R15")
    assert round(8.23 * MM_PER_INCH) == found.section_width_mm
    assert found.rims_in == (5.5, 7.5)


# least and greatest diameter, greatest width: 1.04 S, d + 2 H b, d + 2 H 0.97
LIMITS = [
    ("205/55R16", 222.6, 641.0, 625.2),
    ("245/45R17", 252.7, 660.8, 645.4),
    ("195/65R15", 209.0, 645.2, 627.4),
    ("7.60-15", 212.7, 755.7, 717.6),
]


@pytest.mark.parametrize(("size", "width", "most", "least"), LIMITS)
def test_limits_of_a_new_tire_follow_un_r30(size: str, width: float, most: float, least: float) -> None:
    """UN R30 6.1.4.2 and 6.1.5.3 (from memory): 1.04 radial; 1.06 across and b = 1.08 for bias (7.60-15 is 200.66 mm
    wide and 727.96 mm over all).

    The third decimal of the 1.04 S column is dropped in the source (1.04 x 214 = 222.56), hence 0.06; so is 252.72.
    """
    found = dimensions_for(size)
    assert found.greatest_width_mm == pytest.approx(width, abs=0.06)
    assert found.greatest_diameter_mm == pytest.approx(most, abs=0.06)
    assert found.least_diameter_mm == pytest.approx(least, abs=0.06)


# Two makers' light-truck sheets (A/T and M/T pattern): least, measuring, widest rim; diameters and widths in inches
LIGHT_TRUCK = [
    ("LT235/85R16", (6.0, 6.5, 7.5), (31.7, 32.0), (9.3, 9.4)),
    ("LT245/75R16", (6.5, 7.0, 8.0), (30.5, 30.7), (9.8, 9.9)),
    ("LT255/85R16", (6.5, 7.0, 8.0), (33.5,), (10.2,)),
    ("LT265/75R16", (7.0, 7.5, 8.0), (31.8, 31.7), (10.5,)),
    ("LT285/75R16", (7.5, 8.0, 9.0), (33.0, 32.8, 33.1), (11.6, 11.3)),
    ("LT305/70R16", (8.0, 9.0, 9.5), (33.0, 32.8), (12.2,)),
    ("LT315/75R16", (8.0, 8.5, 10.0), (34.9, 34.6), (12.9, 12.3)),
    ("LT385/70R16", (10.0, 11.0, 12.0), (37.7,), (15.6,)),
    ("LT255/75R17", (6.5, 7.0, 8.5), (32.0, 32.3), (10.0,)),
]


@pytest.mark.parametrize(("size", "rims", "overall_in", "section_in"), LIGHT_TRUCK)
def test_light_truck_sheets_agree_with_the_formula_within_its_own_tolerance(
    size: str, rims: tuple[float, float, float], overall_in: tuple[float, ...], section_in: tuple[float, ...]
) -> None:
    """Two tire makers' "Sizes and Specifications" sheets. Diameters lie inside d + 2 H (0.97 .. 1.04). Widths lie
    within the 7 % of 49 CFR 571.139 S6.1 (from memory): one of them, LT315/75R16 at 12.9 in, is 4.7 % over the
    formula, past UN R30's 4 %."""
    found = dimensions_for(size)
    assert (found.rims_in[0], found.measuring_rim_in, found.rims_in[1]) == rims
    for value in overall_in:
        assert found.least_diameter_mm <= value * MM_PER_INCH <= found.greatest_diameter_mm
    for value in section_in:
        assert value * MM_PER_INCH <= 1.07 * found.section_width_mm


def test_rolling_circumference_of_light_truck_sheets() -> None:
    """Turns per mile of two makers: F = 63360 / (turns x diameter) is 3.046 to 3.062; UN R30's 3.05 is among them."""
    rows = [(655, 31.7), (648, 32.0), (682, 30.5), (674, 30.7), (620, 33.5), (651, 31.8), (656, 31.7), (628, 33.0)]
    factors = [63360 / (turns * overall) for turns, overall in rows]
    found = dimensions_for("LT235/85R16")
    factor = found.rolling_mm / found.overall_diameter_mm
    assert min(factors) <= factor <= max(factors)
    assert factor == pytest.approx(3.05)


def test_turns_per_km_of_245_45r17() -> None:
    """3.05 x 652 mm = 1988.6 mm; 502.9 turns per km."""
    found = dimensions_for("245/45R17")
    assert found.rolling_mm == pytest.approx(1988.6)
    assert found.turns_per_km == pytest.approx(502.9, abs=0.05)


# 49 CFR 571.109 appendix A: test rim, section width, least size factor (width + diameter), inches
FMVSS = [
    ("H78-15", 6.0, 8.55, 36.50),
    ("7.60-15", 5.5, 7.90, 36.05),
    ("8.55-15", 6.0, 8.45, 36.57),
]


@pytest.mark.parametrize(("size", "rim_in", "section_in", "factor_in"), FMVSS)
def test_fmvss_109_rows(size: str, rim_in: float, section_in: float, factor_in: float) -> None:
    """49 CFR 571.109 appendix A as the agency's letter aiam2474 prints it: width + diameter reach the size factor."""
    found = dimensions_for(size)
    assert found.measuring_rim_in == rim_in
    assert found.section_width_mm / MM_PER_INCH == pytest.approx(section_in, abs=1e-9)
    # 1e-9 in: the sum of two numbers converted to millimetres and back
    assert (found.section_width_mm + found.overall_diameter_mm) / MM_PER_INCH >= factor_in - 1e-9


# maker's table of millimetre-rim tires: width, diameter, rolling circumference (mm), rims (mm)
MILLIMETRE = [
    ("160/65R315", 163, 531, 1595, (90, 105, 120)),
    ("180/65R390", 185, 633, 1900, (120, 120, 120)),
    ("190/65R390", 199, 648, 1945, (120, 135, 150)),
    ("200/60R390", 206, 640, 1920, (120, 135, 150)),
    ("210/55R390", 219, 631, 1918, (135, 150, 165)),
    ("220/55VR390", 227, 642, 1930, (135, 150, 165)),
    ("240/55R390", 249, 665, 1988, (150, 165, 195)),
    ("240/45R415", 253, 640, 1925, (195, 210, 225)),
    ("280/45R415", 292, 677, 2028, (225, 240, 255)),
]


@pytest.mark.parametrize(("size", "section", "overall", "around", "rims"), MILLIMETRE)
def test_millimetre_rims_come_from_their_table(
    size: str, section: float, overall: float, around: float, rims: tuple[float, float, float]
) -> None:
    """A maker's table, second-hand; the formula of UN R30 gives 8 to 11 mm less diameter, so the table is used."""
    found = dimensions_for(size)
    assert (found.section_width_mm, found.overall_diameter_mm, found.rolling_mm) == (section, overall, around)
    got = (found.rims_in[0], found.measuring_rim_in, found.rims_in[1])
    assert [value * MM_PER_INCH for value in got] == pytest.approx(rims)


def test_a_published_low_section_numeric_size() -> None:
    """6.95-14: 7.0 in wide, 25.3 in over all (trade article)."""
    found = dimensions_for("6.95-14")
    assert found.section_width_mm == pytest.approx(7.0 * MM_PER_INCH)
    assert found.overall_diameter_mm == pytest.approx(25.3 * MM_PER_INCH)


def test_g78_15_and_its_trade_dimensions() -> None:
    """G78-15: 8.4 in wide, 28.0 in over all (trade article)."""
    found = dimensions_for("G78-15")
    assert found.section_width_mm == pytest.approx(8.4 * MM_PER_INCH)
    assert found.overall_diameter_mm == pytest.approx(28.0 * MM_PER_INCH)


def test_half_an_inch_of_rim_is_a_fifth_of_an_inch_of_tire() -> None:
    """The trade's rule, in three articles: 0.2 in (5 mm) of section for 0.5 in of rim; 0.4 x 12.7 = 5.08 mm."""
    found = dimensions_for("245/45R17")
    assert found.width_on(8.5) - found.width_on(8.0) == pytest.approx(0.2 * MM_PER_INCH)
