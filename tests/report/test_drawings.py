"""Drawings to scale: their figures by hand, their scale on paper, and what is drawn where."""

from __future__ import annotations

import io
import shutil
import subprocess
import xml.etree.ElementTree as ElementTree
from itertools import pairwise

import ezdxf
import numpy as np
import pytest
import shapely

from clearance.description.load import load
from clearance.export.papers import A4, LETTER
from clearance.gap.cycle import over_cycle
from clearance.geom.drawing import FOLD, PART, WHOLE, Circle, Dimension, Path, Text, drawing_of, mark_bounds
from clearance.report.drawings import VIEWS, Sight, _fitted, _names, drawings, full_size, title_block, view_drawing
from clearance.report.places import places_drawing, scale_of, shown_places
from clearance.units import both

REAR = """
title = "Plover van, rear {side}"
corner = "rear-{side}"
[tire]
size = "215/75R16"
overall_diameter = "730 mm"
section_width = "216 mm"
[wheel]
diameter = "16 in"
width = "6.5 in"
backspace = "5 in"
[suspension]
kind = "straight"
bump = "80 mm"
droop = "60 mm"
shift = {{ inboard = "4 mm", outboard = "5 mm" }}
[[part]]
name = "inner wall"
kind = "wall"
inboard = "200 mm"
[[part]]
name = "lip"
kind = "lip"
outboard = "130 mm"
radius = "460 mm"
return_depth = "15 mm"
"""


@pytest.fixture(scope="module")
def corners(tmp_path_factory):
    folder = tmp_path_factory.mktemp("drawn")
    found = {}
    for side in ("left", "right"):
        (folder / f"{side}.toml").write_text(REAR.format(side=side))
        mockup = load(folder / f"{side}.toml")
        found[side] = (mockup, over_cycle(mockup))
    return found


@pytest.fixture(scope="module")
def sheets(corners):
    """Every file of the left corner, on A4."""
    return drawings(*corners["left"])


def swept_box(drawn) -> np.ndarray:
    points = np.concatenate(
        [mark.points() for mark in drawn.marks if mark.layer == FOLD and getattr(mark, "closed", False)]
    )
    return np.array([points.min(axis=0), points.max(axis=0)])


def figures(drawn) -> set[str]:
    return {mark.text for mark in drawn.marks if isinstance(mark, Dimension)}


def test_the_swept_outline_of_a_wheel_that_goes_straight_up_and_down_by_hand(corners):
    """730 mm over all, 80 up and 60 down: 870 mm high. Ahead nothing moves: 730 mm. Across, the play: 4 + 5 mm more."""
    mockup, gaps = corners["left"]
    behind, side = (swept_box(view_drawing(mockup, gaps, view, 1.0)) for view in ("behind", "side"))
    # the tire is drawn with 120 sides, so up to 365 (1 - cos 1.5 deg) = 0.13 mm short, its arcs in chords of 0.05 mm
    assert np.ptp(behind[:, 1]) == pytest.approx(870, abs=0.3)
    assert np.ptp(side[:, 0]) == pytest.approx(730, abs=0.3)
    y0, y1, _, _ = mockup.solid.profile.bounds
    assert np.ptp(behind[:, 0]) == pytest.approx(y1 - y0 + 9, abs=1.0)


def test_figures_are_true_at_every_scale_and_in_both_units(corners):
    mockup, gaps = corners["left"]
    large, small = (figures(view_drawing(mockup, gaps, "behind", scale)) for scale in (1.0, 0.1))
    assert large == small
    assert f"backspace {both(127.0)}" in small
    assert "backspace 127.0 mm (5 in)" in small
    assert "swept 870.0 mm (34 1/4 in)" in small


def test_a_drawing_at_1_to_10_is_a_tenth_of_itself(corners):
    mockup, gaps = corners["left"]
    whole, tenth = (swept_box(view_drawing(mockup, gaps, "plan", scale)) for scale in (1.0, 0.1))
    assert tenth == pytest.approx(whole / 10, abs=1e-9)


def test_a_right_corner_is_drawn_as_the_mirror_image(corners):
    left, right = (swept_box(view_drawing(*corners[side], "behind", 1.0)) for side in ("left", "right"))
    assert right[:, 0] == pytest.approx(-left[::-1, 0], abs=1e-9)
    # outboard of a left corner is to the left: the tire's outer face is further that way than its inner one is
    _, y1, _, _ = corners["left"][0].solid.profile.bounds
    assert left[0, 0] == pytest.approx(-(y1 + 5), abs=0.6)


