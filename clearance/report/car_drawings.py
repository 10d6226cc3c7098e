"""A car to scale from its own numbers: both axles from the side, the rear from behind, the front from ahead.

* next   - the tire and wheel that each corner's file describes, in full line
* now    - what [now] says is on the car, dashed
* ground - one level line under all tires: each stands on it unloaded, its hub at half of its overall diameter
* break  - two short strokes where two hubs stand on one sheet and how far apart they are is not said

There is no body: of it only the lips of the arches are drawn, where a corner has them. What is not known is not drawn,
and is named below the view. Lips stand as they do with what is next. Figures are true millimetres and inches whatever
the scale. ISO 128 line weights, as in `drawings`.
"""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from clearance.answers.said import missing_of, put_on
from clearance.answers.swap import Rolls, mounted_rolls, now_rolls
from clearance.errors import InputError
from clearance.export.dxf import view_dxf
from clearance.export.papers import Paper, paper_named
from clearance.export.pdf import MARGIN_MM, Page, check_bar, pdf
from clearance.export.svg import picture, sheet
from clearance.geom.drawing import (
    CENTRE,
    HIDDEN,
    OUTLINE,
    THIN,
    WHOLE,
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
from clearance.mockup.car import AXLES
from clearance.plain import echoed
from clearance.pose import rightward
from clearance.report.drawings import BLOCK_MM, Sight, positions_drawn, scale_words, title_block
from clearance.tire.mounted import with_chains, with_growth
from clearance.units import both

if TYPE_CHECKING:
    from clearance.mockup.car import Car
    from clearance.mockup.mockup import MockUp

SIDE, BEHIND, AHEAD = "car-side", "car-rear", "car-front"
TITLES = {SIDE: "From the side", BEHIND: "The rear axle from behind", AHEAD: "The front axle from ahead"}
SCALES = (1 / 5, 1 / 8, 1 / 10, 1 / 12, 1 / 15, 1 / 20, 1 / 25, 1 / 30, 1 / 40, 1 / 50)
"""Of a printed sheet; the largest at which the view fits is taken."""
PAGE_SCALES = {SIDE: 1 / 15, BEHIND: 1 / 10, AHEAD: 1 / 10}
"""Of a picture on a page: so that the figures have room."""
_TEXT_MM, _NAME_MM = 2.4, 2.0
_APART_MM = 80.0
"""On paper, between two wheels of which it is not known how far apart they are: room for their dimensions."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stood:
    """One corner on the sheet: its hub's face and where it stands, true millimetres."""

    corner: MockUp
    across_mm: float
    """Of the hub's face, to the right."""
    way: float
    """1 where outboard (of the side view: ahead) is to the right, -1 where to the left."""
    now: MockUp | None
    """With what is on the car now, where [now] says all of it."""
    rolls: Rolls | None
    """What is on it now, as far as it is known."""

    @property
    def next(self) -> Rolls:
        """What the corner's file describes."""
        return mounted_rolls(self.corner.tire, self.corner.wheel)

    @property
    def hub_mm(self) -> float:
        """How high the hub stands over the ground."""
        return self.corner.tire.overall_diameter_mm / 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sheet:
    """One view of the car before it is drawn."""

    view: str
    stood: tuple[Stood, ...]
    base_mm: float | None
    """Hub to hub: the wheelbase, or the track; None where it is not said or one of the two is not described."""
    not_said: tuple[str, ...]


def car_drawings(car: Car, *, paper: str = "a4") -> dict[str, bytes]:
    """File name: bytes. One SVG and one DXF for each view of which something is described, and a PDF of all."""
    size = paper_named(paper).turned
    files: dict[str, bytes] = {}
    pages: list[Page] = []
    views = views_of(car)
    for number, view in enumerate(views, start=1):
        scale, one, drawn = _fitted(car, view, size)
        title = f"{car.title}: {TITLES[one.view].lower()}, scale {scale_words(scale)}"
        files[f"{one.view}.svg"] = sheet(drawn, title=title)
        files[f"{one.view}.dxf"] = view_dxf(drawn, 1.0 / scale)
        pages.append(_page(drawn, car, one, scale, size, f"sheet {number} of {len(views)}"))
    files["car-drawings.pdf"] = pdf(pages, title=f"{car.title}: drawings of the car")
    return files


def car_pictures(car: Car) -> list[tuple[str, str]]:
    """Each view as (its title, SVG for a page)."""
    found = []
    for view in views_of(car):
        scale = PAGE_SCALES[view]
        one = _sheet(car, view, scale)
        words = "; ".join(f"{each.corner.corner} {each.next.name}" for each in one.stood)
        drawn = _drawn(car, one, scale)
        found.append((TITLES[one.view], picture(drawn, title=TITLES[one.view], description=f"{words}. To scale.")))
    return found


def car_view(car: Car, view: str, scale: float) -> Drawing:
    """One view in paper millimetres. Raises InputError where nothing of it is described."""
    return _drawn(car, _sheet(car, view, scale), scale)


# ---- what stands where


def views_of(car: Car) -> list[str]:
    """The views of which a corner is described."""
    return [SIDE, *(view for axle, view in (("rear", BEHIND), ("front", AHEAD)) if car.sides(axle))]


def _sheet(car: Car, view: str, k: float) -> Sheet:
    """One of `views_of`, to be drawn at the scale `k`. Raises InputError for another."""
    if view not in views_of(car):
        raise InputError(f"nothing of this view is described: {echoed(view)}.")
    if view == SIDE:
        return _side(car, k)
    return _axle(car, "rear" if view == BEHIND else "front", view, k)


def _side(car: Car, k: float) -> Sheet:
    """The side of which more is described; the left one where both are."""
    side, corners = _more_described(car)
    way = rightward(right_hand=side == "right")
    base = car.wheelbase_mm
    apart = base if base is not None else sum(c.tire.overall_diameter_mm / 2 for c in corners.values()) + _APART_MM / k
    places = {"front": way * apart / 2, "rear": -way * apart / 2}
    missing = [] if base is not None else ["wheelbase"]
    missing += [f"{axle}-{side}" for axle in AXLES if axle not in corners]
    shown = _wheels(car)
    stood = tuple(
        replace(shown[corners[axle].corner], across_mm=places[axle], way=way) for axle in AXLES if axle in corners
    )
    return Sheet(view=SIDE, stood=stood, base_mm=base, not_said=(*missing, *_of_now(stood)))


def _more_described(car: Car) -> tuple[str, dict[str, MockUp]]:
    """The side, and its corner of each axle."""
    by_side = {side: [c for c in car.corners.values() if c.corner.endswith(side)] for side in ("left", "right")}
    side = max(by_side, key=lambda name: len(by_side[name]))
    return side, {corner.corner.split("-")[0]: corner for corner in by_side[side]}


def _axle(car: Car, axle: str, view: str, k: float) -> Sheet:
    """Both ends of one axle: left is left from behind, and right from ahead."""
    base, sides = car.track_mm.get(axle), car.sides(axle)
    reach = sum(mounted_rolls(one.tire, one.wheel).inboard_mm or 0.0 for one in sides)
    apart = base if base is not None else reach + _APART_MM / k
    turned = 1.0 if view == BEHIND else -1.0
    stood, shown = [], _wheels(car)
    for one in sides:
        way = turned * rightward(right_hand=one.right_hand)
        stood.append(replace(shown[one.corner], across_mm=way * apart / 2, way=way))
    missing = [] if base is not None else [f"track_{axle}"]
    described = {one.corner for one in sides}
    missing += [name for name in (f"{axle}-left", f"{axle}-right") if name not in described]
    return Sheet(view=view, stood=tuple(stood), base_mm=base, not_said=(*missing, *_of_now(stood)))


@lru_cache(maxsize=4)
def _wheels(car: Car) -> Mapping[str, Stood]:
    """Every corner's wheel, next and now, not put anywhere yet; made once for all views and scales."""
    return {name: _stood(corner) for name, corner in car.corners.items()}


def _stood(corner: MockUp) -> Stood:
    now = corner.terms.now
    on_now = None if now is None else put_on(corner, now)
    return Stood(
        corner=_as_new(corner),
        across_mm=0.0,
        way=1.0,
        now=None if on_now is None else _as_new(on_now),
        rolls=None if now is None else now_rolls(now, corner.wheel),
    )


def _as_new(corner: MockUp) -> MockUp:
    """The corner with its tire as it is bought, neither grown nor with room for chains."""
    return replace(corner, tire=with_chains(with_growth(corner.tire, "none"), None))


def _of_now(stood: Sequence[Stood]) -> list[str]:
    """What [now] would have to say so that what is on the car could be drawn."""
    missing: list[str] = []
    for one in stood:
        now = one.corner.terms.now
        lacks = ["[now]"] if now is None else [f"{key} in [now]" for key in missing_of(now)]
        missing += [key for key in lacks if key not in missing]
    return missing


# ---- one view


def _fitted(car: Car, view: str, paper: Paper) -> tuple[float, Sheet, Drawing]:
    """The largest usual scale at which the view fits the sheet; the smallest where none does."""
    room = (paper.width_mm - 2 * MARGIN_MM - 4.0, paper.height_mm - 2 * MARGIN_MM - BLOCK_MM - 6.0)
    for scale in SCALES:
        one = _sheet(car, view, scale)
        drawn = _drawn(car, one, scale)
        x0, y0, x1, y1 = drawn.plain.bounds
        if x1 - x0 <= room[0] and y1 - y0 <= room[1]:
            break
    return scale, one, drawn


def _page(drawn: Drawing, car: Car, one: Sheet, scale: float, paper: Paper, number: str) -> Page:
    x0, y0, x1, y1 = drawn.plain.bounds
    low, high = MARGIN_MM + BLOCK_MM, paper.height_mm - MARGIN_MM - 2.0
    placed = drawn.moved((paper.width_mm - x0 - x1) / 2, (low + high - y0 - y1) / 2)
    frame = rectangle(MARGIN_MM, MARGIN_MM, paper.width_mm - 2 * MARGIN_MM, paper.height_mm - 2 * MARGIN_MM, OUTLINE)
    rows = [
        (TITLES[one.view], 2.6, True),
        (f"scale {scale_words(scale)}; figures are true mm (in)", 2.0, False),
        (f"each view by itself, no projection; {number}", 2.0, False),
        ("from the car file; tires new, unloaded, on level ground", 2.0, False),
    ]
    block = title_block(car.title, rows, paper)
    return Page(drawing=placed + drawing_of([frame, *block]) + check_bar(MARGIN_MM + 4, MARGIN_MM + 6), paper=paper)


def _drawn(car: Car, one: Sheet, k: float) -> Drawing:
    marks: list[Mark] = []
    for each in one.stood:
        marks += _wheel(one, each, k)
    marks += _lips(one, k)
    x0, _, x1, high = drawing_of(marks).bounds
    marks += _ground(x0 - 4.0, x1 + 4.0)
    for each in one.stood:
        name = each.corner.corner
        marks.append(Text(at=(k * each.across_mm, high + 1.5), text=name, height_mm=_NAME_MM, align="centre"))
    marks += _middle(one, k, high)
    marks += _dimensions(one, k, (x0, x1, high))
    body = drawing_of(marks)
    return (body + _legend(one, body)).led_by(car.units)


def _wheel(one: Sheet, stood: Stood, k: float) -> list[Mark]:
    """Next in full line on a light ground, now dashed, and the wheel's centre lines."""
    at = (stood.across_mm, stood.hub_mm)
    marks = _outline(one, stood.corner, stood, at, k, OUTLINE, shade=0.92)
    if one.view == SIDE:
        rim = stood.corner.wheel.flange_diameter_mm / 2
        marks.append(Circle(centre=(k * at[0], k * at[1]), radius_mm=k * rim, layer=THIN))
    marks += _now(one, stood, k)
    reach = 3.0 + k * stood.hub_mm if one.view == SIDE else 4.0
    up = 3.0 + k * stood.hub_mm
    x, y = k * at[0], k * at[1]
    return [*marks, line((x - reach, y), (x + reach, y), CENTRE), line((x, max(y - up, 0.0)), (x, y + up), CENTRE)]


def _ground(left: float, right: float) -> list[Mark]:
    """A level line with the short strokes below it that say ground."""
    marks: list[Mark] = [line((left, 0.0), (right, 0.0), OUTLINE)]
    for step in range(int((right - left) / 4.0)):
        x = left + 4.0 * (step + 1)
        marks.append(line((x, 0.0), (x - 1.6, -1.6), THIN))
    return marks


def _now(one: Sheet, stood: Stood, k: float) -> list[Mark]:
    """What is on the car now, its own hub as high over the ground as it stands."""
    if stood.now is not None:
        at = (stood.across_mm, stood.now.tire.overall_diameter_mm / 2)
        return _outline(one, stood.now, stood, at, k, HIDDEN, shade=None)
    if stood.rolls is None or one.view != SIDE:
        return []
    radius = stood.rolls.overall_mm / 2
    return [Circle(centre=(k * stood.across_mm, k * radius), radius_mm=k * radius, layer=HIDDEN)]


def _outline(
    one: Sheet, mockup: MockUp, stood: Stood, at: tuple[float, float], k: float, layer: str, *, shade: float | None
) -> list[Mark]:
    if one.view == SIDE:
        radius = mockup.tire.overall_diameter_mm / 2
        return [Circle(centre=(k * at[0], k * at[1]), radius_mm=k * radius, layer=layer, shade=shade)]
    shape = [replace(mark, layer=layer, shade=shade) for mark in _across_axle(mockup, stood.way)]
    return _placed(shape, at, k)


def _sight(mockup: MockUp, view: str, way: float) -> Sight:
    seen = Sight(mockup, "side" if view == SIDE else "behind")
    seen.flip = way
    return seen


@lru_cache(maxsize=32)
def _across_axle(mockup: MockUp, way: float) -> tuple[Path, ...]:
    """The outline of tire and wheel along the car, true millimetres about the hub's face."""
    seen = _sight(mockup, BEHIND, way)
    marks = seen.shape(seen.silhouette(positions_drawn(mockup)[0][1]), OUTLINE)
    return tuple(mark for mark in marks if isinstance(mark, Path))


@lru_cache(maxsize=32)
def _lips_of(mockup: MockUp, view: str, way: float) -> tuple[Mark, ...]:
    """A corner's lips, true millimetres about the hub's face."""
    return tuple(mark for part in _sight(mockup, view, way).parts(("lip",)) for mark in part.marks)


def _placed(marks: Sequence[Mark], at: tuple[float, float], k: float) -> list[Mark]:
    return list(drawing_of(marks).scaled(k).moved(k * at[0], k * at[1]).marks)


def _lips(one: Sheet, k: float) -> list[Mark]:
    marks: list[Mark] = []
    for stood in one.stood:
        lips = _lips_of(stood.corner, one.view, stood.way)
        marks += _placed(lips, (stood.across_mm, stood.hub_mm), k)
    return marks


def _middle(one: Sheet, k: float, high: float) -> list[Mark]:
    """The car's middle, the other axle where only one is described, or a break where the distance is not said."""
    if one.base_mm is None:
        return _break(k, high) if len(one.stood) == 2 else []
    if one.view != SIDE:
        return [line((0.0, -3.0), (0.0, high), CENTRE)]
    if len(one.stood) == 2:
        return []
    x = -k * one.stood[0].across_mm
    return [
        line((x, -3.0), (x, high), CENTRE),
        Text(at=(x, high + 1.5), text="other axle", height_mm=2.0, align="centre"),
    ]


def _break(k: float, high: float) -> list[Mark]:
    """Two strokes across the ground and upward: what lies between is not to scale."""
    zigzag = np.array([(0.0, -4.0), (0.0, high * 0.35), (1.5, high * 0.4), (-1.5, high * 0.45), (0.0, high * 0.5)])
    whole = np.concatenate([zigzag, [(0.0, high)]])
    return [chain(whole + np.array([x, 0.0]), layer=THIN) for x in (-1.2, 1.2)]


# ---- dimensions


def _dimensions(one: Sheet, k: float, free: tuple[float, float, float]) -> list[Mark]:
    """`free` is what is drawn already: its left, its right and its top."""
    marks: list[Mark] = [*_base(one, k)]
    for stood in one.stood:
        outer = 1.0 if stood.across_mm >= 0 else -1.0
        marks += _heights(stood, k, free[1] if outer > 0 else free[0], outer)
        marks.append(_hub(one, stood, k, outer))
        if one.view != SIDE:
            marks += _reaches(stood, k, free[2])
    return marks


def _base(one: Sheet, k: float) -> list[Mark]:
    """Below the ground: hub to hub, and of an axle between the tires' middles, next and now."""
    if one.base_mm is None:
        return []
    half = k * one.base_mm / 2
    if one.view == SIDE:
        return [_across(-half, half, -9.0, f"wheelbase {both(one.base_mm, digits=0)}")]
    marks: list[Mark] = [_across(-half, half, -21.0, f"hub face to hub face {both(one.base_mm, digits=0)}")]
    if len(one.stood) == 2:
        for off, word, offsets in (
            (-9.0, "track next", [stood.corner.wheel.offset_mm for stood in one.stood]),
            (-15.0, "track now", [stood.now.wheel.offset_mm for stood in one.stood if stood.now is not None]),
        ):
            if len(offsets) == 2:
                ends = sorted(s.across_mm - s.way * mm for s, mm in zip(one.stood, offsets, strict=True))
                marks.append(_across(k * ends[0], k * ends[1], off, f"{word} {both(ends[1] - ends[0], digits=0)}"))
    return marks


def _across(left: float, right: float, off: float, text: str) -> Dimension:
    return Dimension(start=(left, 0.0), end=(right, 0.0), off_mm=off, text=text, height_mm=_TEXT_MM)


def _hub(one: Sheet, stood: Stood, k: float, outer: float) -> Dimension:
    """Inside of each wheel: how high its hub stands."""
    known = [stood.next, *([] if stood.rolls is None else [stood.rolls])]
    reach = max(rolls.overall_mm / 2 if one.view == SIDE else rolls.inboard_mm or 0.0 for rolls in known)
    x = k * (stood.across_mm - outer * reach)
    text = f"hub {both(stood.hub_mm, digits=0)}"
    off = outer * 8.0
    return Dimension(start=(x, 0.0), end=(x, k * stood.hub_mm), off_mm=off, text=text, height_mm=_TEXT_MM)


def _heights(stood: Stood, k: float, x: float, outer: float) -> list[Mark]:
    """Outside of each wheel: over all, next and now."""
    # a figure that is read from the right stands to the left of its line, which on the right is the wheel's side
    off = 6.5 if outer > 0 else 3.0
    rows = [("overall", 2 * stood.hub_mm)]
    if stood.rolls is not None and abs(stood.rolls.overall_mm - 2 * stood.hub_mm) >= 0.05:
        rows.append(("now", stood.rolls.overall_mm))
    marks: list[Mark] = [
        Dimension(
            start=(x, 0.0),
            end=(x, k * high),
            off_mm=-outer * (off + 5.5 * step),
            text=f"{word} {both(high, digits=0)}",
            height_mm=_TEXT_MM,
        )
        for step, (word, high) in enumerate(rows)
    ]
    return marks


def _reaches(stood: Stood, k: float, high: float) -> list[Mark]:
    """Over the wheel: how far it reaches inboard and outboard of the hub's face, next and now."""
    marks: list[Mark] = []
    known = [("next", stood.next), *([] if stood.rolls is None else [("now", stood.rolls)])]
    for step, (word, rolls) in enumerate(known):
        for way, reach, side in (("in", rolls.inboard_mm, -1.0), ("out", rolls.outboard_mm, 1.0)):
            if reach is None:
                continue
            start = (k * stood.across_mm, high + 4.5)
            end = (k * (stood.across_mm + side * stood.way * reach), high + 4.5)
            off = (2.5 + 4.5 * step) * (1.0 if end[0] > start[0] else -1.0)
            text = f"{word} {way} {both(reach, digits=0)}"
            marks.append(Dimension(start=start, end=end, off_mm=off, text=text, height_mm=_NAME_MM))
    return marks


# ---- the legend


def _legend(one: Sheet, body: Drawing) -> Drawing:
    """Below the view: which way is which, what each line is, what is not drawn because nothing says it."""
    x0, y0, x1, _ = body.plain.bounds
    y = y0 - 6.0
    marks: list[Mark] = []
    for words, way in _ways(one):
        marks += arrow((x1 - 24.0, y - 12.0), way, 9.0, words, 2.0)
    for layer, words in _lines(one):
        marks += [line((x0, y + 0.9), (x0 + 12, y + 0.9), layer), Text(at=(x0 + 14, y), text=words, height_mm=2.0)]
        y -= 3.4
    letters = int(max(x1 - x0 - 40.0, 90.0) / 1.5)
    if one.not_said:
        for row in textwrap.wrap(f"not drawn, because it is not said: {', '.join(one.not_said)}", letters):
            marks.append(Text(at=(x0, y), text=row, height_mm=2.0))
            y -= 3.4
    return drawing_of(marks)


def _lines(one: Sheet) -> list[tuple[str, str]]:
    rows = [(OUTLINE, "next: tire and wheel as described, new and unloaded; ground")]
    if any(stood.rolls is not None for stood in one.stood):
        rows.append((HIDDEN, "now: what [now] says is on the car"))
    if any(part.kind == "lip" for stood in one.stood for part in stood.corner.parts):
        rows.append((WHOLE, "lip of the arch, as it stands with what is next"))
    return rows


def _ways(one: Sheet) -> list[tuple[str, tuple[float, float]]]:
    if one.view == SIDE:
        return [("AHEAD", (one.stood[0].way, 0.0)), ("UP", (0.0, 1.0))]
    left = -1.0 if one.view == BEHIND else 1.0
    return [("LEFT", (left, 0.0)), ("UP", (0.0, 1.0))]
