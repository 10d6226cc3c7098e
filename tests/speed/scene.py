"""The scenes that speed is measured on: a tire in an open shell with a rail, in any number of triangles.

A 652 mm tire, 245 wide, on a 17 x 8 wheel. Around it a half-cylinder tub (radius 395, width 452), an inner wall, an
arch lip and a closed rail, with 0.3 mm of noise from a fixed generator.

* steered - travel +-100 mm with three degrees of camber change; lock +-35 degrees about an inclined axis
* tilting - the end of a rigid axle, both of whose ends travel +-100 mm, up to 120 mm apart; its roll centre is 150 mm
            above the hubs
"""

from __future__ import annotations

import numpy as np

from clearance.geom.limit import Limit
from clearance.geom.path import Path, fit
from clearance.geom.revolve import Solid
from clearance.pose import Array, rotation, spin_axis

TUB_MM, WIDTH_MM, NOISE_MM = 395.0, 452.0, 0.3
BUMP_MM, LOCK_DEG = 100.0, 35.0
TRACK_MM, ROLL_MM, APART_MM = 1450.0, 150.0, 120.0
KINGPIN = np.array([-0.087, -0.139, 0.9865])


def tire() -> Solid:
    """245/45R17 on 17 x 8 with 45 mm offset."""
    from clearance.mockup.solid import solid_of
    from clearance.tire.tire import Tire
    from clearance.wheel.wheel import Wheel

    return solid_of(
        Tire(overall_diameter_mm=652.0, section_width_mm=243.0, tread_width_mm=205.0, rim_diameter_in=17.0),
        Wheel(diameter_in=17.0, width_in=8.0, offset_mm=45.0),
    )


def poses(settings: Array) -> Array:
    """(n, 9): centre, axis and no far move, at settings (n, 2) of bump and steer."""
    kingpin = KINGPIN / np.linalg.norm(KINGPIN)
    bump, steer = settings[:, 0], settings[:, 1]
    turn = rotation(kingpin, steer)
    pivot = np.array([0.0, -110.0, 0.0])
    lift = np.column_stack([0 * bump, -0.0003 * bump**2, bump])
    centre = pivot + np.einsum("nij,j->ni", turn, -pivot) + lift
    axis = np.einsum("nij,nj->ni", turn, spin_axis(-0.015 * bump, np.zeros_like(bump)))
    return np.column_stack([centre, axis, np.zeros((len(bump), 3))])


def path(reach_mm: float = 350.0) -> Path:
    """The path of the hub."""
    return fit(poses, np.array([[-BUMP_MM, BUMP_MM], [-LOCK_DEG, LOCK_DEG]]), reach_mm=reach_mm)


def tilted(settings: Array) -> Array:
    """The same of a rigid axle at settings (n, 2) of this end's bump and the other's."""
    bump, other = settings[:, 0], settings[:, 1]
    lean = np.arctan2(bump - other, TRACK_MM)
    axis = np.column_stack([0 * lean, np.cos(lean), np.sin(lean)])
    half, up = TRACK_MM / 2.0, np.column_stack([0 * lean, -np.sin(lean), np.cos(lean)])
    middle = np.column_stack([0 * lean, 0 * lean - half, (bump + other) / 2.0 + ROLL_MM])
    return np.column_stack([middle + half * axis - ROLL_MM * up, axis, np.zeros((len(bump), 3))])


def tilting(reach_mm: float = 350.0) -> tuple[Path, tuple[Limit, ...]]:
    """The path of the hub at one end of a rigid axle, and what its articulation allows."""
    box = np.array([[-BUMP_MM, BUMP_MM], [-BUMP_MM, BUMP_MM]])
    return fit(tilted, box, reach_mm=reach_mm), (Limit(one=0, other=1, most=APART_MM),)


def well(triangles: int, *, lift_mm: float = 0.0) -> Array:
    """About so many triangles (n, 3, 3); `lift_mm` raises the tub."""
    rng = np.random.default_rng(7)
    middle_mm = -45.0
    share = triangles // 8
    tub = _sheet(
        lambda s, t: np.stack(
            [TUB_MM * np.cos(np.pi * s), middle_mm + WIDTH_MM * (t - 0.5), lift_mm + TUB_MM * np.sin(np.pi * s)], -1
        ),
        4 * share,
        np.pi * TUB_MM / WIDTH_MM,
    )
    wall = _sheet(
        lambda s, t: np.stack([700 * (s - 0.5), 0 * s + middle_mm - WIDTH_MM / 2 - 75, 600 * t - 200], -1),
        2 * share,
        1.2,
    )
    lip = _sheet(
        lambda s, t: np.stack(
            [
                (TUB_MM - 20 * t) * np.cos(np.pi * s),
                0 * s + middle_mm + WIDTH_MM / 2,
                lift_mm + (TUB_MM - 20 * t) * np.sin(np.pi * s),
            ],
            -1,
        ),
        share,
        60.0,
    )
    rail = _rail(share, middle_mm - WIDTH_MM / 2 - 65)
    soup = np.concatenate([tub, wall, lip, rail])
    return soup + rng.normal(0.0, NOISE_MM, soup.shape)


def _sheet(place, triangles: int, aspect: float) -> Array:  # type: ignore[no-untyped-def]
    rows = max(2, round(np.sqrt(triangles / 2 / aspect)))
    columns = max(2, round(triangles / 2 / rows))
    s, t = np.meshgrid(np.linspace(0, 1, columns + 1), np.linspace(0, 1, rows + 1), indexing="ij")
    p = place(s, t)
    a, b, c, d = p[:-1, :-1], p[1:, :-1], p[1:, 1:], p[:-1, 1:]
    return np.concatenate([np.stack([a, b, c], 2).reshape(-1, 3, 3), np.stack([a, c, d], 2).reshape(-1, 3, 3)])


def _rail(triangles: int, y_mm: float) -> Array:
    size = np.array([60.0, 40.0, 50.0])
    corner = np.array([360.0, y_mm, -100.0])
    sides = []
    for axis in range(3):
        u, v = (axis + 1) % 3, (axis + 2) % 3
        for end in (0.0, 1.0):

            def place(s: Array, t: Array, axis: int = axis, u: int = u, v: int = v, end: float = end) -> Array:
                p = np.zeros((*s.shape, 3))
                p[..., axis], p[..., u], p[..., v] = end, s, t
                return corner + size * p

            sides.append(_sheet(place, triangles // 6, size[u] / size[v]))
    return np.concatenate(sides)
