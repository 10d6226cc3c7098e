"""Drawings to scale: the corner from behind, from the side and from above, with what the wheel sweeps.

* behind - outboard to the left on a left corner, to the right on a right one; up is up
* side   - from outboard: ahead is to the left on a left corner
* plan   - from above: ahead is up
* swept  - the outline of the tire and wheel at many positions together: a picture of the envelope, drawn from
           positions. The solid that is proven to hold all of them is envelope.stl.

Figures are true millimetres and inches whatever the scale. Walls and scans are shown where a plane through the hub's
centre cuts them; lips, bars and boxes are shown whole. Line weights and kinds go by what a line is (ISO 128): what is
cut the heaviest, then parts seen whole, the tire at ride height, its extreme positions, dimensions. Every part is named
once, by a leader. Arrows say which way is ahead, outboard and up. The tightest places are numbered in the views; the
gap and the gap that must be kept are dimensions on a sheet of their own, where they are seen at true length (`places`).
"""

from __future__ import annotations

import textwrap
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from clearance.errors import InputError
from clearance.export.dxf import view_dxf
from clearance.export.papers import Paper, paper_named
from clearance.export.pdf import LEAST_LETTER_MM, MARGIN_MM, Page, check_bar, pdf, tiled
from clearance.export.svg import sheet
from clearance.gap.found import Gap
from clearance.gap.rest import at_rest
from clearance.geom.drawing import (
    CENTRE,
    CHORD_MM,
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
    arrow,
    chain,
    drawing_of,
    line,
    rectangle,
)
from clearance.mockup.words import steer_text
from clearance.plain import echoed
from clearance.pose import Array, car_steer_deg, rightward
from clearance.report.extents import Extents, allowed, extents_at, swept_extents
from clearance.report.findings import worst_first
from clearance.report.places import PLACES, places_drawing, scale_of, shown_places
from clearance.report.tubes import seen_triangles
from clearance.suspension.position import HUB
from clearance.units import both
from clearance.well.part_kinds import PART_KINDS
from clearance.words.fold import wrapped
from clearance.words.sentence import bracket_words

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp
    from clearance.well.part import Part

VIEWS = {"behind": "Rear view", "side": "Side view", "plan": "Plan"}
PLACES_TITLE = "Tightest places"
SCALES = (1 / 2, 1 / 4, 1 / 5, 1 / 8, 1 / 10, 1 / 20)
"""Of a printed sheet: the usual ones of ISO 5455 and 1:4, 1:8, which inch rules read."""
SWEPT_BUMPS, SWEPT_STEERS = 5, 15
"""Positions that the swept outline is drawn from; between two locks 60 degrees apart it dips 0.4 mm at most."""
_SIDES = 120
_TEXT_MM = 2.4
_RING_MM = 2.4
_RING_OFF_MM = (7.0, 10.0, 14.0, 18.0, 24.0)
"""How far from its place a number may stand."""
_SHADE = 0.9
_LEGEND_MM, _ROW_MM = 6.0, 3.4
"""How far below a view its words begin, and their rows."""
_NAME_MM = 2.0
NAME_LETTERS = 22
"""A name longer than this goes on below."""
LONGER_LETTERS = 38
HIGHEST_COLUMN_MM = 120.0


def drawings(mockup: MockUp, gaps: Sequence[Gap], *, paper: str = "a4") -> dict[str, bytes]:
    """File name: bytes. One SVG for each sheet at its scale, one DXF in true millimetres, a PDF of all."""
    size = paper_named(paper)
    sheets = [(view, title, *_fitted(mockup, gaps, view, size)) for view, title in VIEWS.items()]
    shown = shown_places(gaps)
    if shown:
        scale = scale_of(shown)
        sheets.append(("places", PLACES_TITLE, scale, places_drawing(mockup, gaps, scale)))
    files: dict[str, bytes] = {}
    pages: list[Page] = []
    for name, title, scale, drawn in sheets:
        heading = f"{mockup.title}: {title.lower()}"
        files[f"{name}.svg"] = sheet(drawn, title=f"{heading}, scale {scale_words(scale)}")
        files[f"{name}.dxf"] = view_dxf(drawn, 1.0 / scale)
        pages.append(_page(drawn, mockup, title, scale, size, (len(pages) + 1, len(sheets))))
    files["drawings.pdf"] = pdf(pages, title=f"{mockup.title}: drawings")
    return files


