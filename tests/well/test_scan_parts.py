"""A scan as parts: what must not count, what becomes a part of its own, points, and what is said about all of it."""

from __future__ import annotations

import importlib.util
import re
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
import trimesh

from clearance.errors import MeshError
from clearance.well.part import Part
from clearance.well.scan import (
    AxleRegion,
    BoxRegion,
    Cleaning,
    PieceRegion,
    Removal,
    Split,
    open_between,
    scan_parts,
    spacing,
)
from clearance.well.scan_doubt import Touch, doubts, doubts_of_place, touching_at_ride
from clearance.well.scan_look import look, up_guess
from clearance.well.scan_place import HubPoint, direction
from clearance.well.scan_read import RawMesh, read_mesh

ROOT = Path(__file__).resolve().parents[2]
REAL = ROOT / ".." / "shared" / "real"


def make_scan() -> ModuleType:
    place = ROOT / "fixtures" / "scans" / "make_scan.py"
    spec = importlib.util.spec_from_file_location("make_scan", place)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["make_scan"] = module
    spec.loader.exec_module(module)
    return module


def as_raw(mesh: trimesh.Trimesh) -> RawMesh:
    return RawMesh(name="made here", vertices=np.array(mesh.vertices), faces=np.array(mesh.faces))


def well() -> RawMesh:
    """A wall 200 mm inboard, a rotor about the axle, and a lip: three pieces in corner axes."""
    wall = trimesh.creation.box(extents=[900, 4, 700]).subdivide().subdivide()
    wall.apply_translation([0, -202, 100])
    rotor = trimesh.creation.cylinder(radius=130, height=20, sections=32)
    rotor.apply_transform(trimesh.transformations.rotation_matrix(np.pi / 2, [1, 0, 0]))
    rotor.apply_translation([0, -20, 0])
    lip = trimesh.creation.box(extents=[400, 10, 10])
    lip.apply_translation([0, 100, 380])
    return as_raw(trimesh.util.concatenate([wall, rotor, lip]))


def one(raw: RawMesh, **words: object) -> Part:
    parts = scan_parts(raw, name="well", unit="mm", uncertainty_mm=0.0, **words)  # type: ignore[arg-type]
    assert len(parts) == 1
    return parts[0]


def nearest_to_axle(part: Part) -> float:
    spots = part.triangles_mm.reshape(-1, 3)
    return float(np.hypot(spots[:, 0], spots[:, 2])[np.abs(spots[:, 1]) < 150].min())


ROTOR = [
    BoxRegion(low_mm=np.array([-140, -40, -140]), high_mm=np.array([140, 5, 140])),
    AxleRegion(radius_mm=140, from_mm=-40, to_mm=5),
    PieceRegion(at=np.array([0, -12, 128])),
]


@pytest.mark.parametrize("region", ROTOR)
def test_a_rotor_is_removed_by_box_cylinder_or_piece_and_the_findings_say_so(region):
    """A capped cylinder of 32 sides has 4 x 32 triangles in trimesh's making: all of them, and nothing else, go."""
    whole, less = one(well()), one(well(), remove=[Removal(name="rotor", region=region)])
    assert nearest_to_axle(whole) < 1.0
    assert nearest_to_axle(less) > 370.0
    assert len(whole.triangles_mm) - len(less.triangles_mm) == 128
    assert any("left out 'rotor': 128 of" in note and "a box of 260 x 20 x 260 mm" in note for note in less.notes)


def test_what_only_partly_lies_in_a_removed_region_stays():
    region = BoxRegion(low_mm=np.array([-140, -40, 0]), high_mm=np.array([140, 5, 140]))
    part = one(well(), remove=[Removal(name="half a rotor", region=region)])
    assert any("only partly" in note for note in part.notes)
    spots = part.triangles_mm.reshape(-1, 3)
    near = spots[(np.abs(spots[:, 1] + 20) < 30) & (np.hypot(spots[:, 0], spots[:, 2]) < 140)]
    assert near[:, 2].min() == pytest.approx(-130.0)


def test_a_region_that_holds_nothing_is_refused_with_where_the_scan_is():
    with pytest.raises(MeshError, match="outboard -204 to 105") as refused:
        one(well(), remove=[Removal(name="engine", region=AxleRegion(radius_mm=10, from_mm=500, to_mm=600))])
    assert refused.value.key == "remove"


def test_removing_everything_is_refused():
    region = BoxRegion(low_mm=np.full(3, -1e4), high_mm=np.full(3, 1e4))
    with pytest.raises(MeshError, match="nothing of the scan is left"):
        one(well(), remove=[Removal(name="all", region=region)])


