"""A tub in sheet: its volumes by hand, closed, nowhere inside what it goes round, and measured by the tool itself."""

import dataclasses
import importlib.util
import math

import numpy as np
import pytest
import trimesh
from export.test_step import CORNERS, read, volumes
from shapely import Point

from clearance.answers.checked import gaps_of
from clearance.description.load import load
from clearance.door.shop import templates_of, tub_making
from clearance.errors import OutputError, ShapeError
from clearance.export.nested import Laid, nested_pages, taken, taken_of_larger
from clearance.export.papers import A4, LETTER, ROLL_24_IN, larger_than, pattern_paper, roll_of
from clearance.export.pdf import tiled
from clearance.export.tub import checked_lines, tub_step
from clearance.gauge.flatwork import oblong
from clearance.gauge.templates import tub_of
from clearance.gauge.tub_sheet import piece_drawings, side_by_side
from clearance.gauge.tub_solid import CROWN, PANEL, TubMaking, room_left_mm, tub_solid
from clearance.geom.drawing import ENGRAVE, FOLD, Dimension, Path, Text, drawing_of
from clearance.geom.profile import polygon
from clearance.geom.revolve import Solid
from clearance.well.part import Part
from clearance.well.parts import Tag

R, LOW, HIGH = 350.0, -150.0, 90.0
ROUND = polygon([(LOW, 0.0), (HIGH, 0.0), (HIGH, R), (LOW, R)])


@pytest.fixture(scope="module")
def drum():
    return Solid(profile=ROUND, pieces=(ROUND,)).mesh(0.02)


def meshes(solid):
    found = [trimesh.Trimesh(*piece.mesh(), process=False) for piece in solid.pieces]
    assert all(m.is_watertight and m.is_winding_consistent and m.volume > 0 for m in found)
    return found


def test_a_tub_round_a_drum_has_the_volume_of_its_sheet(drum):
    """Half a disc of 350 + 2 mm, 2 mm thick; half a ring from 350 to 352 mm, 240 mm wide."""
    solid = tub_solid(tub_of(*drum, 0.0), 0.0, TubMaking(sheet_mm=2.0))
    panel, crown = meshes(solid)
    assert panel.volume == pytest.approx(math.pi / 2 * 352.0**2 * 2.0, rel=5e-4)
    assert crown.volume == pytest.approx(math.pi / 2 * (352.0**2 - 350.0**2) * (HIGH - LOW), rel=5e-3)
    assert panel.bounds[:, 1] == pytest.approx((LOW - 2.0, LOW))
    assert crown.bounds[:, 1] == pytest.approx((LOW, HIGH))


def test_flanges_lap_the_panel_and_fold_the_feet_away(drum):
    solid = tub_solid(tub_of(*drum, 0.0), 0.0, TubMaking(sheet_mm=2.0, flange_mm=20.0))
    panel, crown = meshes(solid)
    assert panel.bounds[:, 0] == pytest.approx((-372.0, 372.0), abs=0.05)
    assert panel.bounds[0, 1] == pytest.approx(LOW - 22.0)
    assert crown.bounds[:, 0] == pytest.approx((-372.0, 372.0), abs=0.05)
    flat = solid.pieces[1].flat
    assert flat.bounds[3] - flat.bounds[1] == pytest.approx(math.pi * R + 2 * 22.0, abs=0.3)
    assert [fold[0][1] for fold in solid.pieces[1].folds] == pytest.approx([22.0, 22.0 + math.pi * R], abs=0.3)
    assert solid.pieces[0].flat.bounds[1] == pytest.approx(-22.0, abs=0.005)  # hairs are closed by 0.002 mm


def test_an_arch_ends_at_the_angles_asked_for(drum):
    """30 deg ahead of and 50 deg behind straight up: the crown is 80 deg of the drum's circle long."""
    solid = tub_solid(tub_of(*drum, 0.0), 0.0, TubMaking(arch_deg=(30.0, 50.0)))
    assert solid.pieces[1].flat.bounds[3] == pytest.approx(math.radians(80.0) * R, abs=0.2)
    for mesh in meshes(solid):
        ahead = np.degrees(np.arctan2(mesh.vertices[:, 0], mesh.vertices[:, 2]))
        far = np.hypot(mesh.vertices[:, 0], mesh.vertices[:, 2]) > 1.0
        assert ahead[far].min() >= -50.0 - 1e-3
        assert ahead[far].max() <= 30.0 + 1e-3


