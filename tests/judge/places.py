"""A place: a setting of the corner, a push that takes up play, and a point of a part; and the gap there.

Play pushes the hub, and with it all that rides on the axle or the knuckle, without turning it. What rides on the body
stays. What rides on a link goes some part of the way, from none of it to all; as no push is one of the pushes, the gap
is least of all where the link takes none. A point of a bar between two frames goes with each by its share.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .cars import Car
from .moving import Array, Moving, fixed
from .outline import Outline
from .shapes import Part
from .stances import PUSHED, Stance

NUMBERS = 7
"""Of a place: three of its setting, two of its push, two of its sheet."""


@dataclass(slots=True, eq=False)
class Places:
    """n places on one part."""

    settings: Array
    push: Array
    sheet: np.ndarray
    u: Array
    v: Array

    def only(self, which: Array) -> Places:
        """Some of them."""
        return Places(self.settings[which], self.push[which], self.sheet[which], self.u[which], self.v[which])

    def as_numbers(self) -> Array:
        """(n, 7)."""
        return np.column_stack([self.settings, self.push, self.u, self.v])


def from_numbers(numbers: Array, sheet: np.ndarray) -> Places:
    """The places with these numbers (n, 7)."""
    return Places(numbers[:, :3], numbers[:, 3:5], sheet, numbers[:, 5], numbers[:, 6])


def joined(some: list[Places]) -> Places:
    """All of some places."""
    return Places(*(np.concatenate([getattr(one, name) for one in some]) for name in Places.__slots__))


@dataclass(frozen=True, slots=True, eq=False)
class Corner:
    """A car's corner with its tire, where gaps can be measured."""

    car: Car
    outline: Outline

    def points(self, part: Part, stance: Stance, sheet: np.ndarray, u: Array, v: Array) -> Moving:
        """(n, 3): where points of a part are at a stance of n settings, no play taken up."""
        own = Moving(part.surface.points(sheet, u, v)[:, None], np.zeros((1, 1, 1, 1)))
        return self.carried(part, stance, own, part.surface.shares_of(sheet, u)[:, None]).point(0)

    def carried(self, part: Part, stance: Stance, own: Moving, share: Array) -> Moving:
        """Points (n, k, 3) of a part as at ride height, with their shares (n, k), to where they are."""
        near = stance.frame(part.near)
        return near.carry(own if part.far is None else own + _stretch(part, stance).of_each().times(share[..., None]))

    def taken(self, part: Part, sheet: np.ndarray, u: Array) -> tuple[Array, Array]:
        """(n,) twice: how much of the push each point goes along with, and how that changes with the first number of
        its sheet."""
        near = float(part.near in PUSHED)
        if part.far is None or part.surface.shares is None:
            return np.full(len(sheet), near), np.zeros(len(sheet))
        more = float(part.far in PUSHED) - near
        start, end = part.surface.shares[sheet].T
        return near + more * part.surface.shares_of(sheet, u), more * (end - start)

    def gaps(self, part: Part, places: Places, stance: Stance) -> Moving:
        """(n,): the gap at each place, skin and all; with its rates of change with all seven numbers, where the stance
        has rates."""
        point = self.points(part, stance, places.sheet, places.u, places.v)
        taken, steeper = self.taken(part, places.sheet, places.u)
        push = np.column_stack([places.push, np.zeros(len(places.push))])
        hub = Moving(stance.hub.value + (1.0 - taken)[:, None] * push, stance.hub.rate)
        gap, away = self.outline.gap(point, hub, stance.spin)
        value = gap.value - part.skin_mm
        if gap.rate.shape[-1] == 0:
            return Moving(value, gap.rate)
        along, across = part.surface.slopes(places.sheet, places.u, places.v)
        turn = stance.frame(part.near).turn.value
        if part.far is not None and part.surface.shares is not None:
            start, end = part.surface.shares[places.sheet].T
            along = along + (end - start)[:, None] * _stretch(part, stance).value
        rate = np.column_stack(
            [
                np.broadcast_to(gap.rate, (len(value), 3)),
                -(1.0 - taken)[:, None] * away[:, :2],
                np.sum(away * (np.einsum("...ij,...j->...i", turn, along) + steeper[:, None] * push), axis=1),
                np.sum(away * np.einsum("...ij,...j->...i", turn, across), axis=1),
            ]
        )
        return Moving(value, rate)


def _stretch(part: Part, stance: Stance) -> Moving:
    """(n, 3): how far a bar's last point has moved, as what its first rides on sees it."""
    assert part.far is not None
    assert part.far_point is not None
    end = stance.frame(part.far).carry(part.far_point[None])
    return stance.frame(part.near).back(end).point(0) - fixed(part.far_point)
