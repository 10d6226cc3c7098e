"""Measured beats marked; growth, chains and the rim used; traced sections."""

from __future__ import annotations

import numpy as np
import pytest

from clearance.errors import TireError
from clearance.tire.dimensions import dimensions_for
from clearance.tire.mounted import Tape, tire_for
from clearance.tire.tables import LT_RIMS_IN, RIMS_IN, published_rows, recalled_rows
from clearance.tire.traced import overall_diameter_of, section_width_of, whole_section

HALF = np.array([(0, 335), (60, 333), (85, 325), (100, 300), (112, 265), (108, 235), (96, 205), (90, 192)], dtype=float)
WHOLE = np.concatenate([HALF[::-1] * [-1, 1], HALF[1:]])


def test_measured_beats_marked_and_the_sources_say_so() -> None:
    tire = tire_for("235/75R15", rim_width_in=7, tape=Tape(overall_diameter_mm=728.0, measured=True))
    assert tire.overall_diameter_mm == 728.0
    assert tire.sources["overall_diameter"] == "measured"
    assert tire.section_width_mm == pytest.approx(235 + 0.4 * 12.7)
    assert "UN R30" in tire.sources["section_width"]
    assert "7 in rim" in tire.sources["section_width"]


def test_a_width_measured_on_another_rim_is_carried_over() -> None:
    """Trade rule: 0.2 in of section for 0.5 in of rim."""
    tire = tire_for("235/75R15", rim_width_in=7, tape=Tape(section_width_mm=239.0, measured_on_in=6.5, measured=True))
    assert tire.section_width_mm == pytest.approx(239 + 5.08)
    assert "measured on 6.5 in" in tire.sources["section_width"]


def test_dimensions_alone_are_enough() -> None:
    tape = Tape(overall_diameter_mm=700.0, section_width_mm=230.0, tread_width_mm=180.0)
    tire = tire_for(rim_diameter_in=15, tape=tape)
    assert (tire.marking, tire.overall_diameter_mm, tire.section_width_mm) == (None, 700.0, 230.0)


@pytest.mark.parametrize(
    ("tape", "said"),
    [(Tape(), "section width is not known"), (Tape(section_width_mm=230.0), "overall diameter is not known")],
)
def test_half_of_the_dimensions_are_not(tape: Tape, said: str) -> None:
    with pytest.raises(TireError, match=said):
        tire_for(rim_diameter_in=15, tape=tape)


def test_an_unknown_letter_size_is_refused_unless_measured() -> None:
    with pytest.raises(TireError, match="letter gives a load"):
        tire_for("E40-18")
    tire = tire_for("E40-18", tape=Tape(overall_diameter_mm=640.0, section_width_mm=235.0))
    assert (tire.marking, tire.rim_diameter_in) == ("E40-18", 18)


def test_a_measured_dimension_far_from_the_marking_warns() -> None:
    tire = tire_for("235/75R15", tape=Tape(overall_diameter_mm=633.0))
    assert any("check the tape and the unit" in text for text in tire.warnings)
    assert not tire_for("235/75R15", tape=Tape(overall_diameter_mm=731.0)).warnings


def test_a_rim_outside_the_permitted_ones_warns() -> None:
    assert not tire_for("245/45R17", rim_width_in=9.0).warnings
    assert any("7.5 to 9 in" in text for text in tire_for("245/45R17", rim_width_in=10.0).warnings)


def test_growth_in_service_is_that_of_the_standard() -> None:
    """UN R30 / ISO 4000-1 (from memory): width x 1.04, height x 1.04; 245/45R17: 4 % of 243 and 2 x 4 % of 110."""
    tire = tire_for("245/45R17", rim_width_in=8, growth="in-service")
    assert tire.full_width_mm == pytest.approx(1.04 * 243)
    assert tire.full_diameter_mm == pytest.approx(660.8)
    bias = tire_for("7.60-15", rim_width_in=5.5, growth="in-service")
    assert bias.full_width_mm == pytest.approx(1.06 * 7.90 * 25.4, abs=0.01)
    assert bias.full_diameter_mm == pytest.approx(381 + 1.08 * (28.66 * 25.4 - 381), abs=0.01)
    stated = tire_for("245/45R17", rim_width_in=8, growth=(4.0, 8.0))
    assert (stated.full_width_mm, stated.full_diameter_mm) == (247.0, 660.0)


def test_chain_room_by_class_is_that_of_sae_j1232() -> None:
    """SAE J1232 class S, second-hand: 37 mm over the tread, 15 mm over each side wall."""
    tire = tire_for("245/45R17", rim_width_in=8, chains="S")
    assert tire.full_width_mm == pytest.approx(243 + 30)
    assert tire.full_diameter_mm == pytest.approx(652 + 74)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [({"growth": "lots"}, "in-service"), ({"chains": "X"}, "S, U or W"), ({"shape": "oval"}, "road")],
)
def test_unknown_words_are_refused_with_the_known_ones(wrong: dict[str, str], said: str) -> None:
    with pytest.raises(TireError, match=said):
        tire_for("245/45R17", **wrong)  # type: ignore[arg-type]


