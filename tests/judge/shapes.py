"""Every [[part]] as sheets of points: what it is, what it rides on, and the gap that it must keep.

An arch is an arc here and never a row of chords, and a sheet without a bound goes on to `FAR_MM`, further than any tire
reaches.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from .cars import Car
from .moving import Array
from .scans import triangles_of
from .stances import BODY
from .surfaces import Curve, Ruled, Surface, flats, triangles
from .tape import Table, angle_of, length_mm, length_of, point, point_of

FAR_MM = 1300.0
REQUIRED_MM = dict.fromkeys(("wall", "plate", "box", "cylinder", "tub", "mesh"), 25.0) | {"lip": 13.0, "bar": 13.0}
"""On the body, where the file says nothing; common practice, as documented."""
REQUIRED_RIDING_MM = 6.0


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """One thing in the well."""

    name: str
    kind: str
    near: str
    """What it rides on; of a bar between two frames, what its first point rides on."""
    far: str | None
    """What the last point of such a bar rides on."""
    far_point: Array | None
    required_mm: float
    skin_mm: float
    """How far the metal stands off the sheets, all round."""
    surface: Surface
    table: int
    """Which [[part]] of the file it is of."""


def parts_of(car: Car, scans: Mapping[str, str] | None = None) -> list[Part]:
    """Every part of a corner file, in its order. Scans are read beside it, where they are not given as text."""
    texts = _Beside(car) if scans is None else scans
    found = []
    for number, table in enumerate(car.tables["part"]):
        near, far = table.get("ends_ride_on", [table.get("rides_on", BODY), None])
        far = None if far == near else far
        riding = REQUIRED_RIDING_MM if table.get("rides_on", BODY) != BODY else REQUIRED_MM[table["kind"]]
        surfaces, skin = _SHAPES[table["kind"]](table, texts, car.hand)
        found += [
            Part(
                name=f"{table['name']}{face}",
                kind=table["kind"],
                near=near,
                far=far,
                far_point=point(table["points"][-1]) if far else None,
                required_mm=length_of(table, "required", riding),
                skin_mm=skin,
                surface=surface,
                table=number,
            )
            for face, surface in surfaces.items()
        ]
    return found


class _Beside(dict[str, str]):
    """The text of each file beside the corner file."""

    def __init__(self, car: Car) -> None:
        super().__init__()
        self._folder = car.folder

    def __missing__(self, name: str) -> str:
        return (self._folder / name).read_text(encoding="ascii")


Faces = tuple[dict[str, Surface], float]
"""The surfaces by what is added to the part's name, and the skin."""


def _wall(table: Table, scans: Mapping[str, str], hand: float) -> Faces:
    y = -length_of(table, "inboard") if "inboard" in table else length_of(table, "outboard")
    front, back = length_of(table, "ahead", FAR_MM), -length_of(table, "behind", FAR_MM)
    top, bottom = length_of(table, "above", FAR_MM), -length_of(table, "below", FAR_MM)
    return {"": flats(_upright((back, front), (bottom, top), y))}, 0.0


def _upright(x: tuple[float, float], z: tuple[float, float], y: float) -> Array:
    return np.array([[x[0], y, z[0]], [x[1], y, z[0]], [x[1], y, z[1]], [x[0], y, z[1]]])


def _plate(table: Table, scans: Mapping[str, str], hand: float) -> Faces:
    """A fourth corner is on the plane of the others; the sheet is cut across from where both cuts lie inside it."""
    corners = np.array([point(corner) for corner in table["corners"]])
    if len(corners) == 3:
        return {"": Surface(flats=triangles(corners[None]))}, 0.0
    start = next(i for i in (0, 1) if _cuts_inside(np.roll(corners, -i, axis=0)))
    a, b, c, d = np.roll(corners, -start, axis=0)
    return {"": Surface(flats=triangles(np.array([[a, b, c], [a, c, d]])))}, 0.0


def _cuts_inside(ring: Array) -> bool:
    a, b, c, d = ring
    return float(np.cross(b - a, c - a) @ np.cross(c - a, d - a)) > 0.0


def _box(table: Table, scans: Mapping[str, str], hand: float) -> Faces:
    low, high = point_of(table, "min"), point_of(table, "max")
    size = high - low
    quads = []
    for across in range(3):
        one, other = (np.eye(3)[(across + i) % 3] * size for i in (1, 2))
        for start in (low, low + np.eye(3)[across] * size):
            quads.append([start, start + one, start + one + other, start + other])
    corners = np.array(quads)
    if "turn" in table:
        turn = table["turn"]
        axis = ["ahead", "outboard", "above"].index(turn["about"])
        through = point_of(turn, "through") if "through" in turn else 0.5 * (low + high)
        corners = through + _turned(corners - through, axis, np.radians(angle_of(turn, "angle")))
    return {"": Surface(flats=corners)}, 0.0


