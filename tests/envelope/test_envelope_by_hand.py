"""What an envelope is made of, piece by piece, by a roller that goes straight up: its sweep is as far from any place as
the roller is, put where it is nearest.

The roller is 80 high and 60 wide with edges rounded to 8, and goes down 20 and up 30.
"""

from __future__ import annotations

import itertools
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
import trimesh

from clearance.envelope import build
from clearance.envelope.build import (
    Envelope,
    _far_mm,
    _furthest_corner,
    _quartered,
    _united,
    _with_hearts,
    begin_around,
    envelopes_of,
    swept_disc,
)  # fmt: skip
from clearance.envelope.surface import (
    ON_MM,
    Aim,
    Surface,
    _edge_keys,
    _plump,
    _spread_settings,
    _stepped,
    _thin_faces,
    _where_to_cut,
    cut_faces,
    face_keys,
    first_surface,
    heart_of,
    lay,
    longest_mm,
    longest_sides,
    mend,
    nearest_of,
    refine,
)  # fmt: skip
from clearance.errors import OutputError
from clearance.geom.mesh import edges_of, is_closed
from clearance.geom.nearest import Nearest
from clearance.geom.profile import Arc, Line, Profile, polygon
from clearance.geom.revolve import Solid
from clearance.pose import Array
from clearance.suspension.position import Cycle
from clearance.suspension.straight import Straight

RADIUS, HALF, CORNER = 40.0, 30.0, 8.0
DOWN, UP = -20.0, 30.0
LEVEL_MM = 0.35
AIM = Aim(dip_mm=0.275, bridge_mm=0.1, room_mm=0.135, most_faces=120_000)
MOST_MM = LEVEL_MM + AIM.room_mm


def roller() -> Solid:
    h, r, c = HALF, RADIUS, CORNER
    profile = Profile(
        elements=(
            Line(start=(-h, 0.0), end=(h, 0.0)),
            Line(start=(h, 0.0), end=(h, r - c)),
            Arc(start=(h, r - c), end=(h - c, r), centre=(h - c, r - c)),
            Line(start=(h - c, r), end=(c - h, r)),
            Arc(start=(c - h, r), end=(-h, r - c), centre=(c - h, r - c)),
            Line(start=(-h, r - c), end=(-h, 0.0)),
        )
    )
    return Solid(profile=profile, pieces=(profile,))


def to_roller(places: Array) -> Array:
    """The distance to a roller with rounded edges, as that to a block with sharp ones, less their radius."""
    across = np.abs(places[:, 1]) - (HALF - CORNER)
    out = np.hypot(places[:, 0], places[:, 2]) - (RADIUS - CORNER)
    outside = np.hypot(np.maximum(across, 0.0), np.maximum(out, 0.0))
    far: Array = outside + np.minimum(np.maximum(across, out), 0.0) - CORNER
    return far


def to_sweep(places: Array, low: float = DOWN, high: float = UP) -> Array:
    """The same where the roller is level with the place, or as near to that as it goes."""
    level = places.copy()
    level[:, 2] -= np.clip(places[:, 2], low, high)
    return to_roller(level)


@pytest.fixture
def moving() -> Nearest:
    return swept_disc(roller(), Straight(cycle=Cycle(bump_mm=(DOWN, UP))))


def laid(moving: Nearest, *, refined: bool = False) -> Surface:
    heart, _ = heart_of(moving)
    surface = first_surface(moving, heart, (LEVEL_MM,), AIM)
    if refined:
        refine(moving, surface, AIM)
    return surface


def corners_of(surface: Surface) -> Array:
    return surface.vertices[surface.faces]


# ---- the surface


def test_an_aim_says_by_how_much_of_what_is_allowed_a_distance_is_off():
    aim = Aim(dip_mm=0.5, bridge_mm=0.25, room_mm=1.0, most_faces=1)
    assert aim.off(np.array([0.0, -0.5, -1.0, 0.25, 0.5])) == pytest.approx([0.0, 1.0, 2.0, 1.0, 2.0])


