"""Lengths, angles, masses and speeds against NIST Special Publication 811 (2008), appendix B.8, from memory: 1 in is
25.4 mm, 1 ft 304.8 mm, 1 lb (avoirdupois) 0.453 592 37 kg, 1 mi 1609.344 m, 1 rad 57.295 78 degrees."""

from __future__ import annotations

import math

import pytest

from clearance.errors import UnitError
from clearance.units import (
    MESH_UNITS,
    MOST_DEG,
    MOST_DIGITS,
    MOST_LETTERS,
    MOST_MM,
    SAME_RIM_IN,
    angle_deg,
    both,
    circle_text,
    inch_text,
    inches,
    led_by,
    length_mm,
    mass_kg,
    parted,
    share_of,
    speed_kmh,
    unit_first,
)

MM = {
    1.0: ("mm", "millimetre", "millimetres", "millimeter", "millimeters", "MM", "mm."),
    10.0: ("cm",),
    1000.0: ("m", "metre", "metres", "meter", "meters"),
    25.4: ("in", "inch", "inches", '"', "\u2033", "\u201d", "in."),
    304.8: ("ft", "foot", "feet", "ft."),
}


@pytest.mark.parametrize(("mm", "unit"), [(mm, unit) for mm, units in MM.items() for unit in units])
def test_a_length_in_every_unit_is_its_factor(mm, unit):
    assert length_mm(f"3 {unit}") == pytest.approx(3 * mm, rel=1e-15)
    assert length_mm(f"-3{unit}") == pytest.approx(-3 * mm, rel=1e-15)


@pytest.mark.parametrize("unit", ["deg", "degree", "degrees", "\u00b0"])
def test_an_angle_in_degrees_is_itself(unit):
    assert angle_deg(f"33.5 {unit}") == 33.5


def test_a_radian_is_its_share_of_half_a_turn():
    assert angle_deg("1 rad") == pytest.approx(57.29578, abs=5e-6)
    assert angle_deg(f"{math.pi / 6:.15f} rad") == pytest.approx(30.0, abs=1e-12)


def test_masses_speeds_and_shares():
    assert mass_kg("1 kg") == 1.0
    assert mass_kg("1000 lb") == mass_kg("1000 lbs") == pytest.approx(453.59237, rel=1e-15)
    assert speed_kmh("100 km/h") == speed_kmh("100 kph") == 100.0
    assert speed_kmh("100 mph") == pytest.approx(160.9344, rel=1e-15)
    assert share_of("25 %") == 0.25
    assert share_of("-.5%") == -0.005


@pytest.mark.parametrize(
    ("text", "inch"),
    [
        ("4 3/4", 4.75), ("4-3/4", 4.75), ("+4 3/4", 4.75), ("-4 3/4", -4.75), ("3/4", 0.75), ("-3/8", -0.375),
        ("4.", 4.0), (".75", 0.75), ("4.75", 4.75), ("0", 0.0), ("10  1/2", 10.5), ("1 7 / 8", 1.875),
    ],
)  # fmt: skip
def test_a_number_as_it_is_read_off_a_tape(text, inch):
    assert length_mm(f"{text} in") == pytest.approx(inch * 25.4, rel=1e-15)
    assert length_mm(f"  {text}in ") == pytest.approx(inch * 25.4, rel=1e-15)


@pytest.mark.parametrize("text", ["4/0 in", "1 4/0 in", "0/0 in"])
def test_a_division_by_zero_is_refused(text):
    with pytest.raises(UnitError, match="divides by zero"):
        length_mm(text)


def test_a_bare_number_is_refused_with_both_ways_to_write_it():
    for bare in (12, 12.5, "12", "12.5"):
        with pytest.raises(UnitError) as refused:
            length_mm(bare)
        shown = str(bare)
        assert f'has no unit. Write "{shown} mm" or "{shown} in".' in str(refused.value)
    with pytest.raises(UnitError, match='Write "3 deg" or "3 rad"'):
        angle_deg(3)


