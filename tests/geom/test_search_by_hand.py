"""A ball of 100 that goes up and ahead: every distance to it is Pythagoras, and so is what a search must find.

Its middle may be anywhere from 20 behind to 20 ahead and from 40 below to 60 above the origin.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise

import numpy as np
import pytest

from clearance.geom.bounds import by_touch
from clearance.geom.boxes import Boxes, with_room
from clearance.geom.bracket import AtSettings, Open, Reached, bracket, least_at_settings, reached
from clearance.geom.limit import Limit
from clearance.geom.passing import Passing
from clearance.geom.path import Path, fit
from clearance.geom.profile import Arc, Line, Profile
from clearance.geom.revolve import Solid
from clearance.geom.search import Search, bound_by_hull
from clearance.geom.tree import Tree
from clearance.geom.view import View
from clearance.geom.witness import DEEP_MM, DEEP_SHARE, EXACT_DEPTH_WORK, Nearest, NearestOfEach, TooNear, _shares_of
from clearance.pose import Array

RADIUS = 100.0
BALL = Profile(
    elements=(
        Line(start=(-100.0, 0.0), end=(100.0, 0.0)),
        Arc(start=(100.0, 0.0), end=(0.0, 100.0), centre=(0.0, 0.0)),
        Arc(start=(0.0, 100.0), end=(-100.0, 0.0), centre=(0.0, 0.0)),
    )
)
SOLID = Solid(profile=BALL, pieces=(BALL,))
UP, AHEAD = (-40.0, 60.0), (-20.0, 20.0)
FIT_MM = 1e-4
"""How closely the path is fitted."""


def moving(settings: Array) -> Array:
    """Up and ahead; a far end goes across by twice what the ball goes up."""
    up, ahead = settings[:, 0], settings[:, 1]
    zero = np.zeros(len(settings))
    return np.column_stack([ahead, zero, up, zero, zero + 1.0, zero, zero, 2.0 * up, zero])


PATH = fit(moving, np.array([UP, AHEAD]), reach_mm=RADIUS)


def loose(seed: int) -> Array:
    """One triangle beside the ball's way."""
    rng = np.random.default_rng(seed)
    way = rng.normal(size=3)
    triangle: Array = way / np.linalg.norm(way) * rng.uniform(230.0, 300.0) + rng.normal(size=(3, 3)) * 50.0
    return triangle


def to_triangle(points: Array, triangle: Array) -> Array:
    """(n,): the distances of points (n, 3) to a triangle: to its plane over it, else to the nearest of its sides."""
    a, b, c = triangle
    normal = np.cross(b - a, c - a)
    sides = [(a, b - a), (b, c - b), (c, a - c)]
    over = np.all([np.cross(way, points - start) @ normal >= 0.0 for start, way in sides], axis=0)
    shares = [np.clip((points - start) @ way / (way @ way), 0.0, 1.0) for start, way in sides]
    feet = [start + share[:, None] * way for (start, way), share in zip(sides, shares, strict=True)]
    beside = np.min([np.linalg.norm(points - foot, axis=1) for foot in feet], axis=0)
    flat: Array = np.where(over, np.abs((points - a) @ normal) / np.linalg.norm(normal), beside)
    return flat


def off_triangle(point: Array, triangle: Array) -> float:
    """The same of one point."""
    return float(to_triangle(np.asarray(point)[None], triangle)[0])


@lru_cache(maxsize=1024)
def true_gap(seed: int) -> float:
    """The least distance to a loose triangle: downhill over where the middle may be, for it is convex in that."""
    triangle = loose(seed)
    at, size, best = np.array([10.0, 0.0]), np.array([50.0, 20.0]), np.inf
    around = np.array([(i, j) for i in (-1, 0, 1) for j in (-1, 0, 1)])
    while size.max() > 1e-8:
        ways = np.clip(at + size * around, [UP[0], AHEAD[0]], [UP[1], AHEAD[1]])
        far = to_triangle(np.column_stack([ways[:, 1], 0.0 * ways[:, 0], ways[:, 0]]), triangle) - RADIUS
        least = int(np.argmin(far))
        if far[least] < best - 1e-12:
            best, at = float(far[least]), ways[least]
        else:
            size = size / 2
    return best


