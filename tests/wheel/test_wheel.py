"""Wheels from their numbers: what agrees, what is refused, what is assumed and said."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clearance.errors import WheelError
from clearance.wheel.bolt_circle import BoltCircle, from_chord, nearest_known, traps
from clearance.wheel.fasteners import Thread
from clearance.wheel.rim import wheel_for

widths = st.floats(3, 14)
offsets = st.floats(-130, 130)
"""A hub that lies further from the rim than its width is refused."""


@given(width=widths, offset=offsets, flange=st.floats(8, 20))
def test_backspace_and_offset_are_one_thing(width: float, offset: float, flange: float) -> None:
    wheel = wheel_for(16, width, offset_mm=offset, flange_thickness_mm=flange)
    again = wheel_for(16, width, backspace_mm=wheel.backspace_mm, flange_thickness_mm=flange)
    assert again.offset_mm == pytest.approx(offset, abs=1e-9)
    assert wheel.backspace_mm + wheel.frontspace_mm == pytest.approx(wheel.overall_width_mm)
    assert wheel.with_backspace(100.0).backspace_mm == pytest.approx(100.0)


def test_offset_and_backspace_together_must_agree_to_a_millimetre() -> None:
    assert wheel_for(15, 8, offset_mm=0.4, backspace_mm=114.3).backspace_mm == pytest.approx(114.3)
    with pytest.raises(WheelError, match=r"is an offset of 0\.0 mm; found 6 mm") as refused:
        wheel_for(15, 8, offset_mm=6.0, backspace_mm=114.3)
    assert refused.value.key == "offset"


def test_one_of_them_is_needed() -> None:
    with pytest.raises(WheelError, match="backspace") as refused:
        wheel_for(15, 8)
    assert refused.value.key == "backspace"


def test_a_backspace_in_the_wrong_unit_is_refused() -> None:
    with pytest.raises(WheelError, match="Check the number and its unit"):
        wheel_for(15, 8, backspace_mm=4.5 * 1000)


def test_a_given_flange_height_beats_the_contour_s() -> None:
    """B contours of 10, 12 and 13 in have 14.5 mm, J ones 17.5 mm: JIS D 4218:2021 table 3."""
    assert [wheel_for(code, 5, offset_mm=0).flange_height_mm for code in (12, 13, 14)] == [14.5, 14.5, 17.5]
    wheel = wheel_for(13, 5, offset_mm=0, flange_height_mm=16.0)
    assert (wheel.flange_height_mm, wheel.sources["flange_height"]) == (16.0, "measured")


def test_a_measured_overall_width_sets_the_flanges() -> None:
    wheel = wheel_for(15, 7, backspace_mm=95, overall_width_mm=200.0)
    assert wheel.overall_width_mm == pytest.approx(200.0)
    assert wheel.sources["flange_thickness"] == "overall width as measured"
    with pytest.raises(WheelError, match="over both flanges"):
        wheel_for(15, 7, backspace_mm=95, overall_width_mm=7 * 25.4)


def test_what_was_not_measured_is_said_to_be_assumed() -> None:
    sources = wheel_for(15, 7, backspace_mm=95).sources
    assert "assumed" in sources["barrel_inner_diameter"]
    assert "common practice" in sources["flange_thickness"]
    assert "JIS D 4218" in sources["flange_height"]
    assert (
        wheel_for(15, 7, backspace_mm=95, barrel_inner_diameter_mm=345).sources["barrel_inner_diameter"] == "measured"
    )


BAD = [
    ({"diameter_in": 150}, "rim diameter"),
    ({"width_in": 178}, "rim width"),
    ({"barrel_inner_diameter_mm": 400.0}, "barrel"),
    ({"center_bore_mm": 350.0}, "center bore"),
    ({"face_mm": -5.0}, "face"),
    ({"flange_thickness_mm": 0.0}, "flange"),
    ({"offset_mm": float("nan")}, "offset"),
]


@pytest.mark.parametrize(("wrong", "said"), BAD)
def test_a_wheel_that_cannot_be_is_refused(wrong: dict[str, float], said: str) -> None:
    given_numbers: dict[str, float] = {"diameter_in": 15, "width_in": 7, "offset_mm": 0.0, **wrong}
    with pytest.raises(WheelError, match=said):
        wheel_for(given_numbers.pop("diameter_in"), given_numbers.pop("width_in"), **given_numbers)  # type: ignore[arg-type]


@given(studs=st.integers(3, 10), diameter=st.floats(90, 220), data=st.data())
def test_a_circle_comes_back_from_any_chord(studs: int, diameter: float, data: st.DataObject) -> None:
    on = data.draw(st.integers(1, studs // 2))
    circle = BoltCircle(studs=studs, diameter_mm=diameter)
    assert from_chord(studs, circle.chord_mm(on), on).diameter_mm == pytest.approx(diameter)


@pytest.mark.parametrize(
    "text", ["5 x 4.5 in", "5x4.5in", '5 x 4 1/2"', "5x114.3 mm", "5 \u00d7 114.3 mm", "5 on 4.5 in"]
)
def test_a_bolt_circle_in_any_spelling(text: str) -> None:
    circle = BoltCircle.parse(text)
    assert (circle.studs, circle.diameter_mm) == (5, pytest.approx(114.3))


@pytest.mark.parametrize("text", ["5x114.3", "114.3 mm", "", "5 x", "2 x 100 mm", "5 x 20 mm"])
def test_a_bolt_circle_that_is_none(text: str) -> None:
    with pytest.raises(WheelError):
        BoltCircle.parse(text)


def test_traps_are_named() -> None:
    """Trade tables: 5 x 120 and 5 x 120.65, 5 x 114.3 and 5 x 115 look alike and do not interchange."""
    assert [str(c) for c in traps(BoltCircle(studs=5, diameter_mm=120.65))] == ["5 x 120 mm"]
    assert [str(c) for c in traps(BoltCircle(studs=5, diameter_mm=114.3))] == ["5 x 115 mm"]
    wheel = wheel_for(15, 7, offset_mm=0, bolt_circle=BoltCircle(studs=5, diameter_mm=120.0))
    assert "do not interchange" in wheel.warnings[0]
    assert not wheel_for(15, 7, offset_mm=0, bolt_circle=BoltCircle(studs=5, diameter_mm=130.0)).warnings


def test_a_measured_circle_finds_its_nearest_neighbour() -> None:
    assert str(nearest_known(BoltCircle(studs=5, diameter_mm=114.0))) == "5 x 114.3 mm"
    assert nearest_known(BoltCircle(studs=5, diameter_mm=180.0)) is None


def test_threads_are_read_and_compared() -> None:
    for name in ("M12x1.25", "M12x1.5", "M12x1.75", "M14x1.5", "M14x2", "7/16-20", "1/2-20", "9/16-18"):
        assert str(Thread.parse(name)) == name
    assert Thread.parse("m12 X 1.50") == Thread.parse("M12x1.5")
    assert Thread.parse("1/2 - 20") == Thread.parse('1/2"-20')
    assert Thread.parse("M12x1.5") != Thread.parse("M12x1.25")
    assert Thread.parse("1/2-20").diameter_mm == pytest.approx(12.7)
    assert Thread.parse("M12x1.5").engaged_mm(8) == pytest.approx(12.0)


@pytest.mark.parametrize("text", ["M12", "12x1.5", "1/0-20", "M120x1.5", "bolt"])
def test_a_thread_that_is_none(text: str) -> None:
    with pytest.raises(WheelError, match=r"M12x1\.5"):
        Thread.parse(text)
