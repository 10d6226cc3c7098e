"""The order card to print and to read out: one kind of wheel a page, in large type, black on white.

Places on paper are millimetres from the lower left corner. What the card rests on stands below it as far as the page
reaches; all of it is in the text that is written beside.
"""

from __future__ import annotations

from collections.abc import Sequence

from clearance.answers.spoken_card import Said, SpokenCard
from clearance.export.papers import Paper, paper_named
from clearance.export.pdf import Page, pdf
from clearance.export.writing import in_lines
from clearance.geom.drawing import OUTLINE, THIN, Drawing, Text, drawing_of, line, rectangle
from clearance.geom.drawing import Mark as Stroke
from clearance.report.wheel_section import wheel_section
from clearance.units import led_by
from clearance.wheel.fasteners import CAUTION

MARGIN_MM = 13.0
TITLE_MM, HEAD_MM = 5.0, 3.4
ITEM_MM, VALUE_MM, MORE_MM, SMALL_MM = 2.9, 3.9, 2.15, 1.8
"""Heights of capitals: what is read out can be read at arm's length."""
COLUMN_MM = 36.0
"""Where the numbers begin, from the left margin."""
LINE_SHARE = 1.6
"""From line to line, in heights of a capital."""
PICTURE_MM = (70.0, 84.0)


def order_sheet(cards: Sequence[SpokenCard], *, title: str, unit: str, paper: str = "letter") -> bytes:
    """A page for each card as a PDF: the same cards, the same bytes. Raises OutputError for a paper not known."""
    size = paper_named(paper)
    pages = [Page(drawing=_page(card, title, unit, size), paper=size) for card in cards]
    return pdf(pages, title=f"Order card: {title}")


def order_text(cards: Sequence[SpokenCard], *, title: str, unit: str) -> bytes:
    """The same as text, with everything that each card rests on."""
    lines = [f"Order card: {title}", ""]
    for card in cards:
        lines += [card.head, ""]
        width = max(len(one.item) for one in card.said)
        for one in card.said:
            lines.append(f"  {one.item:<{width}}  {one.value}")
            lines += [f"  {'':<{width}}    {one.more}"] if one.more else []
        lines += ["", *([f"  {NOT_SO}", ""] if not card.clears else [])]
        lines += [f"  {_open(card)}", "", "  It rests on:", *(f"  - {words}" for words in card.rests_on), ""]
    return led_by("\n".join([*lines, CAUTION, LAW, ""]), unit).encode()


NOT_SO = "As it stands here this wheel does not clear at all of them: DO NOT ORDER IT SO."
LAW = "Load and speed ratings are for the makers' limits, what may be driven for your local code."


def _open(card: SpokenCard) -> str:
    if not card.open:
        return "Nothing on this card is left open."
    return f"Before you order, find out: {', '.join(item.lower() for item in card.open)}."


def _page(card: SpokenCard, title: str, unit: str, paper: Paper) -> Drawing:
    left, right = MARGIN_MM, paper.width_mm - MARGIN_MM
    y = paper.height_mm - MARGIN_MM - TITLE_MM
    marks: list[Stroke] = []
    for words, height in ((f"Order card: {title}", TITLE_MM), (card.head, HEAD_MM)):
        lines = _written(words, left, y, right - left, height, bold=True)
        marks += lines
        y -= len(lines) * LINE_SHARE * height + 0.6
    if not card.clears:
        lines = _written(NOT_SO, left + 2, y - 1.2, right - left - 4, ITEM_MM, bold=True)
        deep = len(lines) * LINE_SHARE * ITEM_MM
        marks += [rectangle(left, y - deep + 0.6, right - left, deep + 2.6, OUTLINE), *lines]
        y -= deep + 3.2
    for said in card.said:
        row, y = _row(said, left, right, y, unit)
        marks += row
    marks.append(line((left, y), (right, y), THIN))
    foot, floor = _foot(left, right)
    section = _picture(card, left, y - 3.0, min(PICTURE_MM[1], y - 3.0 - floor), unit)
    beside = _beside(card, left + PICTURE_MM[0] + 4.0, right, y - 3.0, floor, unit)
    return drawing_of([*marks, *beside, *foot]) + section


def _row(said: Said, left: float, right: float, top: float, unit: str) -> tuple[list[Stroke], float]:
    """One line of the card, and where the next one begins."""
    x, room = left + COLUMN_MM, right - left - COLUMN_MM
    base = top - 1.7 - VALUE_MM
    marks: list[Stroke] = [
        line((left, top), (right, top), THIN),
        Text(at=(left, base), text=said.item, height_mm=ITEM_MM),
    ]
    value = _written(led_by(said.value, unit), x, base, room, VALUE_MM, bold=True)
    y = base - (len(value) - 1) * LINE_SHARE * VALUE_MM
    more = _written(led_by(said.more, unit), x, y - LINE_SHARE * MORE_MM - 0.5, room, MORE_MM)
    y -= len(more) * LINE_SHARE * MORE_MM + (0.5 if more else 0.0)
    return [*marks, *value, *more], y - 1.7


def _written(words: str, x: float, y: float, room: float, height: float, *, bold: bool = False) -> list[Stroke]:
    """Writing in lines, the first on this base line."""
    return [
        Text(at=(x, y - n * LINE_SHARE * height), text=text, height_mm=height, bold=bold)
        for n, text in enumerate(in_lines(words, height, room, bold=bold))
    ]


def _picture(card: SpokenCard, left: float, top: float, height: float, unit: str) -> Drawing:
    wheel = card.wheel
    # room above and below for the two dimensions, and beside for the word
    scale = min((height - 36.0) / wheel.flange_diameter_mm, (PICTURE_MM[0] - 26.0) / wheel.overall_width_mm)
    if scale < 0.05:
        return Drawing()
    drawn = wheel_section(wheel, scale=scale).led_by(unit)
    x0, _, _, y1 = drawn.plain.bounds
    return drawn.moved(left - x0, top - y1)


def _beside(card: SpokenCard, left: float, right: float, top: float, floor: float, unit: str) -> list[Stroke]:
    """What is open and what the card rests on, as far as the page reaches."""
    marks = _written(_open(card), left, top - ITEM_MM, right - left, MORE_MM, bold=True)
    y = top - ITEM_MM - len(marks) * LINE_SHARE * MORE_MM - 1.0
    marks += _written("It rests on", left, y, right - left, SMALL_MM, bold=True)
    y -= LINE_SHARE * SMALL_MM
    for number, words in enumerate(card.rests_on):
        lines = _written(led_by(words, unit), left, y, right - left, SMALL_MM)
        if y - (len(lines) + 1) * LINE_SHARE * SMALL_MM < floor:
            rest = f"and {len(card.rests_on) - number} more, in order-card.txt."
            return [*marks, *_written(rest, left, y, right - left, SMALL_MM, bold=True)]
        marks += lines
        y -= len(lines) * LINE_SHARE * SMALL_MM + 0.7
    return marks


def _foot(left: float, right: float) -> tuple[list[Stroke], float]:
    """The caution at the foot, and how high it reaches."""
    count = len(in_lines(f"{CAUTION} {LAW}", SMALL_MM, right - left))
    top = MARGIN_MM + (count - 1) * LINE_SHARE * SMALL_MM
    lines = _written(f"{CAUTION} {LAW}", left, top, right - left, SMALL_MM)
    floor = top + SMALL_MM + 2.0
    return [line((left, floor), (right, floor), THIN), *lines], floor + 1.0
