"""Solids of revolution whose distances, normals, reach and depth are a line of sums: a roller and a washer."""

from __future__ import annotations

import math

import numpy as np
import pytest

from clearance.geom.profile import Arc, Line, Profile, polygon
from clearance.geom.revolve import HULL_SLACK_MM, Solid, closed, hull, is_convex, lathe


def roller(low: float = 5.0, high: float = 35.0, radius: float = 60.0) -> Solid:
    outline = polygon([(low, 0.0), (high, 0.0), (high, radius), (low, radius)])
    return Solid(profile=outline, pieces=(outline,))


def to_roller(points: np.ndarray, low: float = 5.0, high: float = 35.0, radius: float = 60.0) -> np.ndarray:
    """The distance to a round block with flat ends: the textbook's, out of the half plane."""
    across = np.abs(points[:, 1] - (low + high) / 2) - (high - low) / 2
    out = np.hypot(points[:, 0], points[:, 2]) - radius
    outside = np.hypot(np.maximum(across, 0.0), np.maximum(out, 0.0))
    return outside + np.minimum(np.maximum(across, out), 0.0)


def places(count: int, seed: int) -> np.ndarray:
    return np.random.default_rng(seed).uniform(-90.0, 90.0, (count, 3)) + np.array([0.0, 20.0, 0.0])


def test_distances_to_a_roller_are_the_textbook_s():
    points = places(3000, 1)
    assert roller().distance(points) == pytest.approx(to_roller(points), abs=1e-9)


def test_the_nearest_place_lies_on_the_roller_straight_along_the_normal():
    points = places(2000, 2)
    distance, foot, normal, element = roller().nearest(points)
    assert distance == pytest.approx(to_roller(points), abs=1e-9)
    assert to_roller(foot) == pytest.approx(0.0, abs=1e-9)
    assert np.linalg.norm(normal, axis=1) == pytest.approx(1.0)
    assert points - foot == pytest.approx(distance[:, None] * normal, abs=1e-9)
    # a little further along the normal is as much further away
    assert to_roller(points + 1e-3 * normal) == pytest.approx(distance + 1e-3, abs=1e-6)
    sides = {0: foot[:, 1] - 35.0, 1: np.hypot(foot[:, 0], foot[:, 2]) - 60.0, 2: foot[:, 1] - 5.0}
    assert set(element) == set(sides)
    for index, off in sides.items():
        assert off[element == index] == pytest.approx(0.0, abs=1e-9)


def test_on_the_axis_the_nearest_place_is_given_in_the_plane_of_x_and_y():
    """20 mm inside the one end, 10 off the other; of a washer, whose hole is nearest all round, straight ahead."""
    distance, foot, normal, _ = roller().nearest(np.array([[0.0, 15.0, 0.0], [0.0, 45.0, 0.0]]))
    assert distance == pytest.approx([-10.0, 10.0])
    assert foot == pytest.approx(np.array([[0.0, 5.0, 0.0], [0.0, 35.0, 0.0]]), abs=1e-12)
    assert normal == pytest.approx(np.array([[0.0, -1.0, 0.0], [0.0, 1.0, 0.0]]), abs=1e-12)
    ring = polygon([(-5.0, 30.0), (5.0, 30.0), (5.0, 50.0), (-5.0, 50.0)])
    distance, foot, normal, _ = Solid(profile=ring, pieces=(ring,)).nearest(np.zeros((1, 3)))
    assert distance == pytest.approx([30.0])
    assert foot[0] == pytest.approx([30.0, 0.0, 0.0])
    assert normal[0] == pytest.approx([-1.0, 0.0, 0.0])


@pytest.mark.parametrize(
    ("low", "high", "radius"), [(5.0, 35.0, 60.0), (-80.0, 10.0, 60.0), (-3.0, 4.0, 2.0), (100.0, 180.0, 40.0)]
)
def test_reach_and_depth_of_a_roller_anywhere_on_its_axis(low, high, radius):
    """The furthest point is an edge; the deepest lies half the width in, or the radius."""
    solid = roller(low, high, radius)
    reach = math.hypot(max(-low, high), radius)
    assert reach <= solid.reach_mm <= reach + 0.011
    deep = min((high - low) / 2, radius)
    assert deep <= solid.deepest_mm() <= deep + 0.006


@pytest.mark.parametrize("centre", [(5.0, 40.0), (-12.0, 40.0), (30.0, 45.0)])
def test_the_reach_of_a_ring_is_to_the_far_side_of_its_arc(centre):
    """Of a half circle of 30: its centre, and 30 more, wherever between its ends that is."""
    y, r = centre
    ring = Profile(
        elements=(
            Line(start=(y - 30.0, r), end=(y + 30.0, r)),
            Arc(start=(y + 30.0, r), end=(y - 30.0, r), centre=centre),
        )
    )
    reach = math.hypot(y, r) + 30.0
    assert reach <= Solid(profile=ring, pieces=(ring,)).reach_mm <= reach + 0.011


@pytest.mark.parametrize("seed", range(8))
def test_a_ring_of_three_sides_is_as_deep_as_the_circle_in_it(seed):
    """Twice its area over its girth."""
    rng = np.random.default_rng(seed)
    corners = rng.uniform([-90.0, 20.0], [60.0, 200.0], (3, 2))
    (ay, ar), (by, br) = corners[1] - corners[0], corners[2] - corners[0]
    twice = ay * br - ar * by
    ring = polygon([tuple(map(float, c)) for c in (corners if twice > 0.0 else corners[::-1])])
    deep = abs(twice) / float(np.linalg.norm(corners - np.roll(corners, 1, axis=0), axis=1).sum())
    assert deep <= Solid(profile=ring, pieces=(ring,)).deepest_mm() <= deep + 0.006


