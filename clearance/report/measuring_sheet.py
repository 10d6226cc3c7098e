"""The blank measuring sheet: the drawing with every dimension lettered, and a box for each in the tape's unit.

It reads the letters (`letters.py`) and the drawing (`drawn.py`) and adds only places on paper, in millimetres from the
lower left corner.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from clearance.errors import InputError
from clearance.export.papers import PAPERS, Paper
from clearance.export.pdf import LEAST_LETTER_MM, Page, check_bar, pdf
from clearance.export.writing import in_lines, width_mm
from clearance.geom.drawing import OUTLINE, THIN, Circle, Drawing, Mark, Text, drawing_of, line, rectangle
from clearance.plain import csv_row, echoed
from clearance.report.answers import HEADER
from clearance.report.drawn import CAPTIONS, view_of
from clearance.report.forms import Form
from clearance.report.letters import (
    ANGLE,
    AXLE_LETTERS,
    BOLTS,
    CAUTIONS,
    KEEP,
    MARKING,
    NUMBER,
    PLACE,
    POINT,
    ROW,
    TIRE,
    WHEEL,
    WORD,
    Letter,
)

UNITS = ("in", "mm", "cm")
"""What a tape may be marked in."""

MARGIN_MM = 12.0
TITLE_MM, HEADING_MM, NAME_MM, WORDS_MM = 4.2, 2.9, 2.5, 1.95
ROW_MM = 3.35
"""From one line of small words to the next."""
BOX_MM = (34.0, 9.0)
"""One answer; what is of one side has two of them."""
CSV_HEAD = ("letter", "what", "unit", "answer", "other side", "needed")


@dataclass(slots=True)
class _Pen:
    """Where the next thing goes on the page."""

    paper: Paper
    y_mm: float
    marks: list[Mark]

    @property
    def right_mm(self) -> float:
        return self.paper.width_mm - MARGIN_MM

    def words(
        self, lines: Iterable[str], *, x_mm: float = MARGIN_MM, height_mm: float = WORDS_MM, bold: bool = False
    ) -> None:
        for row in lines:
            self.y_mm -= ROW_MM * height_mm / WORDS_MM
            self.marks.append(Text(at=(x_mm, self.y_mm), text=row, height_mm=height_mm, bold=bold))


def measuring_sheet(form: Form, *, unit: str = "in", paper: str = "a4") -> bytes:
    """The blank sheet of one kind of corner as a PDF: the same sheet, the same bytes.

    Raises InputError for a unit or a paper that is not known.
    """
    if unit not in UNITS:
        raise InputError(f"a tape marked in {echoed(unit)} is not known. Write one of {', '.join(UNITS)}.")
    if paper.lower() not in PAPERS:
        raise InputError(f"the paper {echoed(paper)} is not known. Write one of {', '.join(PAPERS)}.")
    size = PAPERS[paper.lower()]
    boxes = _box_pages(form, unit, size)
    pages = [_first_page(form, unit, size), *boxes]
    foot = [_foot(form, number + 1, len(pages), size) for number in range(len(pages))]
    numbered = [Page(drawing=page + below, paper=size) for page, below in zip(pages, foot, strict=True)]
    return pdf(numbered, title=f"Measuring sheet: {form.words}")


def answers_csv(form: Form, *, unit: str = "in", answers: dict[str, str] | None = None) -> bytes:
    """The same sheet as a CSV to fill in, or filled with `answers` (letter: text)."""
    given = answers or {}
    rows = [CSV_HEAD, ("sheet", form.words, "", form.name, "", "yes")]
    rows += [(key, what, "", given.get(key, ""), "", "yes") for key, what in HEADER.items()]
    for letter in form.letters:
        needed = "yes" if form.needs(letter) else "no"
        both = given.get(letter.letter, ""), given.get(f"{letter.letter} other", "")
        rows.append((letter.letter, letter.name, unit_of(letter, unit), *both, needed))
    return "".join(map(csv_row, rows)).encode()


def unit_of(letter: Letter, unit: str) -> str:
    """The unit printed in a letter's box: rims are in inches whatever the tape says."""
    if letter.measure == ANGLE:
        return "deg"
    if letter.measure in (MARKING, BOLTS, WORD, NUMBER):
        return ""
    return "in" if letter.key in ("rim_diameter", "rim_width") else unit


