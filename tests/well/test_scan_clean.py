"""Cleaning a scan: what is counted, what is left out, and that the surface does not move unsaid."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from clearance.errors import MeshError
from clearance.well import scan_clean
from clearance.well.scan_decimate import decimated, furthest_mm, squared_distance
from clearance.well.scan_read import RawMesh


def raw(vertices: object, faces: object) -> RawMesh:
    return RawMesh(
        name="made here", vertices=np.array(vertices, float), faces=np.array(faces, dtype=np.int64).reshape(-1, 3)
    )


def test_vertices_at_one_place_are_one_and_a_negative_zero_is_zero():
    mesh, counts = scan_clean.cleaned(
        raw([[0, 0, 0], [1, 0, 0], [0, 1, 0], [-0.0, 0, 0], [1, 0, 0], [1, 1, 0]], [[0, 1, 2], [4, 5, 2]])
    )
    assert (counts.merged, counts.degenerate, counts.duplicated) == (2, 0, 0)
    assert mesh.vertices.tolist() == [[0, 0, 0], [1, 0, 0], [0, 1, 0], [1, 1, 0]]
    assert mesh.faces.tolist() == [[0, 1, 2], [1, 3, 2]]


def test_a_triangle_given_twice_even_the_other_way_round_counts_once():
    mesh, counts = scan_clean.cleaned(raw([[0, 0, 0], [1, 0, 0], [0, 1, 0]], [[0, 1, 2], [1, 2, 0], [2, 1, 0]]))
    assert counts.duplicated == 2
    assert mesh.faces.tolist() == [[0, 1, 2]]
    assert "2 triangles given twice" in counts.notes[0]


def test_a_triangle_without_area_goes_only_where_others_hold_its_corners():
    square = [[0, 0, 0], [1, 0, 0], [0, 1, 0], [0.5, 0, 0], [9, 0, 0], [9, 9, 9]]
    mesh, counts = scan_clean.cleaned(raw(square, [[0, 3, 2], [3, 1, 2], [0, 3, 1], [4, 5, 5]]))
    # the sliver 0, 3, 1 is covered by its neighbours; the wire from 4 to 5 is all that there is of something
    assert counts.degenerate == 1
    assert mesh.faces.tolist() == [[0, 3, 2], [3, 1, 2], [4, 5, 5]]


def test_cleaning_agrees_with_an_independent_library():
    """A sphere of unjoined triangles with every tenth doubled, against trimesh's merging and counting."""
    ball = trimesh.creation.icosphere(subdivisions=3, radius=100.0)
    soup = ball.vertices[ball.faces].reshape(-1, 3)
    faces = np.arange(len(soup)).reshape(-1, 3)
    mesh, counts = scan_clean.cleaned(raw(soup, np.concatenate([faces, faces[::10]])))
    assert len(mesh.vertices) == len(ball.vertices)
    assert len(mesh.faces) == len(ball.faces)
    assert counts.duplicated == len(faces[::10])
    other = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    assert other.is_watertight
    assert other.area == pytest.approx(ball.area)


def test_pieces_and_their_boxes_agree_with_an_independent_library():
    rng = np.random.default_rng(7)
    boxes = [trimesh.creation.box(extents=rng.uniform(5, 50, 3)) for _ in range(9)]
    for number, box in enumerate(boxes):
        box.apply_translation([200 * number, 0, 0])
    whole = trimesh.util.concatenate([*boxes, trimesh.creation.icosphere(subdivisions=1)])
    order = rng.permutation(len(whole.faces))
    count, labels = scan_clean.pieces(whole.faces[order], len(whole.vertices))
    assert count == len(whole.split(only_watertight=False)) == 10
    assert np.bincount(labels).tolist() == [80] + [12] * 9
    low, high = scan_clean.piece_boxes(whole.vertices, whole.faces[order], labels, count)
    sizes = sorted(np.linalg.norm(high - low, axis=1))
    assert sizes == pytest.approx(sorted(np.linalg.norm(piece.extents) for piece in whole.split(only_watertight=False)))