def passing(triangles: Array, path: Path = PATH, share: Array | None = None) -> Passing:
    return Passing(triangles=triangles, share=share, path=path, solid=SOLID, limits=(), tree=Tree(triangles))


# ---- the bracket


@pytest.mark.parametrize("seed", range(12))
def test_the_gap_of_a_loose_triangle_is_pythagoras_and_the_upper_end_is_settled(seed):
    triangle = loose(seed)
    true = true_gap(seed)
    found = bracket(triangle[None], PATH, SOLID)
    assert found.finished
    assert found.at_least_mm <= true + 1e-6
    assert found.at_most_mm - found.at_least_mm <= 0.05
    # the witness is followed downhill until it gains no millionth
    assert found.at_most_mm == pytest.approx(true, abs=FIT_MM)
    # and is a place of the triangle at a setting of the path
    up, ahead = found.setting
    assert UP[0] <= up <= UP[1]
    assert AHEAD[0] <= ahead <= AHEAD[1]
    assert off_triangle(found.point_mm, triangle) == pytest.approx(0.0, abs=1e-6)
    assert np.linalg.norm(found.point_mm - [ahead, 0.0, up]) - RADIUS == pytest.approx(found.at_most_mm, abs=FIT_MM)


def test_of_many_triangles_the_nearest_is_found():
    triangles = np.array([loose(seed) for seed in range(80)])
    true = min(true_gap(seed) for seed in range(len(triangles)))
    told: list[tuple[int, float, float]] = []
    found = bracket(triangles, PATH, SOLID, progress=lambda *row: told.append(row))
    assert found.at_least_mm <= true + 1e-6
    assert found.at_most_mm == pytest.approx(true, abs=1e-3)
    assert found.finished
    assert found.boxes >= max(boxes for boxes, _, _ in told)
    assert all(low <= true + 1e-6 and true <= high + 1e-3 for _, low, high in told)
    assert [boxes for boxes, _, _ in told] == sorted({boxes for boxes, _, _ in told})


@pytest.mark.parametrize("tolerance", [0.002, 0.05, 3.0])
def test_the_bracket_is_as_narrow_as_was_asked(tolerance):
    for seed in range(4):
        triangle = loose(seed)
        found = bracket(triangle[None], PATH, SOLID, tolerance_mm=tolerance)
        assert found.finished
        assert found.at_most_mm - found.at_least_mm <= tolerance
        assert found.at_least_mm <= true_gap(seed) + 1e-6


def test_however_closely_a_smooth_gap_is_asked_for_it_takes_few_boxes():
    """By planes that touch: what they lose goes with the square of a box, so that a box of 1 mm is within 0.005. By how
    far a box reaches alone, a hundredth of the tolerance takes thousands."""
    for tolerance in (0.05, 0.002):
        found = [bracket(loose(seed)[None], PATH, SOLID, tolerance_mm=tolerance) for seed in range(12)]
        assert all(one.finished for one in found)
        assert sum(one.boxes for one in found) < 40 * len(found)


@pytest.mark.parametrize("work", [1, 30, 300])
def test_a_search_that_is_cut_short_says_no_more_than_it_proved(work):
    triangles = np.array([loose(seed) for seed in range(60)])
    true = min(true_gap(seed) for seed in range(len(triangles)))
    found = bracket(triangles, PATH, SOLID, work=work, tolerance_mm=1e-4)
    assert not found.finished
    assert found.boxes > work
    assert found.at_least_mm <= true + 1e-6
    assert found.at_most_mm >= true - FIT_MM


