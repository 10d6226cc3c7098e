"""The bound is believed only after random scenes: the profile is not convex, and a wrong bound looks right on tidy
ones.
"""

from __future__ import annotations

import numpy as np
import pytest
from oracles import distance_at, random_scene, sampled_least

from clearance.geom.bracket import DEEP_MM, DEEP_SHARE, bracket

FIT_MM = 2e-5
"""What the fitted path may differ from the motion: it was asked for 1e-5, here over a wide box."""


@pytest.mark.parametrize("first", [0, *(pytest.param(k, marks=pytest.mark.slow) for k in range(20, 200, 20))])
def test_no_sampled_position_beats_the_lower_end_and_the_witness_is_real(first: int) -> None:
    """200 random corners: hundreds of thousands of samples each."""
    for number in range(first, first + 20):
        scene = random_scene(number)
        # a deep hit is certain long before its depth is: a short limit keeps the bracket honest and the test short
        found = bracket(scene.triangles, scene.path, scene.solid, share=scene.share, deep_work=40_000)
        sampled = sampled_least(scene, number, near=found.setting, settings=120, points=1000)
        assert sampled >= found.at_least_mm - 1e-9, number
        witness = distance_at(scene, found.setting, found.point_mm[None], np.array([found.share]))[0]
        assert witness == pytest.approx(found.at_most_mm, abs=FIT_MM), number
        assert found.at_least_mm <= found.at_most_mm
        if found.finished and found.at_most_mm >= 0:
            assert found.at_most_mm - found.at_least_mm <= 0.05
        elif found.finished:
            room = max(DEEP_MM, DEEP_SHARE * -found.at_most_mm)
            assert found.at_most_mm - found.at_least_mm <= room
        else:
            assert found.at_most_mm < 0, number  # only depth may exhaust the limit in these scenes


@pytest.mark.slow
@pytest.mark.parametrize("first", range(1000, 2000, 100))
def test_a_thousand_more(first: int) -> None:
    for number in range(first, first + 100):
        scene = random_scene(number)
        found = bracket(scene.triangles, scene.path, scene.solid, share=scene.share, deep_work=40_000)
        sampled = sampled_least(scene, number, near=found.setting)
        assert sampled >= found.at_least_mm - 1e-9, number