def _turned(vectors: Array, axis: int, angle: float) -> Array:
    """About ahead the outboard side goes up, about outboard the front goes down, about above it goes outboard."""
    one, other = (axis + 1) % 3, (axis + 2) % 3
    found = vectors.copy()
    found[..., one] = np.cos(angle) * vectors[..., one] - np.sin(angle) * vectors[..., other]
    found[..., other] = np.sin(angle) * vectors[..., one] + np.cos(angle) * vectors[..., other]
    return found


def _bar(table: Table, scans: Mapping[str, str], hand: float) -> Faces:
    chain = np.array([point(p) for p in table["points"]])
    start, end = chain[:-1], chain[1:]
    way = np.concatenate([[0.0], np.cumsum(np.linalg.norm(end - start, axis=1))])
    way = way / way[-1]
    surface = Surface(flats=np.stack([start, end, end, start], axis=1), shares=np.stack([way[:-1], way[1:]], axis=1))
    return {"": surface}, 0.5 * length_of(table, "diameter")


def _cylinder(table: Table, scans: Mapping[str, str], hand: float) -> Faces:
    """Two discs, each from its middle to its rim, and the round side from rim to rim; round, and of no chords."""
    near, far = (point(p) for p in table["ends"])
    along = (far - near) / np.linalg.norm(far - near)
    one = np.cross(along, [1.0, 0.0, 0.0] if abs(along[0]) < 0.7 else [0.0, 0.0, 1.0])
    one /= np.linalg.norm(one)
    other = np.cross(along, one)
    radius = 0.5 * length_of(table, "diameter")

    def rim(middle: Array, size: float) -> Curve:
        def curve(u: Array) -> Array:
            turn = 2.0 * np.pi * u[:, None]
            return middle + size * (np.cos(turn) * one + np.sin(turn) * other)

        return curve

    round_side = Ruled(rim(near, radius), rim(far, radius))
    caps = [Ruled(rim(middle, 0.0), rim(middle, radius)) for middle in (near, far)]
    return {"": Surface(ruled=[round_side, *caps])}, 0.0


def _mesh(table: Table, scans: Mapping[str, str], hand: float) -> Faces:
    return {"": Surface(flats=triangles(triangles_of(table, scans[table["file"]], hand=hand)))}, 0.0


# ---- arches


def _lip(table: Table, scans: Mapping[str, str], hand: float) -> Faces:
    depth, angle = length_of(table, "return_depth"), np.radians(angle_of(table, "return_angle"))
    across, away = -np.cos(angle) * depth, np.sin(angle) * depth
    y = length_of(table, "outboard")
    trim = length_of(table, "trim_thickness")
    centre = np.array([length_mm(v) for v in table.get("centre", ["0 mm", "0 mm"])])
    if "outline" in table:
        outline = np.array([[length_mm(v) for v in p] for p in table["outline"]])
        return {"": _flange_along(outline, _square_to(outline, centre), y, across, away)}, trim
    radius = length_of(table, "radius")
    ends = np.radians([angle_of(table, "from", -90.0), angle_of(table, "to", 90.0)])

    def edge(off: float, at: float) -> Curve:
        def curve(u: Array) -> Array:
            around = ends[0] + u * (ends[1] - ends[0])
            x, z = centre[0] + (radius + off) * np.sin(around), centre[1] + (radius + off) * np.cos(around)
            return np.stack([x, np.full_like(x, at), z], axis=1)

        return curve

    return {"": Surface(ruled=[Ruled(edge(0.0, y), edge(away, y + across))])}, trim


def _square_to(outline: Array, centre: Array) -> Array:
    """At each point of an outline, the direction square to it, on the side that faces away from the centre: at a bend
    halfway between those of its two pieces."""
    steps = np.diff(outline, axis=0)
    square = np.stack([-steps[:, 1], steps[:, 0]], axis=1) / np.linalg.norm(steps, axis=1)[:, None]
    facing = np.sum(square * (0.5 * (outline[:-1] + outline[1:]) - centre), axis=1) @ np.linalg.norm(steps, axis=1)
    square = square if facing >= 0 else -square
    both = np.concatenate([square[:1], square]) + np.concatenate([square, square[-1:]])
    return both / np.linalg.norm(both, axis=1)[:, None]


def _flange_along(outline: Array, square: Array, y: float, across: float, away: float) -> Surface:
    """Each piece of the outline has two triangles: from its first point, edge and flange, to the flange's end of its
    second."""
    start = np.stack([outline[:, 0], np.full(len(outline), y), outline[:, 1]], axis=1)
    end = start + np.stack([away * square[:, 0], np.full(len(outline), across), away * square[:, 1]], axis=1)
    a, b, c, d = start[:-1], start[1:], end[1:], end[:-1]
    return Surface(flats=triangles(np.concatenate([np.stack([a, b, c], axis=1), np.stack([a, c, d], axis=1)])))


