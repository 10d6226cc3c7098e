"""What cuts corners off the box of settings: two numbers that may only differ by so much, as articulation has it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from clearance.geom.profile import Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """Two numbers of a setting that may not differ by more than `most`."""

    one: int
    other: int
    most: float

    def allows(self, settings: Array) -> np.ndarray:
        """Which settings (n, k) keep to it."""
        allowed: np.ndarray = np.abs(settings[:, self.one] - settings[:, self.other]) <= self.most + 1e-9
        return allowed


def kept_within(settings: Array, box: Array, limits: Iterable[Limit]) -> Array:
    """Settings (n, k) brought back within what limits and the box (k, 2) allow."""
    settings = np.clip(settings, box[:, 0], box[:, 1])
    for limit in limits:
        one, other = settings[:, limit.one], settings[:, limit.other]
        settings[:, limit.other] = np.clip(other, one - limit.most, one + limit.most)
        low, high = box[limit.other]
        settings[:, limit.other] = np.clip(settings[:, limit.other], low, high)
        other = settings[:, limit.other]
        settings[:, limit.one] = np.clip(one, other - limit.most, other + limit.most)
    return settings


def least_linear(slope: Array, half: Array, middle: Array, limits: Iterable[Limit]) -> tuple[Array, Array]:
    """The least of a linear function over boxes of settings as limits cut them, and where it is.

    `slope` is (k, n) or (k, m, n): for each of n boxes one or m functions. `middle` and `half` are (k, n). Gives the
    least (n,) or (m, n), from the middle's value, and the way there from the middle (k, n) or (k, m, n).
    """
    if slope.ndim == 3:
        half, middle = half[:, None], middle[:, None]
    ends = -np.sign(slope) * half
    for limit in limits:
        i, j = limit.one, limit.other
        apart = middle[i] - middle[j]
        for side in (1.0, -1.0):
            room = side * (limit.most - side * apart)
            over = side * (ends[i] - ends[j] - room) > 0
            if not over.any():
                continue
            # the corner is cut off: one of the two numbers gives way, and where its range ends before, the other too
            one = np.clip(ends[j] + room, -half[i], half[i])
            other = np.clip(ends[i] - room, -half[j], half[j])
            one_gives = slope[i] * one + slope[j] * (one - room)
            other_gives = slope[i] * (other + room) + slope[j] * other
            first = one_gives <= other_gives
            ends[i] = np.where(over, np.where(first, one, other + room), ends[i])
            ends[j] = np.where(over, np.where(first, one - room, other), ends[j])
    return (slope * ends).sum(axis=0), ends