def full_size(mockup: MockUp, gaps: Sequence[Gap], view: str, *, paper: str = "a4") -> bytes:
    """One view at 1:1 over as many sheets as it takes, with crosses to lay them together by.

    Raises InputError for a view or a paper that is none.
    """
    if view not in VIEWS:
        raise InputError(f"{echoed(view)} is not a view. Write one of {', '.join(VIEWS)}.")
    drawn = view_drawing(mockup, gaps, view, 1.0)
    title = f"{mockup.title}: {VIEWS[view].lower()}, full size"
    return pdf(tiled(drawn, paper=paper_named(paper), title=title), title=title)


def scale_words(scale: float) -> str:
    """A scale as drawings say it.

    >>> scale_words(0.2), scale_words(1.0), scale_words(2.0)
    ('1:5', '1:1', '2:1')
    """
    return f"{scale:g}:1" if scale > 1.0 else f"1:{1 / scale:g}"


def _fitted(mockup: MockUp, gaps: Sequence[Gap], view: str, paper: Paper) -> tuple[float, Drawing]:
    """The largest usual scale at which the view fits the sheet; the smallest where none does."""
    room = (paper.width_mm - 2 * MARGIN_MM - 4.0, paper.height_mm - 2 * MARGIN_MM - BLOCK_MM - 6.0)
    drawn = Drawing()
    seen = Sight(mockup, view)
    x0, y0, x1, y1 = drawing_of(_outlines(seen, seen.parts())).bounds
    # names, numbers and figures only add to what is drawn, and the kinds of line stand below it
    below = _LEGEND_MM + _ROW_MM * (len(_kinds(mockup)) - 1) - 1.0
    for scale in SCALES:
        if scale != SCALES[-1] and (scale * (x1 - x0) > room[0] or scale * (y1 - y0) + below > room[1]):
            continue
        seen.scale = scale
        drawn = _drawn(seen, gaps)
        x0, y0, x1, y1 = drawn.plain.bounds
        if x1 - x0 <= room[0] and y1 - y0 <= room[1]:
            return scale, drawn
    return SCALES[-1], drawn


def _page(drawn: Drawing, mockup: MockUp, title: str, scale: float, paper: Paper, number: tuple[int, int]) -> Page:
    x0, y0, x1, y1 = drawn.plain.bounds
    low, high = MARGIN_MM + BLOCK_MM, paper.height_mm - MARGIN_MM - 2.0
    placed = drawn.moved((paper.width_mm - x0 - x1) / 2, (low + high - y0 - y1) / 2)
    frame = rectangle(MARGIN_MM, MARGIN_MM, paper.width_mm - 2 * MARGIN_MM, paper.height_mm - 2 * MARGIN_MM, OUTLINE)
    block = _title_block(mockup, title, scale, paper, number)
    return Page(drawing=placed + drawing_of([frame, *block]) + check_bar(MARGIN_MM + 4, MARGIN_MM + 6), paper=paper)


BLOCK_MM = 33.0
_BLOCK_FROM_MM = 112.0


def _title_block(mockup: MockUp, title: str, scale: float, paper: Paper, number: tuple[int, int]) -> list[Mark]:
    rows = [
        (title, 2.6, True),
        (f"scale {scale_words(scale)}; figures are true mm (in)", 2.0, False),
        (f"each view by itself, no projection; sheet {number[0]} of {number[1]}", 2.0, False),
        (f"from the corner file; gaps over the whole travel, {_rests_on(mockup)}", 2.0, False),
    ]
    return title_block(mockup.title, rows, paper)


def title_block(name: str, rows: Sequence[tuple[str, float, bool]], paper: Paper) -> list[Mark]:
    """Lower right, as ISO 7200 has it: title, view, scale, units, sheet, and what the drawing rests on; no date.

    Rows are (text, height in mm, bold).
    """
    right, low = paper.width_mm - MARGIN_MM, MARGIN_MM
    left = MARGIN_MM + _BLOCK_FROM_MM + max(paper.width_mm - paper.height_mm, 0.0)
    wide = right - left - 4.0
    folded = [(textwrap.wrap(text, int(wide / (0.72 * height))), height, bold) for text, height, bold in rows]
    room = BLOCK_MM - 3.1 - sum(1.65 * height * len(lines) for lines, height, _ in folded)
    size, named = _title_that_fits(name, wide, room)
    marks: list[Mark] = [rectangle(left, low, right - left, BLOCK_MM, OUTLINE)]
    y = low + BLOCK_MM - 1.6
    for lines, height, bold in [(named, size, True), *folded]:
        step = TITLE_STEP if lines is named else 1.65
        for part in lines:
            marks.append(Text(at=(left + 2.0, y - height), text=part, height_mm=height, bold=bold))
            y -= step * height
    return marks


