"""Parts that never were, of every kind and shape, on everything that a part can ride on.

A part is made about a spot on the car, as the car stands there, and then taken back to ride height with whatever it
rides on.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from .attack import rough_least
from .cars import Car
from .invented_scans import mesh
from .moving import Array, Moving
from .places import Corner
from .shapes import parts_of
from .spots import Spot, Tire, rough_outline, spot
from .stances import AXLE, BODY, KNUCKLE
from .tape import length_mm
from .writing import Tables, deg, mm, point

Rng = np.random.Generator


# ---- what it rides on


def _frame(rng: Rng, car: Car) -> str:
    links = [name for name in car.motion.frames if name not in (BODY, AXLE, KNUCKLE)]
    choice = rng.random()
    if choice < 0.5 or (choice > 0.74 and not links):
        return BODY
    if choice < 0.62:
        return KNUCKLE
    if choice < 0.74:
        return AXLE
    return str(rng.choice(links))


def _back(where: Spot, frame: str, points: Array) -> Array:
    """Points (k, 3) of the car at the spot's stance, as at ride height on what they ride on."""
    seen = where.stance.frame(frame).back(Moving(np.asarray(points)[None], np.zeros((1, 1, 1, 0))))
    return seen.value[0]


def _back_direction(where: Spot, frame: str, direction: Array) -> Array:
    pair = _back(where, frame, np.array([np.zeros(3), direction]))
    return pair[1] - pair[0]


def _riding(frame: str, table: Tables) -> Tables:
    return table if frame == BODY else {**table, "rides_on": frame}


def _across(rng: Rng, out: Array) -> tuple[Array, Array]:
    """Two directions square to one, turned at random."""
    some = rng.normal(size=3)
    one = some - out * (out @ some)
    one = one / np.linalg.norm(one)
    return one, np.cross(out, one)


# ---- the kinds of part


def _plate(rng: Rng, where: Spot, frame: str) -> Tables:
    one, other = _across(rng, where.out + rng.normal(size=3) * 0.15)
    size = rng.uniform(30.0, 260.0, 2)
    at = _back(where, frame, where.at[None])[0]
    u, v = (_back_direction(where, frame, way * s) for way, s in ((one, size[0]), (other, size[1])))
    # whole multiples of two edges that are written to 0.1 mm lie on one plane to the last digit
    u, v = np.round(u / 4.0, 1), np.round(v / 4.0, 1)
    shape = _RINGS[int(rng.integers(len(_RINGS)))]
    start = np.round(at - u * rng.uniform(0.0, 4.0) - v * rng.uniform(0.0, 4.0), 1)
    return {"kind": "plate", "corners": [point(start + i * u + j * v) for i, j in shape]}


_RINGS = (
    ((0, 0), (4, 0), (0, 4)),
    ((0, 0), (4, 0), (4, 4), (0, 4)),
    ((0, 0), (4, 0), (3, 3), (0, 2)),
    ((0, 0), (4, 0), (1, 1), (0, 4)),
    ((1, 1), (0, 4), (0, 0), (4, 0)),
)
"""Triangles, parallelograms, a skew sheet, and two dented ones."""


def _wall(rng: Rng, where: Spot, frame: str) -> Tables:
    at = _back(where, frame, where.at[None])[0]
    out = _back_direction(where, frame, where.out)
    table: Tables = {"kind": "wall", "inboard" if at[1] < 0 else "outboard": mm(abs(at[1]), rng)}
    for key, axis, sign in (("ahead", 0, 1.0), ("behind", 0, -1.0), ("above", 2, 1.0), ("below", 2, -1.0)):
        # an edge of the sheet meets the tread; across, the edges are anywhere
        if sign * out[axis] < -0.5:
            table[key] = mm(sign * at[axis])
        elif rng.random() < 0.4:
            table[key] = mm(sign * at[axis] + rng.uniform(30.0, 350.0))
    return table


def _box(rng: Rng, where: Spot, frame: str) -> Tables:
    half = rng.uniform(12.0, 110.0, 3)
    at, out = _back(where, frame, where.at[None])[0], _back_direction(where, frame, where.out)
    turn = np.eye(3)
    table: Tables = {"kind": "box"}
    if rng.random() < 0.5:
        axis, angle = int(rng.integers(3)), float(np.round(rng.uniform(-60.0, 60.0), 1))
        one, other = (axis + 1) % 3, (axis + 2) % 3
        turn[one, one] = turn[other, other] = np.cos(np.radians(angle))
        turn[other, one] = np.sin(np.radians(angle))
        turn[one, other] = -turn[other, one]
        table["turn"] = {"about": ("ahead", "outboard", "above")[axis], "angle": deg(angle)}
    # the corner that reaches furthest back towards the tire is at the spot
    middle = at + turn @ (np.sign(turn.T @ out) * half)
    through = middle
    if "turn" in table and rng.random() < 0.4:
        through = np.round(middle + rng.uniform(-150.0, 150.0, 3), 1)
        middle = through + turn.T @ (middle - through)
        table["turn"]["through"] = point(through)
    return {**table, "min": point(middle - half), "max": point(middle + half)}


