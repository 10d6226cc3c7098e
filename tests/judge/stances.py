"""The whole corner at some settings: where the hub, the axle, the knuckle and the links stand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from .moving import Array, Moving
from .placing import STILL, Placing

BODY, AXLE, KNUCKLE = "body", "axle", "knuckle"
PUSHED = (AXLE, KNUCKLE)
"""What play takes along with the hub."""


@dataclass(slots=True, eq=False)
class Stance:
    """A corner at n settings. Links are placed only when something rides on them."""

    hub: Moving
    """(n, 3): the centre of the mounting face."""
    spin: Moving
    """(n, 3): the axle's unit direction, outboard."""
    knuckle: Placing
    placers: dict[str, Callable[[], Placing]] = field(default_factory=dict)
    """How each other thing is placed."""
    placed: dict[str, Placing] = field(default_factory=dict)

    def frame(self, name: str) -> Placing:
        """Where the thing of that name stands."""
        if name == BODY:
            return STILL
        if name == KNUCKLE:
            return self.knuckle
        if name not in self.placed:
            self.placed[name] = self.placers[name]()
        return self.placed[name]


def standing(knuckle: Placing, spin: Array, placers: dict[str, Callable[[], Placing]]) -> Stance:
    """The stance of a corner whose hub has this axle at ride height."""
    return Stance(hub=knuckle.at, spin=knuckle.carry_direction(spin), knuckle=knuckle, placers=placers)


@dataclass(frozen=True, slots=True, eq=False)
class Travel:
    """How far a corner goes, as the corner file says it."""

    bump: tuple[float, float]
    other: tuple[float, float]
    """The other wheel's bump; zero where it has no say."""
    locks: tuple[float, float] | None
    """In and out lock angles, degrees, both as sizes; None where rack travel is given or the wheel does not steer."""
    rack: tuple[float, float] | None
    """Rack travel to the in and the out lock, as sizes."""

    @property
    def steers(self) -> bool:
        """Does the wheel steer?"""
        return self.locks is not None or self.rack is not None


class Motion(Protocol):
    """How a corner moves. A setting is a height, the other wheel's height, and what steers."""

    frames: tuple[str, ...]
    box: Array
    """(3, 2): least and greatest of each number of a setting."""
    worth_mm: tuple[float, float, float]
    """About how far the tire moves by one of each."""

    def stand(self, settings: Array, *, rates: bool = False) -> Stance:
        """The corner at settings (n, 3), with its rates of change with them where asked."""

    def labels(self, settings: Array) -> Array:
        """(n, 3): bump, the other wheel's bump, and degrees out, as the program names these settings."""

    def settings(self, labels: Array) -> Array:
        """(n, 3): the settings of such labels."""


def ordered(one: float, other: float) -> Array:
    """The ends of a range."""
    return np.array([min(one, other), max(one, other)])