def test_every_view_is_an_svg_in_millimetres_and_the_same_twice(corners):
    first, second = (drawings(*corners["left"], paper="letter") for _ in range(2))
    assert first == second
    assert set(first) == {*(f"{view}.{kind}" for view in (*VIEWS, "places") for kind in ("svg", "dxf")), "drawings.pdf"}
    for view in (*VIEWS, "places"):
        root = ElementTree.fromstring(first[f"{view}.svg"])
        width = root.get("width", "")
        assert width.endswith("mm")
        assert float(width[:-2]) == float(root.get("viewBox", "").split()[2])
        assert float(width[:-2]) < 216


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler-utils is not installed")
def test_on_every_sheet_the_bar_is_100_mm_and_nothing_runs_off(sheets, tmp_path):
    from PIL import Image

    (tmp_path / "d.pdf").write_bytes(sheets["drawings.pdf"])
    subprocess.run(["pdftoppm", "-r", "254", "-gray", "-png", str(tmp_path / "d.pdf"), str(tmp_path / "d")], check=True)
    pages = sorted(tmp_path.glob("d-*.png"))
    assert len(pages) == 4
    for page in pages:
        with Image.open(page) as image:
            grey = np.asarray(image.convert("L"))
        # within the frame, which runs 10 mm from the paper's edge
        rows = grey[-300:-110, 110:1200] < 128
        assert max(_longest_run(row) for row in rows) == pytest.approx(1000, abs=6)
        edge = np.concatenate([grey[:60].ravel(), grey[-60:].ravel(), grey[:, :60].ravel(), grey[:, -60:].ravel()])
        assert edge.min() > 250


def _longest_run(row: np.ndarray) -> int:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(int), [0]])))
    return int(max(edges[1::2] - edges[::2], default=0))


@pytest.mark.skipif(shutil.which("pdfinfo") is None, reason="poppler-utils is not installed")
def test_full_size_takes_as_many_sheets_as_its_outline_needs(corners, tmp_path):
    (tmp_path / "f.pdf").write_bytes(full_size(*corners["left"], "behind"))
    said = subprocess.run(["pdfinfo", str(tmp_path / "f.pdf")], capture_output=True, text=True, check=True).stdout
    pages = int(next(row for row in said.splitlines() if row.startswith("Pages")).split()[1])
    # 870 mm high and some 230 mm wide cannot go on fewer than 2 x 4 sheets of A4 less their margins and laps
    assert pages >= 8


LONG = "bracket number {} of the upper left subframe, with its bolts and clips"
BOX = """[[part]]
name = "{}"
kind = "box"
min = ["{:.0f} mm", "{:.0f} mm", "{:.0f} mm"]
max = ["{:.0f} mm", "{:.0f} mm", "{:.0f} mm"]
"""
HEAD = REAR.split("[[part]]")[0].replace(
    "Plover van", "Plover van of a name that goes on and on until no title can hold it"
)


def boxed(folder, name, rows):
    (folder / f"{name}.toml").write_text(HEAD.format(side="left") + "".join(BOX.format(*row) for row in rows))
    mockup = load(folder / f"{name}.toml")
    return mockup, over_cycle(mockup)


@pytest.fixture(scope="module")
def hard(tmp_path_factory):
    """Thirty parts of long names around the wheel, and a corner where everything hits."""
    folder = tmp_path_factory.mktemp("hard")
    many, hits = [], []
    for k in range(30):
        x, z, y = 330 * np.cos(0.41 * k), 330 * np.sin(0.41 * k), -170 - 7 * (k % 5) if k % 2 else 170 + 5 * (k % 4)
        many.append((LONG.format(k), x, y - 20, z, x + 50, y, z + 40))
    for k in range(8):
        x, z = 330 * np.cos(k * np.pi / 4), 330 * np.sin(k * np.pi / 4)
        hits.append((f"block {k}", x - 40, -120, z - 40, x + 40, 60, z + 40))
    return {"many": boxed(folder, "many", many), "hits": boxed(folder, "hits", hits)}


def texts(drawn) -> list[Text]:
    return [mark for mark in drawn.plain.marks if isinstance(mark, Text)]


