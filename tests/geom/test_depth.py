"""Depths: how deep anything can lie in a section, against shapely, and that deep hits come to an end."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from oracles import random_scene, sampled_least, tire_and_wheel
from shapely.geometry import Polygon
from shapely.ops import unary_union
from share import share

from clearance.geom.bracket import DEEP_MM, DEEP_SHARE, bracket
from clearance.geom.path import fit
from clearance.geom.profile import polygon
from clearance.geom.revolve import Solid

CHORD_MM = 0.001


def inscribed_mm(solid: Solid) -> float:
    """The radius of the largest circle in the section and its mirror image, by shapely."""
    outline = solid.profile.outline(CHORD_MM)
    section = unary_union([Polygon(outline), Polygon(outline * np.array([1.0, -1.0]))]).buffer(0)
    return float(shapely.maximum_inscribed_circle(section, tolerance=0.002).length)


@pytest.mark.parametrize("number", range(6))
def test_nothing_lies_deeper_than_the_largest_circle_in_the_section(number: int) -> None:
    rng = np.random.default_rng(number)
    solid = tire_and_wheel(
        diameter_mm=rng.uniform(560, 760),
        width_mm=rng.uniform(180, 300),
        tread_mm=160.0,
        offset_mm=rng.uniform(-30, 50),
    )
    circle = inscribed_mm(solid)
    # ours is too deep by up to 0.005, shapely's circle too small by up to its tolerance and the chords
    assert circle - 0.001 <= solid.deepest_mm() <= circle + 0.008


def test_a_roller_is_as_deep_as_half_its_width() -> None:
    outline = polygon([(-15.0, 0.0), (15.0, 0.0), (15.0, 40.0), (-15.0, 40.0)])
    assert Solid(profile=outline, pieces=(outline,)).deepest_mm() == pytest.approx(15.0, abs=0.006)


def test_a_plate_through_the_middle_of_a_roller_is_as_deep_as_that() -> None:
    """By hand: a plate square to the axis of a roller 30 wide is 15 mm inside where the roller's middle slides by."""
    outline = polygon([(-15.0, 0.0), (15.0, 0.0), (15.0, 40.0), (-15.0, 40.0)])
    solid = Solid(profile=outline, pieces=(outline,))

    def slides(settings: np.ndarray) -> np.ndarray:
        still = np.zeros((len(settings), 9))
        still[:, 1], still[:, 4] = settings[:, 0], 1.0
        return still

    path = fit(slides, np.array([[-30.0, 30.0]]), reach_mm=50.0)
    plate = np.array([[[-500.0, 0.0, -500.0], [500.0, 0.0, -500.0], [0.0, 0.0, 700.0]]])
    found = bracket(plate, path, solid)
    assert found.finished
    assert found.at_least_mm <= -15.0 <= found.at_most_mm + DEEP_MM
    assert found.at_most_mm - found.at_least_mm <= DEEP_MM


@pytest.mark.parametrize("first", share(range(9000, 9030, 10), 3))
def test_deep_hits_come_to_an_end_within_half_a_millimetre_or_two_per_cent(first: int) -> None:
    """Random corners; those that are deep need the floor, the mean of two sides and the split that a depth asks for."""
    deep = 0
    for number in range(first, first + 10):
        scene = random_scene(number)
        found = bracket(scene.triangles, scene.path, scene.solid, share=scene.share)
        if found.at_most_mm > -15.0:
            continue
        deep += 1
        assert found.finished, number
        room = max(DEEP_MM, DEEP_SHARE * -found.at_most_mm)
        assert found.at_most_mm - found.at_least_mm <= room, number
        sampled = sampled_least(scene, number, near=found.setting, settings=60, points=500)
        assert sampled >= found.at_least_mm - 1e-9, number
    assert deep >= 3