@pytest.mark.parametrize(("low", "high"), [(DOWN, UP), (0.0, 10.0), (-30.0, 30.0)])
def test_the_heart_of_a_travel_is_its_middle(low, high):
    """There the roller is over it by its radius less half of the travel, at both ends."""
    heart, deep = heart_of(swept_disc(roller(), Straight(cycle=Cycle(bump_mm=(low, high)))))
    true = min(RADIUS - (high - low) / 2, HALF)
    assert deep == pytest.approx(true, abs=0.2)
    assert deep <= true + 1e-6
    for at in (low, high):
        assert to_roller(heart[None] - [[0.0, 0.0, at]])[0] <= -deep + 1e-4


def test_the_heart_of_a_disc_off_its_hub_is_in_the_disc():
    block = polygon([(100.0, 0.0), (160.0, 0.0), (160.0, 40.0), (100.0, 40.0)])
    heart, deep = heart_of(swept_disc(Solid(profile=block, pieces=(block,)), Straight(cycle=Cycle(bump_mm=(DOWN, UP)))))
    assert deep == pytest.approx(15.0, abs=0.2)
    assert 115.0 - 0.2 <= heart[1] <= 145.0 + 0.2
    assert heart[2] == pytest.approx(5.0, abs=0.2)


def test_without_a_place_inside_it_all_the_time_a_travel_has_no_heart():
    _, deep = heart_of(swept_disc(roller(), Straight(cycle=Cycle(bump_mm=(-60.0, 60.0)))))
    assert deep == pytest.approx(40.0 - 60.0, abs=0.5)


def test_the_steps_of_a_ring_are_short_but_along_the_axis():
    ring = np.array([[-100.0, 0.0], [100.0, 0.0], [100.0, 130.0], [90.0, 140.0], [-100.0, 140.0]])
    stepped = _stepped(ring)
    steps = np.linalg.norm(np.roll(stepped, -1, axis=0) - stepped, axis=1)
    assert steps.sum() == pytest.approx(np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1).sum())
    assert stepped[:2] == pytest.approx(ring[:2])
    assert sorted(steps)[-1] == pytest.approx(200.0)
    # 130 in three, 14 in one, 190 in four, 140 in three
    assert len(stepped) == 1 + 3 + 1 + 4 + 3
    assert sorted(steps)[-2] <= 55.0
    for corner in ring:
        assert np.linalg.norm(stepped - corner, axis=1).min() < 1e-9


def test_a_face_has_one_key_whichever_way_it_is_told_and_no_other_has_it():
    rng = np.random.default_rng(3)
    faces = np.unique(np.sort(rng.choice(90_000, (20_000, 3)), axis=1), axis=0)
    keys = face_keys(faces)
    assert len(np.unique(keys)) == len(faces)
    for turned in itertools.permutations(range(3)):
        assert np.array_equal(face_keys(faces[:, turned]), keys)


def test_the_first_surface_is_closed_and_its_vertices_lie_on_the_level(moving):
    surface = laid(moving)
    assert is_closed(surface.faces)
    assert to_sweep(surface.vertices) == pytest.approx(LEVEL_MM, abs=2.0 * ON_MM)
    assert np.linalg.norm(surface.toward, axis=1) == pytest.approx(1.0)
    a, b, c = np.moveaxis(corners_of(surface) - surface.heart, 1, 0)
    assert np.all(np.einsum("ij,ij->i", a, np.cross(b, c)) > 0.0)
    # each vertex at the setting that is nearest, where only one is; the normal is the way in which the distance grows
    step = 1e-4
    grows = (to_sweep(surface.vertices + step * surface.normal) - to_sweep(surface.vertices)) / step
    assert grows == pytest.approx(1.0, abs=0.02)