def test_a_far_end_carries_what_has_a_share_of_its_move():
    """A plate beside the ball, 190 off its way, that goes outboard by share x 2 x bump: nearest at full droop."""
    plate = np.array([[[-500.0, 190.0, -500.0], [500.0, 190.0, -500.0], [0.0, 190.0, 700.0]]])
    found = bracket(plate, PATH, SOLID, share=np.full((1, 3), 0.5))
    assert found.at_most_mm == pytest.approx(190.0 - 40.0 - RADIUS, abs=FIT_MM)
    assert found.at_least_mm == pytest.approx(50.0, abs=0.05)
    assert found.share == pytest.approx(0.5)
    assert found.setting[0] == pytest.approx(-40.0, abs=1e-3)


def test_a_limit_keeps_the_ball_from_a_corner_of_its_way():
    """A point up and ahead: by Pythagoras from (20, 60), and where both may differ by 15 only, from (20, 35)."""
    point = np.repeat(np.array([[[120.0, 0.0, 200.0]]]), 3, axis=1)
    free = bracket(point, PATH, SOLID)
    tied = bracket(point, PATH, SOLID, limits=(Limit(one=0, other=1, most=15.0),))
    assert free.at_most_mm == pytest.approx(np.hypot(100.0, 140.0) - RADIUS, abs=FIT_MM)
    assert tied.at_most_mm == pytest.approx(np.hypot(100.0, 165.0) - RADIUS, abs=FIT_MM)
    assert tied.at_least_mm == pytest.approx(tied.at_most_mm, abs=0.05)


@pytest.mark.parametrize("off", [30.0, 80.0])
def test_a_plate_through_the_ball_is_as_deep_as_it_is_near_its_middle(off):
    """The whole way of the middle is beside the plate."""
    plate = np.array([[[-900.0, off, -900.0], [900.0, off, -900.0], [0.0, off, 1500.0]]])
    found = bracket(plate, PATH, SOLID)
    assert found.finished
    assert found.at_most_mm == pytest.approx(off - RADIUS, abs=FIT_MM)
    room = max(DEEP_MM, DEEP_SHARE * -found.at_most_mm)
    assert found.at_most_mm - room <= found.at_least_mm <= off - RADIUS + 1e-6


def test_nothing_that_the_ball_passes_is_deeper_than_its_middle():
    """Boxes through the way of its middle: as deep as the radius, and no deeper whatever was not looked at."""
    rng = np.random.default_rng(7)
    through = rng.uniform([-20.0, -1.0, -40.0], [20.0, 1.0, 60.0], (40, 1, 3)) + rng.normal(size=(40, 3, 3)) * 25.0
    found = bracket(through, PATH, SOLID, deep_work=20_000)
    assert -RADIUS - 0.01 <= found.at_least_mm <= found.at_most_mm
    assert found.at_most_mm == pytest.approx(-RADIUS, abs=1.0)


# ---- which come nearer than asked


def test_just_those_that_come_nearer_than_asked_are_reported():
    triangles = np.array([loose(seed) for seed in range(80)])
    true = np.array([true_gap(seed) for seed in range(len(triangles))])
    asked = float(np.median(true))
    found = reached(triangles, PATH, SOLID, nearer_than_mm=asked, doubt_mm=0.2)
    assert found.finished
    assert set(np.flatnonzero(true < asked)) <= set(found.triangle) <= set(np.flatnonzero(true < asked + 0.2 + 1e-3))
    assert asked <= found.at_least_mm <= np.delete(true, found.triangle).min() + 1e-6
    for triangle, (up, ahead) in zip(triangles[found.triangle], found.setting, strict=True):
        assert off_triangle(np.array([ahead, 0.0, up]), triangle) - RADIUS < asked + 0.2 + 1e-3
    short = reached(triangles, PATH, SOLID, nearer_than_mm=asked, doubt_mm=0.2, work=10)
    assert not short.finished
    none = reached(triangles[:0], PATH, SOLID, nearer_than_mm=asked, doubt_mm=0.2)
    assert (len(none.triangle), none.setting.shape, none.at_least_mm, none.finished) == (0, (0, 2), np.inf, True)
    assert none.boxes == 0


