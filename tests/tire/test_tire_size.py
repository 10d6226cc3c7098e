"""Reading markings: every form, spelling and refusal."""

from __future__ import annotations

import pytest

from clearance.errors import TireError
from clearance.tire.size import BELTED, BIAS, RADIAL, Marking, read

FORMS = [
    ("245/45R17 95W", "metric", 245, 45, 17, RADIAL),
    ("P215/65R15", "metric", 215, 65, 15, RADIAL),
    ("LT235/85R16C", "metric", 235, 85, 16, RADIAL),
    ("ST225/75R15", "metric", 225, 75, 15, RADIAL),
    ("HL245/40R19 101W", "metric", 245, 40, 19, RADIAL),
    ("205/60VR15", "metric", 205, 60, 15, RADIAL),
    ("245/45ZR17", "metric", 245, 45, 17, RADIAL),
    ("225/70R19.5 128/126N", "metric", 225, 70, 19.5, RADIAL),
    ("205/60-15", "metric", 205, 60, 15, BIAS),
    ("205/60B15", "metric", 205, 60, 15, BELTED),
    ("165R13", "bare metric", 165, 82, 13, RADIAL),
    ("185R14C", "bare metric", 185, 82, 14, RADIAL),
    ("165SR13", "bare metric", 165, 82, 13, RADIAL),
    ("31x10.50R15LT", "flotation", 10.5 * 25.4, None, 15, RADIAL),
    ("35x12.50R15LT", "flotation", 12.5 * 25.4, None, 15, RADIAL),
    ("28.0x10.5-15", "flotation", 10.5 * 25.4, None, 15, BIAS),
    ("7.50-16", "numeric", 7.5 * 25.4, None, 16, BIAS),
    ("6.70-15", "numeric", 6.7 * 25.4, None, 15, BIAS),
    ("10.00-15", "numeric", 254, None, 15, BIAS),
    ("7.00R16", "numeric", 7 * 25.4, None, 16, RADIAL),
    ("E70-14", "letter", None, 70, 14, BIAS),
    ("ER70-14", "letter", None, 70, 14, RADIAL),
    ("T125/70D16", "temporary spare", 125, 70, 16, BIAS),
    ("T135/90D15", "temporary spare", 135, 90, 15, BIAS),
    ("190/65R390", "millimetre rim", 190, 65, 390 / 25.4, RADIAL),
    ("220/55VR390", "millimetre rim", 220, 55, 390 / 25.4, RADIAL),
    ("11R22.5", "commercial inch", 11 * 25.4, None, 22.5, RADIAL),
]


@pytest.mark.parametrize(("text", "form", "width", "aspect", "rim", "construction"), FORMS)
def test_every_form_is_read(
    text: str, form: str, width: float | None, aspect: float | None, rim: float, construction: str
) -> None:
    marking = read(text)
    assert marking.form == form
    assert marking.width_mm == (None if width is None else pytest.approx(width))
    assert marking.aspect == aspect
    assert marking.rim_in == pytest.approx(rim)
    assert marking.construction == construction


@pytest.mark.parametrize("text", [row[0] for row in FORMS])
def test_spaces_and_capitals_do_not_matter(text: str) -> None:
    loose = text.lower().replace("/", " / ").replace("x", " \u00d7 ")
    same = read(f"  {loose} ")
    assert _bare(same) == _bare(read(text))


# as people type them, and the marking that is meant; two radial car sizes with a hyphen or nothing for R: no bias tire
# is made so low (common practice)
SPELLINGS = [
    ("245/45 R17", "245/45R17"),
    ("p245/45zr17", "P245/45ZR17"),
    ("P 245 / 45 ZR 17", "P245/45ZR17"),
    ("245/45/17", "245/45R17"),
    ("245 45 17", "245/45R17"),
    ("245-45R17", "245/45R17"),
    ("245.45.17", "245/45R17"),
    ("24545R17", "245/45R17"),
    ("2454517", "245/45R17"),
    ("245/45R-17", "245/45R17"),
    ('245/45R17"', "245/45R17"),
    ("245\\45R17", "245/45R17"),
    ("245\u204445R17", "245/45R17"),
    ("\uff12\uff14\uff15/45R17", "245/45R17"),
    ("235/75 r 15 in", "235/75R15"),
    ("295/80 R 22,5", "295/80R22.5"),
    ("10.00 R 20", "10.00R20"),
    ("10,00-20", "10.00-20"),
    ("1000-20", "10.00-20"),
    ("1200R24", "12.00R24"),
    ("9.00x16", "9.00-16"),
    ("9.00 \u00d7 16", "9.00-16"),
    ("750-16", "7.50-16"),
    ("700 x 16", "7.00-16"),
    ("7.50 16", "7.50-16"),
    ("6.50/16", "6.50-16"),
    ("11.00R22.5", "11R22.5"),
    ("31 x 10.50 r 15 lt", "31x10.50R15LT"),
    ("31x1050R15LT", "31x10.50R15LT"),
    ("31/10.50-15LT", "31x10.50-15LT"),
    ("LT31x10.50-15", "LT31x10.50-15"),
    ("e70x14", "E70-14"),
    ("FR70 14", "FR70-14"),
    ("E70R14", "ER70-14"),
    ("190/65 HR 390", "190/65HR390"),
]