def test_a_piece_may_be_picked_in_the_scans_own_axes_and_unit():
    raw = well()
    inches = RawMesh(name="in", vertices=raw.vertices / 25.4 + 7.0, faces=raw.faces)
    picked = np.array([0, -10, 130]) / 25.4 + 7.0
    parts = scan_parts(
        inches,
        name="well",
        unit="in",
        place=HubPoint(hub=np.full(3, 7.0), ahead=direction("+x"), up=direction("+z")),
        remove=[Removal(name="rotor", region=PieceRegion(at=picked, in_scan_axes=True))],
    )
    assert nearest_to_axle(parts[0]) > 370.0


def test_a_region_becomes_a_part_of_its_own():
    lip = Split(
        name="lip",
        region=BoxRegion(low_mm=np.array([-300, 80, 300]), high_mm=np.array([300, 120, 400])),
        required_mm=12.0,
        rides_on="body",
        thickness_mm=1.0,
    )
    rotor = Split(
        name="rotor", region=AxleRegion(radius_mm=140, from_mm=-40, to_mm=5), required_mm=3.0, rides_on="knuckle"
    )
    rest, first, second = scan_parts(well(), name="well", unit="mm", split=[lip, rotor], required_mm=25.0)
    assert (rest.required_mm, first.required_mm, second.required_mm) == (25.0, 12.0, 3.0)
    assert (rest.rides_on, second.rides_on, first.thickness_mm) == ("body", "knuckle", 1.0)
    assert (len(first.triangles_mm), len(second.triangles_mm)) == (12, 128)
    assert len(rest.triangles_mm) == len(one(well()).triangles_mm) - 140
    assert "12 triangles of 'well'" in first.notes[0]


def test_strays_and_decimation_are_stated_and_decimation_joins_the_uncertainty():
    raw = well()
    part = one(raw, cleaning=Cleaning(stray_below_mm=380.0, decimate_to=200))
    assert any("left out 1 stray pieces under 380.0 mm" in note for note in part.notes)
    assert any("decimated from" in note for note in part.notes)
    assert len(part.triangles_mm) <= 210
    # a box and a cylinder decimate without moving much, but the bound is never nothing
    assert 0.0 < part.uncertainty_mm < 40.0
    with pytest.raises(MeshError, match="every piece"):
        one(raw, cleaning=Cleaning(stray_below_mm=1e5))


def test_the_scans_own_uncertainty_is_five_millimetres_until_stated():
    assumed = scan_parts(well(), name="well", unit="mm")[0]
    assert assumed.uncertainty_mm == 5.0
    assert any("assumed until checked against a tape" in note for note in assumed.notes)
    assert scan_parts(well(), name="well", unit="mm", uncertainty_mm=1.5)[0].uncertainty_mm == 1.5


def test_the_other_sides_scan_is_mirrored():
    """A left well scanned in car axes; the right corner takes it as its own with other_side."""
    raw = well()  # left: y outboard is the car's left
    place = HubPoint(hub=np.zeros(3), ahead=direction("+x"), up=direction("+z"))
    left = scan_parts(raw, name="well", unit="mm", place=place, side="left")[0]
    right = scan_parts(raw, name="well", unit="mm", place=place, side="right", other_side=True)[0]
    assert right.triangles_mm == pytest.approx(left.triangles_mm)
    assert any("scan of the left side, mirrored" in note for note in right.notes)


# ---- points


def test_the_spacing_of_a_grid_of_points_is_its_pitch():
    spots = np.stack(np.meshgrid(np.arange(40.0), np.arange(40.0), [0.0]), -1).reshape(-1, 3) * 7.0
    middle, most, loneliest = spacing(spots)
    assert (middle, most) == (7.0, pytest.approx(7.0 * 2**0.5, abs=3.0))
    assert loneliest <= 14.0 + 1e-9


def test_what_stays_open_between_points_is_uncertain():
    """On a grid of 10 mm the middle of a cell is 7.07 mm from its corners: balls of 4 mm leave 3.07 mm or more."""
    spots = np.stack(np.meshgrid(np.arange(80.0), np.arange(80.0), [0.0]), -1).reshape(-1, 3) * 10.0
    open_mm, notes = open_between(spots, 4.0)
    assert 3.07 <= open_mm < 7.0
    assert "6,400 points as balls of radius 4 mm" in notes[0]
    assert open_between(spots, 15.0)[0] == 0.0


