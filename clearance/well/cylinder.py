"""A round body with flat ends: a tank, an air bag, a damper's body, a muffler.

Lengths are millimetres, in corner axes at ride height. Its round side is drawn through chords that lie inside it; how
far inside is said with the part, and taken off the lower end of every gap to it.
"""

from __future__ import annotations

import math

import numpy as np

from clearance.errors import PartError
from clearance.pose import Array
from clearance.well.part import Part
from clearance.well.parts import Point3, Tag, tagged

CHORD_MM = 0.002
"""How far a chord may lie inside the round side."""
_FEWEST = 24
"""Chords of the smallest."""
_LEAST_LONG_MM = 1e-3


def cylinder(tag: Tag, *, ends_mm: tuple[Point3, Point3], diameter_mm: float) -> Part:
    """A cylinder between the middles of its two flat ends.

    Raises PartError where the ends are one place, or the diameter is not more than zero.
    """
    near, far = (np.array(end, dtype=float) for end in ends_mm)
    long = float(np.linalg.norm(far - near))
    if not long > _LEAST_LONG_MM:
        raise PartError("both ends of the cylinder are the same point: measure them again.", key="ends")
    if not diameter_mm > 0:
        raise PartError(f"the diameter of a cylinder must be more than zero; found {diameter_mm:g} mm.", key="diameter")
    radius = diameter_mm / 2
    count = max(_FEWEST, math.ceil(math.pi / math.acos(1.0 - min(CHORD_MM / radius, 1.0))))
    rings = [end + radius * _circle((far - near) / long, count) for end in (near, far)]
    drawn = radius * (1.0 - math.cos(math.pi / count))
    return tagged(tag, "cylinder", _closed(near, far, *rings), drawn_mm=drawn)


def _circle(along: Array, count: int) -> Array:
    """Unit vectors (n, 3) all round an axis, counter-clockwise as seen from where it points."""
    aside = np.cross(along, np.eye(3)[int(np.argmin(np.abs(along)))])
    aside /= np.linalg.norm(aside)
    turn = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)[:, None]
    circle: Array = np.cos(turn) * aside + np.sin(turn) * np.cross(along, aside)
    return circle


def _closed(near: Array, far: Array, ring: Array, other: Array) -> Array:
    """Two caps and the round side between two rings (n, 3), outward; (4 n, 3, 3)."""
    after, other_after = np.roll(ring, -1, axis=0), np.roll(other, -1, axis=0)
    middle, other_middle = np.broadcast_to(near, ring.shape), np.broadcast_to(far, ring.shape)
    triangles = [
        (middle, after, ring),
        (other_middle, other, other_after),
        (ring, after, other_after),
        (ring, other_after, other),
    ]
    return np.concatenate([np.stack(corners, axis=1) for corners in triangles])