@pytest.mark.parametrize("more", [{}, {"flange_mm": 20.0}, {"flange_mm": 20.0, "tabs_mm": 30.0}])
def test_a_tub_goes_to_the_planes_that_were_told_and_no_further(drum, more):
    """Of a drum of 350 mm radius to 200 mm ahead and 250 mm behind: the crown is 350 (asin 200/350 + asin 250/350) long
    but for what its flanges add, and nothing of it, flange, tab and sheet, stands beyond a plane.
    """
    told = TubMaking(outboard_mm=50.0, ahead_mm=200.0, behind_mm=250.0, **more)
    solid = tub_solid(tub_of(*drum, 0.0), 0.0, told)
    crown = solid.pieces[1].flat.bounds
    flange = 2 * (20.0 + told.sheet_mm) if more else 0.0
    assert crown[3] - crown[1] == pytest.approx(R * (math.asin(200 / R) + math.asin(250 / R)) + flange, abs=0.5)
    points = np.concatenate([mesh.vertices for mesh in meshes(solid)])
    assert points[:, 0].max() == pytest.approx(200.0, abs=1e-3)
    assert points[:, 0].min() == pytest.approx(-250.0, abs=1e-3)
    assert points[:, 1].max() == pytest.approx(50.0, abs=1e-3)
    assert solid.notes == (
        "the crown ends +50.0 mm from the hub face, as told.",
        "the tub ends 200.0 mm ahead of the axle, as told.",
        "the tub ends 250.0 mm behind the axle, as told.",
    )


def test_planes_beyond_the_tub_change_nothing_and_one_that_leaves_no_crown_is_refused(drum):
    tub = tub_of(*drum, 0.0)
    plain, told = (tub_solid(tub, 0.0, TubMaking(**more)) for more in ({}, {"outboard_mm": 900.0, "ahead_mm": 900.0}))
    assert told.notes == plain.notes == ()
    assert [p.flat.bounds for p in told.pieces] == [p.flat.bounds for p in plain.pieces]
    with pytest.raises(ShapeError, match="has no crown"):
        tub_solid(tub, 0.0, TubMaking(outboard_mm=-140.0))
    with pytest.raises(ShapeError, match="how far ahead of the axle"):
        TubMaking(ahead_mm=-5.0)


@pytest.mark.parametrize("wrong", ["110 mm", "110 mm up", "9 mm ahead, 9 mm ahead", "", "x outboard"])
def test_where_a_tub_ends_is_told_so_or_refused(wrong):
    made = tub_making(ends="110 mm outboard, 15 in behind")
    assert (made.outboard_mm, made.ahead_mm, made.behind_mm) == (110.0, None, pytest.approx(381.0))
    with pytest.raises(ShapeError, match="ends"):
        tub_making(ends=wrong)


def test_a_scan_trims_no_tub_and_a_lip_and_a_rail_measured_by_tape_beside_it_do(drum):
    """The same well twice: as an open sheet of scanned triangles, and with the lip and the rail that a tape gave."""
    sheet = np.array([[[-300.0, 60.0, 0.0], [300.0, 60.0, 0.0], [0.0, 60.0, 400.0]]])
    scan = Part(name="scanned well", kind="mesh", triangles_mm=sheet)
    lip = Part(name="lip by tape", kind="lip", triangles_mm=sheet + np.array([0.0, 10.0, 0.0]))
    corners = trimesh.creation.box(bounds=[(-600.0, -200.0, 0.0), (600.0, -140.0, 90.0)])
    rail = Part(name="rail by tape", kind="box", triangles_mm=np.array(corners.triangles))
    tub = tub_of(*drum, 0.0)
    alone = tub_solid(tub, 0.0, TubMaking(), [scan])
    assert alone.notes == ()
    taped = tub_solid(tub, 0.0, TubMaking(), [scan, lip, rail])
    assert taped.outboard_mm == 70.0
    assert 'the crown ends where "lip by tape" begins, +70.0 mm from the hub face.' in taped.notes
    assert any('is cut where "rail by tape" is.' in note for note in taped.notes)