@pytest.mark.parametrize("nothing", [True, False, None, [1], "", "wide", "mm 12", "four in", "--4 in"])
def test_what_is_no_length_is_refused_with_an_example(nothing):
    with pytest.raises(UnitError, match=r'is not a length\. Write "120 mm" or "4 3/4 in"\.'):
        length_mm(nothing)
    with pytest.raises(UnitError, match=r'is not an angle\. Write "33 deg"\.'):
        angle_deg(nothing)


def test_an_unknown_unit_is_refused_with_the_short_names_of_those_known():
    with pytest.raises(UnitError, match=r"not known for a length\. Use one of cm, ft, in, m, mm\.$"):
        length_mm("3 furlong")
    with pytest.raises(UnitError, match=r"Use one of deg, rad\.$"):
        angle_deg("3 mm")


@pytest.mark.parametrize("read", [mass_kg, speed_kmh, share_of])
@pytest.mark.parametrize("nothing", [True, 5, None, "5", "5 in", "kg", "5 5 kg", "1/2 kg", "km/h", "%"])
def test_what_is_no_mass_speed_or_share_is_refused_with_an_example(read, nothing):
    with pytest.raises(UnitError, match=r"is not a (mass|speed|percentage)\. Write "):
        read(nothing)


def test_the_longest_and_widest_that_are_taken():
    """A hundred metres and a whole turn are; a hair more is not. So it is either way round."""
    assert MOST_MM == length_mm("100 m") == -length_mm("-100 m")
    assert MOST_DEG == angle_deg("360 deg") == -angle_deg("-360 deg")
    for text in ("100.001 m", "-100.001 m"):
        with pytest.raises(UnitError, match="is more than 100 m"):
            length_mm(text)
    for text in ("360.001 deg", "-360.001 deg"):
        with pytest.raises(UnitError, match="is more than 360 deg"):
            angle_deg(text)
    assert length_mm("5 mm", most_mm=5.0) == 5.0
    assert length_mm("1000 m", most_mm=math.inf) == 1e6
    with pytest.raises(UnitError, match=r"is more than 0\.005 m"):
        length_mm("5.1 mm", most_mm=5.0)
    with pytest.raises(UnitError, match="is more than 5 deg"):
        angle_deg("5.1 deg", most_deg=5.0)


def test_the_longest_text_that_is_read():
    """Sixty letters of a length, twelve digits of a mass: nothing longer was read off anything."""
    assert (MOST_LETTERS, MOST_DIGITS) == (60, 12)
    assert length_mm("0" * 56 + "5 mm") == 50 / 10
    with pytest.raises(UnitError, match="too large to be a length"):
        length_mm("0" * 57 + "5 mm")
    assert mass_kg("0" * 11 + "5 kg") == 5.0
    with pytest.raises(UnitError, match="too large to be a mass"):
        mass_kg("0" * 12 + "5 kg")


@pytest.mark.parametrize("sixteenths", range(-40, 41))
def test_an_inch_text_says_the_sixteenth_and_is_read_back(sixteenths):
    mm = sixteenths * 25.4 / 16
    assert length_mm(inch_text(mm)) == pytest.approx(mm, abs=1e-12)
    # what rounds to nothing has no sign
    assert inch_text(0.2 * math.copysign(1.0, sixteenths)) == "under 1/16 in"


def test_inch_texts_as_a_tape_shows_them():
    assert [inch_text(mm) for mm in (25.4, 12.7, 0.0, -25.4, -31.75, 304.8)] == [
        "1 in", "1/2 in", "0 in", "-1 in", "-1 1/4 in", "12 in",
    ]  # fmt: skip
    # the nearest sixteenth to so little is one, or none
    assert [inch_text(mm) for mm in (-0.9, 0.9, -0.7)] == ["-1/16 in", "1/16 in", "under 1/16 in"]
    assert inch_text(25.4 / 8 + 25.4, denominator=8) == "1 1/8 in"
    assert inch_text(25.4 / 32, denominator=32) == "1/32 in"
    assert inches(508.0) == pytest.approx(20.0, rel=1e-15)


