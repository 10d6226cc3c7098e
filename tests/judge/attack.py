"""Looking for the place where a part comes nearest to the tire: sampling all over, then downhill from the best.

Samples: settings with their ends and corners often, and the edges of the articulation; for every part points all over,
edges and corners often; every corner of the play, none of it, and some in between. All of each with all of the others.
The 50 best are then followed downhill, on exact gaps, by the slopes and what their change says of the curvature
(Broyden, Fletcher, Goldfarb and Shanno, 1970; Nocedal and Wright, *Numerical Optimization*, chapter 6), kept within
every range. The best of them go on.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from .cars import Car
from .moving import Array, Moving
from .places import NUMBERS, Corner, Places, from_numbers, joined
from .shapes import Part
from .stances import Stance

SETTINGS = 150
POINTS = 160
STARTS = 50
_ROUNDS = ((8, 12), (8, 4), (10, 4))
"""Rounds downhill, and how many places of a part go on after them."""
_TRIED = 5
"""So many times more points are tried, at a few settings, than are taken with all."""
_FIRST_MM = 10.0
"""How far the first step goes where the slope is one."""
_MOST_MM = 150.0


@dataclass(frozen=True, slots=True, eq=False)
class Nearest:
    """The least gap that was found of a part, and where."""

    gap_mm: float
    setting: Array
    push: Array
    point: Array
    """Of the part, as the corner file gives it: at ride height."""
    at: Array
    """The same point where it was found."""
    unaided_mm: float
    """The least gap that was found without the hint."""
    samples: int


def settings_of(car: Car, rng: np.random.Generator, count: int) -> Array:
    """(n, 3): settings all over a corner's travel; the first are the middle and the corners of it."""
    box = car.motion.box
    drawn = rng.uniform(box[:, 0], box[:, 1], (count, 3))
    choice = rng.random(drawn.shape)
    drawn = np.where(choice < 0.25, box[:, 0], np.where(choice > 0.75, box[:, 1], drawn))
    corners = np.array(np.meshgrid(*box, indexing="ij")).reshape(3, -1).T
    drawn[: len(corners) + 1] = np.concatenate([np.zeros((1, 3)), corners])
    if car.articulation is not None:
        # as often as not the limit itself is what decides
        edge = rng.random(count) < 0.4
        side = rng.choice([-1.0, 1.0], size=count)
        drawn[:, 1] = np.where(edge, drawn[:, 0] + side * car.articulation, drawn[:, 1])
    return within(car, drawn)


def within(car: Car, settings: Array) -> Array:
    """Settings (n, 3) brought within every range, and within the articulation."""
    box = car.motion.box
    found = np.clip(settings, box[:, 0], box[:, 1])
    if car.articulation is None:
        return found
    for _ in range(4):
        apart = found[:, 0] - found[:, 1]
        excess = 0.5 * np.sign(apart) * np.maximum(np.abs(apart) - car.articulation, 0.0)
        found[:, 0] = np.clip(found[:, 0] - excess, *box[0])
        found[:, 1] = np.clip(found[:, 1] + excess, *box[1])
    # what is left is a rounding, or a limit that runs out through a corner: one of the two gives way altogether
    found[:, 1] = np.clip(found[:, 1], found[:, 0] - car.articulation, found[:, 0] + car.articulation)
    found[:, 1] = np.clip(found[:, 1], *box[1])
    found[:, 0] = np.clip(found[:, 0], found[:, 1] - car.articulation, found[:, 1] + car.articulation)
    return found


def pushes_of(car: Car, rng: np.random.Generator) -> Array:
    """(m, 2): none, the corners, and some in between."""
    (behind, ahead), (inboard, outboard) = car.push
    if not car.push.any():
        return np.zeros((1, 2))
    corners = [[x, y] for x in (behind, ahead) for y in (inboard, outboard)]
    return np.concatenate([np.zeros((1, 2)), corners, rng.uniform(car.push[:, 0], car.push[:, 1], (3, 2))])


def attack(corner: Corner, parts: list[Part], rng: np.random.Generator, hints: list[Places | None]) -> list[Nearest]:
    """The least gap found of every part. A hint is one more place to start from."""
    settings = settings_of(corner.car, rng, SETTINGS)
    stance = corner.car.motion.stand(settings)
    starts, samples, aided = [], [], []
    for part, hint in zip(parts, hints, strict=True):
        pushes = pushes_of(corner.car, rng)
        points = _likely(corner, part, rng)
        found = _best(corner, part, stance, settings, pushes, points)
        starts.append(found if hint is None else joined([found, hint]))
        aided += [False] * len(found.sheet) + [True] * (hint is not None)
        samples.append(len(settings) * len(pushes) * len(points[0]))
    ends = _downhill(corner, parts, starts, np.array(aided))
    return [
        _told(corner, part, place, unaided_mm=unaided, samples=count)
        for part, (place, unaided), count in zip(parts, ends, samples, strict=True)
    ]