def test_asked_about_what_is_left_it_answers_for_that_and_says_the_same_of_the_whole():
    """The cycle cut in boxes: each triangle is found from the boxes in which it is near, and from no others."""
    triangles = np.array([loose(seed) for seed in range(40)])
    asked = float(np.median([true_gap(seed) for seed in range(len(triangles))]))
    whole = reached(triangles, PATH, SOLID, nearer_than_mm=asked, doubt_mm=0.2)
    low, high = PATH.box.T
    cuts = np.stack(np.meshgrid(*(np.linspace(a, b, 5) for a, b in PATH.box), indexing="ij"), axis=-1)
    middle = ((cuts[1:, 1:] + cuts[:-1, :-1]) / 2.0).reshape(-1, 2)
    half = np.repeat(((high - low) / 8.0)[None], len(middle), axis=0)

    def from_boxes(rows: np.ndarray, boxes: np.ndarray) -> Reached:
        left = Open(
            triangle=np.repeat(rows, len(boxes)),
            middle=np.tile(middle[boxes], (len(rows), 1)),
            half=np.tile(half[boxes], (len(rows), 1)),
        )
        return reached(triangles, PATH, SOLID, nearer_than_mm=asked, doubt_mm=0.2, left=left)

    every, all_boxes = np.arange(len(triangles)), np.arange(len(middle))
    found = from_boxes(every, all_boxes)
    assert found.finished
    doubtful = {number for number in every if asked <= true_gap(number) < asked + 0.2 + 1e-3}
    assert set(found.triangle) - doubtful == set(whole.triangle) - doubtful
    assert asked <= found.at_least_mm
    # half of the triangles, and half of the travel
    some = from_boxes(every[::2], all_boxes)
    assert set(some.triangle) == set(found.triangle) & set(every[::2])
    lower = np.flatnonzero(middle[:, 0] < low[0] + (high[0] - low[0]) / 2.0)
    below = from_boxes(every, lower)
    assert set(below.triangle) <= set(found.triangle)
    assert np.all(below.setting[:, 0] <= (low[0] + high[0]) / 2.0 + 1e-9)
    nothing = from_boxes(every[:0], all_boxes)
    assert (len(nothing.triangle), nothing.at_least_mm, nothing.finished) == (0, np.inf, True)


def test_level_caps_over_the_way_are_reported_without_a_search():
    """Where no place of a cap is nearer than another, its points are never what is most uncertain: all but the one that
    was measured must come to be looked at all the same."""
    x = np.linspace(-6.0, 6.0, 4)
    caps = np.array([[(a, -1.0, 180.0), (b, -1.0, 180.0), (b, 1.0, 180.0)] for a, b in pairwise(x)])
    found = reached(caps, PATH, SOLID, nearer_than_mm=23.0, doubt_mm=0.5)
    assert sorted(found.triangle) == [0, 1, 2]
    assert found.boxes < 1000


# ---- many settings side by side


@pytest.mark.parametrize("tolerance", [0.01, 1.0])
def test_the_least_at_each_setting_is_pythagoras_there(tolerance):
    triangles = np.array([loose(seed) for seed in range(40)])
    settings = np.random.default_rng(3).uniform([UP[0], AHEAD[0]], [UP[1], AHEAD[1]], (30, 2))
    true = [min(off_triangle(np.array([ahead, 0.0, up]), t) for t in triangles) - RADIUS for up, ahead in settings]
    (found,) = least_at_settings(
        [AtSettings(triangles=triangles, path=PATH, settings=settings)], SOLID, tolerance_mm=tolerance
    )
    assert np.all(found >= np.array(true) - FIT_MM)
    assert np.all(found <= np.array(true) + tolerance + FIT_MM)
    # deep inside, one part in twenty is near enough
    inner = triangles * 0.15
    deep = np.array([min(off_triangle(np.array([a, 0.0, u]), t) for t in inner) - RADIUS for u, a in settings])
    (found,) = least_at_settings(
        [AtSettings(triangles=inner, path=PATH, settings=settings)], SOLID, tolerance_mm=tolerance
    )
    assert deep.max() < 0.0
    assert np.all(found >= deep - FIT_MM)
    assert np.all(found <= deep + np.maximum(tolerance, 0.0501 * -deep) + FIT_MM)


