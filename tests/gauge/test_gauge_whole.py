"""The whole printed gauge against the tire and wheel that it stands for."""

import itertools
from pathlib import Path

import numpy as np
import pytest
import trimesh
from shapely import LineString, Point
from shapely.ops import unary_union
from shapes import is_sound

from clearance.description.load import load
from clearance.gauge.blade import RIB_SET_IN_MM
from clearance.gauge.body import mesh_of
from clearance.gauge.flatwork import polygon_of
from clearance.gauge.making import Making, bed_of
from clearance.gauge.mock_gauge import bolt_length_mm, gauge_for

CORNERS = sorted((Path(__file__).parents[2] / "fixtures" / "corners").glob("*.toml"))
FAST = next(p for p in CORNERS if "orchard" in p.name)


def made(path, making=None):
    mockup = load(path)
    return mockup, gauge_for(mockup, making or Making())


@pytest.fixture(scope="module")
def orchard():
    return made(FAST)


@pytest.fixture(scope="module", params=CORNERS, ids=lambda p: p.stem)
def any_corner(request):
    return made(request.param)


def test_every_piece_is_a_sound_solid_that_fits_the_bed(any_corner):
    _, gauge = any_corner
    assert [p.number for p in gauge.pieces] == list(range(1, len(gauge.pieces) + 1))
    for piece in gauge.pieces:
        assert is_sound(piece.body), piece.name
        assert gauge.fit.making.bed.takes(*piece.extent_mm), piece.name
        # a second opinion from another library on the mesh as it is written
        mesh = trimesh.Trimesh(*piece.mesh(), process=False)
        assert mesh.is_watertight, piece.name
        assert mesh.is_winding_consistent, piece.name
        assert mesh.volume > 0, piece.name


def test_the_assembled_gauge_lies_within_the_tire_and_wheel(any_corner):
    """Within 0.1 mm of the solid, every corner of every mesh; where the stack must pass the wheel face it is said."""
    mockup, gauge = any_corner
    worst = -np.inf
    for piece in gauge.pieces:
        for body in piece.assembled():
            vertices, _ = mesh_of(body)
            if gauge.fit.proud_mm > 0:
                vertices = vertices[vertices[:, 1] <= gauge.fit.face_mm]
            worst = max(worst, mockup.solid.distance(vertices).max())
    assert worst <= 0.1
    # and it is not simply too small: the tread is reached
    assert worst > -0.05


def test_assembled_pieces_do_not_overlap(any_corner):
    _, gauge = any_corner
    bodies = [(p.name, b) for p in gauge.pieces for b in p.assembled()]
    for (one, a), (other, b) in itertools.combinations(bodies, 2):
        assert (a ^ b).volume() < 1e-3, (one, other)


def test_the_blade_turned_about_the_axis_is_the_profile_within_02_mm(any_corner):
    """Turn every corner of the blade's solid about the axis: (y, r) of the outermost is the profile, both ways."""
    mockup, gauge = any_corner
    blades = [b for p in gauge.pieces if p.name.startswith("blade") for b in p.assembled()]
    corners = np.concatenate([mesh_of(b)[0] for b in blades])
    swept = np.column_stack([corners[:, 1], np.hypot(corners[:, 0], corners[:, 2])])
    section = polygon_of(mockup.solid.profile, 0.005)
    # no corner outside the profile by more than 0.2 mm ...
    distance = mockup.solid.distance(corners)
    assert distance.max() < 0.2
    # ... and no point of the profile from the ring outward further than 0.2 mm from the turned blade's outline
    half = gauge.fit.making.plate_mm / 2
    edges = unary_union([part.exterior for part in gauge.blade.parts])
    ring = np.asarray(section.exterior.coords)
    outer = ring[ring[:, 1] > gauge.fit.blade_mm + 0.1]
    off = np.array([edges.distance(Point(p)) for p in outer])
    assert off.max() < 0.2
    # the thickness of the blade lifts its edge by less than 0.2 mm at its innermost
    assert np.hypot(gauge.fit.blade_mm, half) - gauge.fit.blade_mm < 0.2
    assert swept[:, 1].max() == pytest.approx(mockup.solid.profile.bounds[3], abs=0.2)
    assert swept[:, 0].min() == pytest.approx(mockup.solid.profile.bounds[0], abs=0.2)
    assert swept[:, 0].max() == pytest.approx(mockup.solid.profile.bounds[1], abs=0.2)


def test_the_backspace_is_the_wheels(any_corner):
    """At half the flange's height the blade's inboard edge stands one backspace inboard of the hub face."""
    mockup, gauge = any_corner
    wheel = mockup.wheel
    r = (wheel.flange_diameter_mm - wheel.flange_height_mm) / 2
    low, high, _, _ = gauge.blade.section.bounds
    if wheel.flange_height_mm / 2 < 6:
        pytest.skip("a flange too low to read its side")
    edge = gauge.blade.section.intersection(LineString([(low - 1, r), (high + 1, r)])).bounds[0]
    assert edge == pytest.approx(-wheel.backspace_mm, abs=0.05)


