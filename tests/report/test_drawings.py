"""Drawings to scale: their figures by hand, their scale on paper, and what is drawn where."""

from __future__ import annotations

import shutil
import subprocess
import xml.etree.ElementTree as ElementTree

import numpy as np
import pytest

from clearance.description.load import load
from clearance.gap.cycle import over_cycle
from clearance.geom.drawing import FOLD, Dimension
from clearance.report.drawings import VIEWS, drawings, full_size, view_drawing
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
    assert f"backspace {both(127.0, digits=0)}" in small
    assert "backspace 127 mm (5 in)" in small
    assert any(text.startswith("swept 870 mm (34 1/4 in)") for text in small)


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
    assert set(first) == {*(f"{view}.svg" for view in VIEWS), "drawings.pdf"}
    for view in VIEWS:
        root = ElementTree.fromstring(first[f"{view}.svg"])
        width = root.get("width", "")
        assert width.endswith("mm")
        assert float(width[:-2]) == float(root.get("viewBox", "").split()[2])
        assert float(width[:-2]) < 216


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler-utils is not installed")
def test_on_every_sheet_the_bar_is_100_mm_and_nothing_runs_off(corners, tmp_path):
    from PIL import Image

    (tmp_path / "d.pdf").write_bytes(drawings(*corners["left"])["drawings.pdf"])
    subprocess.run(["pdftoppm", "-r", "254", "-gray", "-png", str(tmp_path / "d.pdf"), str(tmp_path / "d")], check=True)
    pages = sorted(tmp_path.glob("d-*.png"))
    assert len(pages) == 3
    for page in pages:
        with Image.open(page) as image:
            grey = np.asarray(image.convert("L"))
        rows = grey[-300:, :1300] < 128
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
