"""Templates of the envelope, to build a tub or a buck to.

* station  - an upright cut square to the car, at a distance ahead of the axle: (y, z), seen from ahead on a left corner
* level    - a flat cut at a height above the axle: (y, x)
* upright  - an upright cut along the car, at a distance outboard of the hub face: (x, z)
* datum    - engraved lines at round distances from hub face and axle, so that a template can be set up on the car
* tub      - a crown bent round the envelope from end to end, and a flat inner panel; the crown is a cylinder with its
             rulings across the car, so it unrolls without stretch (its sheet: `tub_solid`)

A tub pattern gives inside sizes: nothing of the envelope stands through it. Lengths are millimetres in corner axes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from clearance.errors import ShapeError
from clearance.gauge.body import Body, body_of, flat_of
from clearance.gauge.flatwork import Shape, grown, marks_of, oblong, parts_of, place_for, words_size
from clearance.geom.drawing import (
    CENTRE,
    CUT,
    ENGRAVE,
    HIDDEN,
    OUTLINE,
    THIN,
    Circle,
    Drawing,
    Mark,
    Text,
    arrow,
    drawing_of,
    line,
)
from clearance.steady import steady
from clearance.units import both

Array = npt.NDArray[np.float64]

DATUM_EVERY_MM = 50.0
LEAST_TEMPLATE_MM2 = 400.0

# Cut across, then (right, up) of the template, in words; rows are corner axes as (cut, right, up).
_KINDS: dict[str, tuple[tuple[int, int, int], tuple[str, str, str]]] = {
    "station": ((0, 1, 2), ("AHEAD", "HUB FACE", "AXLE")),
    "level": ((2, 1, 0), ("ABOVE AXLE", "HUB FACE", "AXLE")),
    "upright": ((1, 0, 2), ("OUTBOARD", "AXLE", "AXLE")),
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Template:
    """One cut of the envelope."""

    name: str
    number: int
    """In the order of use, from 1: from rear to front, from the floor up, from inboard to outboard."""
    kind: str
    at_mm: float
    shape: Shape
    """In (right, up) of its kind."""
    drawing: Drawing


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tub:
    """The two flat patterns of a tub that the envelope just goes into."""

    panel: Shape
    """The inner wall: (x ahead, z above the axle)."""
    crown_mm: Array
    """(n, 2): the crown's run in (x, z), from its rear foot over the top to its front foot."""
    inboard_mm: float
    outboard_mm: float
    """Where the crown's edges lie, outboard of the hub face."""

    @property
    def length_mm(self) -> float:
        """Of the unrolled crown."""
        return float(np.hypot(*(self.crown_mm[1:] - self.crown_mm[:-1]).T).sum())


@steady
def templates_of(
    vertices: Array,
    faces: npt.NDArray[np.intp],
    kind: str,
    every_mm: float,
    *,
    right_hand: bool,
    title: str,
    from_mm: float = -math.inf,
) -> tuple[Template, ...]:
    """Cuts of a closed mesh at round distances, `every_mm` apart, wherever there is something to cut higher than
    `from_mm` above the axle: the floor or the sill line.

    Raises ShapeError where the mesh is not closed, the kind is not known, or the step is not positive.
    """
    check_cut(kind, every_mm)
    (axis, right, up), _ = _KINDS[kind]
    body = _standing(vertices, faces, axis, right, up)
    _, _, low, _, _, high = body.bounding_box()
    first, last = math.ceil(low / every_mm), math.floor(high / every_mm)
    cuts = [(k * every_mm, _above(body, kind, k * every_mm, from_mm)) for k in range(first, last + 1)]
    kept = [(at, shape) for at, shape in cuts if shape.area >= LEAST_TEMPLATE_MM2]
    return tuple(
        _template(kind, at, shape, right_hand, title, number=n, of=len(kept))
        for n, (at, shape) in enumerate(kept, start=1)
    )