def test_the_gap_to_points_brackets_the_gap_to_their_surface():
    """A sphere of points 9 mm apart at most, from its middle: the balls come nearer, the doubt covers the rest."""
    ball = trimesh.creation.icosphere(subdivisions=5, radius=400.0)
    rng = np.random.default_rng(7)
    spots = ball.vertices[rng.permutation(len(ball.vertices))[: len(ball.vertices) * 4 // 5]]
    raw = RawMesh(name="cloud", vertices=spots, faces=np.zeros((0, 3), dtype=np.int64))
    part = scan_parts(raw, name="cloud", unit="mm", point_radius_mm=3.0, uncertainty_mm=0.0)[0]
    directions = rng.normal(size=(400, 3))
    directions /= np.linalg.norm(directions, axis=1)[:, None]
    # probes 20 mm inside the sphere, against the points they would meet
    probes = 380.0 * directions
    nearest = np.linalg.norm(probes[:, None, :] - part.triangles_mm[None, :, 0, :], axis=2).min(axis=1) - part.skin_mm
    off = np.abs(nearest - 20.0)
    assert np.percentile(off, 99) <= part.uncertainty_mm + part.skin_mm
    assert (nearest <= 20.0 + part.uncertainty_mm).mean() > 0.98


def test_points_without_a_radius_are_refused_with_their_spacing():
    raw = RawMesh(
        name="cloud", vertices=np.random.default_rng(7).random((500, 3)), faces=np.zeros((0, 3), dtype=np.int64)
    )
    with pytest.raises(MeshError, match="radius = ") as refused:
        scan_parts(raw, name="cloud", unit="m")
    assert refused.value.key == "radius"
    with pytest.raises(MeshError, match="no connected pieces"):
        scan_parts(
            raw, name="x", unit="m", point_radius_mm=3, remove=[Removal(name="p", region=PieceRegion(at=np.zeros(3)))]
        )


def test_points_in_a_region_are_removed():
    spots = np.stack(np.meshgrid(np.arange(20.0), [0.0], np.arange(20.0)), -1).reshape(-1, 3) * 10.0
    raw = RawMesh(name="cloud", vertices=spots, faces=np.zeros((0, 3), dtype=np.int64))
    region = BoxRegion(low_mm=np.full(3, -1.0), high_mm=np.array([51.0, 1.0, 51.0]))
    part = scan_parts(raw, name="c", unit="mm", point_radius_mm=8.0, remove=[Removal(name="corner", region=region)])[0]
    assert len(part.triangles_mm) == 400 - 36
    assert part.skin_mm == 8.0


# ---- what is in a scan


def test_a_look_at_a_closed_box_and_at_one_with_a_hole():
    box = trimesh.creation.box(extents=[1, 2, 3]).subdivide().subdivide()
    found = look(as_raw(box))
    assert found.closed
    assert (found.pieces, found.open_edges, found.holes) == (1, 0, 0)
    # one small triangle out: three open edges, one rim, and it is the longest of its piece
    holed = look(as_raw(trimesh.Trimesh(box.vertices, box.faces[1:], process=False)))
    assert not holed.closed
    assert (holed.open_edges, holed.rims, holed.holes) == (3, 1, 0)
    two = look(as_raw(trimesh.Trimesh(box.vertices, np.delete(box.faces, [0, 100, 101], axis=0), process=False)))
    assert (two.rims, two.holes) == (2, 1)


def sheet(*left_out: tuple[int, int]) -> RawMesh:
    """A flat sheet of 20 x 20 squares of 10 mm, without the squares of these columns and rows."""
    number = np.arange(21 * 21).reshape(21, 21)
    squares = [(i, j) for i in range(20) for j in range(20) if (i, j) not in left_out]
    corners = np.array([[number[i, j], number[i + 1, j], number[i + 1, j + 1], number[i, j + 1]] for i, j in squares])
    x, z = np.meshgrid(np.arange(21) * 10.0, np.arange(21) * 10.0, indexing="ij")
    vertices = np.column_stack([x.ravel(), np.full(441, -180.0), z.ravel()])
    return RawMesh(
        name="sheet", vertices=vertices, faces=np.concatenate([corners[:, [0, 1, 2]], corners[:, [0, 2, 3]]])
    )


def hole_note(raw: RawMesh, remove: tuple[Removal, ...] = ()) -> str:
    part = scan_parts(raw, name="sheet", unit="mm", remove=remove)[0]
    (note,) = [note for note in part.notes if note.startswith("the scan has ")]
    return note


def test_the_holes_of_a_scan_stand_among_the_notes_of_its_part():
    """A square out of the sheet is a hole 40 mm round, two side by side are one of 60 mm; the outside is 800 mm."""
    assert "2 holes, the longest 60.0 mm (2 3/8 in) round" in hole_note(sheet((3, 3), (10, 12), (11, 12)))
    assert "1 hole, 40.0 mm (1 9/16 in) round" in hole_note(sheet((3, 3)))
    assert "no holes" in hole_note(sheet())
    assert "800.0 mm (31 1/2 in) round" in hole_note(sheet())
    assert "no open edge" in hole_note(as_raw(trimesh.creation.box(extents=[100, 4, 100])))


def test_a_cut_through_a_scan_is_not_one_of_its_holes():
    middle = BoxRegion(low_mm=np.array([75.0, -190, 75]), high_mm=np.array([125.0, -170, 125]))
    assert "1 hole, 40.0 mm" in hole_note(sheet((3, 3)), remove=(Removal(name="brake", region=middle),))


def test_a_look_at_the_scan_counts_the_same_holes():
    found = look(sheet((3, 3), (10, 12), (11, 12)))
    assert (found.rims, found.holes, found.largest_hole) == (3, 2, 60.0)


def test_three_sheets_on_one_edge_share_it():
    found = look(
        RawMesh(
            name="fin",
            vertices=np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, -1, 0], [0, 0, 1.0]]),
            faces=np.array([[0, 1, 2], [0, 1, 3], [0, 1, 4]]),
        )
    )
    assert found.shared_edges == 1