def overlap(one, other) -> bool:
    return all(one[i] < other[i + 2] - 0.01 and other[i] < one[i + 2] - 0.01 for i in (0, 1))


@pytest.mark.parametrize(
    ("view", "side", "said"),
    [
        ("behind", "left", {"OUTBOARD": (-1, 0), "UP": (0, 1)}),
        ("behind", "right", {"OUTBOARD": (1, 0), "UP": (0, 1)}),
        ("side", "left", {"AHEAD": (-1, 0), "UP": (0, 1)}),
        ("side", "right", {"AHEAD": (1, 0), "UP": (0, 1)}),
        ("plan", "left", {"OUTBOARD": (-1, 0), "AHEAD": (0, 1)}),
        ("plan", "right", {"OUTBOARD": (1, 0), "AHEAD": (0, 1)}),
    ],
)
def test_every_view_says_which_way_is_which(corners, view, side, said):
    """The arrow's word lies from its tail where the same direction of the car lies on the paper: a point 100 mm ahead,
    outboard or up, put through the view, moves that way.
    """
    mockup, gaps = corners[side]
    drawn = view_drawing(mockup, gaps, view, 0.125)
    assert set(said) <= {t.text for t in texts(drawn)}
    sight = Sight(mockup, view)
    for word, way in said.items():
        moved = sight.paper({"AHEAD": (100.0, 0, 0), "OUTBOARD": (0, 100.0, 0), "UP": (0, 0, 100.0)}[word])
        assert np.sign(np.round(moved, 6)).tolist() == list(way)
        text = next(t for t in texts(drawn) if t.text == word)
        stroke = min(
            (m for m in drawn.marks if isinstance(m, Path) and len(m.elements) == 1),
            key=lambda m: np.hypot(*np.subtract(m.elements[0].end, text.at)),
        ).elements[0]
        assert np.sign(np.round(np.subtract(stroke.end, stroke.start), 6)).tolist() == list(way)


@pytest.mark.parametrize("which", ["many", "hits", "left"])
def test_on_the_sheet_of_places_no_writing_stands_on_anything(hard, corners, which):
    """Figures, names and words beside the pictures: none on another, none on a line, all on the paper."""
    mockup, gaps = {**hard, **corners}[which]
    shown = shown_places(gaps)
    sheet = places_drawing(mockup, gaps, scale_of(shown))
    drawn = sheet.plain
    written = [(mark, mark_bounds(mark)) for mark in drawn.marks if isinstance(mark, Text)]
    lines = lines_of(mark for mark in drawn.marks if isinstance(mark, (Path, Circle)))
    for text, box in written:
        if len(text.text) > 1:
            for other, its_box in written:
                assert other is text or not overlap(box, its_box), (text.text, other.text)
            assert not crossed(box, lines), text.text
    low, _, high, _ = drawn.bounds
    assert high - low < 190
    assert sum(isinstance(m, Dimension) for m in sheet.marks) == 2 * len(shown)


def lines_of(marks) -> list[shapely.Geometry]:
    return [
        shapely.Point(mark.centre).buffer(mark.radius_mm).exterior
        if isinstance(mark, Circle)
        else shapely.LineString(mark.points())
        for mark in marks
    ]


def crossed(box, lines) -> bool:
    """Whether any of the lines goes through a box."""
    return bool(np.any(shapely.intersects(shapely.box(*box).buffer(-0.05), lines)))


@pytest.mark.parametrize("which", ["many", "hits", "left"])
@pytest.mark.parametrize("view", list(VIEWS))
def test_in_a_view_no_writing_stands_on_another_or_on_a_part(hard, corners, which, view):
    """At the scale of its sheet; leaders may cross lines, figures and names may not."""
    mockup, gaps = {**hard, **corners}[which]
    _, drawn = _fitted(mockup, gaps, view, A4)
    words = [m for m in drawn.plain.marks if isinstance(m, Text)]
    boxes = [mark_bounds(t) for t in words]
    for k, box in enumerate(boxes):
        assert not any(overlap(box, other) for other in boxes[:k]), words[k].text
    heavy = lines_of(m for m in drawn.marks if isinstance(m, Path) and m.layer in (PART, WHOLE) and len(m.elements) > 1)
    for text, box in zip(words, boxes, strict=True):
        if len(text.text) > 1:
            assert not crossed(box, heavy), text.text


