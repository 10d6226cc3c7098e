"""Pages at true scale: drawings in millimetres to PDF bytes.

* page  - one sheet of paper with a drawing on it, origin at the lower left corner of the paper
* tiled - a drawing larger than the paper, cut into pages that overlap, each with crosses that fall on the same
  crosses of its neighbours, and a bar that must measure 100 mm after printing

Same drawing, same bytes: the file holds no date and its identity is made from its content. Letters outside
Windows-1252 are written as "?", since the base fonts hold no others.
"""

from __future__ import annotations

import contextlib
import io
import math
import os
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from clearance.errors import OutputError
from clearance.export.papers import A4, Paper
from clearance.geom import letters
from clearance.geom.drawing import (
    CENTRE,
    CUT,
    ENGRAVE,
    EXTREME,
    FOLD,
    HIDDEN,
    LOCK,
    OUTLINE,
    PART,
    THIN,
    WHOLE,
    Bounds,
    Circle,
    Dimension,
    Drawing,
    Mark,
    Path,
    Text,
    drawing_of,
    line,
    mark_bounds,
    rectangle,
)
from clearance.geom.profile import Arc, Point
from clearance.plain import paper as paper_letters
from clearance.units import MM_PER_INCH

POINTS_PER_MM = 72.0 / MM_PER_INCH
CAP_HEIGHT = 0.729
"""Height of a capital over the font size, Bitstream Vera Sans (1493 of 2048 units)."""
_NARROW = 0.88
"""Letters are drawn so much narrower than the font has them: as wide as Helvetica's, which pages are laid out for."""

LEAST_LETTER_MM = 1.8
"""No letter on a page is smaller: the least height of ISO 3098."""
CHECK_BAR_MM = 100.0
MARGIN_MM = 10.0
BAND_MM = 16.0
"""Strip along the bottom of a tile for its bar and its words."""
HEAD_MM = 14.0
"""Strip along the top of a page that holds a whole drawing."""
OVERLAP_MM = 12.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """One sheet with what is drawn on it, in millimetres from its lower left corner."""

    drawing: Drawing
    paper: Paper = A4
    window: Bounds | None = None
    """Marks of `inside` are clipped to this box."""
    inside: Drawing = field(default_factory=Drawing)


def pdf(pages: Sequence[Page], *, title: str = "") -> bytes:
    """The pages as one PDF file, one millimetre drawn as one millimetre printed.

    Raises OutputError where there is no page.
    """
    if not pages:
        raise OutputError("there is nothing to print: no page was drawn.")
    from reportlab.pdfgen.canvas import Canvas  # type: ignore[import-untyped]

    buffer = io.BytesIO()
    # `invariant` leaves the clock out of the file, so that the same drawing gives the same bytes.
    with _undated():
        canvas = Canvas(buffer, invariant=1, pageCompression=1, initialFontName=_font(bold=False))
    canvas.setTitle(paper_letters(title))
    canvas.setCreator("clearance")
    for page in pages:
        canvas.setPageSize((page.paper.width_mm * POINTS_PER_MM, page.paper.height_mm * POINTS_PER_MM))
        canvas.scale(POINTS_PER_MM, POINTS_PER_MM)
        canvas.setLineCap(1)
        canvas.setLineJoin(1)
        if page.inside.marks:
            canvas.saveState()
            if page.window is not None:
                _clip(canvas, page.window)
            _draw(canvas, page.inside)
            canvas.restoreState()
        _draw(canvas, page.drawing)
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()


@contextlib.contextmanager
def _undated() -> Iterator[None]:
    """Without the date that build systems put into the environment, which reportlab would write into the file."""
    kept = os.environ.pop("SOURCE_DATE_EPOCH", None)
    try:
        yield
    finally:
        if kept is not None:
            os.environ["SOURCE_DATE_EPOCH"] = kept


def check_bar(x_mm: float, y_mm: float) -> Drawing:
    """A bar that must measure 100 mm on the printed sheet, with its ticks and its words, from its left end."""
    marks: list[Mark] = [line((x_mm, y_mm), (x_mm + CHECK_BAR_MM, y_mm), OUTLINE)]
    for tick in range(11):
        x = x_mm + 10.0 * tick
        marks.append(line((x, y_mm), (x, y_mm + (4.0 if tick % 5 == 0 else 2.5)), OUTLINE))
    words = "must measure 100 mm (3 15/16 in): print at 100 %, no fit to page"
    marks.append(Text(at=(x_mm, y_mm - 3.2), text=words, height_mm=2.0))
    return drawing_of(marks)