def test_up_is_guessed_only_with_a_reason():
    car = RawMesh(name="car", vertices=np.array([[0, 0, 0], [4.6, 1.4, 1.9]]), faces=np.array([[0, 1, 1]]))
    assert up_guess(car)[0] == "y"
    part = RawMesh(name="well", vertices=np.array([[0, 0, 0], [0.9, 0.4, 0.6]]), faces=np.array([[0, 1, 1]]))
    assert up_guess(part)[0] == ""
    glb = RawMesh(name="g", vertices=part.vertices, faces=part.faces, file_format="GLB")
    assert up_guess(glb)[0] == "y"


# ---- a place that cannot be right

CASES = {
    "sedan front left": ("sedan-body.obj", "m", [1.388, 0.7979, 0.1301], "left", 338, None),
    "sedan rear left": ("sedan-body.obj", "m", [-1.388, 0.7979, 0.0051], "left", 338, None),
    "sedan front right": ("sedan-body.obj", "m", [1.388, -0.7979, 0.1301], "right", 338, None),
    "leaf van front left": ("leaf-van-body.obj", "m", [0, 0.7325, 0], "left", 386, None),
    "sedan of the wrong side": ("sedan-body.obj", "m", [1.388, 0.7979, 0.1301], "right", 338, "wrong side"),
    "van of the wrong side": ("leaf-van-body.obj", "m", [0, -0.7325, 0], "left", 386, "wrong side"),
    "sedan in millimetres": ("sedan-body.obj", "mm", [1.388, 0.7979, 0.1301], "left", 338, "unit is wrong"),
    "sedan in feet": ("sedan-body.obj", "ft", [1.388, 0.7979, 0.1301], "left", 338, "Arches span"),
    "sedan at its door": ("sedan-body.obj", "m", [0, 0.7979, 0.1301], "left", 338, "Arches span"),
    "sedan far away": ("sedan-body.obj", "m", [9.0, 0.7979, 0.1301], "left", 338, "outside the mesh"),
}


@pytest.mark.parametrize("case", CASES)
def test_a_wrong_place_says_so_and_a_right_one_does_not(case):
    """Wheel centres as the public meshes' own vehicles have them."""
    file, unit, hub, side, radius, words = CASES[case]
    if not (REAL / file).exists():
        pytest.skip(f"{REAL / file} is not here: public meshes are kept beside the project, not in it")
    place = HubPoint(hub=np.array(hub), ahead=direction("+x"), up=direction("+z"))
    part = scan_parts(read_mesh(REAL / file), name="body", unit=unit, place=place, side=side)[0]
    found = doubts(part, tire_radius_mm=radius)
    if words is None:
        assert found == ()
    else:
        assert any(words in doubt for doubt in found)