@pytest.mark.slow
def test_a_scanned_corners_tub_goes_as_far_as_was_told():
    corner = load(CORNERS / "scanned-well-rear.toml")
    making = tub_making(ends="60 mm outboard, 250 mm ahead, 240 mm behind")
    _, answer = templates_of(corner, making=making, slack_mm=5.0)
    points = np.concatenate([mesh.vertices for mesh in meshes(answer.value.solid)])
    assert points[:, 1].max() == pytest.approx(60.0, abs=1e-3)
    assert (points[:, 0].min(), points[:, 0].max()) == (pytest.approx(-240.0, abs=1e-3), pytest.approx(250.0, abs=1e-3))
    assert answer.value.gap.at_least_mm >= answer.value.gap.required_mm
    assert "as told" in answer.words()


@pytest.mark.parametrize(
    "more", [{}, {"flange_mm": 20.0, "tabs_mm": 30.0}, {"arch_deg": (40.0, 60.0), "flange_mm": 15.0}]
)
def test_pieces_make_up_the_whole_crown_and_nothing_stands_inside_the_drum(drum, more):
    tub = tub_of(*drum, 60.0)
    whole = tub_solid(tub, 60.0, TubMaking(**more))
    split = tub_solid(tub, 60.0, TubMaking(**more, longest_mm=250.0))
    crowns = [p for p in split.pieces if p.name.startswith(CROWN)]
    assert len(crowns) == math.ceil(whole.pieces[1].flat.bounds[3] / 250.0)
    assert all(p.flat.bounds[3] - p.flat.bounds[1] <= 250.0 + 0.01 for p in crowns)
    tabless = {"tabs_mm"} & set(more)
    lost = 1.0 if not tabless else 4000.0  # a tab on a joint is left out
    assert sum(m.volume for m in meshes(split)) == pytest.approx(sum(m.volume for m in meshes(whole)), abs=lost)
    panel = tub.panel.buffer(-0.01)
    for piece in split.pieces:
        vertices, _ = piece.mesh()
        between = (vertices[:, 1] > LOW + 0.01) & (vertices[:, 1] < HIGH)
        assert not any(panel.contains(Point(x, z)) for x, _, z in vertices[between])


def test_a_flat_pattern_is_as_large_as_its_sheet(drum):
    """Area times thickness is the volume, but for the mitres of bends: half the sheet times the turn."""
    solid = tub_solid(tub_of(*drum, 0.0), 0.0, TubMaking(sheet_mm=1.0))
    for piece, mesh in zip(solid.pieces, meshes(solid), strict=True):
        assert piece.flat.area * 1.0 == pytest.approx(mesh.volume, rel=4e-3)


def test_a_box_on_the_body_cuts_it_and_a_lip_ends_it(drum):
    from clearance.well.lip import lip
    from clearance.well.parts import box

    rail = box(Tag(name="rail"), min_mm=(-600.0, -190.0, -20.0), max_mm=(600.0, -130.0, 100.0))
    arch = lip(Tag(name="lip"), outboard_mm=70.0, radius_mm=380.0, return_depth_mm=15.0)
    solid = tub_solid(tub_of(*drum, 0.0), 0.0, TubMaking(), (rail, arch))
    panel = solid.pieces[0]
    assert panel.name == PANEL
    assert panel.flat.bounds[1] == pytest.approx(100.0, abs=1e-3)
    assert solid.outboard_mm == pytest.approx(55.0)
    assert any('"rail"' in note for note in solid.notes)
    assert any('"lip" begins, +55.0' in note for note in solid.notes)
    meshes(solid)
    untrimmed = tub_solid(tub_of(*drum, 0.0), 0.0, TubMaking(trimmed=False), (rail, arch))
    assert untrimmed.outboard_mm == HIGH
    assert not untrimmed.notes