def test_joints_close_with_the_stated_fit():
    for fit_mm in (0.15, 0.3):
        _, gauge = made(FAST, Making(fit_mm=fit_mm))
        parts = gauge.blade.split.parts
        assert gauge.blade.split.joints
        for joint in gauge.blade.split.joints:
            key, slot = parts[joint.key_part], parts[joint.slot_part]
            assert key.distance(slot) == pytest.approx(fit_mm, abs=0.02)
            # all round the key, not at one spot only
            around = [joint.spot(-0.0), joint.spot(9.0)]
            for at in around:
                assert slot.distance(Point(at)) < 6.0
            tip = Point(joint.spot(9.0))
            assert key.distance(tip) < 0.05
            assert slot.distance(tip) == pytest.approx(fit_mm, abs=0.03)


def test_splices_bridge_the_parts_that_they_join(orchard):
    _, gauge = orchard
    for joint in gauge.blade.split.joints:
        behind, ahead = joint.bolts
        key, slot = gauge.blade.split.parts[joint.key_part], gauge.blade.split.parts[joint.slot_part]
        assert key.contains(Point(behind))
        assert slot.contains(Point(ahead))
        # the holes are there
        assert not gauge.blade.parts[joint.key_part].contains(Point(behind))
        assert not gauge.blade.parts[joint.slot_part].contains(Point(ahead))


def test_walls_are_as_thick_as_stated(orchard):
    """Rays from random places of each surface, straight inward, meet the other side no sooner than the wall."""
    _, gauge = orchard
    rng = np.random.default_rng(7)
    wall = gauge.fit.making.wall_mm
    for piece in gauge.pieces:
        mesh = trimesh.Trimesh(*piece.mesh())
        points, face = trimesh.sample.sample_surface(mesh, 400, seed=int(rng.integers(1 << 30)))
        inward = -mesh.face_normals[face]
        hits, ray, _ = mesh.ray.intersects_location(points + 1e-3 * inward, inward, multiple_hits=False)
        thick = np.linalg.norm(hits - points[ray], axis=1)
        # corners, chamfers of the key and the edges of letters read thin along a slanted ray: those are not walls
        assert np.mean(thick < wall - 0.01) < 0.05, piece.name
        assert np.median(thick) > wall, piece.name


@pytest.mark.parametrize("bed", ["180x180x180", "150x150x150", "300x300x300"])
def test_other_beds(bed):
    mockup, gauge = made(FAST, Making(bed=bed_of(bed)))
    for piece in gauge.pieces:
        assert is_sound(piece.body), piece.name
        assert gauge.fit.making.bed.takes(*piece.extent_mm), piece.name
    for (_, a), (_, b) in itertools.combinations([(p.name, x) for p in gauge.pieces for x in p.assembled()], 2):
        assert (a ^ b).volume() < 1e-3
    assert max(mockup.solid.distance(mesh_of(b)[0]).max() for p in gauge.pieces for b in p.assembled()) <= 0.1


def test_ribs_stay_inside_the_outline(orchard):
    """A rib 12.5 mm off the middle plane lies up to hypot(r, 12.5) off the axis: set in, it never shows."""
    mockup, gauge = orchard
    blades = [b for p in gauge.pieces if p.name.startswith("blade") for b in p.assembled()]
    corners = np.concatenate([mesh_of(b)[0] for b in blades])
    ribs = corners[corners[:, 0] > gauge.fit.making.plate_mm / 2 + 0.1]
    assert len(ribs)
    assert mockup.solid.distance(ribs).max() < -RIB_SET_IN_MM + 1.0


def test_every_printed_piece_carries_its_number(orchard):
    """The engraving takes material away: its depth shows as corners one depth under the face."""
    _, gauge = orchard
    for piece in gauge.pieces:
        if piece.name == "ring":
            continue
        vertices, _ = mesh_of(piece.body)
        tops = np.unique(np.round(vertices[:, 2], 3))
        depth = gauge.fit.making.engrave_mm
        assert any(np.any(np.abs(tops - (t - depth)) < 2e-3) for t in tops), piece.name


def test_the_bill_counts_a_bolt_for_each_hole(orchard):
    _, gauge = orchard
    bolts = {b.where.split(",")[0]: b.count for b in gauge.bill if "hex bolt" in b.what}
    assert bolts["through plate and cap"] == gauge.fit.bolt_circle.studs
    assert bolts["splice plates"] == 2 * len(gauge.blade.split.joints)
    nuts = next(b.count for b in gauge.bill if b.what.endswith("nut") and b.what.startswith("M5"))
    assert nuts == sum(bolts.values())


def test_a_bolt_reaches_through_its_grip():
    """ISO 4032 M5 nut 4.7 mm, ISO 7089 washer 1.0 mm (from memory): grip 13 + 2 + 4.7 leaves a 25 mm bolt."""
    assert bolt_length_mm(13.0, 5.0) == 25
    assert bolt_length_mm(8.0, 5.0) == 16