def test_vertices_are_laid_onto_the_level_along_their_own_directions(moving):
    surface = laid(moving)
    rng = np.random.default_rng(4)
    toward, before = surface.toward.copy(), surface.radius.copy()
    rows = np.flatnonzero(rng.random(len(before)) < 0.5)
    surface.radius[rows] += rng.uniform(-2.0, 2.0, len(rows))
    lay(moving, surface, rows, rounds=6)
    assert to_sweep(surface.vertices)[rows] == pytest.approx(LEVEL_MM, abs=ON_MM)
    assert np.array_equal(surface.toward, toward)
    others = np.setdiff1d(np.arange(len(before)), rows)
    assert np.array_equal(surface.radius[others], before[others])


def test_the_meshes_of_several_levels_lie_side_by_side_and_each_is_as_if_it_were_alone(moving):
    """As many vertices each and no face between them; refined together, each is closed and near its own level."""
    heart, _ = heart_of(moving)
    levels = (LEVEL_MM, 9.0)
    surface = first_surface(moving, heart, levels, AIM)
    refine(moving, surface, AIM)
    assert np.array_equal(surface.growth[surface.faces], np.repeat(surface.of_face[:, None], 3, axis=1))
    for number, level in enumerate(levels):
        own = surface.faces[surface.of_face == number]
        alone = first_surface(moving, heart, (level,), AIM)
        refine(moving, alone, AIM)
        assert is_closed(own)
        assert to_sweep(surface.vertices[np.unique(own)]) == pytest.approx(level, abs=2.0 * ON_MM)
        assert len(own) == pytest.approx(len(alone.faces), rel=0.05)
        assert (
            np.quantile(AIM.off(to_sweep(corners_of(surface)[surface.of_face == number].mean(axis=1)) - level), 0.95)
            <= 1.1
        )


def test_refined_no_middle_of_an_edge_or_a_face_is_off_by_more_than_the_aim_allows(moving):
    """By distances that the mesh did not make. Where the surface is expected to be an arc a tenth is left to that."""
    surface = laid(moving, refined=True)
    assert is_closed(surface.faces)
    edges, _ = edges_of(surface.faces)
    ends = surface.vertices[edges]
    for middles in (ends.mean(axis=1), corners_of(surface).mean(axis=1)):
        off = AIM.off(to_sweep(middles) - LEVEL_MM)
        assert np.quantile(off, 0.95) <= 1.1
        assert off.max() <= 1.4
    # and it is as coarse as that allows: 2200 faces, and 2800 where no edge is turned over
    assert len(surface.faces) < 2500
    assert np.linalg.norm(ends[:, 0] - ends[:, 1], axis=1).max() <= 60.0
    mesh = trimesh.Trimesh(surface.vertices, surface.faces, process=False)
    assert mesh.is_watertight
    assert mesh.volume > 0.0


def test_what_hangs_on_a_vertex_that_moved_is_looked_at_again_and_nothing_else(moving):
    surface = laid(moving)
    edges, _ = edges_of(surface.faces)
    faces = surface.faces
    surface.good_edges, surface.good_faces = _edge_keys(edges), face_keys(faces)
    for vertices in (np.array([edges[7, 1], edges[60, 1]]), np.array([0]), np.array([len(surface.radius) - 1])):
        surface.doubt(vertices)
        edges = edges[~np.isin(edges, vertices).any(axis=1)]
        faces = faces[~np.isin(faces, vertices).any(axis=1)]
        assert surface.good_edges.tolist() == _edge_keys(edges).tolist()
        assert surface.good_faces.tolist() == face_keys(faces).tolist()
    assert 0 < len(faces) < len(surface.faces)


def test_what_one_vertex_found_spreads_to_all_that_lie_around_it(moving):
    """The top was laid by the wrong end of the travel, three rings of it: they learn the right one from one another, if
    not all of them at once."""
    surface = laid(moving, refined=True)
    edges, _ = edges_of(surface.faces)
    wrong = np.array([int(np.argmax(surface.vertices[:, 2]))])
    for _ in range(3):
        wrong = np.unique(edges[np.isin(edges, wrong).any(axis=1)])
    surface.radius[wrong] -= 3.0
    surface.settings[wrong] = DOWN
    moved = _spread_settings(moving, surface, edges)
    assert set(moved) <= set(wrong)
    assert len(moved) > len(wrong) / 2
    assert to_sweep(surface.vertices[moved]) == pytest.approx(LEVEL_MM, abs=ON_MM)