@pytest.mark.parametrize("view", list(VIEWS))
def test_thirty_parts_of_long_names_stay_readable(hard, view):
    """Every part that the view shows is named once, and no name stands on another one."""
    mockup, gaps = hard["many"]
    sight = Sight(mockup, view)
    sight.scale = 0.05
    shown = sight.parts()
    names = texts(drawing_of(_names(shown, drawing_of([m for p in shown for m in p.marks]).bounds)))
    said = " ".join(t.text for t in names)
    for part in shown:
        assert said.count(part.name.split(",")[0] + ",") == (1 if part.marks else 0)
    boxes = [mark_bounds(t) for t in names]
    assert not any(overlap(a, b) for k, a in enumerate(boxes) for b in boxes[:k])
    drawn = view_drawing(mockup, gaps, view, 0.05)
    inside = drawing_of([m for part in shown for m in part.marks]).bounds
    for mark in drawn.marks:
        if isinstance(mark, Dimension) and mark.text and mark.text.startswith(("swept", "tire and wheel")):
            assert not overlap(mark_bounds(next(iter(texts(drawing_of([mark]))))), inside)


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler-utils is not installed")
@pytest.mark.parametrize("which", ["many", "hits"])
def test_hard_corners_stay_within_the_frame(hard, which, tmp_path):
    """Nothing is drawn beyond the frame, and the title goes on in a second line."""
    from PIL import Image

    mockup, gaps = hard[which]
    (tmp_path / "d.pdf").write_bytes(drawings(mockup, gaps, paper="letter")["drawings.pdf"])
    subprocess.run(["pdftoppm", "-r", "127", "-gray", "-png", str(tmp_path / "d.pdf"), str(tmp_path / "d")], check=True)
    for page in sorted(tmp_path.glob("d-*.png")):
        with Image.open(page) as image:
            grey = np.asarray(image.convert("L"))
        edge = np.concatenate([grey[:46].ravel(), grey[-46:].ravel(), grey[:, :46].ravel(), grey[:, -46:].ravel()])
        assert edge.min() > 250, page.name
    if shutil.which("pdftotext"):
        said = subprocess.run(["pdftotext", "-layout", "d.pdf", "-"], cwd=tmp_path, capture_output=True, text=True)
        assert "Plover van of a name" in said.stdout


@pytest.mark.parametrize("paper", [A4, LETTER, A4.turned])
@pytest.mark.parametrize("letters", [12, 40, 80, 120, 160])
def test_a_title_of_any_length_stands_whole_in_its_block(paper, letters):
    """160 letters are the most that a title has: all of them, none smaller than 1.8 mm, within the block's frame."""
    name = ("Plover van of a name that goes on until no title holds it, whatever is asked of it; " * 3)[
        :letters
    ].strip()
    rows = [
        ("Tightest places", 2.6, True),
        ("from the corner file; gaps over the whole travel, 12 warnings in it", 2.0, False),
    ]
    rows += [("scale 1:10; figures are true mm (in)", 2.0, False)] * 2
    marks = title_block(name, rows, paper)
    frame = mark_bounds(marks[0])
    written = [mark for mark in marks if isinstance(mark, Text)]
    assert " ".join(mark.text for mark in written).startswith(name)
    assert min(mark.height_mm for mark in written) >= 1.8
    for mark in written:
        box = mark_bounds(mark)
        assert box[0] >= frame[0]
        assert box[2] <= frame[2] or mark.text not in name
        assert box[1] >= frame[1]
        assert box[3] <= frame[3]
    lines = sorted(written, key=lambda mark: -mark.at[1])
    assert all(mark_bounds(low)[3] <= mark_bounds(high)[1] + 1e-6 for high, low in pairwise(lines))


def test_the_dxf_of_a_view_is_in_true_millimetres(sheets):
    """Audited and read back by ezdxf: the swept outline is 870 mm high, and the figure beside it says so."""
    document = ezdxf.read(io.StringIO(sheets["behind.dxf"].decode()))
    assert not document.audit().errors
    assert document.header["$INSUNITS"] == 4
    space = document.modelspace()
    swept = [e for e in space if e.dxftype() == "LWPOLYLINE" and e.dxf.layer == FOLD and e.closed]
    heights = [float(np.ptp(np.array(e.get_points("xy"))[:, 1])) for e in swept]
    assert max(heights) == pytest.approx(870.0, abs=0.3)
    assert {"part", "outline", "fold", "thin"} <= {e.dxf.layer for e in space}