def centred(
    drawing: Drawing, *, paper: Paper = A4, title: str = "", notes: Sequence[str] = (), bar: bool = True
) -> Page:
    """A drawing in the middle of one page, scaled down where it does not fit, with its title, scale and notes.

    The check bar is printed only where the drawing is at true size.
    """
    x0, y0, x1, y1 = drawing.plain.bounds
    head, foot = HEAD_MM, BAND_MM + 4.5 * len(notes)
    room_x, room_y = paper.width_mm - 2 * MARGIN_MM, paper.height_mm - 2 * MARGIN_MM - head - foot
    scale = _scale_that_fits(x1 - x0, y1 - y0, room_x, room_y)
    at_x = MARGIN_MM + (room_x - scale * (x1 - x0)) / 2 - scale * x0
    at_y = MARGIN_MM + foot + (room_y - scale * (y1 - y0)) / 2 - scale * y0
    placed = _scaled_for_paper(drawing, scale).moved(at_x, at_y)
    said = "1 : 1" if scale == 1.0 else f"1 : {1 / scale:g}"
    top = paper.height_mm - MARGIN_MM
    marks: list[Mark] = [
        Text(at=(MARGIN_MM, top - 5), text=title, height_mm=4.0, bold=True),
        Text(at=(paper.width_mm - MARGIN_MM, top - 5), text=f"scale {said}, mm", height_mm=2.8, align="right"),
    ]
    for row, note in enumerate(reversed(notes)):
        marks.append(Text(at=(MARGIN_MM, MARGIN_MM + BAND_MM + 4.5 * row), text=note, height_mm=2.4))
    below = check_bar(MARGIN_MM, MARGIN_MM + 6) if bar and scale == 1.0 else Drawing()
    if bar and scale == 1.0:
        marks += _over_all(placed.plain.bounds)
    return Page(drawing=placed + drawing_of(marks) + below, paper=paper)


def _over_all(bounds: Bounds) -> list[Mark]:
    """What the drawing must measure over all on the printed page, across and up."""
    x0, y0, x1, y1 = bounds
    return [
        Dimension(start=(x0, y0), end=(x1, y0), off_mm=-3.0, height_mm=LEAST_LETTER_MM),
        Dimension(start=(x0, y0), end=(x0, y1), off_mm=3.0, height_mm=LEAST_LETTER_MM),
    ]


def whole_or_tiled(drawing: Drawing, *, paper: Paper = A4, title: str = "") -> tuple[Page, ...]:
    """A drawing at 1:1 on one page where the paper takes it, upright or on its side; else in tiles."""
    x0, y0, x1, y1 = drawing.plain.bounds
    for way in (paper, paper.turned):
        room_x, room_y = way.width_mm - 2 * MARGIN_MM, way.height_mm - 2 * MARGIN_MM - HEAD_MM - BAND_MM
        # room for the dimensions over all
        if x1 - x0 <= room_x - 10.0 and y1 - y0 <= room_y - 6.0:
            return (centred(drawing, paper=way, title=title),)
    return tiled(drawing, paper=paper, title=title)


def tiled(
    drawing: Drawing,
    *,
    paper: Paper = A4,
    title: str = "",
    overlap_mm: float = OVERLAP_MM,
    margin_mm: float = MARGIN_MM,
    turn: bool = True,
) -> tuple[Page, ...]:
    """A drawing at 1:1 over as many pages as it needs, upright or on its side, whichever takes fewer; as the paper is
    given where it is not to `turn`. No writing is split: it stands on one of the pages, moved there where it must be.

    Columns are lettered from the left and rows numbered from the bottom. The dashed line through the crosses is where
    one page meets the next: cut along it, or lay cross on cross. A page with nothing on it is left out.
    """
    plain = drawing.plain
    ways = (paper, paper.turned) if turn else (paper,)
    return min((_tiles(plain, p, title, overlap_mm, margin_mm) for p in ways), key=len)


def tile_room(paper: Paper, columns: int, rows: int) -> tuple[float, float]:
    """Width and height of what is tiled over so many pages, with a millimetre to spare at each side."""
    width, height = paper.width_mm - 2 * MARGIN_MM, paper.height_mm - 2 * MARGIN_MM - BAND_MM
    return columns * (width - OVERLAP_MM) + OVERLAP_MM - 2.0, rows * (height - OVERLAP_MM) + OVERLAP_MM - 2.0