def test_where_nothing_is_said_the_least_at_a_setting_is_within_a_tenth_of_a_millimetre():
    """Leaning plates so large that none of their corners is near."""
    rng = np.random.default_rng(12)
    normal = rng.normal(size=(6, 3))
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    across = np.cross(normal, rng.normal(size=(6, 3)))
    across /= np.linalg.norm(across, axis=1)[:, None]
    up = np.cross(normal, across)
    ways = np.array([[900.0, 0.0], [-500.0, 700.0], [-400.0, -800.0]])
    plates = 230.0 * normal[:, None] + ways[:, :1] * across[:, None] + ways[:, 1:] * up[:, None]
    settings = rng.uniform([UP[0], AHEAD[0]], [UP[1], AHEAD[1]], (30, 2))
    true = np.array([min(off_triangle((a, 0.0, u), t) for t in plates) - RADIUS for u, a in settings])
    (plain,) = least_at_settings([AtSettings(triangles=plates, path=PATH, settings=settings)], SOLID)
    assert np.all(plain >= true - FIT_MM)
    assert np.all(plain <= true + 0.1 + FIT_MM)
    (rough,) = least_at_settings([AtSettings(triangles=plates, path=PATH, settings=settings)], SOLID, tolerance_mm=1.1)
    assert np.any(rough > true + 0.1 + FIT_MM)


def test_what_is_asked_beside_others_is_what_is_asked_alone():
    """Three parts of few triangles at settings of their own, two of them by pairs, and one of too many to go with them:
    Pythagoras each time."""
    rng = np.random.default_rng(5)
    asked, true = [], []
    for count, stops, each in ((3, 8, 1), (1, 5, 2), (120, 40, 1), (4, 6, 2)):
        triangles = np.array([loose(100 * count + seed) for seed in range(count)])
        settings = rng.uniform([UP[0], AHEAD[0]], [UP[1], AHEAD[1]], (stops, each, 2))
        off = [[min(off_triangle((a, 0.0, u), t) for t in triangles) - RADIUS for u, a in row] for row in settings]
        true.append(np.min(off, axis=1))
        asked.append(AtSettings(triangles=triangles, path=PATH, settings=settings if each > 1 else settings[:, 0]))
    assert [one.pairs > 4000 for one in asked] == [False, False, True, False]
    for own, found in zip(true, least_at_settings(asked, SOLID, tolerance_mm=0.01), strict=True):
        assert found.shape == own.shape
        assert np.all(found >= own - FIT_MM)
        assert np.all(found <= own + np.maximum(0.01, 0.0501 * -own) + FIT_MM)


# ---- witnesses


def test_what_matters_to_the_nearest_is_nine_tenths_of_the_tolerance_lower():
    """Of a depth that took long half a millimetre, or two per cent."""
    witness = Nearest(passing(loose(1)[None]), 0.05)
    witness.upper = 20.0
    assert witness.drop() == pytest.approx(20.0 - 0.045)
    witness.looked = EXACT_DEPTH_WORK + 1
    assert witness.drop() == pytest.approx(20.0 - 0.045)
    for upper, room in ((-2.0, DEEP_MM), (-100.0, 2.0)):
        witness.upper = upper
        witness.looked = EXACT_DEPTH_WORK + 1
        assert witness.drop() == pytest.approx(upper - 0.9 * room)
        witness.looked = EXACT_DEPTH_WORK
        assert witness.drop() == pytest.approx(upper - 0.045)
    witness.upper, witness.looked = 0.0, EXACT_DEPTH_WORK + 1
    assert witness.drop() == pytest.approx(-0.045)


