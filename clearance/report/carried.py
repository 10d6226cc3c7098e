"""What carries the wheel, as pictures to be held against the car: one small drawing for each carrier, on one page.

* below  - seen from under the car, front up: the body is not drawn
* behind - seen from behind; of a front wheel from ahead

Tires are grey, what is fixed to the body hangs from a short thick line, a circle is a bushing or a ball joint. Nothing
is to scale; drawings are 60 by 34 mm, from their lower left corner.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace

from clearance.export.papers import paper_named
from clearance.export.pdf import LEAST_LETTER_MM, MARGIN_MM, Page, pdf
from clearance.export.writing import in_lines
from clearance.geom.drawing import (
    CENTRE,
    HIDDEN,
    OUTLINE,
    PART,
    THIN,
    Circle,
    Drawing,
    Mark,
    Path,
    Text,
    chain,
    drawing_of,
    line,
    rectangle,
)
from clearance.geom.profile import Line, Point
from clearance.report.forms import CARRIERS, Carrier

WIDE_MM, HIGH_MM = 60.0, 34.0
COLUMNS, ROW_MM, _BETWEEN_MM = 3, 48.5, 4.0
MIDDLE = WIDE_MM / 2
JOINT_MM = 0.7
_TIRE = 0.8
"""The grey of a tire."""


def carriers_page(paper: str = "letter") -> bytes:
    """A PDF page with every carrier, its word for the sheet, and how to know it. Raises OutputError for the paper."""
    sheet = paper_named(paper)
    top = sheet.height_mm - MARGIN_MM
    left = (sheet.width_mm - COLUMNS * WIDE_MM - (COLUMNS - 1) * _BETWEEN_MM) / 2
    marks: list[Mark] = [
        Text(at=(left, top - 4.0), text="What carries the wheel?", height_mm=4.2, bold=True),
        Text(at=(left, top - 9.0), text="Look under the car, on stands, and find the picture.", height_mm=2.4),
    ]
    for i, carrier in enumerate(CARRIERS.values()):
        across, down = i % COLUMNS, i // COLUMNS
        at = (left + across * (WIDE_MM + _BETWEEN_MM), top - 12.0 - HIGH_MM - down * ROW_MM)
        marks += _captioned(carrier).moved(*at).marks
    return pdf([Page(drawing=drawing_of(marks), paper=sheet)], title="What carries the wheel")


def _captioned(carrier: Carrier) -> Drawing:
    marks = [*picture_of(carrier.name).marks]
    marks.append(Text(at=(0.0, -3.6), text=carrier.name, height_mm=2.6, bold=True))
    for row, words in enumerate(in_lines(carrier.look, LEAST_LETTER_MM, WIDE_MM)):
        marks.append(Text(at=(0.0, -6.6 - 2.6 * row), text=words, height_mm=LEAST_LETTER_MM))
    return drawing_of(marks)


def picture_of(carrier: str) -> Drawing:
    """The drawing of one carrier, by the word for its sheet."""
    view, draw = _PICTURES[carrier]
    marks: list[Mark] = [rectangle(0.0, 0.0, WIDE_MM, HIGH_MM, THIN), *draw()]
    marks.append(Text(at=(1.2, HIGH_MM - 2.8), text=view, height_mm=LEAST_LETTER_MM))
    return drawing_of(marks)


# ---- strokes


def _both(marks: Iterable[Mark]) -> list[Mark]:
    """The marks, and their mirror image about the middle of the car."""
    made = list(marks)
    return [*made, *map(_mirrored, made)]


def _mirrored(mark: Mark) -> Mark:
    """A chain of lines or a circle on the other side of the car."""
    if isinstance(mark, Circle):
        return replace(mark, centre=_across(mark.centre))
    assert isinstance(mark, Path)
    lines = (Line(start=_across(one.start), end=_across(one.end)) for one in mark.elements)
    return replace(mark, elements=tuple(lines))


def _across(at: Point) -> Point:
    return WIDE_MM - at[0], at[1]


def _tire_below(turn_mm: float = 0.0) -> Path:
    """The left tire from below, its front end `turn_mm` further in."""
    corners = [(4.0, 9.0), (10.0, 9.0), (10.0 + turn_mm, 23.0), (4.0 + turn_mm, 23.0)]
    return chain(corners, closed=True, shade=_TIRE)


def _tire_behind(lean_mm: float = 0.0) -> Path:
    corners = [(4.0, 4.0), (10.0, 4.0), (10.0 + lean_mm, 22.0), (4.0 + lean_mm, 22.0)]
    return chain(corners, closed=True, shade=_TIRE)


def _rod(*points: Point) -> list[Mark]:
    """A link with a joint at each end."""
    ends = (points[0], points[-1])
    return [chain(points, layer=PART), *(Circle(centre=end, radius_mm=JOINT_MM, shade=1.0) for end in ends)]


def _mount(at: Point) -> Mark:
    """Where something is fixed to the body."""
    return line((at[0] - 2.0, at[1] + 0.9), (at[0] + 2.0, at[1] + 0.9), OUTLINE)


def _tube(*points: Point) -> list[Mark]:
    """An axle tube: two lines beside one another."""
    up = [(x, y + 1.0) for x, y in points]
    down = [(x, y - 1.0) for x, y in points]
    return [chain(up), chain(down)]


def _differential(y: float = 16.0, radius_mm: float = 4.0) -> Mark:
    return Circle(centre=(MIDDLE, y), radius_mm=radius_mm, shade=0.93)


def _coil(x: float, low: float, high: float) -> Mark:
    """A coil spring from the side."""
    steps = 7
    points = [(x + (1.6 if i % 2 else -1.6), low + (high - low) * i / steps) for i in range(steps + 1)]
    return chain(points, layer=THIN)


def _live_axle(steered: bool) -> list[Mark]:
    turn = 2.5 if steered else 0.0
    tires: list[Mark] = [_tire_below(turn), _mirrored(_tire_below(-turn))]
    marks: list[Mark] = [*tires, *_tube((11.0, 16.0), (49.0, 16.0)), _differential()]
    if steered:
        marks += _both(_rod((11.5, 16.0), (13.5, 11.0)))
        marks += _rod((13.5, 11.0), (46.5, 11.0))
    return marks


def _leaf(steered: bool = False) -> Callable[[], list[Mark]]:
    def draw() -> list[Mark]:
        spring: list[Mark] = [
            rectangle(16.5, 3.0, 2.6, 27.0, PART, shade=0.93),
            line((15.5, 13.5), (20.1, 13.5)),
            line((15.5, 18.5), (20.1, 18.5)),
            Circle(centre=(17.8, 30.0), radius_mm=JOINT_MM, shade=1.0),
            Circle(centre=(17.8, 3.0), radius_mm=JOINT_MM, shade=1.0),
        ]
        return [*_live_axle(steered), *_both(spring)]

    return draw


def _links(steered: bool = False) -> Callable[[], list[Mark]]:
    def draw() -> list[Mark]:
        side = [*_rod((17.0, 15.5), (16.0, 29.0)), _mount((16.0, 29.0)), *_rod((25.0, 18.5), (21.0, 28.0))]
        side += [_mount((21.0, 28.0)), Circle(centre=(14.0, 12.5), radius_mm=2.2, layer=THIN)]
        return [*_live_axle(steered), *_both(side), *_rod((15.0, 7.5), (45.0, 8.5))]

    return draw


def _de_dion() -> list[Mark]:
    tube = _tube((11.0, 16.0), (15.0, 15.0), (20.0, 8.0), (40.0, 8.0), (45.0, 15.0), (49.0, 16.0))
    shafts = [line((11.0, 17.5), (26.5, 18.5), HIDDEN)]
    return [
        *_both([_tire_below(), *shafts, *_rod((14.0, 16.0), (14.0, 29.0)), _mount((14.0, 29.0))]),
        *tube,
        _differential(19.0),
    ]


def _trailing() -> list[Mark]:
    arm = chain([(10.5, 15.0), (13.0, 15.0), (14.0, 29.0), (11.5, 29.0)], closed=True, layer=PART)
    return _both([_tire_below(), arm, line((8.0, 29.0), (21.0, 29.0), CENTRE), _mount((16.0, 29.0))])


def _semi_trailing() -> list[Mark]:
    arm = chain([(10.5, 14.0), (14.0, 15.0), (26.0, 24.5), (13.0, 29.5)], closed=True, layer=PART)
    joints: list[Mark] = [Circle(centre=at, radius_mm=JOINT_MM, shade=1.0) for at in ((25.0, 24.8), (13.5, 29.0))]
    hinge = line((8.5, 31.2), (30.0, 22.6), CENTRE)
    shaft = line((11.0, 16.0), (26.0, 16.0), HIDDEN)
    return [*_both([_tire_below(), arm, *joints, hinge, shaft]), _differential()]


def _multi_link() -> list[Mark]:
    upright = rectangle(10.8, 12.0, 2.2, 8.0, PART, shade=0.93)
    rods = (((12.0, 20.0), (17.0, 29.0)), ((13.0, 18.5), (24.0, 24.0)), ((13.0, 15.5), (24.5, 17.0)))
    more = (((13.0, 13.5), (25.0, 11.0)), ((12.0, 12.0), (24.0, 6.0)))
    return _both([_tire_below(), upright, *(mark for ends in (*rods, *more) for mark in _rod(*ends))])


def _wishbones() -> list[Mark]:
    upright = chain([(10.5, 13.0), (13.0, 20.0), (13.0, 6.5)], closed=True, layer=PART, shade=0.93)
    arms = [
        *_rod((13.0, 20.0), (23.0, 21.0)),
        *_rod((13.0, 6.5), (25.0, 7.5)),
        _mount((23.0, 21.0)),
        _mount((25.0, 7.5)),
    ]
    return _both([_tire_behind(), upright, *arms, _coil(18.0, 7.5, 27.0), _mount((18.0, 27.0))])


def _strut() -> list[Mark]:
    upright = chain([(10.5, 13.0), (13.0, 15.0), (12.5, 6.5)], closed=True, layer=PART, shade=0.93)
    tube = [line((12.3, 14.0), (16.3, 30.0), PART), line((13.7, 13.7), (17.7, 29.7), PART), _mount((17.0, 30.0))]
    return _both([_tire_behind(), upright, *tube, *_rod((12.5, 6.5), (25.0, 7.5)), _mount((25.0, 7.5))])


def _swing() -> list[Mark]:
    tube = [line((11.0, 14.0), (26.0, 16.4)), line((11.0, 12.0), (26.0, 14.4))]
    joint = Circle(centre=(26.4, 15.4), radius_mm=1.2, shade=1.0)
    return [*_both([_tire_behind(-1.2), *tube]), _differential(15.4, 3.6), *_both([joint]), _mount((MIDDLE, 19.6))]


def _twin_beam() -> list[Mark]:
    arm = chain([(10.5, 15.0), (13.0, 15.0), (14.0, 29.0), (11.5, 29.0)], closed=True, layer=PART)
    beam = rectangle(13.3, 20.5, WIDE_MM - 26.6, 3.0, PART, shade=0.93)
    return [*_both([_tire_below(), arm, _mount((12.8, 29.0))]), beam]


_BELOW, _BEHIND, _AHEAD = "from below, front up", "from behind", "from ahead"
_PICTURES: Mapping[str, tuple[str, Callable[[], list[Mark]]]] = {
    "rear-leaf": (_BELOW, _leaf()),
    "rear-links": (_BELOW, _links()),
    "rear-de-dion": (_BELOW, _de_dion),
    "rear-trailing-arm": (_BELOW, _trailing),
    "rear-semi-trailing-arm": (_BELOW, _semi_trailing),
    "rear-multi-link": (_BELOW, _multi_link),
    "rear-wishbones": (_BEHIND, _wishbones),
    "rear-swing-axle": (_BEHIND, _swing),
    "rear-twin-beam": (_BELOW, _twin_beam),
    "front-wishbones": (_AHEAD, _wishbones),
    "front-strut": (_AHEAD, _strut),
    "front-leaf": (_BELOW, _leaf(steered=True)),
    "front-links": (_BELOW, _links(steered=True)),
}
assert set(_PICTURES) == set(CARRIERS)