# what the marking's own standard lets width and section height grow by: UN R30, UN R54 (from memory); 49 CFR 571.139
GROWTH = [
    ("245/45R17", 1.04, 1.04),
    ("205/60-15", 1.06, 1.08),
    ("195/70R15C", 1.04, 1.04),
    ("225/70R19.5", 1.04, 1.04),
    ("7.50-16C", 1.08, 1.07),
    ("9.00-16", 1.08, 1.08),
    ("7.60-15", 1.06, 1.08),
    ("14.00R20 MPT", 1.04, 1.06),
    ("11-22.5", 1.08, 1.07),
    ("P235/75R15", 1.07, 1.04),
    ("LT235/85R16", 1.07, 1.04),
    ("31x10.50R15LT", 1.07, 1.04),
    ("F70-14", 1.07, 1.08),
    ("T125/70D16", 1.07, 1.08),
]


@pytest.mark.parametrize(("size", "width", "height"), GROWTH)
def test_growth_in_service_is_that_of_the_markings_own_standard(size: str, width: float, height: float) -> None:
    new, grown = tire_for(size), tire_for(size, growth="in-service")
    d_mm = dimensions_for(size).rim_diameter_mm
    assert grown.full_width_mm == pytest.approx(width * new.section_width_mm)
    assert grown.full_diameter_mm == pytest.approx(d_mm + height * (new.overall_diameter_mm - d_mm))
    assert ("R54" in grown.sources["growth"]) == (size in R54_SIZES)


R54_SIZES = (
    "195/70R15C",
    "225/70R19.5",
    "7.50-16C",
    "9.00-16",
    "14.00R20 MPT",
    "11-22.5",
    "LT235/85R16",
    "31x10.50R15LT",
)


# ---- stated dimensions that the marking forbids


def asked(size: str, rim_in: float, **tape: float) -> str:
    return " | ".join(tire_for(size, rim_width_in=rim_in, tape=Tape(**tape)).warnings)


def test_a_stated_size_that_the_marking_forbids_is_named_with_what_would_mean_it() -> None:
    """26.7 in for 245/45R17: d + 2 H 1.04 = 660.8 mm (26.0 in) is the most; 245/50R17 is 432 + 2 x 123 = 678 mm."""
    said = asked("245/45R17", 8, overall_diameter_mm=26.7 * 25.4)
    assert "stated overall diameter of 678.2 mm" in said
    assert "means 652.0 mm" in said
    assert "645.4 mm" in said
    assert "660.8 mm (26 in)" in said
    assert "245/50R17 (678 mm)" in said
    assert "Nor can growth in service explain it" in said


def test_a_size_just_over_the_limit_is_asked_about_less_sharply() -> None:
    said = asked("245/45R17", 8, overall_diameter_mm=663.0)
    assert "660.8 mm" in said
    assert "Nor can" not in said
    assert not asked("245/45R17", 8, overall_diameter_mm=660.7)
    assert not asked("245/45R17", 8, overall_diameter_mm=645.5)


def test_a_worn_tire_is_told_from_a_wrong_one() -> None:
    assert "A worn tread is smaller" in asked("245/45R17", 8, overall_diameter_mm=640.0)
    assert "Nor can wear explain it" in asked("245/45R17", 8, overall_diameter_mm=600.0)


def test_a_stated_section_is_compared_as_the_marking_stands_on_the_rim_used() -> None:
    """245/70R16 is 248 mm on 7 in and 248 + 0.4 x 38.1 = 263.2 mm on 8.5 in: 268 mm is 1.8 % more, not 8 %."""
    assert dimensions_for("245/70R16").width_on(8.5) == pytest.approx(263.24)
    assert "section width" not in asked("245/70R16", 8.5, section_width_mm=268.0)
    assert "at most 257.9 mm" in asked("245/70R16", 7, section_width_mm=268.0)


def test_a_section_measured_on_another_rim_is_compared_on_that_rim() -> None:
    """263.2 x 1.04 = 273.8 mm on 8.5 in, 257.9 mm on 7 in: where it was measured decides, not where it will go."""
    assert "section width" not in asked("245/70R16", 7, section_width_mm=268.0, measured_on_in=8.5)
    assert "on a rim of 7 in" in asked("245/70R16", 8.5, section_width_mm=268.0, measured_on_in=7.0)


def test_a_narrow_section_is_asked_about_though_no_standard_forbids_it() -> None:
    said = asked("245/45R17", 8, section_width_mm=215.0)
    assert "no standard has a least width" in said
    assert "worn" not in said


def test_a_stated_dimension_of_a_size_that_is_only_bounded_is_asked_about_beyond_the_bound() -> None:
    assert "overall diameter of 1150.0 mm" in asked("10.00-20", 7.5, overall_diameter_mm=1150.0, section_width_mm=278.0)
    assert not asked("10.00-20", 7.5, overall_diameter_mm=1050.0, section_width_mm=278.0)
    assert "overall diameter of 850.0 mm" in asked("10.00-20", 7.5, overall_diameter_mm=850.0, section_width_mm=278.0)