def _above(body: Body, kind: str, at_mm: float, from_mm: float) -> Shape:
    """The cut of a standing body as far as it lies above the floor."""
    from shapely import MultiPolygon

    if kind == "level" and at_mm < from_mm - 1e-9:
        return MultiPolygon()
    shape = section_at(body, at_mm)
    if kind == "level" or shape.is_empty or not math.isfinite(from_mm):
        return shape
    x0, _, x1, z1 = shape.bounds
    return MultiPolygon(parts_of(shape.intersection(oblong(x0 - 1.0, from_mm, x1 + 1.0, max(z1, from_mm) + 1.0))))


# which view shows a kind of cut edge on: the axis looked along, then what is right and up in it, and their words
_INDEX: dict[str, tuple[tuple[int, int, int], tuple[str, str], bool]] = {
    "station": ((1, 0, 2), ("AHEAD", "UP"), True),
    "level": ((0, 1, 2), ("OUTBOARD", "UP"), False),
    "upright": ((0, 1, 2), ("OUTBOARD", "UP"), True),
}


@steady
def index_of(
    vertices: Array, faces: npt.NDArray[np.intp], templates: Sequence[Template], from_mm: float = -math.inf
) -> Drawing:
    """A picture of the envelope with a line, and a number, where each template stands; the floor as a dashed line."""
    kind = templates[0].kind
    axes, words, upright = _INDEX[kind]
    shadow = flat_of(_standing(vertices, faces, *axes).project())
    x0, z0, x1, z1 = shadow.bounds
    marks: list[Mark] = [*marks_of(shadow.simplify(0.3), OUTLINE, 0.94)]
    marks += [line((x0 - 30, 0.0), (x1 + 30, 0.0), CENTRE), line((0.0, z0 - 30), (0.0, z1 + 30), CENTRE)]
    marks.append(Text(at=(x1 + 34, -4.0), text="axle", height_mm=9.0))
    height = min(12.0, 0.55 * _least_step(templates))
    for t in templates:
        if upright:
            marks += [line((t.at_mm, max(z0, from_mm)), (t.at_mm, z1 + 14), THIN)]
            marks.append(Text(at=(t.at_mm, z1 + 18), text=str(t.number), height_mm=height, align="centre"))
        else:
            marks += [line((x0, t.at_mm), (x1 + 14, t.at_mm), THIN)]
            marks.append(Text(at=(x1 + 18, t.at_mm - height / 2), text=str(t.number), height_mm=height))
    if z0 < from_mm < z1:
        marks.append(line((x0 - 60, from_mm), (x1 + 30, from_mm), HIDDEN))
        said = Text(at=(x0 - 60, from_mm + 4), text=f"floor {from_mm:+.0f}", height_mm=9.0, align="right")
        marks.append(said)
    marks += arrow((x0 - 60, z0 - 40), (1.0, 0.0), 60.0, words[0], 9.0)
    marks += arrow((x0 - 60, z0 - 40), (0.0, 1.0), 60.0, words[1], 9.0)
    return drawing_of(marks)


def _least_step(templates: Sequence[Template]) -> float:
    at = [t.at_mm for t in templates]
    return min((b - a for a, b in pairwise(at)), default=30.0)


def check_cut(kind: str, every_mm: float) -> None:
    """Raises ShapeError where the kind of cut is not known or the step not usable."""
    if kind not in _KINDS:
        raise ShapeError(f'a cut "{kind}" is not known. Write "station", "level" or "upright".')
    if not 5.0 <= every_mm <= 2000.0:
        raise ShapeError(f"a cut every {both(every_mm)} is not usable; 5 to 2000 mm is.")


def section_at(body: Body, height: float) -> Shape:
    """The cut of a standing body at one height, as polygons."""
    return flat_of(body.slice(height))


MOST_BELOW_MM = 500.0
"""How far below the envelope the feet of a tub may end."""