def _bar(rng: Rng, where: Spot, frame: str) -> Tables:
    chain, thick = _chain(rng, where)
    return {"kind": "bar", "points": [point(p) for p in _back(where, frame, chain)], "diameter": mm(thick)}


def _chain(rng: Rng, where: Spot) -> tuple[Array, float]:
    """The middle line of a tube that passes the spot, and how thick it is."""
    thick = float(np.round(rng.uniform(8.0, 75.0), 1))
    along, _ = _across(rng, where.out)
    along = along + 0.25 * rng.normal() * where.out
    near = where.at + 0.5 * thick * where.out
    ends = [near - along * rng.uniform(40.0, 380.0), near + along * rng.uniform(40.0, 380.0)]
    choice = rng.random()
    if choice < 0.5:
        return np.array(ends), thick
    away = [where.out * rng.uniform(0.0, 90.0) for _ in range(2)]
    middles = [near] if choice < 0.8 else [near - 18.0 * along, near + 18.0 * along]
    return np.array([ends[0] + away[0], *middles, ends[1] + away[1]]), thick


def _bar_between(rng: Rng, where: Spot, frames: tuple[str, str]) -> Tables:
    chain, thick = _chain(rng, where)
    way = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(chain, axis=0), axis=1))])
    share = (way / way[-1])[:, None]
    near, far = (_back(where, frame, chain) for frame in frames)
    points = (1.0 - share) * near + share * far
    return {
        "kind": "bar",
        "points": [point(p) for p in points],
        "diameter": mm(thick),
        "ends_ride_on": list(frames),
    }


def _lip(rng: Rng, where: Spot, frame: str) -> Tables:
    tire = where.tire
    at = _back(where, frame, where.at[None])[0]
    table: Tables = {"kind": "lip", "outboard": mm(at[1] + rng.uniform(0.0, 25.0))}
    centre = rng.uniform([-30.0, -20.0], [30.0, 60.0])
    radius = max(np.hypot(at[0] - centre[0], at[2] - centre[1]), 0.75 * tire.radius)
    if rng.random() < 0.7:
        table |= {"radius": mm(radius), "centre": [mm(v) for v in centre]}
        if rng.random() < 0.7:
            table |= {"from": deg(rng.uniform(-95.0, -20.0)), "to": deg(rng.uniform(20.0, 95.0))}
    else:
        around = np.linspace(-1.4, 1.4, int(rng.integers(4, 9)))
        size = radius * rng.uniform(1.0, 1.06, len(around))
        outline = centre + np.stack([size * np.sin(around), size * np.cos(around)], axis=1)
        outline = outline if rng.random() < 0.5 else outline[::-1]
        table |= {"outline": [[mm(v) for v in p] for p in outline], "centre": [mm(v) for v in centre]}
    if rng.random() < 0.8:
        table |= {"return_depth": mm(rng.uniform(4.0, 30.0)), "return_angle": deg(rng.uniform(-40.0, 90.0))}
    if rng.random() < 0.4:
        table["trim_thickness"] = mm(rng.uniform(1.0, 6.0))
    return table


def _tub(rng: Rng, where: Spot, frame: str) -> Tables:
    tire = where.tire
    at = _back(where, frame, where.at[None])[0]
    reach = np.hypot(at[0], at[2])
    table: Tables = {
        "kind": "tub",
        "inner": mm(max(tire.half_width + tire.offset, 20.0) + rng.uniform(-5.0, 90.0)),
        "outer": mm(rng.uniform(-60.0, 120.0)),
    }
    if rng.random() < 0.3:
        # a body side that closes the well from some height up, outboard of the tire
        table["outer_panel"] = mm(rng.uniform(0.5, 0.8) * tire.radius)
        table["outer"] = mm(tire.half_width - tire.offset + rng.uniform(5.0, 90.0))
    rolled = rng.random() < 0.5
    front, rear = (tire.radius + rng.uniform(-10.0, 140.0) for _ in range(2))
    if rolled:
        centre = np.round(rng.uniform([-25.0, -10.0], [25.0, 70.0]), 1)
        radius = max(reach, tire.radius) + rng.uniform(0.0, 90.0)
        table["crown"] = {"radius": mm(radius), "centre": [mm(v) for v in centre]}
        front, rear = (min(bound, 0.9 * radius) for bound in (front, rear))
    else:
        table["crown"] = mm(max(at[2], tire.radius) + rng.uniform(-5.0, 90.0))
    for key, bound in (("front", front), ("rear", rear)):
        if rng.random() < 0.5:
            table[key] = mm(bound)
    if rng.random() < 0.5:
        table["bottom"] = mm(rng.uniform(0.0, 250.0))
    if rng.random() < 0.4:
        low = rng.uniform(-60.0, 0.6 * tire.radius)
        inner = max(length_mm(table["inner"]) - rng.uniform(-20.0, 40.0), 5.0)
        table["taper"] = {"low": mm(low), "high": mm(low + rng.uniform(30.0, 160.0)), "inner": mm(inner)}
    return table


