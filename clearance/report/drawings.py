"""Drawings to scale: the corner from behind, from the side and from above, with what the wheel sweeps.

* behind - outboard to the left on a left corner, to the right on a right one; up is up
* side   - from outboard: ahead is to the left on a left corner
* plan   - from above: ahead is up
* swept  - the outline of the tire and wheel at many positions together: a picture of the envelope, drawn from
           positions. The solid that is proven to hold all of them is envelope.stl.

Figures are true millimetres and inches whatever the scale. Walls and scans are shown where a plane through the hub's
centre cuts them; lips, bars and boxes are shown whole.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from clearance.errors import InputError
from clearance.export.pdf import MARGIN_MM, Page, Paper, check_bar, paper_named, pdf, tiled
from clearance.export.svg import sheet
from clearance.gap.found import Gap
from clearance.geom.drawing import (
    CENTRE,
    CHORD_MM,
    FOLD,
    HIDDEN,
    OUTLINE,
    THIN,
    Circle,
    Dimension,
    Drawing,
    Mark,
    Text,
    chain,
    drawing_of,
    line,
)
from clearance.mockup.words import steer_text
from clearance.plain import echoed
from clearance.pose import Array, car_steer_deg, rightward
from clearance.report.findings import worst_first
from clearance.report.tubes import seen_triangles
from clearance.suspension.position import HUB
from clearance.units import both
from clearance.well.part_kinds import PART_KINDS
from clearance.words.sentence import bracket_words

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp

VIEWS = {"behind": "Rear view", "side": "Side view", "plan": "Plan"}
SCALES = (1 / 2, 1 / 4, 1 / 5, 1 / 8, 1 / 10, 1 / 20)
"""Of a printed sheet: the usual ones of ISO 5455 and 1:4, 1:8, which inch rules read."""
PLACES = 3
SWEPT_BUMPS, SWEPT_STEERS = 5, 15
"""Positions that the swept outline is drawn from; between two locks 60 degrees apart it dips 0.4 mm at most."""
_SIDES = 120
_TEXT_MM = 2.4


def drawings(mockup: MockUp, gaps: Sequence[Gap], *, paper: str = "a4") -> dict[str, bytes]:
    """File name: bytes. One SVG for each view at the scale of the sheet, and one PDF of all three."""
    size = paper_named(paper)
    files: dict[str, bytes] = {}
    pages = []
    for view, title in VIEWS.items():
        scale, drawn = _fitted(mockup, gaps, view, size)
        heading = f"{mockup.title}: {title.lower()}"
        files[f"{view}.svg"] = sheet(drawn, title=f"{heading}, scale {scale_words(scale)}")
        pages.append(_page(drawn, heading, scale, size))
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

    >>> scale_words(0.2), scale_words(1.0)
    ('1:5', '1:1')
    """
    return f"1:{1 / scale:g}"


def _fitted(mockup: MockUp, gaps: Sequence[Gap], view: str, paper: Paper) -> tuple[float, Drawing]:
    """The largest usual scale at which the view fits the sheet; the smallest where none does."""
    room = (paper.width_mm - 2 * MARGIN_MM, paper.height_mm - 2 * MARGIN_MM - 32.0)
    drawn = Drawing()
    seen = _Sight(mockup, view)
    for scale in SCALES:
        seen.scale = scale
        drawn = _drawn(seen, gaps)
        x0, y0, x1, y1 = drawn.plain.bounds
        if x1 - x0 <= room[0] and y1 - y0 <= room[1]:
            return scale, drawn
    return SCALES[-1], drawn


def _page(drawn: Drawing, heading: str, scale: float, paper: Paper) -> Page:
    x0, y0, x1, y1 = drawn.plain.bounds
    low, high = MARGIN_MM + 18.0, paper.height_mm - MARGIN_MM - 14.0
    placed = drawn.moved((paper.width_mm - x0 - x1) / 2, (low + high - y0 - y1) / 2)
    top = paper.height_mm - MARGIN_MM
    head = [
        Text(at=(MARGIN_MM, top - 5), text=heading, height_mm=4.0, bold=True),
        Text(at=(MARGIN_MM, top - 10), text=f"scale {scale_words(scale)}; figures are true", height_mm=_TEXT_MM),
    ]
    return Page(drawing=placed + drawing_of(head) + check_bar(MARGIN_MM, MARGIN_MM + 6), paper=paper)