def test_a_well_the_wrong_way_up_says_so():
    scan = make_scan().scanned(np.random.default_rng(7), unit="mm", strays=0)
    raw = RawMesh(name="scan", vertices=scan.vertices, faces=scan.faces)
    upright = HubPoint(hub=scan.hub, ahead=scan.ahead, up=scan.up)
    # ahead turned round as well, so that the side is still right
    tipped = HubPoint(hub=scan.hub, ahead=-scan.ahead, up=-scan.up)
    cut = [Removal(name="rotor", region=AxleRegion(radius_mm=160, from_mm=-30, to_mm=10))]
    assert doubts(one(raw, place=upright, remove=cut), tire_radius_mm=320) == ()
    found = doubts(one(raw, place=tipped, remove=cut), tire_radius_mm=320)
    assert any("below the hub" in doubt for doubt in found)


def touch(depth_mm: float, *, freed: bool = True, toward: tuple[float, float, float] = (0.05, -0.99, 0.1)) -> Touch:
    return Touch(
        depth_mm=depth_mm, on_part_mm=np.array([-120.0, -150.0, 210.0]), toward_part=np.array(toward), freed=freed
    )


ACCUSED = "check where the mesh was placed"


def test_a_tire_inside_the_body_at_ride_height_says_so_first():
    found = doubts(one(well()), tire_radius_mm=330, touch=touch(16.0))
    assert found[0].startswith("well: already touching at ride height, by 16.0 mm (5/8 in)")


def test_touching_by_a_depth_that_a_tire_can_have_says_how_to_tell_and_accuses_nothing():
    message = touching_at_ride("body", touch(16.0), 7.0)
    assert ACCUSED not in message
    assert "Either this tire and wheel really touch there" in message
    # moved where the metal would have to go it is clear, so it may stand too far the other way
    assert "or the scan stands 16.0 mm (5/8 in) too far outboard" in message
    assert "150.0 mm (5 7/8 in) inboard of the hub's face, 120.0 mm (4 3/4 in) behind the axle" in message
    assert "210.0 mm (8 1/4 in) above it" in message
    assert "hold a tape" in message


@pytest.mark.parametrize(
    ("toward", "word"),
    [((1, 0, 0), "back"), ((-1, 0, 0), "ahead"), ((0, 1, 0), "inboard"), ((0, 0, 1), "down"), ((0, 0.2, -0.9), "up")],
)
def test_the_scan_may_stand_too_far_against_the_way_that_would_free_it(toward, word):
    assert f"too far {word}." in touching_at_ride("body", touch(16.0, toward=toward))


def test_touching_wherever_the_scan_stands_is_a_tire_that_is_too_large():
    message = touching_at_ride("body", touch(16.0, freed=False))
    assert "the tire or the wheel is too large for this well" in message
    assert ACCUSED not in message


def test_touching_within_what_the_scan_is_sure_of_says_that_it_says_nothing():
    message = touching_at_ride("body", touch(4.0), 5.0)
    assert "no more than the 5 mm" in message
    assert "Measure there by hand" in message
    assert ACCUSED not in message


def test_touching_deeper_than_any_tire_is_too_large_is_a_wrong_place():
    assert ACCUSED in touching_at_ride("body", touch(90.0))


@pytest.mark.parametrize(("along_mm", "word"), [(0, None), (15, None), (-15, None), (40, "behind"), (-40, "ahead of")])
def test_a_hub_off_the_middle_of_its_arch_says_so_whatever_the_tire(along_mm, word):
    """The shipped well stands about its hub, its ends 390 mm ahead and behind; moved by 40 mm it is 80 mm lopsided."""
    scan = make_scan().scanned(np.random.default_rng(7), unit="mm", strays=0)
    raw = RawMesh(name="scan", vertices=scan.vertices, faces=scan.faces)
    cut = [Removal(name="rotor", region=AxleRegion(radius_mm=160, from_mm=-30, to_mm=10))]
    part = one(raw, place=HubPoint(hub=scan.hub, ahead=scan.ahead, up=scan.up), remove=cut)
    moved = part.triangles_mm + np.array([along_mm, 0.0, 0.0])
    found = doubts_of_place("scan", moved, tire_radius_mm=316)
    if word is None:
        assert found == ()
    else:
        (said,) = found
        off_mm, where = re.search(r"the hub stands ([\d.]+) mm \(.*?\) (ahead of|behind) the middle", said).groups()
        # the scan's own noise and holes are a few millimetres
        assert float(off_mm) == pytest.approx(abs(along_mm), abs=5.0)
        assert where == word


def test_other_kinds_of_part_are_not_doubted():
    wall = Part(name="wall", kind="wall", triangles_mm=np.full((1, 3, 3), 1e6))
    assert doubts(wall, tire_radius_mm=330, touch=touch(5.0)) == ()
