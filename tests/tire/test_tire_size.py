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
    ("245/45/17", "245/45R17"),
    ("24545R17", "slash"),
    ("245-45R17", "slash"),
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


@pytest.mark.parametrize("text", ["245/45", "245/45/17", "24545R17", "245/45R17 Somename", "245/45R71"])
def test_a_half_broken_marking_shows_the_half_that_was_read(text: str) -> None:
    with pytest.raises(TireError, match=r"[Uu]nderstood.*245 mm.*45 %"):
        read(text)