def test_of_what_is_measured_the_nearest_is_kept_and_a_farther_one_does_not_replace_it():
    triangles = np.array([loose(1), loose(2)])
    witness = Nearest(passing(triangles), 0.05)
    points = np.array([[0.0, 300.0, 0.0], [0.0, 250.0, 0.0], [0.0, 400.0, 0.0]])
    settings = np.array([[0.0, 0.0], [0.0, 500.0], [10.0, 0.0]])
    shares = np.array([0.1, 0.2, 0.3])
    found = witness.measure(points, shares, settings, np.array([0, 1, 0]))
    # 500 ahead is not to be reached: 20 is
    true = [200.0, np.hypot(250.0, 20.0) - RADIUS, np.hypot(400.0, 10.0) - RADIUS]
    assert found == pytest.approx(true, abs=FIT_MM)
    assert witness.upper == found[1]
    assert (witness.setting.tolist(), witness.share, witness.triangle) == ([0.0, 20.0], 0.2, 1)
    assert witness.point.tolist() == [0.0, 250.0, 0.0]
    witness.measure(points[:1], shares[:1], settings[:1], np.array([0]))
    assert witness.upper == found[1]
    assert witness.triangle == 1


@pytest.mark.parametrize("seed", range(6))
def test_from_any_start_a_witness_settles_where_the_triangle_is_nearest(seed):
    triangle = loose(seed)
    rng = np.random.default_rng(seed)
    witness = Nearest(passing(triangle[None]), 0.05)
    witness.settle()
    assert witness.upper == np.inf
    start = rng.dirichlet([1.0] * 3) @ triangle
    witness.measure(start[None], np.zeros(1), rng.uniform([-40, -20], [60, 20], (1, 2)), np.array([0]))
    witness.settle()
    assert witness.upper == pytest.approx(true_gap(seed), abs=FIT_MM)
    assert off_triangle(witness.point, triangle) == pytest.approx(0.0, abs=1e-6)


def boxes_of(triangles: Array, rows: Array) -> Boxes:
    """Each of some triangles with the whole range of settings, no bound worth anything, its second corner the best."""
    count = len(rows)
    boxes = with_room(
        Boxes(
            node=-1 - rows, corners=triangles[rows], weights=np.zeros((count, 3)),
            middle=np.tile([10.0, 0.0], (count, 1)), half=np.tile([50.0, 20.0], (count, 1)), group=np.zeros(count, int),
        ),
        2,
    )  # fmt: skip
    boxes.bound[:] = -1e3
    boxes.best_setting[:] = [60.0, 20.0]
    boxes.best_corner[:] = 1
    return boxes


def test_looking_downhill_from_a_box_comes_near_its_least():
    """Twenty steps, no finer than a thousandth of triangle and ranges: nearer than the corners by far, not settled."""
    triangles = np.array([loose(seed) for seed in range(20)])
    rows = np.array([4, 7, 11])
    witness = Nearest(passing(triangles), 0.05)
    boxes = boxes_of(triangles, rows)
    boxes.bound = np.array([-1e3, -2e3, -1.5e3])
    witness.look_downhill(boxes)
    true = min(true_gap(int(row)) for row in rows)
    assert true - FIT_MM <= witness.upper <= true + 5.0
    assert witness.triangle in rows
    # what hits is not followed: its bracket is closed otherwise
    deep = Nearest(passing(triangles), 0.05)
    deep.upper = -1.0
    deep.look_downhill(boxes)
    assert deep.upper == -1.0


def test_boxes_are_measured_at_their_best_corner_at_the_best_setting_and_at_the_middle():
    triangles = np.array([loose(seed) for seed in range(20)])
    rows = np.arange(20)
    witness = Nearest(passing(triangles), 0.05)
    boxes = boxes_of(triangles, rows)
    witness.measure_corners(boxes)
    middles = (np.array([20.0, 0.0, 60.0]), np.array([0.0, 0.0, 10.0]))
    true = min(float(np.linalg.norm(t[1] - m)) for t in triangles for m in middles) - RADIUS
    assert witness.upper == pytest.approx(true, abs=FIT_MM)
    # what cannot be nearer than what was found is not measured again
    witness.upper = 3.0
    boxes.bound[:] = 3.0
    witness.measure_corners(boxes)
    assert witness.upper == 3.0


