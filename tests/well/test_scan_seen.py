"""What is drawn of a scan is nowhere further from it than is said, and a click is found on the scan itself."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import trimesh

from clearance.well import scan_clean
from clearance.well.scan_read import read_mesh
from clearance.well.scan_seen import hit, seen

WELL = Path(__file__).resolve().parents[2] / "fixtures" / "corners" / "scanned-well.ply"


def rough_sphere(seed: int, level: int = 5):
    """A ball with dents, and dust round it: pieces of every size."""
    random = np.random.default_rng(seed)
    ball = trimesh.creation.icosphere(subdivisions=level)
    vertices = ball.vertices * (1.0 + 0.05 * random.standard_normal((len(ball.vertices), 1)))
    dust = random.uniform(-2.0, 2.0, (40, 1, 3)) + 0.01 * random.standard_normal((40, 3, 3))
    faces = np.concatenate([ball.faces, len(vertices) + np.arange(120).reshape(40, 3)])
    return np.concatenate([vertices, dust.reshape(-1, 3)]), np.asarray(faces, dtype=np.int64)


def labelled(vertices, faces):
    return scan_clean.pieces(faces, len(vertices))[1]


@pytest.mark.parametrize("seed", range(3))
def test_nothing_drawn_is_further_off_than_is_said_either_way(seed):
    """Each side sampled and measured to the other by trimesh, which shares nothing with the gathering."""
    vertices, faces = rough_sphere(seed)
    found = seen(vertices, faces, labelled(vertices, faces), most=3000)
    assert len(found.faces) + len(found.lines) + len(found.points) <= 3000
    assert 0.0 < found.off < 0.5
    whole = trimesh.Trimesh(vertices, faces, process=False)
    # lines and points are triangles without area, so that the other library measures to them too
    thin = np.concatenate([found.faces, found.lines[:, [0, 1, 1]], np.repeat(found.points[:, None], 3, axis=1)])
    random = np.random.default_rng(seed)

    def spots(triangles, count):
        weights = random.dirichlet(np.ones(3), count)
        return np.einsum("nk,nkj->nj", weights, triangles[random.integers(len(triangles), size=count)])

    def apart(points, triangles):
        near = trimesh.triangles.closest_point
        off = [near(triangles, np.repeat(p[None], len(triangles), 0)) - p for p in points]
        return max(float(np.linalg.norm(one, axis=1).min()) for one in off)

    assert apart(spots(found.vertices[thin], 15), whole.triangles) <= found.off + 1e-9
    assert apart(spots(whole.triangles, 15), found.vertices[thin]) <= found.off + 1e-9


def test_every_piece_is_drawn_and_none_is_joined_to_another():
    vertices, faces = rough_sphere(7)
    labels = labelled(vertices, faces)
    found = seen(vertices, faces, labels, most=2000)
    assert set(found.piece) == set(labels)
    for table in (found.faces, found.lines):
        assert (found.piece[table] == found.piece[table][:, :1]).all()


def test_a_small_scan_is_drawn_as_it_is():
    raw = read_mesh(WELL)
    mesh, _ = scan_clean.cleaned(raw)
    found = seen(mesh.vertices, mesh.faces, labelled(mesh.vertices, mesh.faces))
    assert found.off == 0.0
    assert np.array_equal(found.vertices[found.faces], mesh.vertices[mesh.faces])


def test_a_click_is_where_another_library_finds_it():
    vertices, faces = rough_sphere(3, level=4)
    labels = labelled(vertices, faces)
    body = trimesh.Trimesh(vertices, faces, process=False)
    random = np.random.default_rng(5)
    found = 0
    for _ in range(60):
        start = random.standard_normal(3)
        start *= 4.0 / np.linalg.norm(start)
        way = random.uniform(-1.0, 1.0, 3) - start
        way /= np.linalg.norm(way)
        spots, _, which = body.ray.intersects_location([start], [way], multiple_hits=True)
        mine = hit(vertices, faces, labels, start, way, frozenset())
        if not len(spots):
            assert mine is None
            continue
        found += 1
        k = int(np.argmin(np.linalg.norm(spots - start, axis=1)))
        assert mine is not None
        assert np.linalg.norm(mine.point - spots[k]) < 1e-6
        assert mine.piece == labels[which[k]]
    assert found > 30


def test_a_piece_that_is_gone_hides_nothing():
    vertices = np.array([[0, 0, 1], [1, 0, 1], [0, 1, 1], [0, 0, 0], [1, 0, 0], [0, 1, 0.0]])
    faces = np.array([[0, 1, 2], [3, 4, 5]])
    labels = np.array([1, 0])
    start, way = np.array([0.2, 0.2, 5.0]), np.array([0.0, 0.0, -1.0])
    first, behind = (
        hit(vertices, faces, labels, start, way, frozenset()),
        hit(vertices, faces, labels, start, way, frozenset({1})),
    )
    assert first is not None
    assert behind is not None
    assert (first.point[2], first.piece, behind.point[2], behind.piece) == (1.0, 1, 0.0, 0)
    assert hit(vertices, faces, labels, start, way, frozenset({0, 1})) is None