@pytest.mark.parametrize(("typed", "meant"), SPELLINGS)
def test_what_can_be_read_in_one_way_only_is_read(typed: str, meant: str) -> None:
    assert read(typed).text == meant
    assert _bare(read(typed)) == _bare(read(meant))


def test_a_hyphen_in_a_low_metric_size_is_no_bias_tire() -> None:
    """Bias car tires under 60 series are not made (common practice); 205/60-15 was."""
    assert read("245/45-17").construction == RADIAL
    assert read("205/60-15").construction == BIAS


def test_of_two_widths_for_one_tire_the_wider_counts() -> None:
    assert read("4.80/4.00-8").width_mm == pytest.approx(4.80 * 25.4)
    assert read("4.40/4.50-21").width_mm == pytest.approx(4.50 * 25.4)


def test_words_for_use_off_the_road_are_kept() -> None:
    assert read("14.00R20 MPT").special_use
    assert read("33x12.50R15LT POR").special_use
    assert not read("14.00R20").special_use


def _bare(marking: Marking) -> tuple[object, ...]:
    return (marking.form, marking.width_mm, marking.aspect, marking.rim_in, marking.construction, marking.overall_mm)


def test_what_stands_behind_the_size() -> None:
    van = read("195/70R15C 104/102R")
    assert (van.commercial, van.load_index, van.load_index_dual, van.speed) == (True, 104, 102, "R")
    assert (van.load_kg, van.load_dual_kg, van.speed_kmh) == (900, 850, 170)
    fast = read("245/45ZR17 (99Y) XL")
    assert (fast.extra_load, fast.speed, fast.speed_kmh) == (True, "Y", 300)
    assert read("245/45ZR17").speed_kmh is None
    assert read("P215/65R15XL 95H").load_index == 95
    assert read("245/45R17 99W REINFORCED M+S").extra_load


def test_c_means_commercial_on_metric_and_load_range_on_lt() -> None:
    assert read("195/70R15C").load_range is None
    assert read("LT235/85R16C").load_range == "C"
    assert read("LT285/75R16/E").load_range == "E"
    assert read("7.50-16LT 8PR").load_range == "8PR"
    assert all(read(t).commercial for t in ("195/70R15C", "LT235/85R16", "31x10.50R15LT", "11R22.5"))
    assert not read("245/45R17").commercial


REFUSED = [
    ("", "empty"),
    ("nonsense", "245/45R17"),
    ("245/45", "rim code"),
    ("205 75 15", '"205/75R15", radial, or "205/75-15", bias'),
    ("7x15", 'a wheel 7 in wide for 15 in tires, or a tire, "7R15" or "7-15"'),
    ("8.25x22.5", "a wheel 8.25 in wide for 22.5 in tires"),
    ("245/45/1", "rim code"),
    ("31x10.5", "rim code"),
    ("245/45R71", "rim 71 in is not made"),
    ("245/15R17", "aspect 15 %"),
    ("95/45R17", "width 95 mm"),
    ("245/45R17 300W", "load index 300"),
    ("245/45R17 Somename", "SOMENAME"),
]


@pytest.mark.parametrize(("text", "said"), REFUSED)
def test_a_broken_marking_is_refused_with_what_was_understood(text: str, said: str) -> None:
    with pytest.raises(TireError) as refusal:
        read(text)
    assert said in str(refusal.value)


@pytest.mark.parametrize("text", ["245/45", "245-45", "245/45 mm 17", "245/45R17 Somename", "245/45R71"])
def test_a_half_broken_marking_shows_the_half_that_was_read(text: str) -> None:
    with pytest.raises(TireError, match=r"[Uu]nderstood.*245 mm.*45 %"):
        read(text)