def test_a_bounded_dimension_in_use_is_said_once_and_not_when_it_was_measured() -> None:
    assert "overall diameter and its section width are in no table" in asked("9.00-16", 6.5)
    assert "its section width is in no table" in asked("9.00-16", 6.5, overall_diameter_mm=890.0)
    assert "in no table" not in asked("9.00-16", 6.5, overall_diameter_mm=890.0, section_width_mm=257.0)


@pytest.mark.parametrize("size", [row.size for row in (*published_rows(), *recalled_rows())])
def test_every_size_of_the_lists_can_be_asked_for_by_its_marking(size: str) -> None:
    found = dimensions_for(size)
    assert 0 < found.section_width_mm < found.overall_diameter_mm
    assert found.rims_in[0] <= found.measuring_rim_in <= found.rims_in[1]


@pytest.mark.parametrize("size", [*RIMS_IN, *LT_RIMS_IN])
def test_measuring_rims_are_permitted_rims(size: str) -> None:
    lt = "LT" if size in LT_RIMS_IN else ""
    found = dimensions_for(lt + size.replace("-", "R"))
    assert found.rims_in[0] <= found.measuring_rim_in <= found.rims_in[1]


# ---- traced sections


@pytest.mark.parametrize(
    "points",
    [HALF, HALF[::-1], HALF * [-1, 1], WHOLE, WHOLE[::-1], np.concatenate([WHOLE, WHOLE[:1]])],
    ids=["half", "backwards", "inner half", "whole", "whole backwards", "closed"],
)
def test_a_trace_in_any_order_is_the_same_section(points: np.ndarray) -> None:
    ring = whole_section(points)
    assert overall_diameter_of(ring) == 670.0
    assert section_width_of(ring) == 224.0
    np.testing.assert_allclose(sorted(map(tuple, ring)), sorted(map(tuple, WHOLE)), atol=1e-9)


def test_a_carcass_traced_with_its_inside_keeps_its_outside() -> None:
    tube = np.concatenate([WHOLE, (WHOLE * [0.9, 1] - [0, 8])[::-1]])
    assert section_width_of(whole_section(tube)) == 224.0


REFUSED = [
    (HALF[[0, 1, 3, 2, 4]], "crosses itself"),
    (WHOLE + np.array([20, 0]), "off centre"),
    (HALF + np.array([15, 0]), "middle of the tread"),
    (HALF * [1, -1], "negative radius"),
    (HALF[:3], "four points"),
    (np.where(np.arange(len(HALF))[:, None] == 2, np.nan, HALF), "not a number"),
]


@pytest.mark.parametrize(("points", "said"), REFUSED)
def test_a_bad_trace_is_refused(points: np.ndarray, said: str) -> None:
    with pytest.raises(TireError, match=said):
        whole_section(points)


def test_a_trace_is_never_scaled_to_a_stated_dimension() -> None:
    with pytest.raises(TireError, match="never scaled"):
        tire_for("235/75R15", tape=Tape(traced=HALF, overall_diameter_mm=640.0))
    tire = tire_for("235/75R15", tape=Tape(traced=HALF, overall_diameter_mm=670.4))
    assert (tire.overall_diameter_mm, tire.section_width_mm, tire.shape) == (670.0, 224.0, "traced")


# ---- measured has to be said


def test_a_measured_size_is_questioned_only_where_service_cannot_explain_it() -> None:
    """245/45R17 by UN R30 (from memory): d 432, H 110; new at most 432 + 220 x 1.04 = 660.8, grown as much again
    669.95, new at least 432 + 220 x 0.97 = 645.4, worn out 16 mm less, 629.4."""
    for overall_mm, stated, measured in (
        (660.7, False, False),
        (665.0, True, False),
        (669.9, True, False),
        (670.1, True, True),
        (678.2, True, True),
        (645.5, False, False),
        (640.0, True, False),
        (629.5, True, False),
        (629.3, True, True),
    ):
        for said, asks in ((False, stated), (True, measured)):
            tape = Tape(overall_diameter_mm=overall_mm, measured=said)
            text = " ".join(tire_for("245/45R17", rim_width_in=8, tape=tape).warnings)
            assert ("overall diameter" in text) is asks, (overall_mm, said, text)
            assert ("measured = true" in text) is (asks and not said)


def test_a_measured_size_beyond_growth_is_called_measured_and_the_next_markings_are_named() -> None:
    text = " ".join(tire_for("245/45R17", tape=Tape(overall_diameter_mm=678.2, measured=True)).warnings)
    assert "the measured overall diameter of 678.2 mm (26 11/16 in) is not that of a 245/45R17" in text
    assert "Nor can growth in service explain it" in text
    assert "245/50R17 (678 mm)" in text
