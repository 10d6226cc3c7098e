"""The drawing of the measuring sheet: a left corner from behind and from the side, and the bare wheel, with letters.

Only the letters are true: the corner drawn is an ordinary one, made up to look like most, and nothing may be scaled
from it. Model millimetres are turned into paper millimetres by one scale; letters keep their size.

* behind - seen from behind the car: outboard to the left, up is up
* side   - seen from outboard, standing beside the car: ahead to the left
* bench  - the wheel and tire cut through the middle: outboard to the left, the axle across
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

from clearance.geom.drawing import (
    CENTRE,
    FOLD,
    HIDDEN,
    OUTLINE,
    THIN,
    Circle,
    Dimension,
    Drawing,
    Path,
    Text,
    arc,
    chain,
    drawing_of,
    line,
    rectangle,
)
from clearance.geom.drawing import Mark as Stroke
from clearance.geom.profile import Line, Point
from clearance.report.forms import Form
from clearance.report.letters import FRONT_WHEELS, LEAF, Letter, Mark

TIRE_RADIUS_MM = 360.0
TIRE_OUTER_MM = 114.0
TIRE_INNER_MM = -126.0
RIM_RADIUS_MM = 190.0
FLANGE_RADIUS_MM = 212.0
RIM_INNER_MM = -120.7
RIM_OUTER_MM = 108.0

LETTER_MM = 3.0
"""Capital height of a letter on paper."""

VIEWS = ("behind", "side", "bench")
CAPTIONS = {
    "behind": "from behind, cut at the axle",
    "side": "from the side",
    "bench": "the wheel on the bench, cut through",
}


def view_of(form: Form, view: str, scale: float) -> Drawing:
    """One view in paper millimetres, about the hub face's centre, with the letters of this sheet."""
    shapes = {"behind": _behind, "side": _side, "bench": _bench}[view]
    paper = drawing_of(shapes(form)).scaled(scale)
    return paper + drawing_of(_lettered(form.letters, view, scale))


def lit_view(form: Form, letter: Letter, scale: float) -> tuple[str, Drawing]:
    """The view that a letter stands on, with that letter lit; from behind where it stands on none."""
    view = letter.marks[0].view if letter.marks else VIEWS[0]
    lit: list[Stroke] = []
    for mark in letter.marks:
        if mark.view == view:
            lit += [replace(one, layer=FOLD) for one in lettered(letter.letter, mark, scale)]
    return view, view_of(form, view, scale) + drawing_of(lit)


def _lettered(letters: Iterable[Letter], view: str, scale: float) -> list[Stroke]:
    marks: list[Stroke] = []
    for letter in letters:
        for mark in letter.marks:
            if mark.view == view:
                marks += lettered(letter.letter, mark, scale)
    return marks


def lettered(letter: str, mark: Mark, scale: float) -> list[Stroke]:
    """A dimension line whose figure is a letter in a ring that can be found at a glance."""
    start, end = _placed(mark.start, mark.view, scale), _placed(mark.end, mark.view, scale)
    if mark.view != "side" and start[0] != end[0] and start[0] > end[0]:
        start, end = end, start
    if start[1] != end[1] and start[0] == end[0] and start[1] > end[1]:
        start, end = end, start
    off = mark.offset_mm * scale
    dim = Dimension(start=start, end=end, off_mm=off, text=" ", height_mm=LETTER_MM)
    length = math.dist(start, end)
    left = (-(end[1] - start[1]) / length, (end[0] - start[0]) / length)
    middle = ((start[0] + end[0]) / 2 + off * left[0], (start[1] + end[1]) / 2 + off * left[1])
    radius = 0.95 * LETTER_MM if len(letter) == 1 else 1.2 * LETTER_MM
    if length < 2.5 * radius:
        # too short to hold its letter, which then stands before it
        way = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
        back = length / 2 + radius + 1.5
        middle = (middle[0] - back * way[0], middle[1] - back * way[1])
    height = LETTER_MM if len(letter) == 1 else 0.8 * LETTER_MM
    # the ring has a white ground, so that the line seems to stop at it
    return [
        dim,
        Circle(centre=middle, radius_mm=radius, layer=THIN, shade=1.0),
        Text(at=(middle[0], middle[1] - height / 2), text=letter, height_mm=height, align="centre", bold=True),
    ]


def _placed(point: Point, view: str, scale: float) -> Point:
    # all three views look from where outboard, or ahead, is to the left
    return (-scale * point[0], scale * point[1])


def _turned_over(strokes: Iterable[Path]) -> list[Stroke]:
    """Strokes given with outboard or ahead to the right, as the view shows them."""
    over: list[Stroke] = []
    for stroke in strokes:
        points = [(-x, y) for x, y in stroke.points()]
        over.append(chain(points, layer=stroke.layer, shade=stroke.shade))
    return over