@steady
def tub_of(vertices: Array, faces: npt.NDArray[np.intp], from_mm: float) -> Tub:
    """The patterns of a tub over the part of the envelope that is higher than `from_mm` above the axle.

    Raises ShapeError where nothing of the envelope is that high.
    """
    from shapely import Polygon

    body = _standing(vertices, faces, 1, 0, 2)
    shadow = flat_of(body.project())
    x0, z0, x1, z1 = shadow.bounds
    if from_mm < z0 - MOST_BELOW_MM:
        raise ShapeError(
            f"the envelope ends {both(z0)} above the axle: feet of a tub at {both(from_mm)} are far below all of it."
        )
    if from_mm >= z1 - 20.0:
        raise ShapeError(
            f"the envelope reaches {both(z1)} above the axle: a tub from {both(from_mm)} up holds nothing."
        )
    above = shadow.intersection(oblong(x0 - 1, from_mm, x1 + 1, z1 + 1)).convex_hull
    # A sheet bends round the outside of everything: the convex outline, its feet straight down to the base.
    a0, _, a1, _ = above.bounds
    panel = Polygon([*above.exterior.coords, (a0, from_mm), (a1, from_mm)]).convex_hull.union(
        oblong(a0, from_mm, a1, from_mm + 1e-6)
    )
    panel = parts_of(panel.convex_hull)[0]
    part = body ^ _slab(from_mm, body)
    _, _, low, _, _, high = part.bounding_box()
    run = _crown_run(panel, from_mm)
    return Tub(panel=panel, crown_mm=run, inboard_mm=float(low), outboard_mm=float(high))


def _standing(vertices: Array, faces: npt.NDArray[np.intp], axis: int, right: int, up: int) -> Body:
    """The mesh with the axis that is cut across turned upright: (right, up, axis)."""
    order = [right, up, axis]
    # An odd change of axes is a mirror image: the faces must be turned over to stay outward.
    odd = float(np.linalg.det(np.eye(3)[order])) < 0
    return body_of(vertices[:, order], faces[:, ::-1] if odd else faces)


def _slab(from_mm: float, body: Body) -> Body:
    import manifold3d as m3  # type: ignore[import-not-found]

    x0, _, w0, x1, z1, w1 = body.bounding_box()
    size = (x1 - x0 + 2, z1 - from_mm + 2, w1 - w0 + 2)
    return m3.Manifold.cube(size).translate((x0 - 1, from_mm, w0 - 1))


def _template(kind: str, at_mm: float, shape: Shape, right_hand: bool, title: str, *, number: int, of: int) -> Template:
    label = f"{number} OF {of}  {kind.upper()} {at_mm:+.0f}"
    marks: list[Mark] = []
    # Chords of the mesh that lie within a twentieth of a millimetre of a straight line need not all be cut.
    clean = shape.simplify(0.02)
    for part in parts_of(clean):
        marks += marks_of(part, CUT)
        datum = datum_lines(kind, part)
        marks += datum
        marks += label_in(part, [label, *_facing(kind, right_hand), title], datum)
    return Template(
        name=f"{kind}{at_mm:+05.0f}", number=number, kind=kind, at_mm=at_mm, shape=clean, drawing=drawing_of(marks)
    )


def _facing(kind: str, right_hand: bool) -> list[str]:
    """From which side a template is seen as drawn, and which way it points; a right corner is the mirror image."""
    ahead, below, inboard = ("BEHIND", "ABOVE", "OUTBOARD") if right_hand else ("AHEAD", "BELOW", "INBOARD")
    return {
        "station": [f"SEEN FROM {ahead}", "OUT >"],
        "level": [f"SEEN FROM {below}", "OUT >  AHEAD ^"],
        "upright": [f"SEEN FROM {inboard}", "AHEAD >"],
    }[kind]


def datum_lines(kind: str, part: Shape) -> list[Mark]:
    """One upright and one level line through the part at round distances from hub face and axle, with their words."""
    from shapely import LineString

    _, (_, across_name, up_name) = _KINDS[kind]
    x0, y0, x1, y1 = part.bounds
    marks: list[Mark] = []
    for upright, low, high, name in ((True, x0, x1, across_name), (False, y0, y1, up_name)):
        at = _round_within(low, high)
        if at is None:
            continue
        ends = [(at, y0 - 1), (at, y1 + 1)] if upright else [(x0 - 1, at), (x1 + 1, at)]
        inside = part.buffer(-1.0).intersection(LineString(ends))
        runs = [g for g in getattr(inside, "geoms", [inside]) if g.geom_type == "LineString" and g.length > 3]
        for run in runs:
            marks.append(line(run.coords[0], run.coords[-1], ENGRAVE))
        if runs:
            longest = max(runs, key=lambda g: g.length)
            marks += _datum_words(longest, upright, f"{name} {at:+.0f}" if at else name, part)
    return marks