def _likely(corner: Corner, part: Part, rng: np.random.Generator) -> tuple[np.ndarray, Array, Array]:
    """Points of a part: half of them anywhere, half those that come nearest in the corners of the travel."""
    sheet, u, v = part.surface.scattered(rng, _TRIED * POINTS)
    stance = corner.car.motion.stand(settings_of(corner.car, rng, 12))
    rough, _, _ = _seen(corner, part, stance, (sheet, u, v))
    nearest = np.argsort(rough.min(axis=0), kind="stable")[: POINTS // 2]
    chosen = np.concatenate([np.arange(min(POINTS // 2, len(sheet))), nearest])
    return sheet[chosen], u[chosen], v[chosen]


def _seen(
    corner: Corner, part: Part, stance: Stance, points: tuple[np.ndarray, Array, Array]
) -> tuple[Array, Array, Array]:
    """Of k points at n settings: about how far they are, where from the hub (n, k, 3), and how far along the axle."""
    sheet, u, v = points
    own = Moving(part.surface.points(sheet, u, v)[None], np.zeros((1, 1, 1, 0)))
    at = corner.carried(part, stance, own, part.surface.shares_of(sheet, u)[None]).value
    off = at - stance.hub.value[:, None]
    along = np.sum(off * stance.spin.value[:, None], axis=2)
    return corner.outline.roughly(along, _apart(np.sum(off * off, axis=2), along)), off, along


def _apart(square: Array, along: Array) -> Array:
    """From the axle's line, of places that far from the hub and that far along it."""
    return np.sqrt(np.maximum(square - along**2, 0.0))


def rough_least(corner: Corner, part: Part, rng: np.random.Generator) -> float:
    """About the least gap of a part, from a few hundred points at a few dozen settings, with no play."""
    stance = corner.car.motion.stand(settings_of(corner.car, rng, 40))
    rough, _, _ = _seen(corner, part, stance, part.surface.scattered(rng, 300))
    return float(rough.min()) - part.skin_mm


def _best(
    corner: Corner, part: Part, stance: Stance, settings: Array, pushes: Array, points: tuple[np.ndarray, Array, Array]
) -> Places:
    """The best of all settings with all pushes and all points, by the map."""
    sheet, u, v = points
    rough, off, y = _seen(corner, part, stance, points)
    stays = 1.0 - corner.taken(part, sheet, u)[0]
    spin, square = stance.spin.value[:, None], np.sum(off * off, axis=2)
    chosen = [_chosen(rough, 0)]
    for number, push in enumerate(pushes[1:], start=1):
        along = y - stays * (spin[..., :2] @ push)
        whole = square - 2.0 * stays * (off[..., :2] @ push) + stays**2 * float(push @ push)
        chosen.append(_chosen(corner.outline.roughly(along, _apart(whole, along)), number))
    rows = np.concatenate(chosen)
    rows = rows[np.argsort(rows[:, 0], kind="stable")[:STARTS]]
    n, k, m = rows[:, 1:].astype(int).T
    return Places(settings[n], pushes[m], sheet[k], u[k], v[k])


def _chosen(rough: Array, number: int) -> Array:
    """(.., 4): the least of every setting, and the least of all: value, setting, point, push."""
    least = np.argmin(rough, axis=1)
    some = np.argpartition(rough.ravel(), min(STARTS // 2, rough.size - 1))[: STARTS // 2]
    n = np.concatenate([np.arange(len(rough)), some // rough.shape[1]])
    k = np.concatenate([least, some % rough.shape[1]])
    return np.column_stack([rough[n, k], n, k, np.full(len(n), number)])


def _downhill(corner: Corner, parts: list[Part], starts: list[Places], aided: np.ndarray) -> list[tuple[Places, float]]:
    """From each part's starts down to where none goes lower: the lowest place of each part, and the lowest gap that
    needed no hint."""
    whose = np.repeat(np.arange(len(parts)), [len(s.sheet) for s in starts])
    every = joined(starts)
    numbers, sheet = every.as_numbers(), every.sheet
    worth = _worth(corner.car, parts, every, whose)
    low, high = _ranges(corner.car)

    def kept(numbers: Array) -> Array:
        found = np.clip(numbers, low, high)
        found[:, :3] = within(corner.car, found[:, :3])
        return found

    for rounds, most in _ROUNDS:
        numbers, value = _descended(
            numbers, worth, rounds, kept, lambda x, which=(whose, sheet): _measured(corner, parts, *which, x)
        )
        order = np.lexsort((value, whose))
        rank = np.arange(len(order)) - np.searchsorted(whose[order], whose[order])
        on = order[rank < most]
        numbers, worth, whose, sheet, value, aided = (n[on] for n in (numbers, worth, whose, sheet, value, aided))
    ends = []
    for i in range(len(parts)):
        rows = np.flatnonzero(whose == i)
        best = rows[[np.argmin(value[rows])]]
        own = float(np.min(value[rows], where=~aided[rows], initial=np.inf))
        ends.append((from_numbers(numbers[best], sheet[best]), own))
    return ends


def _worth(car: Car, parts: list[Part], places: Places, whose: np.ndarray) -> Array:
    """(n, 7): about how far in mm one of each number moves a place."""
    worth = np.ones((len(whose), NUMBERS))
    worth[:, :3] = car.motion.worth_mm
    for i, part in enumerate(parts):
        here = whose == i
        slopes = part.surface.slopes(places.sheet[here], places.u[here], places.v[here])
        worth[here, 5], worth[here, 6] = (np.maximum(np.linalg.norm(s, axis=1), 1.0) for s in slopes)
    return worth


def _ranges(car: Car) -> tuple[Array, Array]:
    unit = np.array([[0.0, 1.0], [0.0, 1.0]])
    box = np.concatenate([car.motion.box, car.push, unit])
    assert len(box) == NUMBERS
    return box[:, 0], box[:, 1]


def _measured(
    corner: Corner, parts: list[Part], whose: np.ndarray, sheet: np.ndarray, numbers: Array
) -> tuple[Array, Array]:
    """The gaps at places with these numbers (n, 7), and their slopes."""
    stance = corner.car.motion.stand(numbers[:, :3], rates=True)
    value, slope = np.empty(len(numbers)), np.empty(numbers.shape)
    for i in np.unique(whose):
        rows = np.flatnonzero(whose == i)
        found = corner.gaps(parts[i], from_numbers(numbers[rows], sheet[rows]), _only(stance, parts[i], rows))
        value[rows], slope[rows] = found.value, found.rate
    return value, slope


def _only(stance: Stance, part: Part, rows: Array) -> Stance:
    frames = {name: stance.frame(name).only(rows) for name in (part.near, part.far) if name is not None}
    return Stance(stance.hub.only(rows), stance.spin.only(rows), stance.knuckle.only(rows), placed=frames)


def _descended(
    start: Array,
    worth: Array,
    rounds: int,
    kept: Callable[[Array], Array],
    measured: Callable[[Array], tuple[Array, Array]],
) -> tuple[Array, Array]:
    """From places (n, 7) downhill: where they end, and the gaps there."""
    here = kept(start)
    value, slope = measured(here)
    bend = _FIRST_MM * np.tile(np.eye(NUMBERS), (len(here), 1, 1))
    part = np.ones(len(here))
    for _ in range(rounds):
        steep = slope / worth
        # what its range stops is left where it is
        free = np.abs(kept(here - 1e-6 * steep / worth) - here) > 0.0
        way = -np.einsum("nij,nj->ni", bend, np.where(free, steep, 0.0)) * free
        size = np.linalg.norm(way, axis=1)
        there = kept(here + (part * np.minimum(1.0, _MOST_MM / np.maximum(size, 1e-12)))[:, None] * way / worth)
        lower, steeper = measured(there)
        step, change = (there - here) * worth, np.where(free, (steeper - slope) / worth, 0.0)
        better = lower < value
        bend = np.where(better[:, None, None], _bent(bend, step, change), bend)
        part = np.where(better, 1.0, 0.2 * part)
        lost = part < 1e-4
        bend[lost], part[lost] = 0.1 * _FIRST_MM * np.eye(NUMBERS), 1.0
        here = np.where(better[:, None], there, here)
        slope = np.where(better[:, None], steeper, slope)
        value = np.where(better, lower, value)
    return here, value


def _bent(bend: Array, step: Array, change: Array) -> Array:
    """The inverse of the curvature (n, 7, 7) after a step and the change of slope that it met."""
    met = np.sum(step * change, axis=1)
    good = met > 1e-10
    rho = (1.0 / np.where(good, met, 1.0))[:, None, None]
    turn = np.eye(NUMBERS) - rho * step[:, :, None] * change[:, None, :]
    found = turn @ bend @ np.swapaxes(turn, 1, 2) + rho * step[:, :, None] * step[:, None, :]
    # a straight slope: further next time
    return np.where(good[:, None, None], found, 3.0 * bend)


def _told(corner: Corner, part: Part, place: Places, *, unaided_mm: float, samples: int) -> Nearest:
    stance = corner.car.motion.stand(place.settings)
    gap = corner.gaps(part, place, stance)
    at = corner.points(part, stance, place.sheet, place.u, place.v)
    return Nearest(
        gap_mm=float(gap.value[0]),
        setting=place.settings[0],
        push=place.push[0],
        point=part.surface.points(place.sheet, place.u, place.v)[0],
        at=at.value[0],
        unaided_mm=unaided_mm,
        samples=samples,
    )
