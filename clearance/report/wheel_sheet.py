"""The sheet for the wheels in their boxes: one page a wheel, its dimensions lettered, what was ordered, boxes to fill.

The drawing is of no particular wheel and not to scale; letters, ways and columns are those of `wheel/box_form.py`, so
the printed sheet and the CSV to fill ask the same. Places on paper are millimetres from the lower left corner.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from clearance.export.papers import Paper, paper_named
from clearance.export.pdf import Page, pdf
from clearance.export.writing import in_lines, width_mm
from clearance.geom.drawing import CENTRE, OUTLINE, THIN, Circle, Drawing, Text, drawing_of, line, rectangle
from clearance.geom.drawing import Mark as Stroke
from clearance.plain import csv_row
from clearance.report.drawn import lettered, wheel_alone
from clearance.report.letters import Mark
from clearance.units import MM_PER_INCH, inch_text
from clearance.wheel.box_form import COLUMNS, COUNT, HOW, LENGTH, NAME, READINGS, TOOLS, Reading, heading
from clearance.wheel.fasteners import CAUTION
from clearance.wheel.inspection import BY_CALIPERS, READINGS_MM, Order, widest_step

MARGIN_MM = 12.0
TITLE_MM, NAME_MM, WORDS_MM = 4.2, 2.5, 1.95
LINE_MM = 3.3
ROW_MM = 10.9
"""One reading: its name and two lines of how; with two tools all of them fit on Letter, which is the shorter."""
BOX_MM = (40.0, 7.6)
ORDERED_MM = 47.0
"""Room for what was ordered, left of the box."""
SCALE = 0.112

_SECTION = (
    ("F", Mark(view="bench", start=(-108, -190), end=(95, -190), offset_mm=-62)),
    ("F1", Mark(view="bench", start=(-120.7, -212), end=(108, -212), offset_mm=-105)),
    ("G", Mark(view="bench", start=(-120.7, 212), end=(0, 212), offset_mm=115)),
    ("G1", Mark(view="bench", start=(-135, 250), end=(-121, 250), offset_mm=0)),
    ("E1", Mark(view="bench", start=(97, -190), end=(97, 190), offset_mm=50)),
    ("E2", Mark(view="bench", start=(108, -212), end=(108, 212), offset_mm=115)),
)
"""Where each letter stands on the wheel cut through."""
_HOLE_MM, _CIRCLE_MM, _BORE_MM = 9.0, 100.0, 62.0
"""Radius of what is drawn of the wheel's face, in the drawing's own millimetres."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Boxes:
    """The wheels of one kind: what was ordered, and a head and a name for each of its boxes."""

    order: Order
    names: tuple[str, ...]
    """Of its rows in the CSV."""
    heads: tuple[str, ...]
    """Of its pages."""
    kind: str = ""
    """What tells it from other kinds of the same car; empty where there is one."""