TITLE_STEP = 1.47
TITLE_MM = (3.0, 2.6, 2.2, 2.0, LEAST_LETTER_MM)
"""Heights of a title, the largest first that all of it goes into."""


def _title_that_fits(name: str, wide: float, room: float) -> tuple[float, list[str]]:
    """The height of a title's letters and its lines: the largest at which all of it stands in the room."""
    found: list[tuple[float, list[str]]] = []
    for size in TITLE_MM:
        found.append((size, textwrap.wrap(name, int(wide / (0.78 * size)))))
        if len(found[-1][1]) * TITLE_STEP * size <= room:
            break
    return found[-1]


def _rests_on(mockup: MockUp) -> str:
    notes = len(mockup.warnings)
    return f"{notes} {'warning' if notes == 1 else 'warnings'} in the report" if notes else "no warnings"


# ---- one view


def view_drawing(mockup: MockUp, gaps: Sequence[Gap], view: str, scale: float) -> Drawing:
    """One view in paper millimetres about the hub face's centre at ride height."""
    seen = Sight(mockup, view)
    seen.scale = scale
    return _drawn(seen, gaps)


def _drawn(seen: Sight, gaps: Sequence[Gap]) -> Drawing:
    shown = seen.parts()
    marks = _outlines(seen, shown)
    marks += _numbers(seen, gaps, marks)
    free = drawing_of(marks).bounds
    names = _names(shown, free)
    marks += names + _dimensions(seen, free, drawing_of([*marks, *names]).bounds)
    body = drawing_of(marks)
    cropped = [part.name for part in shown if part.cropped]
    return (body + _legend(seen, gaps, body, cropped)).led_by(seen.mockup.units)


def _outlines(seen: Sight, shown: Sequence[Shown]) -> list[Mark]:
    """The tire and wheel, what they sweep, the parts and the middle lines."""
    marks: list[Mark] = []
    for words, position, layer in positions_drawn(seen.mockup):
        marks += seen.shape(seen.silhouette(position), layer, shade=_SHADE if words == "ride height" else None)
    marks += seen.shape(seen.swept(), FOLD)
    marks += [mark for part in shown for mark in part.marks]
    return marks + _axes(seen)


def positions_drawn(mockup: MockUp) -> list[tuple[str, Array, str]]:
    """What is drawn of the cycle: in words, as (3,) bump, other bump, steer, and its layer."""
    cycle = mockup.suspension.cycle
    rest = float(np.clip(0.0, *cycle.other_bump_mm))
    found = [("ride height", np.array([0.0, rest, 0.0]), OUTLINE)]
    for bump, words, layer in ((cycle.bump_mm[1], "full bump", EXTREME), (cycle.bump_mm[0], "full droop", HIDDEN)):
        if abs(bump) > 1e-9:
            found.append((words, _allowed(mockup, np.array([bump, rest, 0.0])), layer))
    for steer in cycle.steer_deg:
        if abs(steer) > 1e-9:
            words = f"lock, {steer_text(car_steer_deg(steer, right_hand=mockup.right_hand))}"
            found.append((words, np.array([0.0, rest, steer]), LOCK))
    return found


def _allowed(mockup: MockUp, position: Array) -> Array:
    """The same with the other wheel drawn along as far as the articulation asks."""
    row: Array = allowed(mockup.suspension.cycle, position[None])[0]
    return row


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """One part as a view has it."""

    name: str
    marks: tuple[Mark, ...]
    """In paper millimetres; none where the view has nothing of it."""
    cropped: bool

    def anchor(self, middle: float) -> tuple[float, float]:
        """The point of it that is furthest from the middle of the view, where a leader reaches it first."""
        points = np.concatenate([m.points() for m in self.marks if isinstance(m, Path)])
        best = points[int(np.argmax(np.round(np.abs(points[:, 0] - middle), 6)))]
        return float(best[0]), float(best[1])


