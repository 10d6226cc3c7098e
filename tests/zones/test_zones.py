"""Zones against hand geometry: a flat plate beside a roller."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import trimesh

from clearance.description.load import load
from clearance.export.stl import stl
from clearance.export.three_mf import Mesh, three_mf
from clearance.geom.mesh import is_closed
from clearance.mockup.mockup import MockUp
from clearance.suspension.position import Cycle
from clearance.suspension.straight import Straight
from clearance.tire.tire import Tire
from clearance.well.part import Part
from clearance.wheel.wheel import Wheel
from clearance.zones.body import SHEET_MM, body_of, drawn_thickness_mm, thickened
from clearance.zones.sheets import sheets_of
from clearance.zones.zone import clipped, zones_of

RADIUS_MM = 330.0


def plate_above(height_mm: float, required_mm: float, *, thickness_mm: float = 0.0, bump_mm: float = 40.0) -> MockUp:
    """A level plate over a wheel that travels; the tread is nearly flat across, so sums are those of a circle."""
    x, y = 300.0, 40.0
    corners = np.array([[-x, -y, height_mm], [x, -y, height_mm], [x, y, height_mm], [-x, y, height_mm]])
    part = Part(
        name="roof",
        kind="plate",
        triangles_mm=corners[[[0, 1, 2], [0, 2, 3]]],
        required_mm=required_mm,
        thickness_mm=thickness_mm,
    )
    tire = Tire(overall_diameter_mm=2 * RADIUS_MM, section_width_mm=240.0, tread_width_mm=190.0, rim_diameter_in=15.0)
    return MockUp(
        title="roller under a roof",
        corner="rear-left",
        tire=tire,
        wheel=Wheel(diameter_in=15.0, width_in=7.0, offset_mm=0.0),
        suspension=Straight(cycle=Cycle(bump_mm=(-40.0, bump_mm))),
        parts=(part,),
    )


def test_a_patch_on_a_plate_is_as_long_as_the_chord():
    """Full bump lifts the tread to 370 mm. Places of a plane at 380 mm closer than 25 mm to a circle of 330 mm about a
    centre at 40 mm: x^2 <= (330 + 25)^2 - (380 - 40)^2, so half the length is 102.1 mm at the crown's highest line.
    """
    (zone,) = zones_of(plate_above(380.0, 25.0))
    half = math.sqrt((RADIUS_MM + 25.0) ** 2 - (380.0 - 40.0) ** 2)
    assert zone.least_mm == pytest.approx(10.0, abs=0.1)
    reach = np.abs(zone.vertices_mm[:, 0]).max()
    # found along straight sides no longer than the border's length: the chord's error there is far less
    assert reach == pytest.approx(half, abs=0.5)
    # the plate is within the flat of the crown, which falls away by some millimetres at 40 mm: a shorter chord there
    assert 0.75 * 4 * half * 40.0 < zone.area_mm2 <= 4 * half * 40.0
    assert abs(zone.deepest_mm[0]) < 5.0
    assert zone.position.bump_mm == pytest.approx(40.0, abs=0.5)
    assert zone.bump_mm[1] == pytest.approx(40.0)
    # gap 25 where the bump is 25: below that nothing is too close
    assert 25.0 - 0.5 <= zone.bump_mm[0] <= 25.0 + 11.0
    assert zone.where.startswith("12 o'clock")


def test_a_plate_that_is_reached_says_how_far_inside():
    """A plane at 364 mm under a tread that comes to 370 mm: 6 mm inside."""
    (zone,) = zones_of(plate_above(364.0, 10.0))
    assert zone.least_mm == pytest.approx(-6.0, abs=0.3)
    assert "6.0 mm inside" in zone.text


def test_what_clears_has_no_zones():
    assert zones_of(plate_above(420.0, 25.0)) == ()


def test_a_body_is_closed_and_as_thick_as_its_sheet():
    """Area times thickness, since the patch is flat; the thickness lies above, away from the tire."""
    (zone,) = zones_of(plate_above(380.0, 25.0, thickness_mm=2.0))
    vertices, faces = body_of(zone)
    assert is_closed(faces)
    corners = vertices[faces]
    volume = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])).sum() / 6
    assert volume == pytest.approx(2.0 * zone.area_mm2, rel=1e-9)
    assert vertices[:, 2].min() == pytest.approx(380.0)
    assert vertices[:, 2].max() == pytest.approx(382.0)


def test_without_a_thickness_a_common_sheet_is_drawn():
    (zone,) = zones_of(plate_above(380.0, 25.0))
    assert drawn_thickness_mm(zone) == SHEET_MM


def test_triangles_that_do_not_hang_together_become_closed_prisms():
    """Three triangles on one side, as scans have them: 3 x area x thickness."""
    vertices = np.array([[0.0, 0, 0], [10, 0, 0], [0, 10, 0], [0, -10, 0], [0, 0, 10]])
    faces = np.array([[0, 1, 2], [1, 0, 3], [0, 1, 4]])
    body, body_faces = thickened(vertices, faces, 1.5)
    assert is_closed(body_faces)
    corners = body[body_faces]
    volume = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])).sum() / 6
    assert volume == pytest.approx(3 * 50.0 * 1.5)


def test_clipping_keeps_exactly_what_is_below_the_level():
    """A unit square with the gap growing along x: below 0.25 lies a quarter of it."""
    vertices = np.array([[0.0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]])
    faces = np.array([[0, 1, 2], [0, 2, 3]])
    points, kept, gap = clipped(vertices, faces, vertices[:, 0].copy(), 0.25)
    a, b, c = (points[kept[:, i]] for i in range(3))
    cross = np.cross(b - a, c - a)
    assert np.all(cross[:, 2] > 0)
    assert cross[:, 2].sum() / 2 == pytest.approx(0.25)
    assert gap[kept].max() == pytest.approx(0.25)


def test_patches_are_told_apart():
    """Two triangles on one edge hang together; one that meets them at a corner alone does not, nor one apart."""
    faces = np.array([[0, 1, 2], [3, 4, 5], [2, 1, 6], [6, 7, 8]])
    assert sorted(len(sheet.faces) for sheet in sheets_of(faces)) == [1, 1, 2]


def test_a_triangle_turned_over_is_turned_back_and_one_given_twice_counts_once():
    faces = np.array([[0, 1, 2], [2, 1, 3], [2, 3, 4], [3, 4, 5], [5, 4, 3]])
    (sheet,) = sheets_of(faces)
    assert len(sheet.faces) == 4
    half = np.concatenate([sheet.faces[:, [0, 1]], sheet.faces[:, [1, 2]], sheet.faces[:, [2, 0]]])
    assert len(np.unique(half, axis=0)) == len(half)


def test_a_triangle_that_is_turned_over_beside_one_that_stands_alone():
    """Two triangles that lie against one another, and one that hangs on neither: turned back, and left as it is."""
    two, one = sheets_of(np.array([[0, 1, 2], [1, 2, 3], [4, 5, 6]]))
    assert (two.faces.tolist(), two.vertices.tolist()) == ([[0, 1, 2], [3, 2, 1]], [0, 1, 2, 3])
    assert (one.faces.tolist(), one.vertices.tolist()) == ([[0, 1, 2]], [4, 5, 6])


def test_a_fan_of_triangles_turned_at_random_lies_one_way():
    """Whatever way its triangles were turned, a disc of twelve has a border of twelve sides, each run along once."""
    turn = np.random.default_rng(8).random((40, 12)) < 0.5
    for over in turn:
        faces = np.array([[0, k, k % 12 + 1] for k in range(1, 13)])
        faces[over] = faces[over][:, ::-1]
        (sheet,) = sheets_of(faces)
        half = np.concatenate([sheet.faces[:, [0, 1]], sheet.faces[:, [1, 2]], sheet.faces[:, [2, 0]]])
        assert len(np.unique(half, axis=0)) == 36
        assert np.array_equal(sheet.vertices[sheet.faces[0]], faces[0])


def test_a_band_with_a_twist_is_cut_where_it_cannot_lie_one_way():
    """A Moebius band of seven triangles: joined all round it has one side; as a sheet it is cut once, and closes."""
    count = 7
    faces = np.array([[k, (k + 1) % count, (k + 2) % count] for k in range(count)])
    (sheet,) = sheets_of(faces)
    turn = np.arange(count) * 2 * np.pi / count
    points = np.column_stack([np.cos(turn), np.sin(turn), 0.3 * np.arange(count)])
    _, body = thickened(points, faces, 0.01)
    assert len(sheet.faces) == count
    assert is_closed(body)


def box(low, high) -> np.ndarray:
    """Twelve triangles, turned outward."""
    corners = np.array([[x, y, z] for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])])
    rings = [[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]]
    return np.array([corners[[r[0], r[i], r[i + 1]]] for r in rings for i in (1, 2)])


def boxed(triangles: np.ndarray, required_mm: float = 10.0) -> MockUp:
    mockup = plate_above(380.0, 25.0)
    part = Part(name="block", kind="box", triangles_mm=triangles, required_mm=required_mm, thickness_mm=0.0)
    return replace(mockup, parts=(part,))


def test_a_box_in_the_tire_whole_is_one_body_the_box_itself():
    """80 x 60 x 40 mm, all of it inside the tread: one body of 192,000 mm3."""
    (zone,) = zones_of(boxed(box((-40, -30, 270), (40, 30, 310))))
    vertices, faces = body_of(zone)
    body = trimesh.Trimesh(vertices, faces, process=False)
    assert body.is_watertight
    assert body.body_count == 1
    assert body.volume == pytest.approx(80 * 60 * 40)


def test_a_box_that_is_reached_by_one_end_is_one_body_behind_its_faces():
    """A post of 40 x 40 mm that hangs down to 20 mm inside the tread: five faces, one closed body within the post."""
    (zone,) = zones_of(boxed(box((-20, -20, 350), (20, 20, 500))))
    body = trimesh.Trimesh(*body_of(zone), process=False)
    assert body.is_watertight
    assert body.body_count == 1
    assert 0 < body.volume < 40 * 40 * 60
    assert np.abs(body.vertices[:, :2]).max() <= 20 + 1e-9


def test_where_and_from_what_bump_on_a_roof_is_touched():
    """A level roof at 364 mm under a tread of 330 mm radius that rises 40 mm: it touches from 34 mm of bump on, right
    above the axle, and goes in 6 mm; one at 380 mm that must keep 25 mm is too close from 25... less the crown's fall.
    """
    (zone,) = zones_of(plate_above(364.0, 10.0))
    assert zone.first.touches
    assert zone.first.position.bump_mm == pytest.approx(34.0, abs=0.1)
    assert abs(zone.first.point_mm[0]) < 15.0
    assert not zone.first.at_ride_height
    (zone,) = zones_of(plate_above(380.0, 25.0))
    assert not zone.first.touches
    assert zone.first.position.bump_mm == pytest.approx(25.0, abs=0.1)


def test_a_roof_that_is_too_close_as_the_car_stands_says_so():
    (zone,) = zones_of(plate_above(340.0, 25.0))
    assert zone.first.touches
    assert not zone.first.at_ride_height
    (zone,) = zones_of(plate_above(325.0, 25.0))
    assert zone.first.at_ride_height
    assert zone.first.position.bump_mm == 0.0


def test_zones_of_a_shipped_corner_are_worst_first_with_closed_bodies():
    from pathlib import Path

    mockup = load(Path(__file__).parents[2] / "fixtures" / "corners" / "scanned-well-rear.toml")
    zones = zones_of(mockup)
    assert zones
    short = [zone.least_mm - zone.required_mm for zone in zones]
    assert short == sorted(short)
    for zone in zones:
        assert zone.least_mm < zone.required_mm
        assert zone.gap_mm.max() <= zone.required_mm + 1e-9
        assert is_closed(body_of(zone)[1])


def test_lib3mf_takes_the_zones_as_closed_solids(tmp_path):
    """zones.stl read by the 3MF consortium's own library, then the same bodies in strict 3MF: manifold and oriented."""
    lib3mf = pytest.importorskip("lib3mf", reason="lib3mf is not installed (test extra)")
    bodies = [body_of(zone) for zone in zones_of(plate_above(380.0, 25.0)) + zones_of(plate_above(360.0, 25.0))]
    meshes = [Mesh(name=f"zone {k}", vertices_mm=v, faces=f) for k, (v, f) in enumerate(bodies, start=1)]
    (tmp_path / "zones.stl").write_bytes(stl(bodies, name="zones"))
    (tmp_path / "zones.3mf").write_bytes(three_mf(meshes))
    for form, count in (("stl", 1), ("3mf", len(bodies))):
        model = lib3mf.Wrapper().CreateModel()
        reader = model.QueryReader(form)
        reader.SetStrictModeActive(True)
        reader.ReadFromFile(str(tmp_path / f"zones.{form}"))
        assert reader.GetWarningCount() == 0
        objects, found = model.GetMeshObjects(), 0
        while objects.MoveNext():
            mesh = objects.GetCurrentMeshObject()
            assert mesh.IsManifoldAndOriented()
            assert mesh.GetTriangleCount() > 10
            found += 1
        assert found == count