def test_the_tool_measures_its_own_tub_and_the_drawing_says_what_it_found():
    corner = load(CORNERS / "orchard-pickup-rear.toml")
    making = tub_making(flange_mm=20.0, tabs_mm=30.0, arch="60 deg, 70 deg", longest_mm=600.0)
    files, answer = templates_of(corner, slack_mm=5.0, every_mm=400.0, tub_from_mm=50.0, making=making)
    found = answer.value
    assert found.gap.verdict == "clears"
    assert found.gap.at_least_mm >= found.gap.required_mm == pytest.approx(38.1)
    soup = trimesh.load(trimesh.util.wrap_as_stream(files["tub.stl"]), file_type="stl")
    again = dataclasses.replace(found.solid.part("again", 38.1), triangles_mm=np.array(soup.triangles, dtype=float))
    put_back = gaps_of(dataclasses.replace(corner, parts=(*corner.parts, again)), ("again",))[0]
    assert put_back.at_least_mm == pytest.approx(found.gap.at_least_mm, abs=0.06)
    words = answer.words()
    assert "Put back into the check: at least" in words
    drawn = side_by_side(found.solid, piece_drawings(found.solid, title="t", checked=("CHECKED: CLEARS",)))
    assert sum(isinstance(m, Text) and m.text == "CHECKED: CLEARS" for m in drawn.marks) == len(found.solid.pieces)
    assert any(m.layer == FOLD for m in drawn.marks)
    assert checked_lines(found.gap)[0].startswith("CHECKED: CLEARS, AT LEAST 4")


@pytest.mark.parametrize("paper", [A4, LETTER])
def test_tub_patterns_come_nested_and_none_of_their_writing_is_lost_or_lies_on_a_line(drum, paper):
    """Fewer pages than one row of patterns tiled; every line of every label is whole on one page."""
    checked = ("CHECKED: CLEARS, AT LEAST 38.3 MM", "38.1 REQUIRED")
    solid = tub_solid(tub_of(*drum, 0.0), 0.0, TubMaking(flange_mm=20.0, tabs_mm=30.0, longest_mm=500.0))
    drawn = piece_drawings(solid, title="a drum of a long name", checked=checked)
    laid = [Laid(name=p.name, shape=p.flat, drawing=d) for p, d in zip(solid.pieces, drawn, strict=True)]
    pages = nested_pages(laid, paper, of="tub:")
    assert len(pages) < len(tiled(side_by_side(solid, drawn), paper=paper))
    printed = {m.text for page in pages for m in page.inside.marks if isinstance(m, Text)}
    wanted = {m.text for one in drawn for m in one.marks if isinstance(m, Text)}
    assert wanted <= printed
    assert set(checked) <= wanted
    for piece, one in zip(solid.pieces, drawn, strict=True):
        lines = [m for m in one.marks if isinstance(m, Path) and m.layer in (ENGRAVE, FOLD)]
        for text in (m for m in one.marks if isinstance(m, Text) and m.align == "centre"):
            box = oblong(*drawing_of([text]).bounds)
            assert piece.flat.contains(box)
            assert not any(box.intersects(oblong(*drawing_of([m]).bounds).buffer(0.1)) for m in lines)


def laid_of(drum) -> list[Laid]:
    solid = tub_solid(tub_of(*drum, 0.0), 0.0, TubMaking(flange_mm=20.0, tabs_mm=30.0, longest_mm=500.0))
    drawn = piece_drawings(solid, title="a drum", checked=("CHECKED: CLEARS",))
    return [Laid(name=p.name, shape=p.flat, drawing=d) for p, d in zip(solid.pieces, drawn, strict=True)]


def test_a_tub_on_a_roll_is_one_strip_that_holds_every_piece_whole_with_its_bar(drum):
    """24 in wide and no longer than it must be: every mark of every piece lies within the window of the one page, at
    true size, and its witness dimension is what lies between the crosses.
    """
    laid = laid_of(drum)
    (page,) = nested_pages(laid, ROLL_24_IN, of="tub:")
    assert page.paper.width_mm == pytest.approx(24 * 25.4)
    x0, y0, x1, y1 = page.inside.plain.bounds
    left, low, right, high = page.window
    assert left <= x0 < x1 <= right
    assert low <= y0 < y1 <= high
    assert page.paper.height_mm < sum(max(p.shape.bounds[2] - p.shape.bounds[0], 400.0) for p in laid) + 100.0
    area = sum(p.shape.area for p in laid)
    assert page.paper.height_mm * page.paper.width_mm < 2.0 * area
    assert sum(isinstance(m, Text) and m.text == "CHECKED: CLEARS" for m in page.inside.marks) == len(laid)
    assert any(isinstance(m, Text) and m.text.startswith("must measure 100 mm") for m in page.drawing.marks)
    assert sum(isinstance(m, Dimension) for m in page.drawing.marks) == 2