class Sight:
    """One view: where points of corner axes fall on the paper."""

    def __init__(self, mockup: MockUp, view: str) -> None:
        self.mockup, self.view, self.scale = mockup, view, 1.0
        self.flip = rightward(right_hand=mockup.right_hand)
        self.across, self.up, self.through = {"behind": (1, 2, 0), "side": (0, 2, 1), "plan": (1, 0, 2)}[view]
        self.rings = self._rings()
        self.kept: dict[tuple[float, ...], Any] = {}
        self.outlines: dict[str, tuple[list[Array], bool]] = {}

    def flat(self, points_mm: Array) -> Array:
        """Points (..., 3) as (..., 2), true millimetres."""
        return np.stack([self.flip * points_mm[..., self.across], points_mm[..., self.up]], axis=-1)

    def paper(self, point_mm: npt.ArrayLike) -> tuple[float, float]:
        """A point of corner axes on the paper."""
        x, y = self.flat(np.asarray(point_mm, dtype=float))
        return float(self.scale * x), float(self.scale * y)

    def at(self, flat_mm: Array) -> tuple[float, float]:
        """A flat point on the paper."""
        return float(self.scale * flat_mm[0]), float(self.scale * flat_mm[1])

    def ways(self) -> list[tuple[str, tuple[float, float]]]:
        """What is across and up in this view, in words, and which way on the paper."""
        words = ("AHEAD", "OUTBOARD", "UP")
        return [(words[self.across], (self.flip, 0.0)), (words[self.up], (0.0, 1.0))]

    def _rings(self) -> Array:
        """(m, n, 3): the outline of the solid turned about its axis, in hub axes."""
        outline = self.mockup.solid.profile.outline(CHORD_MM)
        outline = outline[outline[:, 1] > 1.0]
        angle = np.arange(_SIDES) * (2 * np.pi / _SIDES)
        y, r = outline[:, 0][:, None], outline[:, 1][:, None]
        return np.stack([r * np.sin(angle), np.broadcast_to(y, (len(outline), _SIDES)), r * np.cos(angle)], axis=-1)

    def silhouette(self, position: Array) -> Any:
        """The outline of the tire and wheel at one position (3,), as a flat shape in true millimetres."""
        key = tuple(float(v) for v in position)
        if key not in self.kept:
            self.kept[key] = self._shadow(position)
        return self.kept[key]

    def _shadow(self, position: Array) -> Any:
        from shapely import convex_hull, linestrings, union_all

        pose = self.mockup.suspension.pose(position[None], HUB)
        flat = self.flat(self.rings @ pose.turn[0].T + pose.origin_mm[0])
        # between two neighbouring rings the surface is a cone, whose shadow is the hull of the two
        pairs = np.concatenate([flat[:-1], flat[1:]], axis=1)
        return union_all(convex_hull(linestrings(pairs)))

    def swept(self) -> Any:
        """Outline of all positions together, play included."""
        if () not in self.kept:
            self.kept[()] = self._swept()
        return self.kept[()]

    def _swept(self) -> Any:
        from shapely import union_all
        from shapely.affinity import translate

        cycle, shift = self.mockup.suspension.cycle, self.mockup.suspension.cycle.shift
        steers = np.unique(np.linspace(*cycle.steer_deg, SWEPT_STEERS))
        others = sorted({*cycle.other_bump_mm, float(np.clip(0.0, *cycle.other_bump_mm))})
        rows = [
            _allowed(self.mockup, np.array([b, o, s]))
            for b in np.linspace(*cycle.bump_mm, SWEPT_BUMPS)
            for o in others
            for s in steers
        ]
        # with those that reach furthest, so that the outline is as large as its dimensions say
        rows += list(self.extents().positions)
        shape = union_all([self.silhouette(row) for row in rows])
        corners = [
            self.flat(np.array([ahead, outboard, 0.0]))
            for ahead in (-shift.behind_mm, shift.ahead_mm)
            for outboard in (-shift.inboard_mm, shift.outboard_mm)
        ]
        return union_all([translate(shape, *corner) for corner in corners])

    def extents(self) -> Extents:
        """How far the tire and wheel reach over the cycle."""
        if (0.0,) not in self.kept:
            self.kept[(0.0,)] = swept_extents(self.mockup)
        found: Extents = self.kept[(0.0,)]
        return found

    def box(self, extents: Extents) -> Bounds:
        """Extents in true millimetres of this view."""
        ends = self.flat(np.array([extents.low_mm, extents.high_mm]))
        (x0, y0), (x1, y1) = ends.min(axis=0), ends.max(axis=0)
        return float(x0), float(y0), float(x1), float(y1)

    def shape(self, flat: Any, layer: str, shade: float | None = None) -> list[Mark]:
        """A flat shape's outline on the paper, holes left out."""
        pieces = getattr(flat, "geoms", [flat])
        return [
            chain(self.scale * np.asarray(piece.exterior.coords), closed=True, layer=layer, shade=shade)
            for piece in pieces
            if piece.geom_type == "Polygon" and not piece.is_empty
        ]

    def parts(self, kinds: Collection[str] = tuple(PART_KINDS)) -> list[Shown]:
        """Every part of these kinds at ride height: cut by the plane through the hub's centre, or whole where it is
        small.
        """
        found = []
        for part in self.mockup.parts:
            if part.kind not in kinds:
                continue
            layer = WHOLE if PART_KINDS[part.kind].whole else PART
            rings, cropped = self._rings_of(part)
            marks = tuple(chain(self.scale * ring, layer=layer) for ring in rings)
            found.append(Shown(name=part.name, marks=marks, cropped=cropped))
        return found

    def _rings_of(self, part: Part) -> tuple[list[Array], bool]:
        """The outlines (n, 2) of a part in true millimetres, and whether it goes on beyond the picture."""
        if part.name not in self.outlines:
            from shapely import box, intersection

            reach = 1.35 * self.mockup.solid.reach_mm
            window = box(-reach, -reach, reach, reach)
            triangles = seen_triangles(part, self.mockup.suspension, np.zeros(3))
            shape = self._whole(triangles) if PART_KINDS[part.kind].whole else self._cut(triangles)
            inside = intersection(shape, window)
            rings = [
                np.asarray((piece.exterior if piece.geom_type == "Polygon" else piece).coords)
                for piece in getattr(inside, "geoms", [inside])
                if not piece.is_empty and piece.geom_type in ("Polygon", "LineString")
            ]
            self.outlines[part.name] = (rings, not window.covers(shape))
        return self.outlines[part.name]

    def _whole(self, triangles: Array) -> Any:
        from shapely import polygons, union_all

        flat = self.flat(triangles)
        edges = flat[:, 1:] - flat[:, :1]
        area = np.abs(edges[:, 0, 0] * edges[:, 1, 1] - edges[:, 0, 1] * edges[:, 1, 0])
        if not (area > 0.5).any():
            # seen edge on: what is left of it is its lines
            from shapely import multilinestrings

            return union_all(multilinestrings(np.concatenate([flat, flat[:, :1]], axis=1)))
        return union_all(polygons(flat[area > 0.5])).buffer(0.05)

    def _cut(self, triangles: Array) -> Any:
        from shapely import line_merge, multilinestrings

        # a hair off the centre, so that an edge that lies on the plane is cut and not grazed
        side = triangles[..., self.through] - 0.013
        segments = []
        for triangle, sides in zip(triangles, side, strict=True):
            ends = [
                triangle[i] + sides[i] / (sides[i] - sides[j]) * (triangle[j] - triangle[i])
                for i, j in ((0, 1), (1, 2), (2, 0))
                if (sides[i] < 0) != (sides[j] < 0)
            ]
            if len(ends) == 2:
                segments.append(self.flat(np.array(ends)))
        return line_merge(multilinestrings(np.array(segments).reshape(-1, 2, 2)))