# ---- whole wells

Top = Callable[[Array], tuple[Array, Array]]
"""Along a crown from the rear (0) to the front (1): how far ahead and how high."""


def _tub(table: Table, scans: Mapping[str, str], hand: float) -> Faces:
    inner, outer = length_of(table, "inner"), length_of(table, "outer")
    front = length_of(table, "front") if "front" in table else None
    rear = -length_of(table, "rear") if "rear" in table else None
    floor = -length_of(table, "bottom", FAR_MM)
    taper = table.get("taper")
    levels = [length_of(taper, "low"), length_of(taper, "high")] if taper else []
    stands = [-inner, -length_of(taper, "inner")] if taper else [-inner]

    def lean(z: Array) -> Array:
        return np.interp(z, levels, stands) if taper else np.full_like(z, -inner)

    top = _top(table["crown"], front, rear)

    def at(y: float | None, level: float | None) -> Curve:
        """Along the crown: at the inner wall or some way out, and no higher than a level."""

        def curve(u: Array) -> Array:
            x, z = top(u)
            z = z if level is None else np.clip(level, floor, z)
            return np.stack([x, lean(z) if y is None else np.full_like(x, y), z], axis=1)

        return curve

    rows = [floor, *levels, None]
    faces = {
        " inner wall": Surface(ruled=[Ruled(at(None, a), at(None, b)) for a, b in itertools.pairwise(rows)]),
        " crown": Surface(ruled=[Ruled(at(None, None), at(outer, None))]),
    }
    for name, bound, end in ((" front", front, 1.0), (" rear", rear, 0.0)):
        if bound is not None:
            faces[name] = _sheet_across(bound, float(top(np.array([end]))[1][0]), floor, levels, lean, outer)
    if "outer_panel" in table:
        faces[" outer panel"] = Surface(ruled=[_panel(top, length_of(table, "outer_panel"), outer)])
    return faces, 0.0


def _top(crown: str | Table, front: float | None, rear: float | None) -> Top:
    """Along the crown from the rear (0) to the front (1): how far ahead and how high."""
    height = crown if isinstance(crown, str) else crown.get("height")
    if height is not None:
        ends = (-FAR_MM if rear is None else rear, FAR_MM if front is None else front)
        return lambda u: (ends[0] + u * (ends[1] - ends[0]), np.full_like(u, length_mm(height)))
    radius = length_of(crown, "radius")
    middle, level = (length_mm(v) for v in crown.get("centre", ["0 mm", "0 mm"]))
    first = np.arcsin((-radius if rear is None else rear - middle) / radius)
    last = np.arcsin((radius if front is None else front - middle) / radius)

    def arch(u: Array) -> tuple[Array, Array]:
        around = first + u * (last - first)
        return middle + radius * np.sin(around), level + radius * np.cos(around)

    return arch


def _sheet_across(
    x: float, high: float, floor: float, levels: list[float], lean: Callable[[Array], Array], outer: float
) -> Surface:
    heights = np.array([floor, *[level for level in levels if floor < level < high], high])
    inner = lean(heights)
    return flats(
        *(
            [[x, inner[i], z], [x, outer, z], [x, outer, heights[i + 1]], [x, inner[i + 1], heights[i + 1]]]
            for i, z in enumerate(heights[:-1])
        )
    )


def _panel(top: Top, level: float, outer: float) -> Ruled:
    """From a level up to the crown, where the crown is over that level."""
    fine = np.linspace(0.0, 1.0, 4001)
    over = fine[top(fine)[1] >= level]
    start, end = _sharpened(top, level, over[0], -1.0), _sharpened(top, level, over[-1], 1.0)

    def curve(at_level: bool) -> Curve:
        def points(u: Array) -> Array:
            x, z = top(start + u * (end - start))
            return np.stack([x, np.full_like(x, outer), np.minimum(z, level) if at_level else z], axis=1)

        return points

    return Ruled(curve(True), curve(False))


def _sharpened(top: Top, level: float, at: float, way: float) -> float:
    """Where the crown crosses the level, from a place just over it."""
    good, bad = at, float(np.clip(at + way / 4000.0, 0.0, 1.0))
    for _ in range(50):
        middle = 0.5 * (good + bad)
        if top(np.array([middle]))[1][0] >= level:
            good = middle
        else:
            bad = middle
    return good


_SHAPES = {
    "wall": _wall,
    "plate": _plate,
    "box": _box,
    "bar": _bar,
    "cylinder": _cylinder,
    "tub": _tub,
    "lip": _lip,
    "mesh": _mesh,
}
