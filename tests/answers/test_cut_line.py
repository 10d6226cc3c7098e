"""Cut lines of scanned sheets whose cut is known by hand: what remains is measured again, and clears."""

import dataclasses
import itertools
import math

import ezdxf
import numpy as np
import pytest
import trimesh
from answers.mockups import between_walls, tire

from clearance.answers.checked import gaps_of
from clearance.answers.cut_line import (
    MARGINS_MM,
    _chained,
    clipped,
    cut_line_of,
    length_of,
    mapped,
    offsets_of,
    regions_of,
)
from clearance.answers.fair_line import fair_value
from clearance.answers.relief import ReliefMap, map_of
from clearance.export.cut import cut_drawing, cut_files
from clearance.gap.found import CLEARS
from clearance.geom.drawing import Text
from clearance.well.part import Part


def sheet(y, *, half=500.0, step=10.0):
    """A scanned wall at `y` outboard, (n, 3, 3)."""
    places = np.arange(-half, half + step / 2, step)
    x, z = np.meshgrid(places, places, indexing="ij")
    corners = np.stack([x, np.full_like(x, y), z], axis=-1)
    a, b, c, d = corners[:-1, :-1], corners[1:, :-1], corners[1:, 1:], corners[:-1, 1:]
    return np.concatenate([np.stack(three, axis=2).reshape(-1, 3, 3) for three in ((a, b, c), (a, c, d))])


def corner(*, y=-190.0, required=25.0):
    base = between_walls(inboard=900.0, outboard=900.0)
    wall = Part(name="scan", kind="mesh", triangles_mm=sheet(y), required_mm=required)
    return dataclasses.replace(base, tire=tire(diameter=650.0, section=230.0), parts=(wall,))


@pytest.fixture(scope="module")
def wall():
    base = corner()
    # 10 mm less than is required: between tire and wall at the sidewall's widest
    gap = gaps_of(base)[0].at_least_mm
    mockup = corner(required=gap + 10.0)
    return mockup, mapped(mockup, "scan")


def test_the_wall_goes_inboard_by_what_is_missing(wall):
    _, skin = wall
    (region,) = skin.regions
    assert (region.name, region.way) == ("wall", "inboard")
    # a flat wall square to the axle: the move is the shortfall, to the tenth that moves are exact to
    assert region.move.distance_mm == pytest.approx(10.0, abs=0.16)
    assert region.move.gap.verdict == CLEARS


def test_what_remains_clears_and_a_smaller_cut_would_not(wall):
    mockup, skin = wall
    cut = skin.cut
    assert cut.clears
    assert cut.gap.at_least_mm >= mockup.part("scan").required_mm - 0.05
    assert cut.margin_mm < MARGINS_MM[-1]
    again = dataclasses.replace(mockup, parts=(cut.remains,))
    assert gaps_of(again)[0].verdict == CLEARS
    whole = sum(float(trimesh.triangles.area(t).sum()) for t in (cut.remains.triangles_mm, cut.goes_mm))
    assert whole == pytest.approx(1000.0**2, rel=1e-9)


def test_the_cut_runs_where_the_need_is_the_margin(wall):
    """Every place of the line, asked anew by a map of a finer mesh: required gap within what its facets lose."""
    mockup, skin = wall
    cut = skin.cut
    places = np.concatenate(cut.lines_mm)[::7]
    tiny = places[:, None, :] + np.array([[0.0, 0.0, 0.0], [0.5, 0.0, 0.0], [0.0, 0.0, 0.5]])
    probe = dataclasses.replace(mockup.part("scan"), triangles_mm=tiny)
    need = map_of(dataclasses.replace(mockup, parts=(probe,)), "scan").need_mm
    assert need.max() <= 1.0 - cut.margin_mm + 0.6
    # a gap changes by no more than the way between two places: the line lies so far off the raw one at most
    assert need.min() >= -cut.margin_mm - 1.5 - cut.off_mm
    assert cut.off_mm < 8.0


