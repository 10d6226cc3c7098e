"""Laws of a gap that hold for every corner."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from oracles import random_motion, random_scene, random_triangles, tire_and_wheel
from share import examples

from clearance.geom.bracket import bracket
from clearance.geom.path import fit
from clearance.pose import rotation

WORK = {"deep_work": 30_000}
NUMBERS = st.integers(0, 100_000)
few = settings(max_examples=examples(15, 5), deadline=None, derandomize=True)


def overlap(one, other) -> bool:
    """Two brackets of the same gap must share a value."""
    slack = 1e-4  # each path is fitted to 1e-5 of its own motion, and a hull is found to 2e-4
    return one.at_least_mm <= other.at_most_mm + slack and other.at_least_mm <= one.at_most_mm + slack


@few
@given(NUMBERS)
def test_moving_corner_and_parts_together_changes_nothing(number):
    scene = random_scene(number)
    rng = np.random.default_rng(number)
    axis = rng.normal(size=3)
    turn, shift = rotation(axis / np.linalg.norm(axis), rng.uniform(0, 360)), rng.normal(size=3) * 500

    def moved(q):
        rows = scene.truth(q)
        return np.column_stack([rows[:, :3] @ turn.T + shift, rows[:, 3:6] @ turn.T, rows[:, 6:] @ turn.T])

    path = fit(moved, scene.path.box[:2], reach_mm=450.0)
    plain = fit(scene.truth, scene.path.box[:2], reach_mm=450.0)
    one = bracket(scene.triangles, plain, scene.solid, share=scene.share, **WORK)
    other = bracket(scene.triangles @ turn.T + shift, path, scene.solid, share=scene.share, **WORK)
    assert overlap(one, other)


@few
@given(NUMBERS, st.floats(0, 40), st.floats(0, 60))
def test_a_wider_or_taller_tire_never_gains_gap(number, wider, taller):
    rng = np.random.default_rng(number)
    path = fit(random_motion(rng), np.array([[-60.0, 80.0], [-25.0, 25.0]]), reach_mm=450.0)
    triangles = random_triangles(rng)
    small = bracket(triangles, path, tire_and_wheel(), **WORK)
    large = bracket(
        triangles,
        path,
        tire_and_wheel(diameter_mm=652 + taller, width_mm=243 + wider, tread_mm=205 + wider * 0.8),
        **WORK,
    )
    # the larger section holds the smaller one to 0.6 mm (its arcs are drawn anew), and inside it depth may be loose
    if small.at_most_mm > 0:
        assert large.at_least_mm <= small.at_most_mm + 0.6


@few
@given(NUMBERS)
def test_halving_the_tolerance_nests_the_bracket(number):
    scene = random_scene(number)
    wide = bracket(scene.triangles, scene.path, scene.solid, share=scene.share, tolerance_mm=0.4, **WORK)
    if wide.at_most_mm < 0.5:
        return  # a depth has a tolerance of its own
    narrow = bracket(scene.triangles, scene.path, scene.solid, share=scene.share, tolerance_mm=0.2, **WORK)
    assert overlap(wide, narrow)
    assert narrow.at_most_mm - narrow.at_least_mm <= 0.2 + 1e-4
    assert wide.at_most_mm - wide.at_least_mm <= 0.4 + 1e-4


@few
@given(NUMBERS, st.floats(0.1, 0.9), st.integers(0, 1))
def test_splitting_the_cycle_and_taking_the_worse_changes_nothing(number, at, which):
    scene = random_scene(number)
    box = scene.path.box[:2]
    cut = box[which, 0] + at * (box[which, 1] - box[which, 0])
    first, second = box.copy(), box.copy()
    first[which, 1] = second[which, 0] = cut
    whole = bracket(scene.triangles, fit(scene.truth, box, reach_mm=450.0), scene.solid, share=scene.share, **WORK)
    parts = [
        bracket(scene.triangles, fit(scene.truth, b, reach_mm=450.0), scene.solid, share=scene.share, **WORK)
        for b in (first, second)
    ]
    worse = min(parts, key=lambda b: b.at_most_mm)
    low = min(p.at_least_mm for p in parts)
    assert low <= whole.at_most_mm + 1e-4
    assert whole.at_least_mm <= worse.at_most_mm + 1e-4


@few
@given(NUMBERS)
def test_splitting_triangles_changes_nothing(number):
    scene = random_scene(number)
    a, b, c = (scene.triangles[:, i] for i in range(3))
    middle = (a + b) / 2
    split = np.concatenate([np.stack([a, middle, c], 1), np.stack([middle, b, c], 1)])
    one = bracket(scene.triangles, scene.path, scene.solid, **WORK)
    other = bracket(split, scene.path, scene.solid, **WORK)
    assert overlap(one, other)


def test_the_same_question_gives_the_same_answer_to_the_last_bit():
    scene = random_scene(5)
    one = bracket(scene.triangles, scene.path, scene.solid, share=scene.share, **WORK)
    other = bracket(scene.triangles, scene.path, scene.solid, share=scene.share, **WORK)
    assert (one.at_least_mm, one.at_most_mm, one.boxes) == (other.at_least_mm, other.at_most_mm, other.boxes)
    assert np.array_equal(one.setting, other.setting)


def test_triangles_without_area_and_doubles_are_fine():
    scene = random_scene(11)
    point = np.repeat(scene.triangles[:1, :1], 3, axis=1)
    messy = np.concatenate([scene.triangles, scene.triangles, point, np.repeat(point, 50, axis=0)])
    one = bracket(scene.triangles, scene.path, scene.solid, **WORK)
    other = bracket(messy, scene.path, scene.solid, **WORK)
    assert overlap(one, other)


def test_an_exhausted_limit_still_gives_a_true_bracket_and_says_so():
    scene = random_scene(8)
    short = bracket(scene.triangles, scene.path, scene.solid, share=scene.share, work=500)
    full = bracket(scene.triangles, scene.path, scene.solid, share=scene.share)
    assert not short.finished
    assert short.at_least_mm <= full.at_least_mm + 0.05
    assert short.at_most_mm >= full.at_most_mm - 0.05


def test_articulation_cuts_the_corners_off_the_cycle():
    """A far end that only the forbidden corner would bring close: with the limit, it is out of reach."""
    from clearance.geom.limit import Limit

    def truth(q):
        zero = np.zeros(len(q))
        return np.column_stack([zero, zero, q[:, 0] - q[:, 1], zero, zero + 1, zero, zero, zero, zero])

    path = fit(truth, np.array([[-50.0, 50.0], [-50.0, 50.0]]), reach_mm=400)
    plate = np.array(
        [
            [[-900.0, -500, 450], [900, -500, 450], [900, 500, 450]],
            [[-900, -500, 450], [900, 500, 450], [-900, 500, 450]],
        ]
    )
    solid = tire_and_wheel()
    free = bracket(plate, path, solid)
    tied = bracket(plate, path, solid, limits=(Limit(one=0, other=1, most=60.0),))
    assert free.at_most_mm == pytest.approx(450 - 326 - 100, abs=0.05)
    assert tied.at_least_mm == pytest.approx(450 - 326 - 60, abs=0.06)
    assert tied.at_most_mm == pytest.approx(450 - 326 - 60, abs=0.06)
    assert abs(tied.setting[0] - tied.setting[1]) <= 60 + 1e-9


def test_sensitivities_are_what_a_measured_change_shows():
    """per_mm against the corner measured again with the wheel 1 mm further in, and with 1 mm more diameter and
    width.
    """
    from pathlib import Path

    from clearance.description.load import load
    from clearance.gap.cycle import over_cycle

    mockup = load(Path(__file__).parents[2] / "fixtures/corners/orchard-pickup-rear.toml")
    before = {g.part: g for g in over_cycle(mockup, tolerance_mm=0.01)}
    tire, wheel = mockup.tire, mockup.wheel
    changes = {
        "offset": replace(mockup, wheel=replace(wheel, offset_mm=wheel.offset_mm + 1)),
        "overall_diameter": replace(mockup, tire=replace(tire, overall_diameter_mm=tire.overall_diameter_mm + 1)),
        "section_width": replace(mockup, tire=replace(tire, section_width_mm=tire.section_width_mm + 1)),
    }
    for name, changed in changes.items():
        for gap in over_cycle(changed, tolerance_mm=0.01):
            old = before[gap.part]
            if "rim" in old.region or "barrel" in old.region:
                continue
            # first order, with the section's arcs drawn anew: a tenth of a millimetre a millimetre
            assert gap.at_most_mm - old.at_most_mm == pytest.approx(old.per_mm[name], abs=0.12), (name, gap.part)
