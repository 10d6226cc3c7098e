"""Meshes that are cut finer stay closed, stay turned outward and keep their volume; trimesh is the judge."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from clearance.geom.mesh import edges_of, is_closed, pieces, split


def ball() -> tuple[np.ndarray, np.ndarray]:
    mesh = trimesh.creation.icosphere(subdivisions=2)
    return np.asarray(mesh.vertices), np.asarray(mesh.faces)


def cut_at_random(vertices: np.ndarray, faces: np.ndarray, rng: np.random.Generator, share: float):
    """Random sides cut at their middles; how many sides of each face were."""
    edges, sides = edges_of(faces)
    chosen = rng.random(len(edges)) < share
    number = np.full(len(edges), -1)
    number[chosen] = len(vertices) + np.arange(int(chosen.sum()))
    grown = np.concatenate([vertices, vertices[edges[chosen]].mean(axis=1)])
    return grown, split(faces, sides, number), chosen[sides].sum(axis=1)


def test_a_split_closed_mesh_stays_closed_and_keeps_its_volume():
    """Random sides of a ball cut at their middles: 0, 1, 2 and 3 cuts to a face all occur; then once more."""
    rng = np.random.default_rng(5)
    vertices, faces = ball()
    volume = trimesh.Trimesh(vertices, faces, process=False).volume
    area = trimesh.Trimesh(vertices, faces, process=False).area
    for _ in range(2):
        vertices, finer, cuts = cut_at_random(vertices, faces, rng, 0.5)
        assert set(cuts) == {0, 1, 2, 3}
        # each cut side gives one more triangle to both of its faces
        assert len(finer) == len(faces) + cuts.sum()
        faces = finer
        assert is_closed(faces)
        mesh = trimesh.Trimesh(vertices, faces, process=False)
        assert mesh.is_watertight
        assert mesh.is_winding_consistent
        assert mesh.volume == pytest.approx(volume, rel=1e-12)
        assert mesh.area == pytest.approx(area, rel=1e-12)


def test_cutting_no_side_changes_nothing_and_cutting_all_makes_four_of_each():
    rng = np.random.default_rng(6)
    vertices, faces = ball()
    assert np.array_equal(cut_at_random(vertices, faces, rng, 0.0)[1], faces)
    assert len(cut_at_random(vertices, faces, rng, 1.1)[1]) == 4 * len(faces)


def test_edges_are_those_that_trimesh_finds_and_sides_name_their_ends():
    _, faces = ball()
    edges, sides = edges_of(faces)
    mesh = trimesh.Trimesh(*ball(), process=False)
    assert np.array_equal(edges, mesh.edges_unique[np.lexsort(mesh.edges_unique.T[::-1])])
    assert len(edges) == 3 * len(faces) / 2  # Euler: every edge of a closed mesh has two faces
    for i in range(3):
        ends = np.sort(np.column_stack([faces[:, i], faces[:, (i + 1) % 3]]), axis=1)
        assert np.array_equal(edges[sides[:, i]], ends)


def test_a_hole_a_face_turned_over_and_a_face_told_twice_are_not_closed():
    _, faces = ball()
    assert is_closed(faces)
    assert not is_closed(faces[1:])
    turned = faces.copy()
    turned[7] = turned[7, ::-1]
    assert not is_closed(turned)
    assert not is_closed(np.concatenate([faces, faces[:1]]))


def test_pieces_are_those_that_scipy_finds():
    """Graphs of few links and of many, and one long chain that is given from its middle outward."""
    rng = np.random.default_rng(4)
    for count, links in ((1, 0), (9, 0), (40, 15), (40, 60), (500, 300), (500, 480)):
        one, other = rng.integers(0, count, (2, links))
        graph = coo_array((np.ones(links), (one, other)), shape=(count, count))
        first, piece = pieces(count, one, other)
        assert np.array_equal(piece, connected_components(graph, directed=False)[1])
        assert np.array_equal(first, np.unique(piece, return_index=True)[1])
    chain = rng.permutation(999)
    first, piece = pieces(1000, chain, chain + 1)
    assert first.tolist() == [0]
    assert not piece.any()