def test_the_longest_side_of_a_face_is_the_longest(moving):
    surface = laid(moving)
    edges, sides = edges_of(surface.faces)
    length = np.linalg.norm(surface.vertices[edges[:, 0]] - surface.vertices[edges[:, 1]], axis=1)
    rows = np.arange(0, len(surface.faces), 3)
    assert longest_mm(surface, rows) == pytest.approx(length[sides[rows]].max(axis=1))
    found = longest_sides(surface, sides, rows)
    assert len(np.unique(found)) == len(found)
    assert set(found) <= set(sides[rows].ravel())
    for row in rows:
        assert any(edge in sides[row] and length[edge] > length[sides[row]].max() - 1e-9 for edge in found)


def test_how_plump_a_face_is_is_its_height_over_its_longest_side():
    """Seen from the heart, about 1 away: an upright triangle of 0.1 on a side of 0.2 is half as high as it is long."""
    corners = np.array([[1.0, -0.1, 0.0], [1.0, 0.1, 0.0], [1.0, 0.0, 0.1], [1.0, 0.0, 0.004]])
    surface = Surface(
        heart=np.zeros(3), toward=corners, radius=np.ones(4), settings=np.zeros((4, 1)), normal=corners,
        growth=np.zeros(4, dtype=int), level_mm=np.zeros(4), faces=np.array([[0, 1, 2], [1, 0, 2], [0, 1, 3]]),
    )  # fmt: skip
    found = _plump(surface, *surface.faces.T)
    assert found == pytest.approx([0.5, -0.5, 0.02])
    assert _thin_faces(surface).tolist() == [1, 2]


def test_an_edge_over_a_valley_is_cut_where_the_planes_of_its_ends_meet(moving):
    """Planes that rise by 1 in 1 from the one end and by 1 in 3 from the other meet at a quarter of the way; between
    settings that are alike, and over a crest, it is cut halfway."""
    ends = np.array([[0.0, 0.0, 0.0], [40.0, 0.0, 0.0]])
    steep, gentle = np.array([np.sqrt(0.5), 0.0, -np.sqrt(0.5)]), np.array([-np.sqrt(0.1), 0.0, -np.sqrt(0.9)])

    def share(normal: Array, settings: tuple[float, float]) -> float:
        surface = Surface(
            heart=np.zeros(3), toward=ends, radius=np.ones(2), settings=np.array(settings)[:, None], normal=normal,
            growth=np.zeros(2, dtype=int), level_mm=np.zeros(2), faces=np.zeros((0, 3), dtype=int),
        )  # fmt: skip
        return float(_where_to_cut(moving, surface, np.array([0]), np.array([1]))[0, 0])

    apart = (DOWN, UP)
    rise, back = 40.0 * np.sqrt(0.5), 40.0 * np.sqrt(0.1)
    assert share(np.array([steep, gentle]), apart) == pytest.approx(back / (rise + back))
    assert share(np.array([gentle, steep]), apart) == 0.5
    assert share(np.array([steep, gentle]), (0.0, 0.1)) == 0.5
    # never nearer to an end than a fifth of the way
    flat = np.array([-0.01, 0.0, -1.0])
    assert share(np.array([steep, flat]), apart) == pytest.approx(0.2)
    assert share(np.array([-flat * [1.0, 1.0, -1.0], -steep * [1.0, 1.0, -1.0]]), apart) == pytest.approx(0.8)


def test_from_several_settings_the_nearest_is_found(moving):
    rng = np.random.default_rng(6)
    places = rng.normal(size=(300, 3)) * [40.0, 30.0, 60.0]
    places = places[to_sweep(places) > 0.5]
    starts = [rng.uniform(DOWN, UP, (len(places), 1)) for _ in range(3)]
    found = nearest_of(moving, places, starts)
    # a step that promises less than five thousandths is not taken
    assert found.distance == pytest.approx(to_sweep(places), abs=0.01)
    assert np.all((found.settings >= DOWN) & (found.settings <= UP))
    level = places - np.column_stack([0.0 * places[:, 0], 0.0 * places[:, 0], found.settings[:, 0]])
    assert found.distance == pytest.approx(to_roller(level), abs=1e-4)


