"""PDF as a printer sees it: rendered by poppler's pdftoppm and measured in dots."""

import io
import math
import shutil
import subprocess

import numpy as np
import pytest

from clearance.errors import OutputError
from clearance.export.papers import A4, LETTER, paper_named
from clearance.export.pdf import LEAST_LETTER_MM, Page, centred, check_bar, pdf, tile_name, tiled
from clearance.geom.drawing import CUT, OUTLINE, Circle, Dimension, Drawing, Text, arc, line, mark_bounds

DPI = 300
DOT_MM = 25.4 / DPI
needs_poppler = pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="pdftoppm (poppler-utils) is not installed")


def dark(data: bytes, tmp_path, page: int = 1) -> np.ndarray:
    """The page as (rows, columns) of True where there is ink, row 0 at the top."""
    (tmp_path / "page.pdf").write_bytes(data)
    run = ["pdftoppm", "-r", str(DPI), "-gray", "-f", str(page), "-l", str(page), "page.pdf"]
    raw = subprocess.run(run, cwd=tmp_path, capture_output=True, check=True).stdout
    kind, size, _, pixels = raw.split(b"\n", 3)
    assert kind == b"P5"
    width, height = (int(n) for n in size.split())
    return np.frombuffer(pixels, dtype=np.uint8).reshape(height, width) < 128


@needs_poppler
@pytest.mark.parametrize("paper", [A4, LETTER])
def test_the_check_bar_prints_100_mm_long(paper, tmp_path):
    page = dark(pdf([Page(drawing=check_bar(50, 100), paper=paper)]), tmp_path)
    assert page.shape == pytest.approx((paper.height_mm / DOT_MM, paper.width_mm / DOT_MM), abs=1.0)
    row = page[round((paper.height_mm - 100.0) / DOT_MM)]
    ends = np.flatnonzero(row)
    # the pen is 0.4 mm wide with round ends; a dot is 0.085 mm
    assert (ends[-1] - ends[0] + 1) * DOT_MM == pytest.approx(100.4, abs=0.2)
    assert ends[0] * DOT_MM == pytest.approx(49.8, abs=0.15)


@needs_poppler
def test_a_circle_and_an_arc_print_at_their_radius(tmp_path):
    drawing = Drawing(marks=(Circle(centre=(105, 150), radius_mm=80), arc((105, 150), 60, 0, 270)))
    page = dark(pdf([Page(drawing=drawing)]), tmp_path)
    rows, columns = np.nonzero(page)
    radius = np.hypot((columns + 0.5) * DOT_MM - 105, 297 - (rows + 0.5) * DOT_MM - 150)
    near = np.minimum(np.abs(radius - 80), np.abs(radius - 60))
    # half the 0.4 mm pen and one dot of smoothing
    assert near.max() < 0.2 + 2 * DOT_MM
    assert radius.max() > 80


@needs_poppler
def test_tiles_laid_cross_on_cross_give_the_whole_drawing(tmp_path):
    """A line of 300 mm over two pages: the ink of both, each shifted by its place, is one run of 300 mm."""
    pages = tiled(Drawing(marks=(line((0, 0), (300, 0), CUT),)), paper=A4)
    assert len(pages) == 2
    ends, crosses = [], []
    for number, page in enumerate(pages, start=1):
        x0, moved = page.window[0], page.inside.bounds
        ink = dark(pdf(pages), tmp_path, number)
        row = ink[round((page.paper.height_mm - moved[1]) / DOT_MM)]
        columns = np.flatnonzero(row[round(x0 / DOT_MM) :]) + round(x0 / DOT_MM)
        ends.append(((columns[0] + 0.5) * DOT_MM - moved[0], (columns[-1] + 0.5) * DOT_MM - moved[0]))
        circles = [m.centre for m in page.drawing.marks if isinstance(m, Circle)]
        crosses.append({(round(cx - moved[0], 6), round(cy - moved[1], 6)) for cx, cy in circles})
    # the pen is 0.35 mm wide with round ends
    assert ends[0][0] == pytest.approx(-0.17, abs=0.2)
    assert ends[1][1] == pytest.approx(300.17, abs=0.2)
    # the ink of the two pages overlaps by the 12 mm that the pages do
    assert ends[0][1] - ends[1][0] == pytest.approx(12.0, abs=0.3)
    assert len(crosses[0] & crosses[1]) == 2


def test_a_big_ring_takes_the_pages_it_needs_and_names_them():
    ring = Drawing(marks=(Circle(centre=(0, 0), radius_mm=350, layer=CUT),))
    pages = tiled(ring, paper=LETTER, title="ring")
    names = [m.text for p in pages for m in p.drawing.marks if isinstance(m, Text) and m.text.startswith("page")]
    assert len(names) == len(set(names)) == len(pages)
    assert tile_name(1, 2) == "B3"
    for page in pages:
        bars = [m for m in page.drawing.marks if isinstance(m, Text) and "100 mm" in m.text]
        assert len(bars) == 1


def test_a_page_with_nothing_on_it_is_left_out():
    corners = Drawing(marks=(Circle(centre=(0, 0), radius_mm=5), Circle(centre=(700, 900), radius_mm=5)))
    assert len(tiled(corners)) == 2
    ring = Drawing(marks=(Circle(centre=(0, 0), radius_mm=350, layer=CUT),))
    # the inside of the ring holds no mark: 4 x 3 pages less the 2 in the middle
    assert len(tiled(ring)) == 10


