"""A whole wheel well from tape numbers, its faces named one by one.

Lengths are millimetres in corner axes: from the centre of the hub's wheel-mounting face at ride height.

* inner wall  - upright, `inner_mm` inboard of the hub face; a taper leans it toward the tire between two heights
* crown       - the top: flat at a height, or rolled to a radius about an axle-wise line (an arch)
* front, rear - upright sheets ahead of and behind the hub
* outer edge  - how far outboard the crown, the front and the rear reach
* outer panel - the body side outboard of the tire, from a height above the hub up to the crown
* bottom      - where the inner wall, the front and the rear end below the hub; at the reach where not given

A rolled crown is drawn with chords whose ends lie on the arch; no chord stands more than 0.002 mm inside it, toward the
tire, so the gap is never overstated.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from clearance.errors import PartError
from clearance.pose import Array
from clearance.well.part import Part
from clearance.well.parts import Tag, tagged

CHORD_MM = 0.002
"""How far a chord of a rolled crown may stand inside the arch."""

Outline = list[tuple[float, float]]
HeightToY = Callable[[Array], Array]


@dataclass(frozen=True, slots=True, kw_only=True)
class Taper:
    """An inner wall that leans: up to `low_mm` it stands at the well's inner, from `high_mm` on at `high_inner_mm`."""

    low_mm: float
    high_mm: float
    high_inner_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Crown:
    """The top of a well: flat at `height_mm` above the hub, or rolled to `radius_mm` about a point (ahead, above)."""

    height_mm: float | None = None
    radius_mm: float | None = None
    centre_mm: tuple[float, float] = (0.0, 0.0)


def tub(
    tag: Tag,
    *,
    reach_mm: float,
    inner_mm: float,
    crown: Crown,
    outer_mm: float,
    front_mm: float | None = None,
    rear_mm: float | None = None,
    taper: Taper | None = None,
    bottom_mm: float | None = None,
    outer_panel_mm: float | None = None,
) -> tuple[Part, ...]:
    """The faces of a well: "<name> inner wall", "<name> crown", "<name> front", "<name> rear", "<name> outer panel".

    `front_mm` is ahead of the hub, `rear_mm` behind it, `bottom_mm` below it, `outer_panel_mm` the height above it at
    which the outer panel begins; a face that is not given is not there. A flat crown without front or rear is cut to
    the reach, a rolled one ends level with its centre.

    Raises PartError where the numbers do not make a well.
    """
    outline = _outline(crown, front_mm, rear_mm, reach_mm)
    floor = -bottom_mm if bottom_mm is not None else -reach_mm
    _refuse(outline, floor, inner_mm, outer_mm, taper, outer_panel_mm)
    lean = taper or Taper(low_mm=floor, high_mm=floor + 1.0, high_inner_mm=inner_mm)

    def inner(above_mm: Array) -> Array:
        """y of the inner wall at heights (n,)."""
        return np.interp(above_mm, [lean.low_mm, lean.high_mm], [-inner_mm, -lean.high_inner_mm])

    levels = [lean.low_mm, lean.high_mm] if taper else []
    top = _with_levels(outline, levels)
    faces = {"inner wall": _upright(top, floor, levels, inner), "crown": _roof(top, inner, outer_mm)}
    if front_mm is not None:
        faces["front"] = _end(outline[-1], floor, levels, inner, outer_mm)
    if rear_mm is not None:
        faces["rear"] = _end(outline[0], floor, levels, inner, outer_mm)
    if outer_panel_mm is not None:
        above = _clipped(_with_levels(outline, [outer_panel_mm]), outer_panel_mm)
        faces["outer panel"] = _upright(above, outer_panel_mm, [], lambda z: np.full_like(z, outer_mm))
    endless = _endless(crown, front_mm, rear_mm, bottom_mm)
    drawn_mm = 0.0 if crown.radius_mm is None else CHORD_MM
    return tuple(
        tagged(tag, "tub", _solid_ones(rows), name=f"{tag.name} {face}", endless=endless[face], drawn_mm=drawn_mm)
        for face, rows in faces.items()
    )


def _endless(
    crown: Crown, front_mm: float | None, rear_mm: float | None, bottom_mm: float | None
) -> dict[str, tuple[str, ...]]:
    """For each face the sides on which it goes on, because its end was not given."""
    down = ("below",) if bottom_mm is None else ()
    ends = {"ahead": front_mm, "behind": rear_mm} if crown.height_mm is not None else {}
    along = tuple(side for side, bound in ends.items() if bound is None)
    return {"inner wall": (*along, *down), "crown": along, "front": down, "rear": down, "outer panel": along}


def _outline(crown: Crown, front_mm: float | None, rear_mm: float | None, reach_mm: float) -> Outline:
    """The crown from the rear to the front as points (ahead, above)."""
    if (crown.height_mm is None) == (crown.radius_mm is None):
        raise PartError("a crown is flat at a height or rolled to a radius: write one of the two.", key="crown")
    if crown.height_mm is not None:
        rear = -rear_mm if rear_mm is not None else -reach_mm
        front = front_mm if front_mm is not None else reach_mm
        if rear >= front:
            raise PartError(
                f"the front ({front:g} mm ahead) is not ahead of the rear ({-rear:g} mm behind).",
                key="front",
                also="rear",
            )
        return [(rear, crown.height_mm), (front, crown.height_mm)]
    return _rolled(crown, front_mm, rear_mm)