def test_faces_are_cut_across_their_longest_sides_and_no_vertex_moves(moving):
    surface = laid(moving)
    before, faces = surface.vertices.copy(), surface.faces.copy()
    rows = np.array([3, 40, 41])
    cut_faces(moving, surface, rows[:0])
    assert np.array_equal(surface.faces, faces)
    cut_faces(moving, surface, rows)
    assert np.array_equal(surface.vertices[: len(before)], before)
    assert is_closed(surface.faces)
    gained = len(surface.vertices) - len(before)
    assert 1 <= gained <= 3
    assert len(surface.faces) == len(faces) + 2 * gained
    assert not set(face_keys(faces[rows])) & set(face_keys(surface.faces))
    assert to_sweep(surface.vertices[len(before) :]) == pytest.approx(LEVEL_MM, abs=ON_MM)


def sunk(moving: Nearest, by_mm: float) -> tuple[Surface, int, np.ndarray]:
    """A refined surface, its highest vertex sunk below the level; that vertex and its faces."""
    surface = laid(moving, refined=True)
    top = int(np.argmax(surface.vertices[:, 2]))
    surface.radius[top] -= by_mm
    return surface, top, np.flatnonzero((surface.faces == top).any(axis=1))


def test_a_vertex_that_was_laid_by_a_wrong_setting_is_mended_by_the_right_one(moving):
    surface, top, faces = sunk(moving, 3.0)
    surface.settings[top] = DOWN
    moved = mend(moving, surface, faces, np.full((len(faces), 1), UP), AIM, push=False)
    assert top in moved
    assert to_sweep(surface.vertices)[top] == pytest.approx(LEVEL_MM, abs=ON_MM)
    assert is_closed(surface.faces)


@pytest.mark.parametrize("by_mm", [0.2, 3.0])
def test_on_push_corners_go_out_by_half_as_much_again_as_they_lack_but_leave_some_of_the_slack(moving, by_mm):
    surface, top, faces = sunk(moving, by_mm)
    before, count, corners = surface.radius.copy(), len(surface.faces), surface.faces[faces]
    moved = mend(moving, surface, faces, np.full((len(faces), 1), UP), AIM, push=True)
    assert sorted(moved) == sorted(set(corners.ravel()))
    assert np.all(surface.radius[: len(before)] >= before)
    far = to_sweep(surface.vertices[moved])
    assert far.max() <= MOST_MM + 1e-3
    # straight up its own way is the normal's
    assert to_sweep(surface.vertices)[top] == pytest.approx(min(0.35 + 0.5 * by_mm, MOST_MM), abs=0.01)
    others = moved[moved != top]
    assert np.all(surface.radius[others] > before[others])
    # a face that asks for more than there is is cut
    assert (len(surface.faces) > count) == (by_mm > 1.0)
    assert is_closed(surface.faces)


@pytest.mark.parametrize("short", [True, False])
def test_a_face_that_no_corner_explains_is_cut_or_where_it_is_short_pushed_out(moving, short):
    """Short is what is no longer than four dips."""
    surface = laid(moving)
    row = len(surface.faces) // 2
    (long,) = longest_mm(surface, np.array([row]))
    aim = replace(AIM, dip_mm=float(long) / (3.99 if short else 4.01))
    before, faces, own = surface.radius.copy(), len(surface.faces), surface.faces[row]
    moved = mend(moving, surface, np.array([row]), surface.settings[own[:1]], aim, push=False)
    assert np.all((surface.radius[: len(before)] != before) == (np.isin(np.arange(len(before)), own) & short))
    if short:
        assert sorted(moved) == sorted(own)
        assert surface.radius[own] == pytest.approx(before[own] + 0.15 * aim.dip_mm)
        assert len(surface.faces) == faces
    else:
        assert len(moved) == 0
        assert len(surface.faces) == faces + 2
        assert face_keys(own[None])[0] not in face_keys(surface.faces)
    assert is_closed(surface.faces)