def test_lines_are_closed_where_nothing_ends_them_and_offsets_lie_on_them(wall):
    _, skin = wall
    cut = skin.cut
    longest = cut.lines_mm[0]
    assert np.array_equal(longest[0], longest[-1])
    assert cut.length_mm == pytest.approx(sum(length_of(line) for line in cut.lines_mm))
    offsets = offsets_of(cut, 50.0)
    assert [one.number for one in offsets] == list(range(1, len(offsets) + 1))
    for one in offsets:
        place = np.array([one.ahead_mm, one.outboard_mm, one.above_mm])
        near = np.linalg.norm(cut.lines_mm[one.line - 1] - place, axis=1).min()
        assert near < 15.0
        assert one.straight_mm == pytest.approx(np.linalg.norm(place))


def test_files_open_and_the_curve_is_at_full_size(wall, tmp_path):
    mockup, skin = wall
    files = cut_files(mockup, skin.cut, "scan")
    (tmp_path / "cut.dxf").write_bytes(files["cut-scan.dxf"])
    document = ezdxf.readfile(tmp_path / "cut.dxf")
    assert not document.audit().errors
    remains = trimesh.load(trimesh.util.wrap_as_stream(files["remains-scan.stl"]), file_type="stl")
    assert remains.area == pytest.approx(float(trimesh.triangles.area(skin.cut.remains.triangles_mm).sum()), rel=1e-5)
    scene = trimesh.load(trimesh.util.wrap_as_stream(files["cut-scan.glb"]), file_type="glb")
    assert any("goes" in name for name in scene.geometry)
    rows = files["cut-scan.csv"].decode().splitlines()
    assert rows[0].startswith("number,line,ahead_mm")
    assert len(rows) == 1 + len(offsets_of(skin.cut, 50.0))
    assert cut_files(mockup, skin.cut, "scan") == files


def test_a_wall_that_clears_is_not_cut():
    mockup = corner(y=-400.0)
    skin = mapped(mockup, "scan")
    assert skin.cut is None
    assert skin.regions == ()


def test_a_barrel_has_a_crown_a_front_and_a_rear():
    """A scanned half barrel over the tire, too near all round: up over the top, ahead in front, back behind."""
    around = np.linspace(0.0, math.pi, 91)
    rim = np.column_stack([np.cos(around), np.zeros(91), np.sin(around)]) * 330.0
    inner, across = rim + np.array([0.0, -120.0, 0.0]), np.array([0.0, 240.0, 0.0])
    a, b = inner[:-1], inner[1:]
    c, d = b + across, a + across
    triangles = np.concatenate([np.stack([a, b, c], axis=1), np.stack([a, c, d], axis=1)])
    part = Part(name="scan", kind="mesh", triangles_mm=triangles, required_mm=30.0)
    mockup = dataclasses.replace(corner(), parts=(part,))
    ways = {region.name: region.way for region in regions_of(mockup, map_of(mockup, "scan"))}
    assert ways == {"crown": "up", "front": "ahead", "rear": "back"}


def test_everything_that_is_too_near_goes_and_nothing_remains():
    part = Part(name="scan", kind="mesh", triangles_mm=sheet(-20.0, half=100.0), required_mm=25.0)
    mockup = dataclasses.replace(corner(), parts=(part,))
    cut = cut_line_of(mockup, map_of(mockup, "scan"))
    assert cut.gap is None
    assert cut.clears
    assert "remains-scan.stl" not in cut_files(mockup, cut, "scan")


def turned_deg(line):
    """How far a line turns in all, at places 10 mm apart."""
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    at = np.linspace(0.0, along[-1], max(4, int(along[-1] / 10.0)))
    places = np.stack([np.interp(at, along, line[:, i]) for i in (0, 2)], axis=1)
    way = np.arctan2(*np.diff(places, axis=0).T[::-1])
    return float(np.degrees(np.abs(np.angle(np.exp(1j * np.diff(way)))).sum()))