def _first_page(form: Form, unit: str, paper: Paper) -> Drawing:
    pen = _Pen(paper=paper, y_mm=paper.height_mm - MARGIN_MM, marks=[])
    pen.words([f"Measuring sheet: {form.words}"], height_mm=TITLE_MM, bold=True)
    pen.y_mm -= 1.5
    pen.words(
        [
            f"One sheet for both wheels of an axle. Tape in {_UNIT_NAMES[unit]}. Letters marked * are needed; the"
            " others can be left."
        ]
    )
    pen.y_mm -= 6.5
    _blanks(pen, ("Car", "Which axle", "Date, by"))
    pen.y_mm -= 2.0
    pen.words(["Before you start"], height_mm=HEADING_MM, bold=True)
    room = pen.right_mm - MARGIN_MM - 4
    for caution in CAUTIONS:
        pen.y_mm -= 0.6
        first, *rest = in_lines(caution, WORDS_MM, room)
        pen.words([f"-  {first}"])
        pen.words(rest, x_mm=MARGIN_MM + 2.6)
    return drawing_of(pen.marks) + _views(form, pen.y_mm - 3.0, paper)


_UNIT_NAMES = {"in": "inches, to the sixteenth", "mm": "millimetres", "cm": "centimetres"}


def _blanks(pen: _Pen, names: tuple[str, ...]) -> None:
    """Lines to write on, side by side."""
    width = (pen.right_mm - MARGIN_MM) / len(names)
    for column, name in enumerate(names):
        x = MARGIN_MM + column * width
        pen.marks.append(Text(at=(x, pen.y_mm), text=name, height_mm=WORDS_MM))
        pen.marks.append(line((x + 2.0 * len(name) * 0.9 + 4, pen.y_mm), (x + width - 4, pen.y_mm), THIN))


def _views(form: Form, top_mm: float, paper: Paper) -> Drawing:
    """The three views, two above and one below, none to be scaled from."""
    scale = 0.108
    drawn = Drawing()
    behind, side = view_of(form, "behind", scale), view_of(form, "side", scale)
    drawn += _set_at(behind, MARGIN_MM, top_mm, CAPTIONS["behind"])
    drawn += _set_at(side, paper.width_mm - MARGIN_MM - _width(side), top_mm, CAPTIONS["side"])
    low = min(drawn.bounds[1], top_mm)
    bench = _largest_that_fits(form, low - 2.0 - 6.0 - _BAR_ROOM_MM)
    drawn += _set_at(bench, MARGIN_MM + 4, low - 2.0, CAPTIONS["bench"])
    return drawn + _beside(form, MARGIN_MM + _width(bench) + 16, low - 6.0, paper)


_BAR_ROOM_MM = MARGIN_MM + 7.0


def _largest_that_fits(form: Form, room_mm: float) -> Drawing:
    """The wheel on the bench, as large as the room below the other views allows."""
    views = (view_of(form, "bench", scale) for scale in (0.125, 0.115, 0.105, 0.095, 0.085, 0.075))
    return next(view for view in views if _height(view) <= room_mm)


def _height(view: Drawing) -> float:
    _, y0, _, y1 = view.plain.bounds
    return y1 - y0


def _width(view: Drawing) -> float:
    x0, _, x1, _ = view.plain.bounds
    return x1 - x0


def _set_at(view: Drawing, left_mm: float, top_mm: float, caption: str) -> Drawing:
    x0, _, _, y1 = view.plain.bounds
    words = Text(at=(left_mm, top_mm - 3.0), text=caption, height_mm=WORDS_MM, bold=True)
    return view.moved(left_mm - x0, top_mm - 5.0 - y1) + drawing_of([words])


def _beside(form: Form, left_mm: float, top_mm: float, paper: Paper) -> Drawing:
    """What the drawing cannot show, beside the wheel."""
    pen = _Pen(paper=paper, y_mm=top_mm, marks=[])
    room = pen.right_mm - left_mm
    not_drawn = [x for x in form.letters if not x.marks and x.measure not in (PLACE, POINT, ROW)]
    said = [
        f"{', '.join(letter.letter for letter in not_drawn)}: the next pages say what they are and how each is taken."
    ]
    paragraphs = [
        ("How to use it", ""),
        ("", "The drawing is of no particular car and not to scale: only the letters count. Write every length with its"
         " fraction, 4 3/4, and cross out the unit if you used another one."),
        ("", "All lengths in the well start at the hub: R, S, Y and Z from the flat face that the wheel bolts against"
         " (drum or rotor hat in place, wheel off), T, V, W and X from the centre of the hub."),
        ("", "Left and right: this is a left wheel. For a right wheel everything is the"
        " mirror image" + (_LOCKS if form.carrier.front else ".")),
        ("Not on the drawing", ""),
        *(("", row) for row in said),
        ("When it is filled", ""),
        ("", f"Type \"clearance new {form.options}\": it asks the same letters in the same order, checks each, and"
         " writes the corner file. Or fill the CSV that came with this sheet: \"clearance new --answers FILE.csv\"."),
    ]  # fmt: skip
    for heading, words in paragraphs:
        if heading:
            pen.y_mm -= 1.6
            pen.words([heading], x_mm=left_mm, height_mm=HEADING_MM, bold=True)
        else:
            pen.y_mm -= 0.7
            pen.words(in_lines(words, WORDS_MM, room), x_mm=left_mm)
    return drawing_of(pen.marks)