def test_a_large_drawing_is_scaled_and_says_so():
    page = centred(Drawing(marks=(line((0, 0), (700, 0)), Dimension(start=(0, 0), end=(700, 0)))), title="blade")
    texts = [m.text for m in page.drawing.plain.marks if isinstance(m, Text)]
    assert "scale 1 : 4, mm" in texts
    assert "700.0" in texts
    assert not any("100 mm" in t for t in texts)


def test_a_drawing_at_full_size_carries_its_bar():
    page = centred(Drawing(marks=(line((0, 0), (100, 0), OUTLINE),)))
    assert any("100 mm" in m.text for m in page.drawing.marks if isinstance(m, Text))


def test_same_drawing_same_bytes():
    pages = tiled(Drawing(marks=(Circle(centre=(0, 0), radius_mm=200), Text(at=(0, 0), text="±1 mm ≥ Ж"))), title="x")
    assert pdf(pages, title="x") == pdf(pages, title="x")
    assert b"CreationDate" not in pdf(pages) or b"D:2000" in pdf(pages)


def test_no_page_and_an_unknown_paper_are_refused():
    with pytest.raises(OutputError, match="no page"):
        pdf([])
    with pytest.raises(OutputError, match='Write "A4" or "Letter"'):
        paper_named("A5 ")
    assert paper_named(" letter").width_mm == 215.9


@pytest.mark.skipif(shutil.which("pdffonts") is None, reason="pdffonts (poppler-utils) is not installed")
def test_every_font_of_a_page_is_in_the_file(tmp_path):
    """poppler's pdffonts: each font embedded, as a subset, with its letters' meaning."""
    words = [
        Text(at=(20, 100), text="AXLE +200", height_mm=5.0),
        Text(at=(20, 80), text="Bold", height_mm=5.0, bold=True),
    ]
    (tmp_path / "page.pdf").write_bytes(pdf([centred(Drawing(marks=tuple(words)), title="a page")]))
    said = subprocess.run(["pdffonts", "page.pdf"], cwd=tmp_path, capture_output=True, text=True, check=True).stdout
    head, _, *rows = said.splitlines()
    assert "emb sub uni" in head
    assert len(rows) == 2
    for row in rows:
        assert row.split()[-5:-2] == ["yes", "yes", "yes"], row


def test_no_letter_on_a_scaled_page_is_smaller_than_is_stated():
    """A drawing of 2 m with letters of 9 mm comes to 1:20, where they would be 0.45 mm high."""
    marks = [line((0, 0), (2000, 1500)), Text(at=(10, 10), text="floor +50", height_mm=9.0)]
    marks.append(Dimension(start=(0, 0), end=(2000, 0), off_mm=-40.0, height_mm=9.0))
    page = centred(Drawing(marks=tuple(marks)), title="t")
    heights = [m.height_mm for m in page.drawing.plain.marks if isinstance(m, Text)]
    assert min(heights) >= LEAST_LETTER_MM
    tiles = tiled(Drawing(marks=tuple(marks)), title="t")
    assert min(m.height_mm for t in tiles for m in t.drawing.plain.marks if isinstance(m, Text)) >= LEAST_LETTER_MM


def letters_mm(data: bytes) -> list[float]:
    """The height of the capitals of every piece of writing, read back from the file: the font's size by the scales that
    stand when it is shown, for a font whose capitals are 1493 of 2048 units high (Bitstream Vera Sans).
    """
    pikepdf = pytest.importorskip("pikepdf", reason="pikepdf is not installed")
    found = []
    with pikepdf.open(io.BytesIO(data)) as document:
        for page in document.pages:
            stack, scale, size, matrix = [], 1.0, 0.0, 1.0
            for operands, operator in pikepdf.parse_content_stream(page):
                numbers = [
                    float(one) for one in operands if not isinstance(one, (pikepdf.Array, pikepdf.String, pikepdf.Name))
                ]
                match str(operator):
                    case "q":
                        stack.append(scale)
                    case "Q":
                        scale = stack.pop()
                    case "cm":
                        scale *= math.hypot(numbers[2], numbers[3])
                    case "Tf":
                        size = numbers[-1]
                    case "Tm":
                        matrix = math.hypot(numbers[2], numbers[3])
                    case "Tj" | "TJ":
                        found.append(size * matrix * scale * 1493 / 2048 * 25.4 / 72)
    return found


def test_letters_are_read_back_at_the_height_that_was_asked_for():
    data = pdf([Page(drawing=Drawing(marks=(Text(at=(20.0, 20.0), text="H", height_mm=4.0, turn_deg=30.0),)))])
    assert letters_mm(data) == [pytest.approx(4.0, abs=0.02)]


@pytest.mark.parametrize("turn_deg", [0.0, 90.0])
@pytest.mark.parametrize("said", ["a long name of a car and of its corner " * 12, "W" * 400])
def test_a_label_too_long_for_a_tile_is_broken_into_lines_and_never_below_the_least_letter(said, turn_deg):
    """ISO 3098: no letter below 1.8 mm. Every letter of the label is printed, whole on one page."""
    outline = line((0.0, 0.0), (500.0, 0.0), CUT), line((0.0, 0.0), (0.0, 400.0), CUT)
    label = Text(at=(250.0, 200.0), text=said.strip(), height_mm=8.0, align="centre", turn_deg=turn_deg)
    pages = tiled(Drawing(marks=(*outline, label)))
    assert min(letters_mm(pdf(pages))) >= LEAST_LETTER_MM - 0.01
    held = []
    for page in pages:
        left, low, right, high = page.window
        for mark in (m for m in page.inside.marks if isinstance(m, Text)):
            x0, y0, x1, y1 = mark_bounds(mark)
            if left <= x0 and x1 <= right and low <= y0 and y1 <= high:
                held.append(mark.text)
    assert "".join(said.split()) in "".join("".join(held).split())
