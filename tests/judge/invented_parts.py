"""Parts that never were, each put where it nearly meets the tire, meets it, or is inside it.

* spot - a place on the tire or wheel at some setting of the corner and some push, the way out from there, and how far
         out the part shall come; the tire is drawn roughly here, as a tread, two sidewalls and a barrel

A part is made about a spot on the car, as it stands there, and then taken back to ride height with whatever it rides on.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from .attack import rough_least, settings_of, within
from .cars import Car
from .invented_scans import mesh
from .moving import Array, Moving
from .outline import Outline
from .places import Corner
from .shapes import parts_of
from .stances import AXLE, BODY, KNUCKLE, Stance
from .tape import length_mm
from .writing import Tables, deg, mm, point

Rng = np.random.Generator


@dataclass(frozen=True, slots=True, eq=False)
class Tire:
    """About how large the tire is."""

    radius: float
    half_width: float
    rim_radius: float
    offset: float
    backspace: float


@dataclass(frozen=True, slots=True, eq=False)
class Spot:
    """Where a part shall nearly be, on the car."""

    stance: Stance
    at: Array
    """Where the part's skin comes nearest."""
    out: Array
    """The way out of the tire."""
    tire: Tire
    gap: float


def rough_tire(tables: Tables) -> Tire:
    """The tire and wheel of a corner file, roughly."""
    tire, wheel = tables["tire"], tables["wheel"]
    rim = 0.5 * length_mm(wheel["diameter"])
    if "size" in tire:
        section = float(tire["size"].split("/")[0])
        radius = rim + section * float(tire["size"].split("/")[1].split("R")[0]) / 100.0
    else:
        section, radius = length_mm(tire["section_width"]), 0.5 * length_mm(tire["overall_diameter"])
    half_rim = 0.5 * length_mm(wheel["width"]) + 12.7
    if "offset" in wheel:
        offset = length_mm(wheel["offset"])
    else:
        offset = length_mm(wheel["backspace"]) - half_rim
    return Tire(radius, 0.5 * section, rim, offset, half_rim + offset)


def spot(rng: Rng, car: Car, tire: Tire) -> Spot:
    """Somewhere on the tire, somewhere in the cycle, the ends of it often."""
    setting = settings_of(car, rng, 40)[int(rng.integers(40))]
    stance = car.motion.stand(within(car, setting[None]))
    place, way = _on_tire(rng, tire)
    around = rng.uniform(-np.pi, np.pi) if rng.random() < 0.4 else rng.uniform(-2.0, 2.0)
    ahead = np.array([1.0, 0.0, 0.0])
    spin = stance.spin.value[0]
    ahead = ahead - spin * (spin @ ahead)
    ahead = ahead / np.linalg.norm(ahead)
    radial = np.sin(around) * ahead + np.cos(around) * np.cross(ahead, spin)
    push = np.array([*rng.uniform(car.push[:, 0], car.push[:, 1]), 0.0])
    out = way[0] * spin + way[1] * radial
    gap = _gap(rng)
    hub = np.broadcast_to(stance.hub.value, (1, 3))[0] + push
    return Spot(stance, hub + place[0] * spin + place[1] * radial + gap * out, out, tire, gap)


def _on_tire(rng: Rng, tire: Tire) -> tuple[tuple[float, float], tuple[float, float]]:
    """A place on the section, along the axle and away from it, and the way out there."""
    choice, middle = rng.random(), -tire.offset
    side = float(rng.choice([-1.0, 1.0]))
    height = tire.radius - tire.rim_radius
    if choice < 0.3:
        return (middle + rng.uniform(-0.7, 0.7) * tire.half_width, tire.radius), (0.0, 1.0)
    if choice < 0.6:
        return (middle + side * tire.half_width, tire.radius - rng.uniform(0.3, 0.7) * height), (side, 0.0)
    if choice < 0.8:
        return (middle + 0.87 * side * tire.half_width, tire.radius - 0.07 * height), (0.6 * side, 0.8)
    if choice < 0.9:
        deep = rng.uniform(0.15, 0.85) * tire.backspace
        return (-deep, tire.rim_radius - 22.0), (0.0, -1.0)
    lip = 0.5 * (tire.backspace + tire.offset) if tire.backspace > 0 else 0.0
    return (middle + side * (lip + 2.0), rng.uniform(0.5, 0.95) * tire.rim_radius), (side, 0.0)


def _gap(rng: Rng) -> float:
    choice = rng.random()
    if choice < 0.68:
        return float(rng.uniform(0.5, 32.0))
    if choice < 0.84:
        return float(rng.uniform(-9.0, 2.0))
    if choice < 0.97:
        return float(rng.uniform(32.0, 110.0))
    return float(rng.uniform(-40.0, -9.0))


# ---- what it rides on