_LOCKS = "; only L and M stay the car's own left and right."


def _box_pages(form: Form, unit: str, paper: Paper) -> list[Drawing]:
    """A box for every letter, under the headings of the sheet, over as many pages as it takes."""
    pages: list[Drawing] = []
    pen = _Pen(paper=paper, y_mm=paper.height_mm - MARGIN_MM, marks=[])
    for group, letters in form.groups.items():
        for place, letter in enumerate(letters):
            height = _entry_mm(form, letter, pen) + (10.0 if place == 0 else 0.0)
            if pen.y_mm - height < MARGIN_MM + 13.0:
                pages.append(drawing_of(pen.marks))
                pen = _Pen(paper=paper, y_mm=paper.height_mm - MARGIN_MM, marks=[])
            if place == 0:
                pen.y_mm -= 3.0
                pen.words([group], height_mm=HEADING_MM, bold=True)
                pen.y_mm -= 2.0
            _entry(form, letter, unit, pen)
    return [*pages, drawing_of(pen.marks)]


def _entry_lines(letter: Letter, pen: _Pen) -> tuple[str, ...]:
    room = pen.right_mm - 2 * BOX_MM[0] - 6.5 - (MARGIN_MM + 10.0)
    left = f" If left: {letter.left_out}." if letter.left_out else ""
    return in_lines(letter.how + left, WORDS_MM, room)


def _name_lines(form: Form, letter: Letter, pen: _Pen) -> tuple[tuple[str, ...], float]:
    """The name beside its boxes, and its height: a little smaller where it fits so, else in lines."""
    name = letter.name + (" *" if form.needs(letter) else "")
    room = pen.right_mm - 2 * BOX_MM[0] - 6.5 - (MARGIN_MM + 10.0)
    fits = NAME_MM * min(1.0, room / width_mm(name, NAME_MM, bold=True) / _WIDER)
    if fits >= LEAST_NAME_MM:
        return (name,), fits
    return in_lines(name, WORDS_MM, room / _WIDER, bold=True), WORDS_MM


LEAST_NAME_MM = LEAST_LETTER_MM
_WIDER = 1.06
"""What the printed font may be wider than the one that widths are known of."""


def _entry_mm(form: Form, letter: Letter, pen: _Pen) -> float:
    names, height = _name_lines(form, letter, pen)
    return max(BOX_MM[1] + 2.5, 0.6 + ROW_MM * (len(names) * height / WORDS_MM + len(_entry_lines(letter, pen))) + 2.2)


def _entry(form: Form, letter: Letter, unit: str, pen: _Pen) -> None:
    top, height = pen.y_mm, _entry_mm(form, letter, pen)
    ring = (MARGIN_MM + 3.6, top - 4.2)
    size = 2.8 if len(letter.letter) == 1 else 2.2
    pen.marks += [
        line((MARGIN_MM, top), (pen.right_mm, top), THIN),
        Circle(centre=ring, radius_mm=3.1, layer=OUTLINE),
        Text(at=(ring[0], ring[1] - size / 2), text=letter.letter, height_mm=size, align="centre", bold=True),
    ]
    pen.y_mm = top - 0.8
    names, height_mm = _name_lines(form, letter, pen)
    pen.words(names, x_mm=MARGIN_MM + 10, height_mm=height_mm, bold=True)
    pen.words(_entry_lines(letter, pen), x_mm=MARGIN_MM + 10)
    printed = unit_of(letter, unit)
    for right, side in _boxes(letter, pen.right_mm):
        x, y = right - BOX_MM[0], top - 1.2 - BOX_MM[1]
        pen.marks.append(rectangle(x, y, *BOX_MM, OUTLINE))
        pen.marks.append(Text(at=(x + 1.2, y + BOX_MM[1] - 3.0), text=side, height_mm=WORDS_MM))
        if printed:
            pen.marks.append(Text(at=(right - 1.5, y + 1.5), text=printed, height_mm=2.3, align="right"))
    pen.y_mm = top - height


def _boxes(letter: Letter, right_mm: float) -> tuple[tuple[float, str], ...]:
    """The right edge of each box and the side that it is for: what is of one side has a box for each."""
    if letter.group in (TIRE, WHEEL, KEEP) or letter.letter in AXLE_LETTERS:
        return ((right_mm, ""),)
    return ((right_mm - BOX_MM[0] - 1.5, "left"), (right_mm, "right"))


def _foot(form: Form, number: int, count: int, paper: Paper) -> Drawing:
    words = Text(
        at=(paper.width_mm - MARGIN_MM, MARGIN_MM - 3.2),
        text=f"{form.words}: page {number} of {count}",
        height_mm=WORDS_MM,
        align="right",
    )
    return drawing_of([words]) + check_bar(MARGIN_MM, MARGIN_MM)