def _axes(seen: Sight) -> list[Mark]:
    reach = 1.1 * seen.mockup.solid.reach_mm * seen.scale
    return [line((-reach, 0.0), (reach, 0.0), CENTRE), line((0.0, -reach), (0.0, reach), CENTRE)]


def _dimensions(seen: Sight, free: Bounds, named: Bounds) -> list[Mark]:
    """The tire at ride height and the swept outline, over all, and the backspace where it can be seen; all of them
    outside of whatever is drawn, those that are upright on the side where the names reach less far.
    """
    ride = seen.box(extents_at(seen.mockup, positions_drawn(seen.mockup)[0][1]))
    swept = seen.box(seen.extents())
    k = seen.scale
    low, high = min(free[1], named[1]), max(free[3], named[3])
    right = named[2] - free[2] <= free[0] - named[0]
    side, out = (named[2], -1.0) if right else (named[0], 1.0)
    marks: list[Mark] = [
        _across(ride[0], ride[2], low / k, k, -6.0, "tire and wheel"),
        _across(swept[0], swept[2], low / k, k, -12.0, "swept"),
        _upright(ride[1], ride[3], side / k, k, 6.0 * out, "tire and wheel"),
        _upright(swept[1], swept[3], side / k, k, 12.0 * out, "swept"),
    ]
    if seen.view == "behind":
        inner = -seen.mockup.wheel.backspace_mm * seen.flip
        marks.append(_across(min(inner, 0.0), max(inner, 0.0), high / k, k, 6.0, "backspace"))
    return marks


