"""Places near which a part is to be put: where it nearly meets the tire, meets it, or is inside it.

The tire is drawn roughly here, as a block of rubber on a hollow barrel; what its outline really is, is the program's to
say, and nobody has asked it yet.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .attack import settings_of, within
from .cars import Car
from .moving import Array
from .outline import Outline
from .stances import Stance
from .tape import length_mm
from .writing import Tables

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
    offset = length_mm(wheel["offset"]) if "offset" in wheel else length_mm(wheel["backspace"]) - half_rim
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


@dataclass(frozen=True, slots=True)
class _Side:
    start: tuple[float, float]
    end: tuple[float, float]


def rough_outline(tire: Tire) -> Outline:
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