# ---- one part


Maker = Callable[[Rng, Spot, str], Tables]

_ON_BODY: tuple[tuple[Maker, float], ...] = (
    (_plate, 0.2), (_wall, 0.14), (_box, 0.2), (_bar, 0.18), (_lip, 0.17), (_tub, 0.11),
)  # fmt: skip
_RIDING: tuple[tuple[Maker, float], ...] = ((_plate, 0.22), (_wall, 0.08), (_box, 0.34), (_bar, 0.3), (_lip, 0.06))
"""The kinds of part, and how often each comes."""
_MESH, _BETWEEN = 0.14, 0.14
"""How often it is a mesh, and how often a bar between two frames."""
_SPOTS, _DRAWN_AGAIN, _NEAR_ENOUGH_MM = 4, 3, 25.0
_NEARER_MM, _FURTHER_MM = 4.0, 20.0
"""How much nearer than was meant, and how much further, will do."""


@dataclass(frozen=True, slots=True, eq=False)
class Sketch:
    """What is to be drawn, and where."""

    where: Spot
    frame: str
    frames: tuple[str, str] | None
    """Of a bar between two frames, both."""
    maker: Maker | None
    """None for a mesh."""
    number: int
    hand: float

    def drawn(self, rng: Rng) -> tuple[Tables, dict[str, str]]:
        """The [[part]], and the file that it names, where it is a mesh."""
        files: dict[str, str] = {}
        if self.frames is not None:
            table = _bar_between(rng, self.where, self.frames)
        elif self.maker is not None:
            table = _riding(self.frame, self.maker(rng, self.where, self.frame))
        else:
            at = _back(self.where, self.frame, self.where.at[None])[0]
            out = _back_direction(self.where, self.frame, self.where.out)
            table, files = mesh(rng, at, out, self.number, self.hand)
            table = _riding(self.frame, table)
        return {"name": f"{table['kind']} {self.number}", **table}, files


def _sketch(rng: Rng, car: Car, tire: Tire, number: int) -> Sketch:
    where, frame = spot(rng, car, tire), _frame(rng, car)
    choice, kind = rng.random(), rng.random()
    one, other = (str(name) for name in rng.permutation(np.array(car.motion.frames))[:2])
    return Sketch(
        where=where,
        frame=frame,
        frames=(one, other) if choice < _BETWEEN else None,
        maker=None if choice < _BETWEEN + _MESH else _chosen(_ON_BODY if frame == BODY else _RIDING, kind),
        number=number,
        hand=car.hand,
    )


def _chosen(makers: tuple[tuple[Maker, float], ...], choice: float) -> Maker:
    weights = np.cumsum([weight for _, weight in makers])
    return makers[int(np.searchsorted(weights, choice * weights[-1]))][0]


def part(rng: Rng, car: Car, tire: Tire, number: int) -> tuple[Tables, dict[str, str]]:
    """One [[part]], and the file that it names, where it is a mesh.

    It is drawn about its spot and looked at over the whole travel. Where that brings it much nearer to the tire than
    was meant, or leaves it much further away, it is drawn again so much further out; and where that does not help,
    about another spot.
    """
    corner, tries = Corner(car, rough_outline(tire)), []
    for _ in range(_SPOTS):
        sketch, seed = _sketch(rng, car, tire, number), int(rng.integers(1 << 30))
        for _ in range(_DRAWN_AGAIN):
            table, files = sketch.drawn(np.random.default_rng(seed))
            off = sketch.where.gap - _roughly(corner, table, files, np.random.default_rng(seed))
            tries.append((abs(off), len(tries), table, files))
            if -_FURTHER_MM < off < _NEARER_MM:
                break
            sketch = replace(sketch, where=replace(sketch.where, at=sketch.where.at + off * sketch.where.out))
        if min(tries)[0] < _NEAR_ENOUGH_MM:
            break
    _, _, table, files = min(tries)
    if rng.random() < 0.6:
        table["required"] = mm(rng.uniform(0.0, 30.0))
    return table, files


def _roughly(corner: Corner, table: Tables, files: dict[str, str], rng: Rng) -> float:
    """About the least gap of a [[part]] to the tire as it was drawn, over the travel."""
    alone = replace(corner.car, tables={**corner.car.tables, "part": [table]})
    return min(rough_least(corner, one, rng) for one in parts_of(alone, files))
