"""Slow and obvious answers that the fast ones are held against.

* dense sampling of part and cycle, with the exact distance
* a scatter of random corners: solids, paths, triangles; each from a fixed number
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clearance.geom.path import Path, along_and_across, fit
from clearance.geom.revolve import Solid
from clearance.mockup.solid import solid_of
from clearance.pose import Array, rotation, spin_axis
from clearance.tire.tire import Tire
from clearance.wheel.wheel import Wheel


def tire_and_wheel(
    *, diameter_mm: float = 652.0, width_mm: float = 243.0, tread_mm: float = 205.0, rim_in: float = 17.0,
    rim_width_in: float = 8.0, offset_mm: float = 45.0,
) -> Solid:  # fmt: skip
    """A tire on a wheel, as one solid."""
    return solid_of(
        Tire(
            overall_diameter_mm=diameter_mm, section_width_mm=width_mm, tread_width_mm=tread_mm, rim_diameter_in=rim_in
        ),
        Wheel(diameter_in=rim_in, width_in=rim_width_in, offset_mm=offset_mm),
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class Scene:
    """A solid on a path, and triangles near it."""

    solid: Solid
    path: Path
    triangles: Array
    share: Array | None
    truth: object


def random_scene(number: int) -> Scene:
    """One of infinitely many corners: any tire, any motion, triangles outside, alongside, inside the barrel, or through
    it.
    """
    rng = np.random.default_rng(number)
    width = rng.uniform(180, 300)
    solid = tire_and_wheel(
        diameter_mm=rng.uniform(560, 760),
        width_mm=width,
        tread_mm=width * rng.uniform(0.6, 0.85),
        rim_in=float(rng.choice([14.0, 15.0, 16.0, 17.0])),
        rim_width_in=float(rng.choice([5.5, 6.0, 7.0, 8.0, 9.0])),
        offset_mm=rng.uniform(-30, 50),
    )
    truth = random_motion(rng)
    box = np.array([[-rng.uniform(20, 100), rng.uniform(20, 100)], [-rng.uniform(5, 35), rng.uniform(5, 35)]])
    shift = np.array([[-3.0, 4.0], [-6.0, 6.0]]) if rng.random() < 0.5 else None
    path = fit(truth, box, slide=None if shift is None else along_and_across(shift), reach_mm=450.0)
    triangles = random_triangles(rng)
    share = rng.random(size=triangles.shape[:2]) if rng.random() < 0.3 else None
    return Scene(solid=solid, path=path, triangles=triangles, share=share, truth=truth)


def random_motion(rng: np.random.Generator):  # type: ignore[no-untyped-def]
    """A smooth motion in bump and steer, with a far end that moves too."""
    kingpin = rng.normal(size=3) * [0.15, 0.15, 0.0] + [0.0, 0.0, 1.0]
    kingpin /= np.linalg.norm(kingpin)
    pivot = rng.normal(size=3) * [30, 60, 60] + [0, -80, 0]
    drift = rng.normal(size=(2, 3)) * [[0.02, 0.03, 0], [3e-4, 3e-4, 0]]
    camber = rng.normal() * 0.02
    far = rng.normal(size=3) * 0.3

    def truth(settings: Array) -> Array:
        bump, steer = settings[:, 0], settings[:, 1]
        turn = rotation(kingpin, steer)
        centre = pivot + np.einsum("nij,j->ni", turn, -pivot)
        centre = centre + bump[:, None] * drift[0] + bump[:, None] ** 2 * drift[1]
        centre = centre + np.column_stack([0 * bump, 0 * bump, bump])
        axis = np.einsum("nij,nj->ni", turn, spin_axis(camber * bump, 0.01 * bump))
        return np.column_stack([centre, axis, bump[:, None] * far + (0.02 * steer[:, None]) ** 2 * far[::-1]])

    return truth


def random_triangles(rng: np.random.Generator) -> Array:
    """Loose triangles, a clump, things inside the barrel, things by the wheel face, great plates, or a box."""
    count = int(rng.integers(1, 30))
    kind = int(rng.integers(6))
    if kind == 0:
        return rng.normal(size=(count, 1, 3)) * [300, 150, 300] + rng.normal(size=(count, 3, 3)) * 60
    if kind == 1:
        way = rng.normal(size=3)
        return way / np.linalg.norm(way) * rng.uniform(420, 600) + rng.normal(size=(count, 3, 3)) * rng.uniform(5, 80)
    if kind == 2:
        return np.array([0, -80, 0]) + rng.normal(size=(count, 3, 3)) * [30, 20, 30]
    if kind == 3:
        return np.array([0, rng.uniform(120, 220), 0]) + rng.normal(size=(count, 3, 3)) * [150, 20, 150]
    if kind == 4:
        return rng.normal(size=(3, 1, 3)) * [250, 250, 250] + rng.normal(size=(3, 3, 3)) * 400
    return box_triangles(rng.normal(size=3) * [350, 150, 350], rng.uniform(20, 200, 3)) @ rotation(
        np.array([0.6, 0.0, 0.8]), rng.uniform(0, 90)
    )


def box_triangles(middle: Array, size: Array) -> Array:
    """The twelve triangles of a box."""
    corners = np.array([[i, j, k] for i in (-0.5, 0.5) for j in (-0.5, 0.5) for k in (-0.5, 0.5)]) * size + middle
    quads = [[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]]
    return np.array([corners[[q[0], q[1], q[2]]] for q in quads] + [corners[[q[0], q[2], q[3]]] for q in quads])


def distance_at(scene: Scene, setting: Array, points: Array, share: Array) -> Array:
    """Exact distances (n,) of points at one setting, by the motion itself and not by its fit."""
    row = scene.truth(setting[None, :2])[0]  # type: ignore[operator]
    centre, axis, far = row[:3], row[3:6], row[6:]
    if scene.path.slide is not None:
        centre = centre + np.array([setting[2], setting[3], 0.0])
    offset = points + share[:, None] * far - centre
    along = offset @ axis
    radial = np.sqrt(np.maximum(np.einsum("ij,ij->i", offset, offset) - along**2, 0.0))
    return scene.solid.chain.near(along, radial).distance


def sampled_least(scene: Scene, number: int, *, near: Array, settings: int = 300, points: int = 2000) -> float:
    """The least distance over many random points and settings, ends and surroundings of `near` among them."""
    rng = np.random.default_rng(number)
    triangles = scene.triangles
    mix = rng.dirichlet([0.5, 0.5, 0.5], size=(len(triangles), max(8, points // len(triangles))))
    some = np.einsum("nmk,nkj->nmj", mix, triangles).reshape(-1, 3)
    share = np.zeros(len(some)) if scene.share is None else np.einsum("nmk,nk->nm", mix, scene.share).ravel()
    box = scene.path.box
    chosen = rng.uniform(box[:, 0], box[:, 1], (settings, len(box)))
    snap = rng.random(chosen.shape)
    chosen = np.where(snap < 0.2, box[:, 0], np.where(snap > 0.8, box[:, 1], chosen))
    around = near + rng.normal(size=(settings // 3, len(box))) * (box[:, 1] - box[:, 0]) * 0.02
    chosen = np.clip(np.concatenate([chosen, around]), box[:, 0], box[:, 1])
    return min(float(distance_at(scene, q, some, share).min()) for q in chosen)