def tile_frame_mm() -> float:
    """How much of a tile's height is its margins and the band of its bar."""
    return 2 * MARGIN_MM + BAND_MM


def _tiles(plain: Drawing, paper: Paper, title: str, overlap_mm: float, margin_mm: float) -> tuple[Page, ...]:
    x0, y0, x1, y1 = plain.bounds
    width = paper.width_mm - 2 * margin_mm
    height = paper.height_mm - 2 * margin_mm - BAND_MM
    step_x, step_y = width - overlap_mm, height - overlap_mm
    columns = max(1, math.ceil((x1 - x0 + 2.0 - overlap_mm) / step_x))
    rows = max(1, math.ceil((y1 - y0 + 2.0 - overlap_mm) / step_y))
    block = (columns * step_x + overlap_mm, rows * step_y + overlap_mm)
    left, low = _where(plain, block, (step_x, step_y), overlap_mm)
    plain = _unsplit(plain, (left, low), (step_x, step_y), overlap_mm, (columns, rows))
    boxes = [(mark, mark_bounds(mark)) for mark in plain.marks]
    pages = []
    for row in range(rows):
        for column in range(columns):
            at = (left + column * step_x, low + row * step_y)
            here = (at[0], at[1], at[0] + width, at[1] + height)
            seen = tuple(m for m, around in boxes if _shown(m, around, here))
            if not seen:
                continue
            dx, dy = margin_mm - at[0], margin_mm + BAND_MM - at[1]
            window = (margin_mm, margin_mm + BAND_MM, margin_mm + width, margin_mm + BAND_MM + height)
            frame = _frame(window, column, row, columns, rows, overlap_mm, title)
            pages.append(Page(drawing=frame, paper=paper, window=window, inside=Drawing(marks=seen).moved(dx, dy)))
    return tuple(pages)


def _where(plain: Drawing, block: Point, step: Point, overlap_mm: float) -> Point:
    """Where the block of tiles begins: about the middle of the drawing, as far off it as splits the least writing."""
    x0, y0, x1, y1 = plain.bounds
    boxes = [drawing_of(label).bounds for label in _labels(plain)]
    found = []
    for axis, (low, high) in enumerate(((x0, x1), (y0, y1))):
        slack = max(block[axis] - (high - low) - 2.0, 0.0)
        starts = [(low + high - block[axis]) / 2 + slack * k / 24 for k in range(-12, 13)]
        splits = [sum(_split((b[axis], b[axis + 2]), s, step[axis], overlap_mm) for b in boxes) for s in starts]
        best = min(range(len(starts)), key=lambda k: (splits[k], abs(k - 12)))
        found.append(starts[best])
    return found[0], found[1]


def _labels(plain: Drawing) -> list[list[Text]]:
    """Pieces of writing: lines that stand under one another about one middle belong together."""
    found: list[list[Text]] = []
    last: Mark | None = None
    for mark in plain.marks:
        if isinstance(mark, Text):
            together = isinstance(last, Text) and mark.align == last.align == "centre" and _in_column(last, mark)
            if together:
                found[-1].append(mark)
            else:
                found.append([mark])
        last = mark
    return found


def _in_column(one: Text, other: Text) -> bool:
    turn = math.radians(one.turn_deg)
    dx, dy = other.at[0] - one.at[0], other.at[1] - one.at[1]
    along, down = dx * math.cos(turn) + dy * math.sin(turn), dy * math.cos(turn) - dx * math.sin(turn)
    return one.turn_deg == other.turn_deg and abs(along) < 1e-6 and abs(down) < 2.0 * one.height_mm


def _split(run: tuple[float, float], start: float, step: float, overlap_mm: float) -> bool:
    """Does a stretch lie in no tile as a whole? Tiles begin every step and reach an overlap beyond the next."""
    k = math.floor((run[0] - start) / step)
    return run[1] > start + (k + 1) * step + overlap_mm