def test_of_many_boxes_the_most_promising_are_measured():
    near = np.repeat(np.array([[[0.0, 0.0, 170.0]]]), 3, axis=1)
    far = np.array([loose(seed) for seed in range(400)]) * 2.0
    triangles = np.concatenate([far, near])
    witness = Nearest(passing(triangles), 0.05)
    boxes = boxes_of(triangles, np.arange(401))
    boxes.bound[-1] = -2e3
    witness.measure_corners(boxes)
    assert witness.upper == pytest.approx(np.hypot(20.0, 110.0) - RADIUS, abs=FIT_MM)
    assert witness.triangle == 400


@pytest.mark.parametrize("rows", [[3, 5, 8], [0, 11, 19, 12]])
def test_where_a_box_touches_the_hull_is_measured(rows):
    """Triangles, and a ball that may move by 1 up and ahead: a step or two come nearly to the nearest place of the box,
    which is looked for on a grid of settings. Of boxes that were not asked about nothing is measured."""
    triangles = np.array([loose(seed) for seed in range(20)])
    boxes = boxes_of(triangles, np.arange(20))
    boxes.half[:] = 1.0
    view = View(boxes, PATH, SOLID, Tree(triangles), ())
    bound_by_hull(boxes, view)
    asked = np.array(rows)
    touched = by_touch(
        view, asked, SOLID.hull_chain, by_size=boxes.score[asked], drop=np.full(len(asked), np.inf), hollow=False
    )
    witness = Nearest(passing(triangles), 0.05)
    witness.measure_touched(boxes, asked, touched)
    grid = np.array([(ahead, 0.0, up) for ahead in np.linspace(-1, 1, 9) for up in np.linspace(9, 11, 9)])
    least = {row: float(to_triangle(grid, triangles[row]).min()) - RADIUS for row in rows}
    nearest = min(least, key=lambda row: least[row])
    assert witness.triangle == nearest
    assert least[nearest] - 0.05 <= witness.upper <= least[nearest] + 0.3
    assert off_triangle(witness.point, triangles[nearest]) == pytest.approx(0.0, abs=1e-6)
    # where nothing can be nearer than what was found, nothing is measured
    witness.upper = float(touched.open_bound.min())
    before = witness.setting
    witness.measure_touched(boxes, asked, touched)
    assert witness.setting is before


def test_polished_the_deepest_place_is_deeper_and_still_of_its_triangle():
    plate = np.array([[-300.0, 30.0, -300.0], [300.0, 30.0, -300.0], [0.0, 30.0, 400.0]])
    share = np.array([[0.2, 0.2, 0.2]])
    for shares in (None, share):
        witness = Nearest(passing(plate[None], share=shares), 0.05)
        # 30 off the middle's way, and by a share of the far end's move nearer to it, at full droop 16 nearer
        deepest = 30.0 - RADIUS - (0.0 if shares is None else 16.0)
        start, at = np.array([[60.0, 30.0, 40.0]]), np.array([[0.0, -5.0]])
        witness.measure(start, np.array([0.2 if shares is not None else 0.0]), at, np.array([0]))
        before = witness.upper
        witness.polish()
        assert before > deepest + 10.0
        assert deepest - FIT_MM <= witness.upper <= deepest + 1.0
        assert off_triangle(witness.point, plate) == pytest.approx(0.0, abs=1e-9)
        assert np.all((witness.setting >= [UP[0], AHEAD[0]]) & (witness.setting <= [UP[1], AHEAD[1]]))
        if shares is not None:
            assert witness.share == pytest.approx(0.2)


def test_polished_a_depth_is_found_at_a_setting_within_the_ranges_as_well():
    """A small triangle 30 off the way of the middle, where that is 5 ahead and 20 up."""
    small = np.array([[5.0, 30.0, 20.0]]) + np.array([[2.0, 0.0, -1.0], [-2.0, 0.0, -1.0], [0.0, 0.0, 2.0]])
    witness = Nearest(passing(small[None]), 0.05)
    witness.measure(small[:1], np.zeros(1), np.array([[0.0, -5.0]]), np.array([0]))
    assert witness.upper > -66.0
    witness.polish()
    assert 30.0 - RADIUS - FIT_MM <= witness.upper <= 30.0 - RADIUS + 0.005