# ---- one view


def view_drawing(mockup: MockUp, gaps: Sequence[Gap], view: str, scale: float) -> Drawing:
    """One view in paper millimetres about the hub face's centre at ride height."""
    seen = _Sight(mockup, view)
    seen.scale = scale
    return _drawn(seen, gaps)


def _drawn(seen: _Sight, gaps: Sequence[Gap]) -> Drawing:
    marks: list[Mark] = []
    for words, position, layer in positions_drawn(seen.mockup):
        marks += seen.shape(seen.silhouette(position), layer, shade=0.9 if words == "ride height" else None)
    marks += seen.shape(seen.swept(), FOLD)
    marks += seen.parts()
    marks += _axes(seen)
    marks += _dimensions(seen)
    marks += _numbers(seen, gaps)
    body = drawing_of(marks)
    return (body + _legend(seen.mockup, gaps, body)).led_by(seen.mockup.units)


def positions_drawn(mockup: MockUp) -> list[tuple[str, Array, str]]:
    """What is drawn of the cycle: in words, as (3,) bump, other bump, steer, and its layer."""
    cycle = mockup.suspension.cycle
    rest = float(np.clip(0.0, *cycle.other_bump_mm))
    found = [("ride height", np.array([0.0, rest, 0.0]), OUTLINE)]
    for bump, words, layer in ((cycle.bump_mm[1], "full bump", THIN), (cycle.bump_mm[0], "full droop", HIDDEN)):
        if abs(bump) > 1e-9:
            found.append((words, _allowed(mockup, np.array([bump, rest, 0.0])), layer))
    for steer in cycle.steer_deg:
        if abs(steer) > 1e-9:
            words = f"lock, {steer_text(car_steer_deg(steer, right_hand=mockup.right_hand))}"
            found.append((words, np.array([0.0, rest, steer]), CENTRE))
    return found


def _allowed(mockup: MockUp, position: Array) -> Array:
    """The same with the other wheel drawn along as far as the articulation asks."""
    cycle = mockup.suspension.cycle
    if cycle.articulation_mm is not None:
        low, high = position[0] - cycle.articulation_mm, position[0] + cycle.articulation_mm
        position[1] = np.clip(position[1], low, high)
    position[1] = np.clip(position[1], *cycle.other_bump_mm)
    return position


class _Sight:
    """One view: where points of corner axes fall on the paper."""

    def __init__(self, mockup: MockUp, view: str) -> None:
        self.mockup, self.view, self.scale = mockup, view, 1.0
        self.flip = rightward(right_hand=mockup.right_hand)
        self.across, self.up, self.through = {"behind": (1, 2, 0), "side": (0, 2, 1), "plan": (1, 0, 2)}[view]
        self.rings = self._rings()
        self.kept: dict[tuple[float, ...], Any] = {}

    def flat(self, points_mm: Array) -> Array:
        """Points (..., 3) as (..., 2), true millimetres."""
        return np.stack([self.flip * points_mm[..., self.across], points_mm[..., self.up]], axis=-1)

    def paper(self, point_mm: npt.ArrayLike) -> tuple[float, float]:
        x, y = self.flat(np.asarray(point_mm, dtype=float))
        return float(self.scale * x), float(self.scale * y)

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
        from shapely import convex_hull, multipoints, union_all

        pose = self.mockup.suspension.pose(position[None], HUB)
        flat = self.flat(self.rings @ pose.turn[0].T + pose.origin_mm[0])
        # between two neighbouring rings the surface is a cone, whose shadow is the hull of the two
        pairs = np.concatenate([flat[:-1], flat[1:]], axis=1)
        return union_all(convex_hull(multipoints(pairs)))

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
        shape = union_all([self.silhouette(row) for row in rows])
        corners = [
            self.flat(np.array([ahead, outboard, 0.0]))
            for ahead in (-shift.behind_mm, shift.ahead_mm)
            for outboard in (-shift.inboard_mm, shift.outboard_mm)
        ]
        return union_all([translate(shape, *corner) for corner in corners])

    def shape(self, flat: Any, layer: str, shade: float | None = None) -> list[Mark]:
        """A flat shape's outline on the paper, holes left out."""
        pieces = getattr(flat, "geoms", [flat])
        return [
            chain(self.scale * np.asarray(piece.exterior.coords), closed=True, layer=layer, shade=shade)
            for piece in pieces
            if piece.geom_type == "Polygon" and not piece.is_empty
        ]

    def parts(self) -> list[Mark]:
        """Every part at ride height: cut by the plane through the hub's centre, or whole where it is small."""
        from shapely import box, intersection

        reach = 1.35 * self.mockup.solid.reach_mm
        window = box(-reach, -reach, reach, reach)
        marks: list[Mark] = []
        for part in self.mockup.parts:
            triangles = seen_triangles(part, self.mockup.suspension, np.zeros(3))
            shape = self._whole(triangles) if PART_KINDS[part.kind].whole else self._cut(triangles)
            inside = intersection(shape, window)
            for piece in getattr(inside, "geoms", [inside]):
                if piece.is_empty or piece.geom_type not in ("Polygon", "LineString"):
                    continue
                ring = piece.exterior if piece.geom_type == "Polygon" else piece
                marks.append(chain(self.scale * np.asarray(ring.coords), layer=OUTLINE))
        return marks

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