def _unsplit(plain: Drawing, at: Point, step: Point, overlap_mm: float, count: tuple[int, int]) -> Drawing:
    """The same with every piece of writing moved, as little as may be, to where one tile holds it whole."""
    moved: list[Mark] = [m for m in plain.marks if not isinstance(m, Text)]
    for label in (_no_larger(one, step) for one in _labels(plain)):
        box = drawing_of(label).bounds
        # several lines keep clear of the seams too; one line marks a place, and is moved no further than it must
        off = overlap_mm / 2 if len(label) > 1 else 0.0
        size = [s + overlap_mm - 2 * off for s in step]
        dx, dy = (_to_one_tile((box[i], box[i + 2]), at[i] + off, step[i], size[i], count[i]) for i in (0, 1))
        moved += [replace(text, at=(text.at[0] + dx, text.at[1] + dy)) for text in label]
    return Drawing(marks=tuple(moved))


def _no_larger(label: list[Text], tile: Point) -> list[Text]:
    """A piece of writing made smaller about its middle where a tile is too small for it, so that none is lost; broken
    into more lines of the least letters where it would be smaller than they.
    """
    x0, y0, x1, y1 = drawing_of(label).bounds
    share = min(1.0, (tile[0] - 2.0) / (x1 - x0), (tile[1] - 2.0) / (y1 - y0)) if x1 > x0 and y1 > y0 else 1.0
    if share >= 1.0:
        return label
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    if share * min(t.height_mm for t in label) < LEAST_LETTER_MM:
        return _in_more_lines(label, (x, y), tile)
    return [
        replace(t, at=(x + share * (t.at[0] - x), y + share * (t.at[1] - y)), height_mm=share * t.height_mm)
        for t in label
    ]


def _in_more_lines(label: list[Text], middle: Point, tile: Point) -> list[Text]:
    """The words of a label in the least letters, under one another about its middle, none wider than a tile."""
    turn = math.radians(label[0].turn_deg)
    along = (math.cos(turn), math.sin(turn))
    room = min(size / max(abs(way), 1e-9) for size, way in zip(tile, along, strict=True)) - 4.0
    most = max(1, int(room / letters.width_mm("12", LEAST_LETTER_MM) * 2))
    rows = [row for text in label for row in textwrap.wrap(text.text, most)]
    found = []
    for k, row in enumerate(rows):
        up = ((len(rows) - 1) / 2 - k) * 1.6 * LEAST_LETTER_MM - LEAST_LETTER_MM / 2
        at = (middle[0] - up * along[1], middle[1] + up * along[0])
        found.append(replace(label[0], at=at, text=row, height_mm=LEAST_LETTER_MM, align="centre"))
    return found


def _to_one_tile(run: tuple[float, float], start: float, step: float, size: float, count: int) -> float:
    """The least shift that brings a stretch into one tile; into the middle of one where it is longer than a tile."""
    shifts = []
    for k in range(count):
        low, high = start + k * step + 0.5, start + k * step + size - 0.5
        shifts.append(max(low - run[0], 0.0) + min(high - run[1], 0.0))
    return min(shifts, key=abs, default=0.0)