def _datum_words(run: Shape, upright: bool, text: str, part: Shape) -> list[Mark]:
    (ax, ay), (bx, by) = run.coords[0], run.coords[-1]
    for height in (5.0, 3.5):
        for share in (0.08, 0.3, 0.55):
            at = (ax + share * (bx - ax), ay + share * (by - ay))
            mark = Text(
                at=(at[0] - 1.5, at[1]) if upright else (at[0], at[1] + 1.5),
                text=text,
                height_mm=height,
                turn_deg=90.0 if upright else 0.0,
                layer=ENGRAVE,
            )
            x0, y0, x1, y1 = drawing_of([mark]).bounds
            if part.contains(oblong(x0, y0, x1, y1)):
                return [mark]
    return []


def _round_within(low: float, high: float) -> float | None:
    """Zero where it lies well inside, else the round distance nearest to the middle; None where there is none."""
    if low + 5 < 0 < high - 5:
        return 0.0
    at = round((low + high) / 2 / DATUM_EVERY_MM) * DATUM_EVERY_MM
    return at if low + 3 < at < high - 3 else None


def label_in(part: Shape, lines: Sequence[str], datum: Sequence[Mark]) -> list[Mark]:
    """Lines of writing where the part has room for them, clear of its datum lines; fewer where it has little, and the
    first beside it, on a leader, where it has none.
    """
    room = grown(part, -3.0)
    for mark in datum:
        x0, y0, x1, y1 = drawing_of([mark]).bounds
        room = room.difference(oblong(x0 - 2, y0 - 2, x1 + 2, y1 + 2))
    for rows in (list(lines), list(lines[:-1]), list(lines[:1])):
        for height in (8.0, 6.0, 4.5, 3.5):
            width, depth = words_size(rows, height, 0.2)
            spot = place_for(room, width + 1, depth + 1, 6.0)
            if spot is not None:
                return [
                    Text(
                        at=(spot[0], spot[1] + ((len(rows) - 1) / 2 - k) * 1.6 * height - height / 2),
                        text=row,
                        height_mm=height,
                        align="centre",
                        layer=ENGRAVE,
                    )
                    for k, row in enumerate(rows)
                ]
    return _beside(part, lines[0])


_BESIDE_MM = 3.5
"""Height of a label that stands beside its part, and about how far off it."""


def _beside(part: Shape, text: str) -> list[Mark]:
    """A label to the right of a part that has no room for it, with a leader to a dot on the part."""
    inside = part.representative_point()
    right = part.bounds[2] + 2 * _BESIDE_MM
    dot = Circle(centre=(inside.x, inside.y), radius_mm=0.5, layer=ENGRAVE)
    leader = line((inside.x, inside.y), (right, inside.y), ENGRAVE)
    said = Text(at=(right + 1.0, inside.y - _BESIDE_MM / 2), text=text, height_mm=_BESIDE_MM, layer=ENGRAVE)
    return [dot, leader, said]


def _crown_run(panel: Shape, from_mm: float) -> Array:
    """The panel's outline without its base: rear foot (least x) over the top to the front foot."""
    ring = np.asarray(panel.exterior.coords)[:-1]
    on_base = ring[:, 1] < from_mm + 1e-6
    rear = int(np.flatnonzero(on_base)[np.argmin(ring[on_base, 0])])
    ring = np.roll(ring, -rear, axis=0)
    # From the rear foot the run must leave the base: turn the ring over where it goes along it.
    if ring[1, 1] < from_mm + 1e-6 and len(ring) > 2 and ring[-1, 1] > from_mm + 1e-6:
        ring = np.vstack([ring[:1], ring[:0:-1]])
    front = int(np.flatnonzero(ring[:, 1] < from_mm + 1e-6)[np.argmax(ring[ring[:, 1] < from_mm + 1e-6, 0])])
    return ring[: front + 1]