def _names(shown: Sequence[Shown], around: Bounds) -> list[Mark]:
    """Every part's name once, in a column on the side that it is nearer to, with a leader to the part."""
    middle = (around[0] + around[2]) / 2
    sides: dict[bool, list[tuple[float, float, str]]] = {True: [], False: []}
    for part in shown:
        if part.marks:
            x, y = part.anchor(middle)
            sides[x > middle].append((y, x, part.name))
    marks: list[Mark] = []
    for right, rows in sides.items():
        edge = around[2] + 5.0 if right else around[0] - 5.0
        marks += _column(sorted(rows, reverse=True), edge, right=right)
    return marks


def _in_lines(names: Sequence[str]) -> tuple[list[list[str]], float]:
    """Names in lines, and how high they stand under one another; in longer lines where that is too high."""
    for letters in (NAME_LETTERS, LONGER_LETTERS):
        wrapped = [textwrap.wrap(name, letters, break_long_words=True) for name in names]
        high = sum(2.8 * len(lines) + 1.0 for lines in wrapped)
        if high <= HIGHEST_COLUMN_MM:
            break
    return wrapped, high


def _column(rows: Sequence[tuple[float, float, str]], edge: float, *, right: bool) -> list[Mark]:
    """Names under one another, each as near to its part's height as the one above leaves it; the column begins higher
    where there are many.
    """
    marks: list[Mark] = []
    wrapped, high = _in_lines([name for _, _, name in rows])
    at = max(rows[0][0], (rows[0][0] + rows[-1][0] + high) / 2) + 1.0 if rows else 0.0
    for (y, x, _), lines in zip(rows, wrapped, strict=True):
        at = min(at, y + 1.0) if high < rows[0][0] - rows[-1][0] else at
        align = "left" if right else "right"
        for k, said in enumerate(lines):
            marks.append(Text(at=(edge, at - 2.8 * k), text=said, height_mm=_NAME_MM, align=align))
        level = at + _NAME_MM / 2
        knee = edge + (-1.0 if right else 1.0)
        marks.append(chain([(knee, level), (knee + (-3.0 if right else 3.0), level), (x, y)], layer=THIN))
        marks.append(Circle(centre=(x, y), radius_mm=0.5, layer=THIN, shade=0.0))
        at -= 2.8 * len(lines) + 1.0
    return marks


def _across(left: float, right: float, at: float, k: float, off: float, words: str) -> Dimension:
    text = f"{words} {both(right - left)}"
    return Dimension(start=(k * left, k * at), end=(k * right, k * at), off_mm=off, text=text, height_mm=_TEXT_MM)


def _upright(low: float, high: float, at: float, k: float, off: float, words: str) -> Dimension:
    text = f"{words} {both(high - low)}"
    return Dimension(start=(k * at, k * low), end=(k * at, k * high), off_mm=off, text=text, height_mm=_TEXT_MM)


def _numbers(seen: Sight, gaps: Sequence[Gap], taken: Sequence[Mark]) -> list[Mark]:
    """The tightest places, numbered as in the report: a dot, and its number in a ring where there is room for it."""
    marks: list[Mark] = []
    for number, gap in enumerate(worst_first(gaps)[:PLACES], start=1):
        place = seen.paper(gap.on_part_mm)
        at = _free_place(place, [*taken, *marks])
        away = np.subtract(place, at)
        edge = np.asarray(at) + _RING_MM * away / np.hypot(*away)
        marks += [
            line((float(edge[0]), float(edge[1])), place, THIN),
            Circle(centre=place, radius_mm=0.6, layer=THIN, shade=0.0),
            Circle(centre=at, radius_mm=_RING_MM, layer=OUTLINE, shade=1.0),
            Text(at=(at[0], at[1] - _TEXT_MM / 2), text=str(number), height_mm=_TEXT_MM, align="centre", bold=True),
        ]
    return marks


