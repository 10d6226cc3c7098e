"""What one solid's search proved, held against other solids: sampling, the search anew, and the outline itself."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from oracles import Scene, distance_at, random_scene, sampled_least, tire_and_wheel

from clearance.geom.bracket import bracket
from clearance.geom.kept import Kept, bound_by_plane
from clearance.geom.revolve import HULL_SLACK_MM, Solid
from clearance.geom.tree import Tree

ROUNDING_MM = 1e-9


def other_solid(number: int) -> Solid:
    """Any other tire, or the same somewhere else along the axis."""
    rng = np.random.default_rng(900 + number)
    width = rng.uniform(180, 300)
    return tire_and_wheel(
        diameter_mm=rng.uniform(560, 760),
        width_mm=width,
        tread_mm=width * rng.uniform(0.6, 0.85),
        rim_in=float(rng.choice([14.0, 15.0, 16.0, 17.0])),
        rim_width_in=float(rng.choice([5.5, 6.0, 7.0, 8.0, 9.0])),
        offset_mm=rng.uniform(-40, 60),
    )


def asked(scene: Scene, tree: Tree, kept: Kept | None, **more):  # type: ignore[no-untyped-def]
    return bracket(
        scene.triangles, scene.path, scene.solid, share=scene.share, tree=tree, kept=kept, deep_work=4_000, **more
    )


def stands_off(scene: Scene) -> bool:
    """Outside of the hull at every position: nothing for the cover or the depth to settle."""
    found = asked(scene, Tree(scene.triangles), None, tolerance_mm=5.0)
    return found.at_least_mm > 100.0 and found.boxes > 50


@pytest.mark.parametrize("number", range(5))
def test_no_place_of_a_box_is_nearer_to_any_solid_than_its_plane_says(number: int) -> None:
    """Fifty boxes that one solid left, a dozen places of each at settings inside it, three other solids."""
    scene, kept = random_scene(number), Kept()
    asked(scene, Tree(scene.triangles), kept)
    rng = np.random.default_rng(number)
    for boxes in kept.taken():
        if boxes.node[0] >= 0:
            continue  # the points of a node are those of its triangles, whose boxes stand below
        rows = rng.choice(len(boxes), min(50, len(boxes)), replace=False)
        some = boxes.take(rows)
        for other in range(3):
            solid = other_solid(3 * number + other)
            bound = bound_by_plane(some.plane, solid.hull_chain)
            for row in range(len(some)):
                setting = some.middle[row] + some.half[row] * rng.uniform(-1, 1, scene.path.numbers)
                mix = rng.dirichlet([0.5, 0.5, 0.5], 12)
                share = mix @ some.weights[row]
                far = distance_at(replace(scene, solid=solid), setting, mix @ some.corners[row], share)
                assert far.min() >= bound[row] - scene.path.error_mm - ROUNDING_MM


@pytest.mark.parametrize("number", range(20, 24))
def test_a_bracket_that_begins_with_what_another_solid_left_is_as_true_and_as_narrow(number: int) -> None:
    first, kept = random_scene(number), Kept()
    tree = Tree(first.triangles)
    asked(first, tree, kept)
    for other in range(3):
        scene = replace(first, solid=other_solid(3 * number + other))
        found, anew = asked(scene, tree, kept), asked(scene, tree, None)
        assert found.at_least_mm <= anew.at_most_mm + ROUNDING_MM
        assert anew.at_least_mm <= found.at_most_mm + ROUNDING_MM
        assert sampled_least(scene, number, near=found.setting, settings=60, points=600) >= found.at_least_mm - 1e-9
        witness = distance_at(scene, found.setting, found.point_mm[None], np.array([found.share]))[0]
        assert witness == pytest.approx(found.at_most_mm, abs=2e-5)
        if found.finished and found.at_most_mm >= 0:
            assert found.at_most_mm - found.at_least_mm <= 0.05


def test_the_same_question_again_is_settled_by_what_was_kept() -> None:
    """All boxes that a plane settled stay settled: only those of the cover and the depth are looked at again."""
    scene, kept = next(one for one in map(random_scene, range(40, 60)) if stands_off(one)), Kept()
    tree = Tree(scene.triangles)
    first, second = asked(scene, tree, kept), asked(scene, tree, kept)
    assert second.boxes < first.boxes / 5
    assert second.at_most_mm == pytest.approx(first.at_most_mm, abs=1e-6)


@pytest.mark.parametrize("number", range(6))
def test_a_hull_reaches_as_far_as_its_furthest_point(number: int) -> None:
    """Against the outline's own points, no chord further than 0.001 mm from it."""
    solid = other_solid(number)
    angle = np.linspace(-np.pi / 2, np.pi / 2, 721)
    across, away = np.sin(angle), np.abs(np.cos(angle))
    ring = solid.profile.outline(1e-3)
    furthest = (ring @ np.stack([across, away])).max(axis=0)
    reached = solid.hull_chain.support(across, away)
    assert (reached >= furthest - HULL_SLACK_MM).all()
    assert (reached <= furthest + 2e-3).all()