# ---- the proof


def test_quartered_triangles_are_four_alike_that_make_the_whole():
    rng = np.random.default_rng(2)
    corners = rng.normal(size=(20, 3, 3))
    parts = _quartered(corners)
    assert parts.shape == (80, 3, 3)

    def normals(some: Array) -> Array:
        return np.cross(some[:, 1] - some[:, 0], some[:, 2] - some[:, 0])

    for quarter in range(4):
        own = parts[20 * quarter : 20 * quarter + 20]
        # a quarter of the area, turned the same way
        assert normals(own) == pytest.approx(normals(corners) / 4)
    middles = parts.mean(axis=1).reshape(4, 20, 3)
    assert middles.mean(axis=0) == pytest.approx(corners.mean(axis=1))
    assert middles[3] == pytest.approx(corners.mean(axis=1))
    for corner in range(3):
        assert parts[20 * corner : 20 * corner + 20, corner] == pytest.approx(corners[:, corner])


def test_the_furthest_corner_is_that_of_three_distances(moving):
    rng = np.random.default_rng(2)
    corners = rng.normal(size=(20, 3, 3)) * 70.0
    settings = rng.uniform(DOWN, UP, (20, 1))
    level = corners.copy()
    level[:, :, 2] -= settings
    true = to_roller(level.reshape(-1, 3)).reshape(20, 3).max(axis=1)
    assert _furthest_corner(moving, corners, settings) == pytest.approx(true, abs=1e-4)
    assert _furthest_corner(moving, corners[:0], settings[:0]).shape == (0,)


def test_how_far_a_face_is_at_most_is_no_less_than_any_place_of_it(moving):
    """Held against places of every face, by hand; and as good as asked, where the face is."""
    surface = laid(moving, refined=True)
    # some vertices moved out, with settings that are not theirs
    rng = np.random.default_rng(3)
    wrong = rng.choice(len(surface.radius), 20, replace=False)
    surface.radius[wrong] += rng.uniform(0.0, 1.5, 20)
    surface.settings[wrong] = rng.uniform(DOWN, UP, (20, 1))
    rows = np.arange(len(surface.faces))
    mix = np.concatenate([rng.dirichlet([0.5] * 3, 60), np.eye(3)])
    places = np.einsum("mk,nkj->nmj", mix, corners_of(surface))
    shown = to_sweep(places.reshape(-1, 3)).reshape(len(rows), -1).max(axis=1)
    for wanted in (0.5, 1.0):
        found = _far_mm(moving, surface, rows, np.full(len(rows), wanted))
        assert np.all(found >= shown - 1e-4)
        assert np.all(found[shown < wanted - 0.02] <= wanted + 1e-3)
        assert np.any(shown > wanted)


@pytest.mark.parametrize("travel", [60.0, 240.0, 500.0])
def test_a_long_travel_is_halved_until_each_part_has_a_heart(travel):
    low, high = -travel / 2 + 7.0, travel / 2 + 7.0
    parts = _with_hearts(swept_disc(roller(), Straight(cycle=Cycle(bump_mm=(low, high)))))
    ends = sorted(tuple(part.path.box[0]) for part, _ in parts)
    assert ends[0][0] == pytest.approx(low)
    assert ends[-1][1] == pytest.approx(high)
    assert all(a[1] == pytest.approx(b[0]) for a, b in itertools.pairwise(ends))
    # no part is longer than the roller is high, and none is halved that had a heart
    assert len(parts) == {60.0: 1, 240.0: 4, 500.0: 8}[travel]
    for part, heart in parts:
        for at in part.path.box[0]:
            assert to_roller(heart[None] - [[0.0, 0.0, at]])[0] < -0.05 * RADIUS