def test_too_near_is_what_misses_by_less_than_the_doubt():
    triangles = np.array([loose(seed) for seed in range(4)])
    witness = TooNear(passing(triangles), 50.0, 0.5)
    assert witness.drop() == 50.0
    points = np.array([[0.0, 150.4, 0.0], [0.0, 150.6, 0.0], [0.0, 120.0, 0.0], [0.0, 110.0, 0.0]])
    settings = np.array([[0.0, 0.0], [0.0, 0.0], [0.0, 0.0], [5.0, 0.0]])
    witness.measure(points, np.zeros(4), settings, np.array([3, 1, 2, 2]))
    assert list(witness.nearer) == [3, 2]
    # the first setting that shows it stays
    assert witness.nearer[2].tolist() == [0.0, 0.0]
    left = witness.undecided(boxes_of(triangles, np.array([0, 1, 2, 3])))
    assert left.node.tolist() == [-1, -2]
    none = TooNear(passing(triangles), 50.0, 0.5)
    boxes = boxes_of(triangles, np.array([0, 1]))
    assert none.undecided(boxes) is boxes


def test_of_many_settings_each_has_its_own_upper_end():
    triangles = np.array([loose(1), loose(2)])
    witness = NearestOfEach(passing(triangles), 3, 0.1)
    boxes = boxes_of(triangles, np.array([0, 1, 0, 1]))
    boxes.group = np.array([0, 0, 2, 2])
    boxes.middle = np.array([[0.0, 0.0], [0.0, 0.0], [50.0, 10.0], [50.0, 10.0]])
    witness.measure_corners(boxes)
    first = min(float(np.linalg.norm(t[1])) for t in triangles) - RADIUS
    last = min(float(np.linalg.norm(t[1] - [10.0, 0.0, 50.0])) for t in triangles) - RADIUS
    assert witness.uppers == pytest.approx([first, np.inf, last], abs=FIT_MM)
    witness.uppers = np.array([10.0, -1.0, -40.0])
    boxes.group = np.array([0, 1, 2, 2])
    assert witness.drop(boxes) == pytest.approx([9.9, -1.1, -42.0, -42.0])


def test_weights_of_places_on_triangles_make_the_places_again():
    rng = np.random.default_rng(6)
    corners = rng.normal(size=(200, 3, 3)) * 80.0 + 300.0
    # wires and points too, which have no area
    corners[:50, 2] = corners[:50, 1]
    corners[:10] = corners[:10, :1]
    points = np.einsum("ni,nij->nj", rng.dirichlet([0.5] * 3, 200), corners)
    weights = _shares_of(corners, points)
    assert weights.sum(axis=1) == pytest.approx(1.0)
    assert np.all(weights >= 0.0)
    assert np.einsum("ni,nij->nj", weights, corners) == pytest.approx(points, abs=1e-6)


# ---- the loop


def test_a_box_put_aside_lowers_the_lower_end_and_one_that_was_not_split_does_too():
    triangles = np.array([loose(seed) for seed in range(30)])
    search = Search(Nearest(passing(triangles), 0.05), batch=3)
    assert (search.aside, search.floor) == (np.inf, -np.inf)
    true = min(true_gap(seed) for seed in range(len(triangles)))
    assert search.run(100_000, 100_000)
    assert true - 0.05 <= search.at_least_mm() <= true + 1e-6
    search.witness.upper = search.at_least_mm() - 5.0
    assert search.at_least_mm() == pytest.approx(search.witness.upper - PATH.error_mm)


@pytest.mark.parametrize("batch", [1, 7, 4000])
def test_however_many_boxes_a_round_takes_the_answer_is_the_same(batch):
    triangles = np.array([loose(seed) for seed in range(30)])
    true = min(true_gap(seed) for seed in range(len(triangles)))
    witness = Nearest(passing(triangles), 0.05)
    search = Search(witness, batch=batch)
    assert search.run(100_000, 100_000)
    witness.settle()
    assert search.at_least_mm() <= true + 1e-6
    assert witness.upper - search.at_least_mm() <= 0.05
    assert witness.upper == pytest.approx(true, abs=1e-3)