@pytest.mark.parametrize("away", [0.0, 70.0])
def test_a_double_cone_is_deepest_in_its_middle(away):
    """Two cones foot to foot, as long as they are high: from the middle its flanks are 50 sqrt(1/2) away."""
    cones = polygon([(away - 50.0, 0.0), (away + 50.0, 0.0), (away, 50.0)])
    deep = 50.0 * math.sqrt(0.5)
    # it is a corner of every square that is looked at: to the last bit or two
    assert deep - 1e-12 <= Solid(profile=cones, pieces=(cones,)).deepest_mm() <= deep + 0.006


@pytest.mark.parametrize("chord", [0.01, 0.5, 30.0])
def test_a_mesh_has_the_fewest_turns_that_stay_as_near_as_asked_and_its_corners_on_the_surface(chord):
    """A chord over an angle stands off the circle by r (1 - cos(half the angle)); a dozen turns at least."""
    vertices, faces = roller().mesh(chord)
    assert to_roller(vertices) == pytest.approx(0.0, abs=1e-9)
    rim = np.sum((np.hypot(vertices[:, 0], vertices[:, 2]) > 1.0) & (vertices[:, 1] == 35.0))
    assert rim >= 12
    assert 60.0 * (1.0 - math.cos(math.pi / rim)) <= chord
    assert rim == 12 or 60.0 * (1.0 - math.cos(math.pi / (rim - 1))) > chord
    # two vertices on the axis, two rings; two caps and twice the side
    assert len(vertices) == 2 + 2 * rim
    assert len(faces) == 4 * rim
    a, b, c = np.moveaxis(vertices[faces], 1, 0)
    volume = np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6
    assert volume == pytest.approx(30.0 * rim / 2 * math.sin(2 * math.pi / rim) * 60.0**2)


def test_a_lathe_gives_a_vertex_of_its_own_to_the_axis_and_rings_to_the_rest():
    vertices, faces = lathe(np.array([[0.0, 0.0], [10.0, 5.0], [0.0, 5.0]]), 4)
    assert vertices[0] == pytest.approx([0.0, 0.0, 0.0])
    assert vertices[1:5] == pytest.approx(np.array([[0, 10, 5], [5, 10, 0], [0, 10, -5], [-5, 10, 0]]), abs=1e-12)
    assert len(vertices) == 9
    assert len(faces) == 4 + 8 + 4


def test_a_profile_is_convex_where_it_never_turns_right():
    assert is_convex(roller().profile)
    bulge = Profile(
        elements=(
            Line(start=(-10.0, 0.0), end=(10.0, 0.0)),
            Arc(start=(10.0, 0.0), end=(-10.0, 0.0), centre=(0.0, 0.0)),
        )
    )
    assert is_convex(bulge)
    for dent in (0.001, 0.1, 5.0):
        assert not is_convex(polygon([(0, 0), (20, 0), (20, 10), (10, 10 - dent), (0, 10)]))
    # straight on is no turn
    assert is_convex(polygon([(0, 0), (20, 0), (20, 10), (10, 10), (0, 10)]))


def test_the_hull_of_a_washer_with_a_groove_is_its_roller():
    """The hole and the groove are filled; sides run down to the axis."""
    grooved = polygon([(0, 20), (30, 20), (30, 50), (20, 50), (15, 30), (10, 50), (0, 50)])
    around = hull(grooved)
    assert around.bounds == pytest.approx((0.0, 30.0, 0.0, 50.0))
    points = places(500, 5)
    filled = Solid(profile=around, pieces=(around,))
    assert filled.distance(points) == pytest.approx(to_roller(points, 0.0, 30.0, 50.0), abs=1e-6)
    whole = closed(Solid(profile=grooved, pieces=(polygon([(0, 20), (30, 20), (30, 50), (0, 50)]),)))
    assert whole.distance(points) == pytest.approx(filled.distance(points))
    assert whole.pieces == (whole.profile,)


def test_a_hull_lies_inside_the_true_one_by_no_more_than_its_slack():
    """Of a ring of a half circle of 30 about (0, 40): flat sides below 40, and the circle above it."""
    ring = Profile(
        elements=(
            Line(start=(-30.0, 40.0), end=(30.0, 40.0)),
            Arc(start=(30.0, 40.0), end=(-30.0, 40.0), centre=(0.0, 40.0)),
        )
    )
    rng = np.random.default_rng(9)
    y, r = rng.uniform(-120.0, 120.0, 4000), rng.uniform(0.0, 160.0, 4000)
    true = np.where(r < 40.0, np.abs(y), np.hypot(y, r - 40.0)) - 30.0
    off = Solid(profile=ring, pieces=(ring,)).hull_chain.near(y, r).distance - true
    assert np.abs(off).max() <= HULL_SLACK_MM <= 0.01


def test_arcs_on_the_hull_stay_arcs():
    """A ring of a half circle: its hull is that arc between two straight sides."""
    torus = Profile(
        elements=(
            Line(start=(-10.0, 40.0), end=(10.0, 40.0)),
            Arc(start=(10.0, 40.0), end=(-10.0, 40.0), centre=(0.0, 40.0), label="crown"),
        )
    )
    around = hull(torus)
    arcs = [e for e in around.elements if isinstance(e, Arc)]
    assert arcs
    assert sum(a.length_mm for a in arcs) == pytest.approx(10.0 * math.pi, abs=0.2)
    assert {(a.centre, round(a.radius_mm, 6)) for a in arcs} == {((0.0, 40.0), 10.0)}
    assert around.bounds == pytest.approx((-10.0, 10.0, 0.0, 50.0), abs=1e-6)