def _tire_section(sign: float, layer: str = OUTLINE) -> Path:
    """The tire cut through, above (+1) or below (-1) the axle, as (outboard, above)."""
    outline = [
        (-100, 205), (-122, 240), (-126, 275), (-121, 320), (-104, 347), (-84, 356), (-6, 360),
        (72, 356), (92, 347), (109, 320), (114, 275), (110, 240), (88, 205),
    ]  # fmt: skip
    return chain([(y, sign * z) for y, z in outline], closed=True, layer=layer, shade=0.86)


def _rim_section(sign: float) -> Path:
    """The rim and disc cut through, as (outboard, above)."""
    outline = [
        (-120.7, 212), (-110, 212), (-106, 190), (-60, 190), (-40, 172), (40, 172), (60, 190), (93, 190),
        (97, 212), (108, 212), (104, 182), (70, 178), (30, 160), (30, 60), (0, 55), (0, 75), (14, 160),
        (-45, 162), (-64, 180), (-116, 180),
    ]  # fmt: skip
    return chain([(y, sign * z) for y, z in outline], closed=True, shade=0.7)


def _behind(form: Form) -> list[Stroke]:
    leaf, front = form.carrier.name in LEAF, form.carrier.name in FRONT_WHEELS
    strokes: list[Path] = [
        _tire_section(1), _tire_section(-1), _rim_section(1), _rim_section(-1),
        chain([(0, 75), (0, -75), (-14, -75), (-14, 75)], closed=True, shade=0.5),
        line((125, 0), (-330, 0), CENTRE),
        line((0, 400), (0, -200), CENTRE),
        # inner wall, crown, outer skin and its return
        chain([(-195, 95), (-195, 440), (-175, 470), (135, 470), (160, 450), (160, 390), (140, 390)]),
        line((-195, 95), (-225, 60)),
        # frame rail
        rectangle(-300, 60, 65, 120, shade=0.7),
        line((-235, 60), (-235, -190), HIDDEN),
    ]  # fmt: skip
    if front:
        strokes += [
            chain([(-14, 30), (-120, 150), (-150, 150), (-150, 260), (-178, 260), (-178, 120), (-80, 0), (-95, -110)]),
            line((-86, -120), (-122, 420), CENTRE),
            chain([(-95, -110), (-330, -95)]),
        ]
    elif leaf:
        strokes += [
            chain([(-14, 38), (-400, 38), (-400, -38), (-14, -38)]),
            rectangle(-225, -72, 60, 10), rectangle(-225, -60, 60, 10), rectangle(-225, -48, 60, 10),
            chain([(-228, 44), (-228, -82), (-162, -82), (-162, 44)], layer=THIN),
        ]  # fmt: skip
    else:
        strokes.append(chain([(-14, 38), (-400, 38), (-400, -38), (-14, -38)]))
    hub = [chain([(180, 0), (255, 0)], layer=THIN), chain([(180, 90), (255, 90)], layer=THIN)]
    strokes += [*hub, chain([(180, -75), (255, -75)], layer=THIN)]
    return _turned_over(strokes)


def _side(form: Form) -> list[Stroke]:
    strokes: list[Stroke] = [
        Circle(centre=(0, 0), radius_mm=TIRE_RADIUS_MM, shade=0.86),
        Circle(centre=(0, 0), radius_mm=FLANGE_RADIUS_MM, shade=0.94),
        Circle(centre=(0, 0), radius_mm=70, layer=THIN),
        arc((0, 0), 390, 5, 175),
        arc((0, 0), 480, 20, 160, HIDDEN),
        line((-450, -80), (-450, 165), HIDDEN),
        line((450, -80), (450, 165), HIDDEN),
        line((-388, 35), (-500, 30)),
        line((388, 35), (500, 30)),
        line((-520, 0), (520, 0), CENTRE),
        line((0, -390), (0, 500), CENTRE),
        line((-520, -348), (520, -348), THIN),
    ]
    # an arrow to the front of the car, which is to the left
    strokes += [line((-330, -420), (-480, -420)), chain([(-450, -405), (-480, -420), (-450, -435)])]
    return strokes


def wheel_alone() -> list[Stroke]:
    """The wheel cut through without a tire, a straight edge across the back of its rim; outboard to the left."""
    strokes: list[Path] = [
        _rim_section(1), _rim_section(-1),
        line((160, 0), (-190, 0), CENTRE),
        rectangle(-135, -270, 14, 540, THIN, 0.92),
        Path(elements=(Line(start=(0, 60), end=(0, -60)),)),
    ]  # fmt: skip
    return _turned_over(strokes)


def _bench(form: Form) -> list[Stroke]:
    strokes: list[Path] = [
        _tire_section(1), _tire_section(-1), _rim_section(1), _rim_section(-1),
        line((240, 0), (-260, 0), CENTRE),
        # the straight edge across the back of the rim
        rectangle(-135, -300, 14, 600, THIN, 0.92),
        Path(elements=(Line(start=(0, 60), end=(0, -60)),)),
    ]  # fmt: skip
    return _turned_over(strokes)