def _axes(seen: _Sight) -> list[Mark]:
    reach = 1.1 * seen.mockup.solid.reach_mm * seen.scale
    return [line((-reach, 0.0), (reach, 0.0), CENTRE), line((0.0, -reach), (0.0, reach), CENTRE)]


def _dimensions(seen: _Sight) -> list[Mark]:
    """The tire at ride height and the swept outline, over all, and the backspace where it can be seen."""
    ride, swept = seen.silhouette(positions_drawn(seen.mockup)[0][1]).bounds, seen.swept().bounds
    k = seen.scale
    marks: list[Mark] = [
        _across(ride[0], ride[2], swept[1], k, -8.0, "tire and wheel"),
        _across(swept[0], swept[2], swept[1], k, -16.0, "swept"),
        _upright(ride[1], ride[3], swept[2], k, -8.0, "tire and wheel"),
        _upright(swept[1], swept[3], swept[2], k, -16.0, "swept"),
    ]
    if seen.view == "behind":
        inner = -seen.mockup.wheel.backspace_mm * seen.flip
        marks.append(_across(min(inner, 0.0), max(inner, 0.0), swept[3], k, 7.0, "backspace"))
    return marks


def _across(left: float, right: float, at: float, k: float, off: float, words: str) -> Dimension:
    text = f"{words} {both(right - left, digits=0)}"
    return Dimension(start=(k * left, k * at), end=(k * right, k * at), off_mm=off, text=text, height_mm=_TEXT_MM)


def _upright(low: float, high: float, at: float, k: float, off: float, words: str) -> Dimension:
    text = f"{words} {both(high - low, digits=0)}"
    return Dimension(start=(k * at, k * low), end=(k * at, k * high), off_mm=off, text=text, height_mm=_TEXT_MM)


def _numbers(seen: _Sight, gaps: Sequence[Gap]) -> list[Mark]:
    """The tightest places, numbered as in the report."""
    marks: list[Mark] = []
    for number, gap in enumerate(worst_first(gaps)[:PLACES], start=1):
        x, y = seen.paper(gap.on_part_mm)
        marks += [
            Circle(centre=(x, y), radius_mm=2.4, layer=OUTLINE, shade=1.0),
            Text(at=(x, y - _TEXT_MM / 2), text=str(number), height_mm=_TEXT_MM, align="centre", bold=True),
        ]
    return marks


def _legend(mockup: MockUp, gaps: Sequence[Gap], body: Drawing) -> Drawing:
    """Below the view: what each line is, and the tightest places in words."""
    x0, y0, _, _ = body.plain.bounds
    marks: list[Mark] = []
    y = y0 - 7.0
    rows = [*((layer, words) for words, _, layer in positions_drawn(mockup)), (FOLD, "swept, play included")]
    for layer, words in rows:
        marks += [line((x0, y + 0.9), (x0 + 12, y + 0.9), layer), Text(at=(x0 + 14, y), text=words, height_mm=2.0)]
        y -= 3.6
    for number, gap in enumerate(worst_first(gaps)[:PLACES], start=1):
        said = bracket_words(gap.at_least_mm, gap.at_most_mm, swallowed=gap.swallowed, narrow=gap.finished)
        marks.append(Text(at=(x0, y), text=f"{number}  {gap.part}: {said}, {gap.where.split(',')[0]}", height_mm=2.0))
        y -= 3.6
    return drawing_of(marks)