def _frame(rng: Rng, car: Car) -> str:
    links = [name for name in car.motion.frames if name not in (BODY, AXLE, KNUCKLE)]
    choice = rng.random()
    if choice < 0.55 or (choice > 0.8 and not links):
        return BODY
    if choice < 0.68:
        return KNUCKLE
    if choice < 0.8:
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


Maker = Callable[[Rng, Spot, str], Tables]

_ON_BODY: tuple[tuple[Maker, float], ...] = (
    (_plate, 0.2), (_wall, 0.14), (_box, 0.22), (_bar, 0.2), (_lip, 0.17), (_tub, 0.07),
)  # fmt: skip
_RIDING: tuple[tuple[Maker, float], ...] = ((_plate, 0.22), (_wall, 0.08), (_box, 0.34), (_bar, 0.3), (_lip, 0.06))
_MESH = 0.14
_BETWEEN = 0.14


def part(rng: Rng, car: Car, tire: Tire, number: int) -> tuple[Tables, dict[str, str]]:
    """One [[part]], and the file that it names, where it is a mesh.

    It is drawn about its spot, and looked at over the whole travel; where that brings it much nearer to the tire than
    was meant, or leaves it much further away, it is drawn again from a spot so much further out.
    """
    corner, drawn = Corner(car, _drawn(tire)), []
    for _ in range(_SPOTS):
        where, frame, draw = spot(rng, car, tire), _frame(rng, car), _drawing(rng, car)
        seed = int(rng.integers(1 << 30))
        for _ in range(_DRAWN_AGAIN):
            table, files = draw(np.random.default_rng(seed), where, frame, number)
            least = min(
                rough_least(corner, one, np.random.default_rng(seed))
                for one in parts_of(replace(car, tables={**car.tables, "part": [table]}), files)
            )
            off = where.gap - least
            drawn.append((abs(off), len(drawn), table, files))
            if -20.0 < off < 4.0:
                break
            where = replace(where, at=where.at + off * where.out)
        if min(drawn)[0] < _NEAR_ENOUGH_MM:
            break
    _, _, table, files = min(drawn)
    table = {"name": f"{table['kind']} {number}", **{key: value for key, value in table.items() if key != "name"}}
    if rng.random() < 0.6:
        table["required"] = mm(rng.uniform(0.0, 30.0))
    return table, files


_SPOTS, _DRAWN_AGAIN, _NEAR_ENOUGH_MM = 4, 3, 25.0
Drawing = Callable[[Rng, Spot, str, int], tuple[Tables, dict[str, str]]]


def _drawing(rng: Rng, car: Car) -> Drawing:
    """What is to be drawn: a bar between two frames, a mesh, or one of the other kinds."""
    if rng.random() < _BETWEEN:
        frames = [str(name) for name in rng.permutation(np.array(car.motion.frames))[:2]]
        return lambda rng, where, frame, number: (
            {"name": f"part {number}", **_bar_between(rng, where, (frames[0], frames[1]))}, {},
        )  # fmt: skip
    if rng.random() < _MESH:
        return lambda rng, where, frame, number: _mesh(rng, where, frame, number, car.hand)
    choice = rng.random()
    return lambda rng, where, frame, number: (
        {"name": f"part {number}", **_riding(frame, _chosen(_ON_BODY if frame == BODY else _RIDING, choice)(rng, where, frame))}, {},
    )  # fmt: skip


def _chosen(makers: tuple[tuple[Maker, float], ...], choice: float) -> Maker:
    weights = np.cumsum([weight for _, weight in makers])
    return makers[int(np.searchsorted(weights, choice * weights[-1]))][0]


def _mesh(rng: Rng, where: Spot, frame: str, number: int, hand: float) -> tuple[Tables, dict[str, str]]:
    at, out = _back(where, frame, where.at[None])[0], _back_direction(where, frame, where.out)
    table, files = mesh(rng, at, out, number, hand)
    return _riding(frame, {"name": f"part {number}", **table}), files


@dataclass(frozen=True, slots=True)
class _Side:
    start: tuple[float, float]
    end: tuple[float, float]


def _drawn(tire: Tire) -> Outline:
    """The section, roughly: a block of rubber with its shoulders off, on a hollow barrel with a closed face."""
    low, high = -tire.offset - tire.half_width, -tire.offset + tire.half_width
    rim, shoulder = tire.rim_radius - 22.0, 0.08 * tire.radius
    face = max(2.0 * tire.half_width - tire.backspace - tire.half_width, 10.0)
    ring = [
        (0.0, 0.0), (face, 0.0), (face, rim), (high, rim), (high, tire.radius - shoulder),
        (high - shoulder, tire.radius), (low + shoulder, tire.radius), (low, tire.radius - shoulder), (low, rim),
        (0.0, rim),
    ]  # fmt: skip
    return Outline(_Side(a, b) for a, b in zip(ring, ring[1:] + ring[:1], strict=True))