def _free_place(place: tuple[float, float], taken: Sequence[Mark]) -> tuple[float, float]:
    """Where a ring around a number stands on as few lines as can be had near the place, and its leader crosses few.

    Rings that are there already are never stood on.
    """
    from shapely import LineString, Point, STRtree, buffer, get_parts, intersects, linestrings, points, union_all

    drawn = [LineString(m.points(0.5)) for m in taken if isinstance(m, Path)]
    rings = [Point(m.centre).buffer(m.radius_mm) for m in taken if isinstance(m, Circle) and m.radius_mm >= _RING_MM]
    lines = STRtree(get_parts(union_all(drawn)))
    off, turn = (each.ravel() for each in np.meshgrid(_RING_OFF_MM, np.arange(24) * np.pi / 12, indexing="ij"))
    tried = np.column_stack([place[0] + off * np.cos(turn), place[1] + off * np.sin(turn)])
    ring = buffer(points(tried), _RING_MM + 0.5)
    leader = linestrings(np.stack([tried, np.broadcast_to(place, tried.shape)], axis=1))
    on = sum((intersects(ring, other).astype(int) + intersects(leader, other) for other in rings), np.zeros(len(off)))
    stood = np.bincount(lines.query(ring, predicate="intersects")[0], minlength=len(off))
    crossed = np.bincount(lines.query(leader, predicate="crosses")[0], minlength=len(off))
    best = np.argmin(np.round(1000.0 * on + 10.0 * stood + crossed + 0.2 * off, 6))
    return float(tried[best, 0]), float(tried[best, 1])


def _kinds(mockup: MockUp) -> list[tuple[str, str]]:
    """Every kind of line in a view, and what it stands for."""
    kinds: dict[str, list[str]] = {}
    for words, _, layer in positions_drawn(mockup):
        kinds.setdefault(layer, []).append(words)
    return [
        (PART, "part, cut through the hub's centre"),
        (WHOLE, "part, seen whole"),
        *(
            (layer, f"tire and wheel, {' and '.join(said).replace(' and lock,', ' and')}")
            for layer, said in kinds.items()
        ),
        (FOLD, "tire and wheel, all positions together, play included"),
        (CENTRE, "through the hub face's centre"),
        (THIN, "dimension, leader"),
    ]


def _both_locks(said: Sequence[str]) -> str:
    return " and ".join(said).replace(" and lock,", " and")


def _legend(seen: Sight, gaps: Sequence[Gap], body: Drawing, cropped: Sequence[str]) -> Drawing:
    """Below the view: which way is which, what each line is, the tightest places in words, what is cropped."""
    mockup = seen.mockup
    x0, y0, x1, _ = body.plain.bounds
    marks: list[Mark] = []
    y = y0 - _LEGEND_MM
    for words, way in seen.ways():
        marks += arrow((x1 - 24.0, y - 12.0), way, 9.0, words, 2.0)
    for layer, words in _kinds(mockup):
        if words.endswith("ride height") and layer == OUTLINE:
            marks.append(rectangle(x0, y + 0.1, 12, 1.8, OUTLINE, _SHADE))
        else:
            marks.append(line((x0, y + 0.9), (x0 + 12, y + 0.9), layer))
        marks.append(Text(at=(x0 + 14, y), text=words, height_mm=2.0))
        y -= _ROW_MM
    letters = int(max(x1 - x0, 150.0) / 1.5)
    for number, gap in enumerate(worst_first(gaps)[:PLACES], start=1):
        said = bracket_words(gap.at_least_mm, gap.at_most_mm, swallowed=gap.swallowed, narrow=gap.finished)
        kept = f"; must keep {both(gap.required_mm)}" if gap.required_mm else ""
        where = at_rest(mockup, gap).where.split(",")[0]
        for row in wrapped(f"{number}  {gap.part}: {said}, {where}{kept}", letters):
            marks.append(Text(at=(x0, y), text=row, height_mm=2.0))
            y -= _ROW_MM
    if cropped:
        for row in textwrap.wrap(f"cropped, they go on beyond the picture: {', '.join(cropped)}", letters):
            marks.append(Text(at=(x0, y), text=row, height_mm=2.0))
            y -= _ROW_MM
    return drawing_of(marks)