def test_stray_pieces_are_those_under_the_stated_size():
    ball, dust = trimesh.creation.icosphere(subdivisions=2, radius=50), trimesh.creation.box(extents=[3, 4, 12])
    dust.apply_translation([300, 0, 0])
    whole = trimesh.util.concatenate([ball, dust])
    small, count, largest = scan_clean.stray(whole.vertices, whole.faces, 13.5)
    assert (int(small.sum()), count) == (12, 1)
    assert largest == pytest.approx(13.0)  # 3, 4, 12: the diagonal is 13
    assert not scan_clean.stray(whole.vertices, whole.faces, 12.9)[0].any()


def test_the_distance_to_a_triangle_agrees_with_an_independent_library():
    """Against trimesh's closest point on the surface of one triangle, for points all round it, slivers too."""
    rng = np.random.default_rng(7)
    for _ in range(40):
        triangle = rng.normal(size=(3, 3)) * rng.choice([1.0, 100.0])
        points = rng.normal(size=(60, 3)) * 2.0 * np.abs(triangle).max()
        closest = trimesh.triangles.closest_point(np.repeat(triangle[None], 60, axis=0), points)
        expected = ((closest - points) ** 2).sum(axis=1)
        assert squared_distance(points, triangle) == pytest.approx(expected, rel=1e-9, abs=1e-9)


def rough_sheet(rng: np.random.Generator, count: int) -> tuple[np.ndarray, np.ndarray]:
    steps = np.linspace(0, 1, count)
    u, v = np.meshgrid(steps, steps, indexing="ij")
    points = np.stack([600 * u, 80 * np.sin(4 * v) + rng.normal(0, 0.3, u.shape), 600 * v], -1).reshape(-1, 3)
    index = np.arange(count * count).reshape(count, count)
    a, b, c, d = index[:-1, :-1], index[1:, :-1], index[1:, 1:], index[:-1, 1:]
    return points, np.concatenate([np.stack([a, b, c], -1).reshape(-1, 3), np.stack([a, c, d], -1).reshape(-1, 3)])


def spread_over(rng: np.random.Generator, mesh: trimesh.Trimesh, count: int) -> np.ndarray:
    """Points on the surface, as many to an area as to any other."""
    owner = rng.choice(len(mesh.faces), count, p=mesh.area_faces / mesh.area)
    u, v = rng.random((2, count, 1))
    u, v = np.where(u + v > 1, 1 - u, u), np.where(u + v > 1, 1 - v, v)
    a, b, c = np.moveaxis(mesh.triangles[owner], 1, 0)
    return a + u * (b - a) + v * (c - a)


def test_the_bound_on_a_moved_surface_is_the_move():
    """A flat sheet against itself 3 mm higher: every point is 3 mm away, and the bound may say a tenth more."""
    points, faces = rough_sheet(np.random.default_rng(7), 20)
    points[:, 1] = 0.0
    lifted = points + np.array([0.0, 3.0, 0.0])
    assert 3.0 <= furthest_mm(points[faces], lifted[faces]) <= 3.0 * 1.1 + 0.01


def test_decimation_moves_no_point_further_than_it_says():
    """20,000 points on each surface, measured to the other by trimesh's own search, none further than the bound."""
    rng = np.random.default_rng(7)
    points, faces = rough_sheet(rng, 60)
    less, triangles, bound = decimated(points, faces, 900)
    assert len(triangles) <= 1000
    old, new = trimesh.Trimesh(points, faces, process=False), trimesh.Trimesh(less, triangles, process=False)
    worst = 0.0
    for one, other in ((old, new), (new, old)):
        spots = spread_over(rng, one, 20_000)
        _, distance, _ = trimesh.proximity.closest_point(other, spots)
        worst = max(worst, float(distance.max()))
    assert worst <= bound
    # a bound of many times the truth would be true and useless; slack is a tenth and what splitting leaves
    assert bound <= 2.0 * worst + 0.1


def test_stopping_the_search_early_leaves_a_bound_that_is_still_one():
    points, faces = rough_sheet(np.random.default_rng(7), 40)
    less, triangles, _ = decimated(points, faces, 400)
    quick = furthest_mm(less[triangles], points[faces], work=10)
    slow = furthest_mm(less[triangles], points[faces])
    assert quick >= slow / 1.1 - 0.01


def test_decimation_to_nothing_is_refused():
    points, faces = rough_sheet(np.random.default_rng(7), 10)
    with pytest.raises(MeshError, match="leaves no surface"):
        decimated(points, faces, 2)
