"""What a scene that is moved by hand is drawn from: shapes once, and for each position where everything has gone.

* outline - the tire and wheel cut through its axis: (along the axis, away from it), turned round the axis to be seen
* shape   - a part's triangles as they are at ride height, nine numbers each, in whole tenths of a millimetre
* pose    - where a frame has gone: origin, then the turn row by row, twelve numbers
* far     - of a part with an end on something else: how far that end has moved, as what it rides on sees it; each
            corner of its triangles goes along by its share

Nothing is between two computed positions: a pose is the suspension's own, play taken up where the witness took it up.
Lengths are millimetres in corner axes.
"""

from __future__ import annotations

import hashlib
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from clearance.export.near import near_the_wheel
from clearance.mockup.paths import posed, pushed, relative, shares_of
from clearance.pose import Array
from clearance.report.scene import thinned
from clearance.report.tubes import is_line, tube
from clearance.steady import steady
from clearance.suspension.position import BODY, HUB, Position

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp
    from clearance.well.part import Part

MOST_TRIANGLES = 16_000
"""Of one part in the scene; a larger scan is shown by fewer and larger ones. All of them are measured."""
_CHORD_MM = 0.4
_TENTHS = 10.0

Facts = dict[str, Any]


def outline_of(mockup: MockUp) -> Facts:
    """The tire and wheel, to be turned round its axis, and how far from the axis its rubber begins."""
    places = mockup.solid.profile.outline(_CHORD_MM)
    return {
        "outline": [[round(float(y), 2) + 0.0, round(float(r), 2) + 0.0] for y, r in places],
        "rubber": round(mockup.wheel.flange_diameter_mm / 2 + 1.0, 2),
    }


def shape_of(mockup: MockUp, part: Part) -> Facts:
    """A part as it is seen, with what it rides on and a sum by which it is known again."""
    triangles, shares = _seen(near_the_wheel(mockup, part))
    found: Facts = {"name": part.name, "frame": part.rides_on, "triangles": _tenths(triangles)}
    if part.far_end is not None:
        found["share"] = [round(float(share), 5) for share in shares]
    return found


def _seen(part: Part) -> tuple[Array, Array]:
    """Triangles (n, 3, 3) to be looked at, and of each corner its share of the far end's move (3 n,)."""
    triangles = part.triangles_mm
    if part.skin_mm > 0 and is_line(triangles):
        triangles = tube(triangles[:, 0], triangles[:, 1], part.skin_mm)
        return triangles, shares_of(part, triangles.reshape(-1, 3))
    if len(triangles) > MOST_TRIANGLES:
        triangles, _ = thinned(triangles, MOST_TRIANGLES)
    return triangles, shares_of(part, triangles.reshape(-1, 3))


def sum_of(mockup: MockUp, part: Part) -> str:
    """The same for what is drawn alike: shape, thickness, what it rides on, and how far an endless one is drawn."""
    found = _sum(part)
    return f"{found} {mockup.solid.reach_mm:.0f}" if part.endless else found


@lru_cache(maxsize=64)
def _sum(part: Part) -> str:
    found = hashlib.sha256(np.ascontiguousarray(part.triangles_mm).tobytes())
    far = None if part.far_end is None else (part.far_end.frame, part.far_end.share.tobytes())
    found.update(repr((part.rides_on, part.skin_mm, part.endless, far)).encode())
    return found.hexdigest()[:24]


def _tenths(triangles_mm: Array) -> list[int]:
    numbers: list[int] = np.rint(_TENTHS * triangles_mm.reshape(-1)).astype(int).tolist()
    return numbers


@steady
def poses_of(mockup: MockUp, position: Position, shift_mm: tuple[float, float] = (0.0, 0.0)) -> Facts:
    """Where everything has gone at a position with play taken up: {"poses": by frame, "far": by part}.

    Raises SuspensionError for a position that cannot be reached.
    """
    rows, play = position.row()[None], np.array([shift_mm])
    push = np.array([*shift_mm, 0.0])
    frames = sorted({HUB, *(part.rides_on for part in mockup.parts)} - {BODY})
    poses = {}
    for frame in frames:
        pose = posed(mockup.suspension, rows, frame)
        numbers = [*(pose.origin_mm[0] + pushed(frame) * push), *pose.turn[0].reshape(-1)]
        poses[frame] = [round(float(number), 6) + 0.0 for number in numbers]
    far = {part.name: _numbers(_far_mm(mockup, part, rows, play)) for part in mockup.parts if part.far_end is not None}
    return {"poses": poses, "far": far}


def _far_mm(mockup: MockUp, part: Part, rows: Array, play: Array) -> Array:
    """(3,): how far a part's far end has moved, as what its near end rides on sees it."""
    end = part.far_end
    if end is None:
        return np.zeros(3)
    point = tuple(float(value) for value in end.point_mm)
    moved: Array = relative(mockup.suspension, part.rides_on, end.frame, point, rows, play)[0, 6:]
    return moved


def _numbers(point_mm: Array) -> list[float]:
    return [round(float(value), 4) + 0.0 for value in point_mm]
