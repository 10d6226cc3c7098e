"""Measured beats marked; growth, chains and the rim used; traced sections."""

from __future__ import annotations

import numpy as np
import pytest

from clearance.errors import TireError
from clearance.tire.dimensions import dimensions_for
from clearance.tire.mounted import Tape, tire_for
from clearance.tire.size import read
from clearance.tire.tables import LT_RIMS_IN, RIMS_IN, ROWS, SAME_SIZE_AS, key
from clearance.tire.traced import overall_diameter_of, section_width_of, whole_section

HALF = np.array([(0, 335), (60, 333), (85, 325), (100, 300), (112, 265), (108, 235), (96, 205), (90, 192)], dtype=float)
WHOLE = np.concatenate([HALF[::-1] * [-1, 1], HALF[1:]])


def test_measured_beats_marked_and_the_sources_say_so() -> None:
    tire = tire_for("235/75R15", rim_width_in=7, tape=Tape(overall_diameter_mm=728.0))
    assert tire.overall_diameter_mm == 728.0
    assert tire.sources["overall_diameter"] == "measured"
    assert tire.section_width_mm == pytest.approx(235 + 0.4 * 12.7)
    assert "UN R30" in tire.sources["section_width"]
    assert "7 in rim" in tire.sources["section_width"]


def test_a_width_measured_on_another_rim_is_carried_over() -> None:
    """Trade rule: 0.2 in of section for 0.5 in of rim."""
    tire = tire_for("235/75R15", rim_width_in=7, tape=Tape(section_width_mm=239.0, measured_on_in=6.5))
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
        tire_for("A78-13")
    tire = tire_for("A78-13", tape=Tape(overall_diameter_mm=590.0, section_width_mm=165.0))
    assert (tire.marking, tire.rim_diameter_in) == ("A78-13", 13)


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
    bias = tire_for("6.70-15", rim_width_in=4.5, growth="in-service")
    assert bias.full_width_mm == pytest.approx(1.06 * 170)
    assert bias.full_diameter_mm == pytest.approx(381 + 2 * 1.08 * 164.5)
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


@pytest.mark.parametrize("size", [*ROWS, *SAME_SIZE_AS])
def test_every_row_of_the_tables_can_be_asked_for_by_its_marking(size: str) -> None:
    text = size + "LT" if "x" in size else size
    assert key(read(text)) == size
    found = dimensions_for(text)
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
