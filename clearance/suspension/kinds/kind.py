"""A kind of suspension: what is asked of a user, and what is made of the answers."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from clearance.errors import SuspensionError
from clearance.suspension.kinds.key import Key
from clearance.suspension.position import Cycle, Suspension
from clearance.suspension.steering import Kingpin


@dataclass(frozen=True, slots=True, kw_only=True)
class Steer:
    """What [steering] says, in millimetres and degrees."""

    kingpin: Kingpin | None = None
    rack_mm: tuple[float, float] | None = None
    """The rack's travel to the left and to the right lock, as sizes."""
    title: str = "this corner"


Builder = Callable[[Mapping[str, Any], Cycle, Steer], Suspension]
"""Makes a suspension of the values of its keys (mm, deg, points (3,), rows (n, columns)), its travel and steering."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of suspension."""

    name: str
    help: str
    keys: tuple[Key, ...]
    build: Builder
    live_axle: bool = False
    """True where the other wheel's travel moves this one: other_bump and other_droop are part of the cycle."""
    rack: bool = False
    """True where [steering] may give rack travel in place of lock angles."""
    moves: bool = True
    """False where nothing of the travel was measured, so that bump and droop have no place."""
    own_axis: bool = False
    """True where the hardpoints give the steering axis, so that [steering] needs none."""

    def key(self, name: str) -> Key:
        """The key of this name. Raises SuspensionError, suggesting the nearest, where there is none."""
        for key in self.keys:
            if key.name == name:
                return key
        known = [key.name for key in self.keys]
        near = difflib.get_close_matches(name, known, n=1)
        hint = f'Did you mean "{near[0]}"?' if near else f"It takes {', '.join(known)}."
        raise SuspensionError(f'suspension "{self.name}" has no key "{name}". {hint}')