def test_united_envelopes_are_one_and_say_the_worse_of_what_is_known_of_each():
    def block(x: float, standoff: float, slack: float) -> Envelope:
        mesh = trimesh.creation.box((20.0, 10.0, 10.0), transform=trimesh.transformations.translation_matrix((x, 0, 0)))
        return Envelope(
            vertices_mm=np.array(mesh.vertices), faces=np.array(mesh.faces), grown_mm=3.0, standoff_mm=standoff,
            slack_mm=slack,
        )  # fmt: skip

    found = _united([block(0.0, 0.1, 0.5), block(15.0, 0.2, 0.4)])
    mesh = trimesh.Trimesh(found.vertices_mm, found.faces, process=True)
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(35.0 * 100.0)
    assert (found.grown_mm, found.standoff_mm, found.slack_mm) == (3.0, 0.1, 0.5)


def test_envelopes_grow_by_what_was_asked_and_by_what_the_motion_is_uncertain_by():
    suspension = Straight(cycle=Cycle(bump_mm=(DOWN, UP)))
    asked: list[str] = []

    class Uncertain(Straight):
        @property
        def uncertainty_mm(self) -> float:
            return 1.5

    def off_mm(frame: str) -> float:
        asked.append(frame)
        return 2.0

    mockup = SimpleNamespace(solid=roller(), suspension=Uncertain(cycle=suspension.cycle), off_mm=off_mm)
    told: list[tuple[int, int]] = []
    plain, grown = envelopes_of(
        mockup,  # type: ignore[arg-type]
        (0.0, 4.0),
        slack_mm=2.0,
        progress=lambda done, of: told.append((done, of)),
    )
    assert asked == ["body"]
    assert told == [(1, 2), (2, 2)]
    for envelope, grow in ((plain, 3.5), (grown, 7.5)):
        assert envelope.grown_mm == grow
        rng = np.random.default_rng(5)
        mix = rng.dirichlet([1.0] * 3, len(envelope.faces))
        places = np.einsum("nk,nkj->nj", mix, envelope.vertices_mm[envelope.faces])
        far = to_sweep(np.concatenate([places, envelope.vertices_mm])) - grow
        assert 0.0 <= envelope.standoff_mm <= far.min() + 1e-4
        assert far.max() - 1e-4 <= envelope.slack_mm <= 2.0


def test_where_more_faces_are_wanted_than_are_sensible_the_slack_is_twice_that_or_four_times(monkeypatch, moving):
    """The roller takes some 900 faces at two millimetres, 600 at four."""

    def slack(asked: float, faces: int, faces_mm: float = 0.0) -> float:
        monkeypatch.setattr(build, "_FACES", faces)
        monkeypatch.setattr(build, "_FACES_MM", faces_mm)
        (envelope,) = begin_around(moving, (0.0,), slack_mm=asked)()
        assert to_sweep(envelope.vertices_mm).min() >= -1e-4
        return envelope.slack_mm

    assert 2.0 < slack(2.0, 750) <= 4.0
    assert 0.0 < slack(2.0, 1100) <= 2.0
    # the less slack is asked for the more faces are sensible
    assert 0.0 < slack(2.0, 0, 2200.0) <= 2.0
    with pytest.raises(OutputError, match="could not be proven"):
        slack(2.0, 20)


def test_in_parts_a_long_travel_is_told_of_part_by_part_and_each_growth_is_one():
    disc = swept_disc(roller(), Straight(cycle=Cycle(bump_mm=(-60.0, 60.0))))
    told: list[tuple[int, int]] = []
    found = begin_around(disc, (0.0, 3.0), slack_mm=2.0)(lambda done, of: told.append((done, of)))
    assert told == [(1, 4), (2, 4), (3, 4), (4, 4)]
    for envelope, grow in zip(found, (0.0, 3.0), strict=True):
        mesh = trimesh.Trimesh(envelope.vertices_mm, envelope.faces)
        assert mesh.is_watertight
        far = to_sweep(envelope.vertices_mm, -60.0, 60.0) - grow
        assert far.min() >= -1e-4
        assert far.max() <= 2.0