def boxes_of(order: Order) -> Boxes:
    """The boxes of an order of one kind of wheel."""
    numbers = range(1, order.quantity + 1)
    return Boxes(
        order=order,
        names=tuple(f"wheel {number}" for number in numbers),
        heads=tuple(f"Wheel {number} of {order.quantity}" for number in numbers),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """One reading as this order has it."""

    reading: Reading
    ordered: tuple[str, str]
    """In the user's unit, and in the other one."""


def wheel_sheet(order: Order, *, title: str, unit: str, paper: str = "letter") -> bytes:
    """The sheet of every wheel of an order as a PDF: the same order, the same bytes.

    Raises OutputError for a paper that is not known.
    """
    return box_sheet([boxes_of(order)], title=title, unit=unit, paper=paper)


def box_sheet(kinds: Sequence[Boxes], *, title: str, unit: str, paper: str = "letter") -> bytes:
    """The same of several kinds of wheel, a page for every box. Raises OutputError for a paper that is not known."""
    size = paper_named(paper)
    pages = []
    for boxes in kinds:
        order = boxes.order
        rows = tuple(_Row(reading=reading, ordered=_ordered(order, reading, unit)) for reading in READINGS)
        pages += [Page(drawing=_page(rows, f"{head}: {title}", unit, size), paper=size) for head in boxes.heads]
    return pdf(pages, title=f"Wheels in their boxes: {title}")


def wheel_csv(order: Order, *, unit: str) -> bytes:
    """The CSV to fill: a heading in words, a row that says how each is read, and a row for each wheel."""
    return box_csv([boxes_of(order)], unit=unit)


def box_csv(kinds: Sequence[Boxes], *, unit: str) -> bytes:
    """The same of several kinds of wheel: before the rows of each, one that says how, and what was ordered."""
    rows: list[Sequence[str]] = [(NAME, *(heading(one, unit) for one in COLUMNS))]
    for boxes in kinds:
        how = f"{HOW}, {boxes.kind}" if boxes.kind else HOW
        rows.append((how, *(_told(boxes.order, one, unit) for one in COLUMNS)))
        rows += [(name, *("" for _ in COLUMNS)) for name in boxes.names]
    return "".join(map(csv_row, rows)).encode()


def _told(order: Order, reading: Reading, unit: str) -> str:
    ordered = _ordered(order, reading, unit)[0]
    return f"{reading.how} Ordered: {ordered}." if ordered else reading.how


# ---- what was ordered


def _ordered(order: Order, reading: Reading, unit: str) -> tuple[str, str]:
    """What a reading is held against, with its tolerance, in the user's unit and in the other; empty where nothing is.

    A circumference and a hole-to-hole reading are held against what the tape or the calipers should show.
    """
    in_words = _in_words(order)
    if reading.item in in_words:
        return (in_words[reading.item], "")
    found = _length(order, reading.item)
    if found is None:
        return ("", "")
    shown = (_in_inches(*found), _in_mm(*found))
    return shown if unit == "in" else shown[::-1]


def _in_words(order: Order) -> dict[str, str]:
    """What is no length."""
    circle, thread = order.bolt_circle, order.thread
    return {
        "holes": "" if circle is None else str(circle.studs),
        "lug_seat": order.lug_seat or "",
        "thread": "" if thread is None else str(thread),
        "engagement": "" if thread is None else f"at least {thread.turns:.1f}",
    }


def _length(order: Order, item: str) -> tuple[float, float] | None:
    """What the tool should show and how far it may differ, mm."""
    circle = order.bolt_circle
    if item == "bolt_circle":
        if circle is None:
            return None
        share = circle.chord_mm(widest_step(circle.studs)) / circle.diameter_mm
        return circle.diameter_mm * share, order.tolerance_mm(item) * share
    values = {
        "width": order.width_mm,
        "overall_width": order.overall_width_mm,
        "backspace": order.backspace_mm,
        "flange_diameter": order.flange_diameter_mm,
        "center_bore": order.center_bore_mm,
    }
    if item == "diameter":
        return order.bead_seat_diameter_mm * math.pi, order.tolerance_mm(item) * math.pi
    value = values.get(item)
    return None if value is None else (value, order.tolerance_mm(item))


def _in_inches(value_mm: float, tolerance_mm: float) -> str:
    """A fraction where the value is one, else thousandths: calipers show them.

    >>> _in_inches(95.25, 1.5), _in_inches(83.0, 0.2)
    ('3 3/4 in ± 0.059', '3.268 in ± 0.008')
    """
    sixteenths = value_mm / MM_PER_INCH * 16
    exact = abs(sixteenths - round(sixteenths)) < 0.01
    shown = inch_text(value_mm) if exact else f"{value_mm / MM_PER_INCH:.3f} in"
    return f"{shown} \u00b1 {tolerance_mm / MM_PER_INCH:.3f}"


def _in_mm(value_mm: float, tolerance_mm: float) -> str:
    return f"{value_mm:.1f} mm \u00b1 {tolerance_mm:.1f}"


# ---- the page


def _page(rows: Sequence[_Row], head: str, unit: str, paper: Paper) -> Drawing:
    right = paper.width_mm - MARGIN_MM
    y = paper.height_mm - MARGIN_MM
    marks: list[Stroke] = []
    # a long title is smaller, so that it leaves the place of one line
    height = TITLE_MM if len(in_lines(head, TITLE_MM, right - MARGIN_MM, bold=True)) == 1 else WORDS_MM
    for place, words in enumerate(in_lines(head, height, right - MARGIN_MM, bold=True)):
        marks.append(Text(at=(MARGIN_MM, y - 5.0 - place * LINE_MM), text=words, height_mm=height, bold=True))
    y -= 13.0
    marks += _blanks(("Which wheel", "Date, by"), y, right)
    y -= 3.0
    drawn = _views(y, right)
    y = drawn.bounds[1] - 2.5
    marks += _headings(y, right)
    y -= 1.5
    for row in rows:
        marks += _row(row, y, right, unit)
        y -= ROW_MM
    for tool in TOOLS:
        marks += _tool(tool, y, right, unit)
        y -= ROW_MM
    marks += _foot(y, right)
    return drawn + drawing_of(marks)


def _blanks(names: Sequence[str], y: float, right: float) -> list[Stroke]:
    width = (right - MARGIN_MM) / len(names)
    marks: list[Stroke] = []
    for column, name in enumerate(names):
        x = MARGIN_MM + column * width
        marks.append(Text(at=(x, y), text=name, height_mm=WORDS_MM))
        marks.append(line((x + 1.8 * len(name) + 4, y), (x + width - 4, y), THIN))
    return marks


def _views(top: float, right: float) -> Drawing:
    """The wheel cut through, and its face with the holes, side by side."""
    section = drawing_of(wheel_alone()).scaled(SCALE)
    for letter, mark in _SECTION:
        section = section + drawing_of(lettered(letter, mark, SCALE))
    x0, y0, _, y1 = section.plain.bounds
    left = section.moved(MARGIN_MM + 14.0 - x0, top - 1.0 - y1)
    face = _face()
    _, fy0, fx1, fy1 = face.plain.bounds
    middle = top - 1.0 - (y1 - y0) / 2
    return left + face.moved(right - 20.0 - fx1, middle - (fy0 + fy1) / 2)


def _face() -> Drawing:
    """Five holes, the reading between two of them from like edge to like edge, and the bore."""
    scale = 0.2
    holes = [
        (_CIRCLE_MM * math.cos(math.radians(angle)), _CIRCLE_MM * math.sin(math.radians(angle)))
        for angle in (90, 162, 234, 306, 18)
    ]
    marks: list[Stroke] = [
        Circle(centre=(0, 0), radius_mm=150, shade=0.94),
        Circle(centre=(0, 0), radius_mm=_CIRCLE_MM, layer=CENTRE),
        Circle(centre=(0, 0), radius_mm=_BORE_MM, shade=1.0),
        *(Circle(centre=at, radius_mm=_HOLE_MM, shade=1.0) for at in holes),
    ]
    drawn = drawing_of(marks).scaled(scale)
    # left edge of the hole on the left to left edge of the furthest one, on the same height only by this turn
    first, other = holes[1], holes[4]
    reading = Mark(
        view="side",
        start=(-(first[0] - _HOLE_MM), first[1]),
        end=(-(other[0] - _HOLE_MM), other[1]),
        offset_mm=-145 + first[1],
    )
    bore = Mark(view="side", start=(_BORE_MM, 0), end=(-_BORE_MM, 0), offset_mm=0)
    return drawn + drawing_of([*lettered("H1", reading, scale), *lettered("H2", bore, scale)])


def _headings(y: float, right: float) -> list[Stroke]:
    columns = ((right - BOX_MM[0] - ORDERED_MM, "ordered, and what it may differ"), (right - BOX_MM[0], "read"))
    return [Text(at=(x, y), text=words, height_mm=WORDS_MM, bold=True) for x, words in columns]


def _row(row: _Row, top: float, right: float, unit: str) -> list[Stroke]:
    reading = row.reading
    at = right - BOX_MM[0] - ORDERED_MM
    marks = _named(reading, top, right, at)
    shown, other = row.ordered
    one_line = width_mm(shown, NAME_MM, bold=True) <= ORDERED_MM - 3.0
    if shown and one_line:
        marks.append(Text(at=(at, top - 4.2), text=shown, height_mm=NAME_MM, bold=True))
    else:
        said = shown or ("not ordered" if reading.item else "")
        for place, words in enumerate(in_lines(said, WORDS_MM, ORDERED_MM - 3.0)):
            marks.append(Text(at=(at, top - 3.6 - place * LINE_MM), text=words, height_mm=WORDS_MM))
    if other:
        marks.append(Text(at=(at, top - 8.0), text=other, height_mm=WORDS_MM))
    return [*marks, *_box(reading, top, right, unit)]


def _tool(reading: Reading, top: float, right: float, unit: str) -> list[Stroke]:
    items = [item for item in READINGS_MM if (item in BY_CALIPERS) == (reading.key == "calipers_to")]
    least, most = min(READINGS_MM[item] for item in items), max(READINGS_MM[item] for item in items)
    scale, places, word = (MM_PER_INCH, 3, "in") if unit == "in" else (1.0, 1, "mm")
    usual = f"as usual: {least / scale:.{places}f} to {most / scale:.{places}f} {word}"
    at = right - BOX_MM[0] - ORDERED_MM
    words = Text(at=(at, top - 4.2), text=usual, height_mm=WORDS_MM)
    return [*_named(reading, top, right, at), words, *_box(reading, top, right, unit)]


def _named(reading: Reading, top: float, right: float, room_to: float) -> list[Stroke]:
    ring = (MARGIN_MM + 3.6, top - 5.2)
    size = 2.8 if len(reading.letter) == 1 else 2.2
    x = MARGIN_MM + 10.0
    marks: list[Stroke] = [
        line((MARGIN_MM, top), (right, top), THIN),
        Circle(centre=ring, radius_mm=3.1, layer=OUTLINE),
        Text(at=(ring[0], ring[1] - size / 2), text=reading.letter, height_mm=size, align="centre", bold=True),
        Text(at=(x, top - 3.6), text=reading.words, height_mm=NAME_MM, bold=True),
    ]
    for place, words in enumerate(in_lines(reading.how, WORDS_MM, room_to - x - 3.0)):
        marks.append(Text(at=(x, top - 6.9 - place * LINE_MM), text=words, height_mm=WORDS_MM))
    return marks


def _box(reading: Reading, top: float, right: float, unit: str) -> list[Stroke]:
    x, y = right - BOX_MM[0], top - 1.6 - BOX_MM[1]
    marks: list[Stroke] = [rectangle(x, y, *BOX_MM, OUTLINE)]
    printed = unit if reading.of == LENGTH else "holes" if reading.of == COUNT else ""
    if printed:
        marks.append(Text(at=(right - 1.5, y + 1.4), text=printed, height_mm=2.3, align="right"))
    return marks


def _foot(y: float, right: float) -> list[Stroke]:
    words = f"{CAUTION} Mount no tire before every wheel is kept: a mounted wheel is not taken back."
    lines = in_lines(words, WORDS_MM, right - MARGIN_MM)
    return [
        line((MARGIN_MM, y), (right, y), THIN),
        *(Text(at=(MARGIN_MM, y - 3.4 - n * LINE_MM), text=words, height_mm=WORDS_MM) for n, words in enumerate(lines)),
    ]