def tile_name(column: int, row: int) -> str:
    """Letter of the column, number of the row: B3.

    >>> tile_name(1, 2), tile_name(26, 0)
    ('B3', 'AA1')
    """
    letters, n = "", column + 1
    while n:
        n, rest = divmod(n - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return f"{letters}{row + 1}"


def _frame(window: Bounds, column: int, row: int, columns: int, rows: int, overlap_mm: float, title: str) -> Drawing:
    x0, y0, x1, y1 = window
    half = overlap_mm / 2
    # The seam with a neighbour runs down the middle of the overlap.
    west, east, south, north = x0 + half, x1 - half, y0 + half, y1 - half
    marks: list[Mark] = []
    for x, y, cross in (
        (west, south, (column, row)),
        (east, south, (column + 1, row)),
        (west, north, (column, row + 1)),
        (east, north, (column + 1, row + 1)),
    ):
        marks += _registration((x, y), f"{cross[0]}-{cross[1]}")
    if column > 0:
        marks.append(line((west, y0), (west, y1), HIDDEN))
    if column < columns - 1:
        marks.append(line((east, y0), (east, y1), HIDDEN))
    if row > 0:
        marks.append(line((x0, south), (x1, south), HIDDEN))
    if row < rows - 1:
        marks.append(line((x0, north), (x1, north), HIDDEN))
    name = tile_name(column, row)
    words = f"page {name} of {columns} x {rows}   {title}".strip()
    low = y0 - BAND_MM
    for row, said in enumerate(textwrap.wrap(words, max(int((x1 - x0 - CHECK_BAR_MM - 34) / 1.6), 16))[:3]):
        marks.append(Text(at=(x0 + CHECK_BAR_MM + 6, low + 9.0 - 3.2 * row), text=said, height_mm=2.0))
    marks += _witness(west, east, south, north, half)
    marks += _index_map(x1 - 2, low + 3, column, row, columns, rows)
    return drawing_of(marks) + check_bar(x0, low + 6)


def _witness(west: float, east: float, south: float, north: float, half_mm: float) -> list[Mark]:
    """What two crosses must measure from each other on the printed page, across and up."""
    return [
        Dimension(start=(west, north), end=(east, north), off_mm=half_mm + 2.0, height_mm=LEAST_LETTER_MM),
        Dimension(start=(west, south), end=(west, north), off_mm=half_mm + 2.0, height_mm=LEAST_LETTER_MM),
    ]


def _registration(at: tuple[float, float], words: str) -> list[Mark]:
    """A circled cross: the same one is printed on each page that shares it."""
    x, y = at
    return [
        Circle(centre=at, radius_mm=2.0, layer=THIN),
        line((x - 4, y), (x + 4, y), THIN),
        line((x, y - 4), (x, y + 4), THIN),
        Text(at=(x + 2.2, y + 2.2), text=words, height_mm=LEAST_LETTER_MM, layer=THIN),
    ]


def _index_map(right: float, low: float, column: int, row: int, columns: int, rows: int) -> list[Mark]:
    """A small map of all the pages with this one shaded."""
    cell = min(3.0, 10.0 / rows, 24.0 / columns)
    marks: list[Mark] = []
    for r in range(rows):
        for c in range(columns):
            shade = 0.35 if (c, r) == (column, row) else None
            x = right - (columns - c) * cell
            marks.append(rectangle(x, low + r * cell, cell, cell, THIN, shade))
    return marks


def _shown(mark: Mark, around: Bounds, window: Bounds) -> bool:
    """Writing only where it is whole; anything else where it leaves ink."""
    if isinstance(mark, Text):
        return _within(around, window)
    return _meet(around, window) and _inks(mark, window)


def _within(one: Bounds, other: Bounds) -> bool:
    return one[0] >= other[0] and one[1] >= other[1] and one[2] <= other[2] and one[3] <= other[3]


def _meet(one: Bounds, other: Bounds) -> bool:
    return one[0] <= other[2] and other[0] <= one[2] and one[1] <= other[3] and other[1] <= one[3]


def _inks(mark: Mark, window: Bounds) -> bool:
    """Does a mark leave ink in a window? A shaded one may cover it whole; any other only along its line."""
    if isinstance(mark, Text) or (isinstance(mark, (Path, Circle)) and mark.shade is not None):
        return True
    from shapely import LineString, box

    if isinstance(mark, Circle):
        around = np.linspace(0.0, 2 * np.pi, 181)
        run = np.array(mark.centre) + mark.radius_mm * np.column_stack([np.cos(around), np.sin(around)])
    elif isinstance(mark, Path):
        run = mark.points()
    else:
        return True
    return bool(LineString(run).intersects(box(*window)))


_SCALES = (1.0, 1 / 2, 1 / 2.5, 1 / 4, 1 / 5, 1 / 8, 1 / 10, 1 / 20, 1 / 25, 1 / 50)


def _scale_that_fits(width: float, height: float, room_x: float, room_y: float) -> float:
    """The largest usual drawing scale (ISO 5455 and its neighbours) at which it fits."""
    for scale in _SCALES:
        if scale * width <= room_x and scale * height <= room_y:
            return scale
    return min(room_x / width, room_y / height)


def _scaled_for_paper(drawing: Drawing, scale: float) -> Drawing:
    """Geometry scaled, writing left readable."""
    if scale == 1.0:
        return drawing
    marks: list[Mark] = []
    for old, new in zip(drawing.marks, drawing.scaled(scale).marks, strict=True):
        if isinstance(new, Text) and isinstance(old, Text):
            new = replace(new, height_mm=max(new.height_mm, LEAST_LETTER_MM))
        if isinstance(new, Dimension) and isinstance(old, Dimension):
            new = replace(new, height_mm=max(old.height_mm * scale, 2.0))
        marks.append(new)
    return Drawing(marks=tuple(marks))


# Line width in mm, dashes in mm, colour. The two colours are told apart by every kind of colour vision (Okabe and Ito).
_BLACK, _BLUE, _RED = (0.0, 0.0, 0.0), (0.0, 0.447, 0.698), (0.835, 0.369, 0.0)
_STYLES: dict[str, tuple[float, tuple[float, ...], tuple[float, float, float]]] = {
    CUT: (0.35, (), _BLACK),
    ENGRAVE: (0.25, (), _BLUE),
    FOLD: (0.25, (4.0, 1.5), _RED),
    OUTLINE: (0.4, (), _BLACK),
    THIN: (0.15, (), _BLACK),
    CENTRE: (0.15, (6.0, 1.5, 1.0, 1.5), _BLACK),
    HIDDEN: (0.2, (2.0, 1.2), (0.35, 0.35, 0.35)),
    PART: (0.7, (), _BLACK),
    WHOLE: (0.5, (), _BLACK),
    EXTREME: (0.25, (6.0, 1.2, 0.3, 1.2, 0.3, 1.2), _BLACK),
    LOCK: (0.3, (0.3, 1.1), _BLACK),
}


def _draw(canvas: Any, drawing: Drawing) -> None:
    for mark in drawing.plain.marks:
        width, dashes, colour = _STYLES[mark.layer]
        canvas.setLineWidth(width)
        canvas.setDash(*((list(dashes), 0) if dashes else ([], 0)))
        canvas.setStrokeColorRGB(*colour)
        if isinstance(mark, Text):
            canvas.setFillColorRGB(*colour)
            _write(canvas, mark)
        elif isinstance(mark, Circle):
            if mark.shade is not None:
                canvas.setFillGray(mark.shade)
            canvas.circle(*mark.centre, mark.radius_mm, stroke=1, fill=int(mark.shade is not None))
        elif isinstance(mark, Path):
            _stroke(canvas, mark)


def _stroke(canvas: Any, mark: Path) -> None:
    path = canvas.beginPath()
    path.moveTo(*mark.elements[0].start)
    for element in mark.elements:
        if isinstance(element, Arc):
            for curve in _beziers(element):
                path.curveTo(*curve)
        else:
            path.lineTo(*element.end)
    if mark.closed:
        path.close()
    if mark.shade is not None:
        canvas.setFillGray(mark.shade)
    canvas.drawPath(path, stroke=1, fill=int(mark.shade is not None))


def _beziers(arc: Arc) -> list[tuple[float, ...]]:
    """Cubic curves along an arc, one to each 45 degrees or less: off by less than 4e-6 of its radius."""
    count = max(1, math.ceil(abs(arc.sweep_rad) / (math.pi / 4) - 1e-9))
    step = arc.sweep_rad / count
    (x, y), r = arc.centre, arc.radius_mm
    k = 4.0 / 3.0 * math.tan(step / 4)
    curves: list[tuple[float, ...]] = []
    for i in range(count):
        a, b = arc.start_rad + i * step, arc.start_rad + (i + 1) * step
        curves.append(
            (
                x + r * (math.cos(a) - k * math.sin(a)),
                y + r * (math.sin(a) + k * math.cos(a)),
                x + r * (math.cos(b) + k * math.sin(b)),
                y + r * (math.sin(b) - k * math.cos(b)),
                x + r * math.cos(b),
                y + r * math.sin(b),
            )
        )
    return curves


def _write(canvas: Any, mark: Text) -> None:
    canvas.saveState()
    canvas.translate(*mark.at)
    canvas.rotate(mark.turn_deg)
    canvas.scale(_NARROW, 1.0)
    canvas.setFont(_font(bold=mark.bold), mark.height_mm / CAP_HEIGHT)
    draw = {"left": canvas.drawString, "centre": canvas.drawCentredString, "right": canvas.drawRightString}[mark.align]
    draw(0, 0, paper_letters(mark.text))
    canvas.restoreState()


def _font(*, bold: bool) -> str:
    """A font that goes into the file with the letters that are used, so that every printer has it."""
    from reportlab.pdfbase import pdfmetrics  # type: ignore[import-untyped]
    from reportlab.pdfbase.ttfonts import TTFont  # type: ignore[import-untyped]

    name, file = ("VeraBd", "VeraBd.ttf") if bold else ("Vera", "Vera.ttf")
    if name not in pdfmetrics.getRegisteredFontNames():
        pdfmetrics.registerFont(TTFont(name, file))
    return name


def _clip(canvas: Any, window: Bounds) -> None:
    x0, y0, x1, y1 = window
    path = canvas.beginPath()
    path.rect(x0, y0, x1 - x0, y1 - y0)
    canvas.clipPath(path, stroke=0, fill=0)