def _rolled(crown: Crown, front_mm: float | None, rear_mm: float | None) -> Outline:
    """An arc about the crown's centre, as chords."""
    radius, (cx, cz) = float(crown.radius_mm or 0.0), crown.centre_mm
    if radius <= 0:
        raise PartError(f"the crown's radius must be more than zero; found {radius:g} mm.", key="crown.radius")
    ends = [-radius if rear_mm is None else -rear_mm - cx, radius if front_mm is None else front_mm - cx]
    _refuse_ends(ends, radius)
    first, last = math.acos(ends[0] / radius), math.acos(ends[1] / radius)
    # an even number, so that the top of a crown that is centred under it lies on the arch
    pieces = 2 * math.ceil((first - last) / (4 * math.acos(max(0.0, 1.0 - CHORD_MM / radius))))
    angles = np.linspace(first, last, pieces + 1)
    points = [(cx + radius * math.cos(a), cz + radius * math.sin(a)) for a in angles]
    # the ends are where the user put them, not where a cosine of an arc cosine lands
    points[0] = (cx + ends[0], points[0][1])
    points[-1] = (cx + ends[1], points[-1][1])
    return points


def _refuse_ends(ends: list[float], radius: float) -> None:
    """Ends of a rolled crown, ahead of its centre, that its arc does not reach."""
    for key, end in zip(("rear", "front"), ends, strict=True):
        if abs(end) > radius:
            raise PartError(
                f"the {key} stands {abs(end):g} mm from the crown's centre, past its radius of {radius:g} mm:"
                f" leave {key} out, or make it at most {radius:g} mm from there.",
                key=key,
                also="crown.radius",
            )
    if ends[0] >= ends[1]:
        raise PartError("the front is not ahead of the rear.", key="front", also="rear")


def _refuse(
    outline: Outline, floor: float, inner_mm: float, outer_mm: float, taper: Taper | None, panel_mm: float | None
) -> None:
    lowest = min(z for _, z in outline)
    if lowest <= floor:
        raise PartError(f"the bottom ({-floor:g} mm below the hub) is not below the crown.", key="bottom", also="crown")
    _refuse_outer(outer_mm, {"inner": inner_mm} | ({"taper.inner": taper.high_inner_mm} if taper is not None else {}))
    if taper is not None and taper.low_mm >= taper.high_mm:
        raise PartError(
            f"the taper's low height ({taper.low_mm:g} mm) must be below its high one ({taper.high_mm:g} mm).",
            key="taper.high",
            also="taper.low",
        )
    if panel_mm is not None and panel_mm >= max(z for _, z in outline):
        raise PartError(
            f"the outer panel begins {panel_mm:g} mm above the hub, which is over the crown.",
            key="outer_panel",
            also="crown",
        )


def _refuse_outer(outer_mm: float, inner_mm: Mapping[str, float]) -> None:
    """An outer edge that is inboard of the inner wall somewhere; `inner_mm` has each of its keys."""
    for key, own_mm in inner_mm.items():
        if outer_mm <= -own_mm:
            raise PartError("the outer edge is not outboard of the inner wall.", key="outer", also=key)


def _with_levels(outline: Outline, levels: list[float]) -> Outline:
    """The outline with a point wherever it crosses one of the levels."""
    points = [outline[0]]
    for (x0, z0), (x1, z1) in itertools.pairwise(outline):
        crossed = sorted((level - z0) / (z1 - z0) for level in levels if min(z0, z1) < level < max(z0, z1))
        points += [(x0 + t * (x1 - x0), z0 + t * (z1 - z0)) for t in crossed]
        points.append((x1, z1))
    return points


def _clipped(outline: Outline, level: float) -> Outline:
    """The outline where it is not below a level; its crossings must already be points of it."""
    return [(x, max(z, level)) for x, z in outline if z >= level - 1e-9]


def _upright(top: Outline, floor: float, levels: list[float], y_at: HeightToY) -> Array:
    """A sheet under an outline, in strips between the levels; `y_at` gives its y at heights."""
    x = np.array([p[0] for p in top])
    z = np.array([p[1] for p in top])
    heights = [np.full_like(z, floor), *[np.clip(level, floor, z) for level in levels], z]
    rows = [np.stack([x, y_at(h), h], axis=-1) for h in heights]
    return np.concatenate([_strip(low, high) for low, high in itertools.pairwise(rows)])


def _roof(top: Outline, y_at: HeightToY, outer_mm: float) -> Array:
    """The crown, from the inner wall to the outer edge."""
    x = np.array([p[0] for p in top])
    z = np.array([p[1] for p in top])
    return _strip(np.stack([x, y_at(z), z], axis=-1), np.stack([x, np.full_like(x, outer_mm), z], axis=-1))


def _end(corner: tuple[float, float], floor: float, levels: list[float], y_at: HeightToY, outer_mm: float) -> Array:
    """The front or the rear: an upright sheet across the car under one end of the crown."""
    x, high = corner
    z = np.array([floor, *[level for level in levels if floor < level < high], high])
    across = np.full_like(z, x)
    return _strip(np.stack([across, y_at(z), z], axis=-1), np.stack([across, np.full_like(z, outer_mm), z], axis=-1))


def _strip(one: Array, other: Array) -> Array:
    """Two triangles between every two neighbours of two rows of points (n, 3)."""
    a, b, c, d = one[:-1], one[1:], other[1:], other[:-1]
    return np.concatenate([np.stack([a, b, c], axis=1), np.stack([a, c, d], axis=1)])


def _solid_ones(triangles: Array) -> Array:
    """Those of the triangles that have an area: clipping a strip leaves some that do not."""
    area = np.linalg.norm(np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]), axis=1)
    kept: Array = triangles[area > 1e-9]
    return kept