def test_a_line_on_a_noisy_scan_is_fair_and_on_no_unsafe_side(wall):
    """0.5 mm of noise on a wall seen aslant makes the raw line turn seven times round and more; a hand follows one that
    turns little more than once. All that had to go by the raw line goes, and what is left clears.
    """
    clean, _ = wall
    rng = np.random.default_rng(3)
    places, which = np.unique(clean.part("scan").triangles_mm.reshape(-1, 3), axis=0, return_inverse=True)
    places = places + rng.normal(scale=0.5, size=places.shape) * [0.05, 1.0, 0.05]
    part = dataclasses.replace(clean.part("scan"), triangles_mm=places[which].reshape(-1, 3, 3))
    mockup = dataclasses.replace(clean, parts=(part,))
    skin = map_of(mockup, "scan")
    cut = cut_line_of(mockup, skin)
    need = skin.need_mm + cut.margin_mm
    _, goes, raw = clipped(skin.vertices_mm[skin.faces], need[skin.faces])
    jagged, fair = turned_deg(_chained(raw)[0]), turned_deg(cut.lines_mm[0])
    assert jagged > 1500.0
    assert fair < 540.0
    assert cut.clears
    assert gaps_of(dataclasses.replace(mockup, parts=(cut.remains,)))[0].verdict == CLEARS
    area = float(trimesh.triangles.area(goes).sum())
    assert area <= float(trimesh.triangles.area(cut.goes_mm).sum()) < 1.1 * area
    # every place of the line, from the raw line: none further than is stated, one as far
    ends = raw.reshape(-1, 3)
    far = [np.linalg.norm(ends - place, axis=1).min() for place in np.concatenate(cut.lines_mm)]
    assert max(far) == pytest.approx(cut.off_mm, abs=np.linalg.norm(raw[:, 0] - raw[:, 1], axis=1).max() / 2)
    drawn = cut_drawing(cut, offsets_of(cut, 50.0), title="t")
    said = [mark.text for mark in drawn.marks if isinstance(mark, Text)]
    assert any(f"UP TO {cut.off_mm:.1f} MM FROM THE RAW LINE" in text for text in said)


@pytest.mark.parametrize("seed", range(6))
def test_whatever_must_go_goes_by_the_fair_line_too(seed):
    """Any values at all, specks and bays among them: above zero wherever the raw value is, and on the raw line."""
    rng = np.random.default_rng(seed)
    triangles = sheet(0.0, half=200.0)
    vertices, which = np.unique(triangles.reshape(-1, 3), axis=0, return_inverse=True)
    faces = which.reshape(-1, 3)
    value = (
        60.0 * np.sin(vertices[:, 0] / 60.0) + vertices[:, 2] / 2 + rng.normal(scale=20.0 * seed, size=len(vertices))
    )
    _, _, raw = clipped(vertices[faces], value[faces])
    fair = fair_value(vertices, faces, value, raw)
    assert (fair[value > 0.0] > 0.0).all()
    for a, b in itertools.permutations(range(3), 2):
        one, other = faces[:, a], faces[:, b]
        crossed = (value[one] > 0.0) & (value[other] <= 0.0)
        share = (value[one] / (value[one] - value[other]))[crossed]
        assert ((1.0 - share) * fair[one][crossed] + share * fair[other][crossed] >= 0.0).all()


@pytest.mark.parametrize("seed", range(5))
def test_clipping_loses_no_area_and_keeps_each_side_to_its_side(seed):
    rng = np.random.default_rng(seed)
    triangles, value = rng.normal(size=(200, 3, 3)), rng.normal(size=(200, 3))
    stays, goes, ends = clipped(triangles, value)
    total = sum(float(trimesh.triangles.area(t).sum()) for t in (stays, goes))
    assert total == pytest.approx(float(trimesh.triangles.area(triangles).sum()))
    mixed = (value > 0).any(axis=1) & (value <= 0).any(axis=1)
    assert len(ends) == mixed.sum()


def test_the_need_and_what_comes_off():
    skin = ReliefMap(
        part="p", vertices_mm=np.zeros((2, 3)), faces=np.zeros((0, 3), dtype=np.int64), need_mm=np.array([-2.0, 3.0])
    )
    assert skin.take_off_mm.tolist() == [0.0, 3.0]