def test_both_says_millimetres_and_inches_and_never_minus_nothing():
    assert both(-6.35) in ("-6.3 mm (-1/4 in)", "-6.4 mm (-1/4 in)")
    assert both(-0.01) == "0.0 mm (0 in)"
    assert both(25.4, digits=2) == "25.40 mm (1 in)"
    assert both(25.4, digits=0) == "25 mm (1 in)"


def test_a_number_and_its_unit_part_where_the_letters_begin():
    assert parted(" 4-3/4 in ") == ("4-3/4", "in")
    assert parted("+12.5mm") == ("+12.5", "mm")
    assert parted("wide") == ("", "wide")
    assert parted("4\nin") == ("4", "in")


def test_rim_codes_come_in_quarters_and_half_the_way_between_two_is_no_slip():
    """Two codes a quarter apart are never one; 381 mm, read as 15.0 in, is."""
    assert inches(381.0) == pytest.approx(15.0, abs=SAME_RIM_IN)
    assert 0.0 < SAME_RIM_IN < 0.125


FRACTIONS = {"\u00bc": 1 / 4, "\u00bd": 1 / 2, "\u00be": 3 / 4, "\u2153": 1 / 3, "\u2154": 2 / 3}
FRACTIONS |= {"\u215b": 1 / 8, "\u215c": 3 / 8, "\u215d": 5 / 8, "\u215e": 7 / 8}


@pytest.mark.parametrize("sign", FRACTIONS)
def test_a_fraction_as_one_sign_is_worth_what_it_shows(sign):
    assert length_mm(f"{sign} in") == pytest.approx(25.4 * FRACTIONS[sign], rel=1e-15)
    assert length_mm(f"4{sign} in") == pytest.approx(25.4 * (4 + FRACTIONS[sign]), rel=1e-15)


def test_a_comma_is_a_decimal_point_where_it_cannot_be_a_thousand():
    for text, mm in (("4,5 mm", 4.5), ("-4,25mm", -4.25), ("0,125 mm", 0.125), ("1,2345 mm", 1.2345)):
        assert length_mm(text) == mm
    for text in ("1,250 mm", "-4,125 in"):
        with pytest.raises(UnitError, match="can be read in two ways") as refused:
            length_mm(text)
        assert f'"{text.replace(",", ".")}" or "{text.replace(",", "")}"' in str(refused.value)


def test_a_bolt_circle_is_in_inches_up_to_fourteen_and_in_millimetres_from_seventy_to_three_hundred_and_fifty():
    for text, meant in (("3", "3 in"), ("14", "14 in"), ("70", "70 mm"), ("350", "350 mm"), ("4,5", "4.5 in")):
        assert circle_text(text) == meant
    for text in ("2.9", "14.1", "69.9", "350.1"):
        with pytest.raises(UnitError, match="no bolt circle in either unit"):
            circle_text(text)
    assert (circle_text("100 cm"), circle_text("wide")) == ("100 cm", "wide")


def test_a_mesh_file_may_be_in_five_units():
    assert MESH_UNITS == {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}


def test_a_page_is_led_by_inches_where_asked():
    pair = "gap 25.4 mm (1 in), 40 mm droop, offset 40 mm"
    assert led_by(pair, "mm") == pair
    turned = "gap 1 in (25.4 mm), 1 9/16 in droop, offset 40 mm"
    assert led_by(pair, "in") == led_by(turned, "in") == turned
    assert (unit_first("mm"), unit_first("in")) == ("mm", "in")
    with pytest.raises(UnitError, match="cannot stand first"):
        unit_first("cm")