def test_a_piece_wider_than_a_roll_is_tiled_and_the_others_nested(drum):
    laid = laid_of(drum)
    narrow = roll_of(300.0, "300 mm")
    pages = nested_pages(laid, narrow, of="tub:")
    assert len(pages) > 1
    assert all(page.paper.width_mm == 300.0 and page.paper.height_mm <= narrow.height_mm for page in pages)
    printed = {m.text for page in pages for m in page.inside.marks if isinstance(m, Text)}
    assert {m.text for p in laid for m in p.drawing.marks if isinstance(m, Text)} <= printed


@pytest.mark.parametrize("paper", [A4, pytest.param(LETTER, marks=pytest.mark.slow)])
def test_larger_paper_takes_half_the_pages_or_fewer(drum, paper):
    """Twice the sheet, half the pages or hardly more; a plotter's roll is one strip."""
    laid = laid_of(drum)
    here = taken(nested_pages(laid, paper, of="tub:"), paper)
    double, roll = taken_of_larger(laid, paper, of="tub:")
    assert double.paper == larger_than(paper)[0].name
    assert double.pages <= 0.6 * here.pages
    assert roll.pages == 1
    assert roll.long_mm > 500.0


def test_paper_for_patterns_is_named_and_what_is_none_is_refused():
    assert pattern_paper(" a1 ").height_mm == 841.0
    assert pattern_paper("Roll  36 in").width_mm == pytest.approx(914.4)
    assert pattern_paper("tabloid").width_mm == pytest.approx(11 * 25.4)
    for wrong in ("A7", "roll", "roll 24", "roll 1 in", "roll x", ""):
        with pytest.raises(OutputError, match="Write"):
            pattern_paper(wrong)


def test_what_the_crown_stands_off_a_drum_is_nothing_and_off_a_ball_is_the_corner(drum):
    """A cylinder is bent one way: nothing is lost. A ball of 300 mm in its box: the crown's edge stands
    300 (sqrt 2 - 1) = 124 mm off it."""
    assert room_left_mm(tub_solid(tub_of(*drum, 0.0), 0.0, TubMaking()), *drum) < 60.0
    ball = trimesh.creation.icosphere(subdivisions=5, radius=300.0)
    v, f = np.asarray(ball.vertices), np.asarray(ball.faces)
    left = room_left_mm(tub_solid(tub_of(v, f, 0.0), 0.0, TubMaking()), v, f)
    assert left == pytest.approx(300.0 * (math.sqrt(2.0) - 1.0), abs=2.0)


@pytest.mark.skipif(importlib.util.find_spec("OCP") is None, reason='the CAD kernel is not installed (the extra "cad")')
@pytest.mark.parametrize("more", [{}, {"flange_mm": 20.0, "tabs_mm": 40.0}])
def test_the_step_of_a_tub_has_its_volumes(drum, more, tmp_path):
    solid = tub_solid(tub_of(*drum, 0.0), 0.0, TubMaking(**more))
    for right in (False, True):
        (tmp_path / "tub.step").write_bytes(tub_step(_Titled(right_hand=right), solid))
        assert volumes(read(tmp_path / "tub.step")) == pytest.approx([m.volume for m in meshes(solid)], rel=1e-3)


@dataclasses.dataclass
class _Titled:
    right_hand: bool
    title: str = "drum"


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"sheet_mm": 0.0}, "sheet"),
        ({"tabs_mm": 20.0}, "--flange"),
        ({"arch_deg": (2.0, 50.0)}, "5 to 90 deg"),
        ({"longest_mm": 5.0}, "longest"),
    ],
)
def test_what_cannot_be_made_is_refused(more, said):
    with pytest.raises(ShapeError, match=said):
        TubMaking(**more)


@pytest.mark.parametrize("text", ["30, 50", "30 deg", "x", "", "1 deg, 2 deg, 3 deg"])
def test_an_arch_that_is_none_is_refused(text):
    with pytest.raises(ShapeError, match="is no arch"):
        tub_making(arch=text)
