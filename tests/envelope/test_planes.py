"""Planes hold no face that the disc reaches, and a table of an outline reaches no less than the outline.

Held against dense sampling of the disc itself: rollers that travel, swing, tilt within a limit and play.
"""

from __future__ import annotations

import numpy as np
import pytest

from clearance.envelope.planes import Planes, outline_of
from clearance.geom.limit import Limit
from clearance.geom.nearest import Nearest
from clearance.geom.path import along_and_across, fit
from clearance.geom.profile import Arc, Line, Profile
from clearance.geom.revolve import HULL_SLACK_MM, Solid
from clearance.pose import Array

NEEDED_MM = 1.0
SAMPLES = 800
FACES = 150


def roller(radius: float = 40.0, half: float = 15.0, corner: float = 8.0) -> Solid:
    profile = Profile(
        elements=(
            Line(start=(-half, 0.0), end=(half, 0.0)),
            Line(start=(half, 0.0), end=(half, radius - corner)),
            Arc(start=(half, radius - corner), end=(half - corner, radius), centre=(half - corner, radius - corner)),
            Line(start=(half - corner, radius), end=(corner - half, radius)),
            Arc(start=(corner - half, radius), end=(-half, radius - corner), centre=(corner - half, radius - corner)),
            Line(start=(-half, radius - corner), end=(-half, 0.0)),
        )
    )
    return Solid(profile=profile, pieces=(profile,))


def steered(settings: Array) -> Array:
    """Up and down by the first number, about an upright pin 30 mm inboard by the second, in radians."""
    lift, turn = settings.T
    axis = np.stack([np.sin(turn), np.cos(turn), np.zeros_like(turn)], axis=1)
    centre = 30.0 * axis + np.stack([np.zeros_like(lift), lift**2 / 400.0 - 30.0, lift], axis=1)
    return np.hstack([centre, axis, np.zeros_like(centre)])


def tilted(settings: Array) -> Array:
    """An axle of 300 mm, each of whose ends rises by a number."""
    one, other = settings.T
    lean = (one - other) / 300.0
    axis = np.stack([np.zeros_like(lean), np.cos(lean), np.sin(lean)], axis=1)
    centre = np.stack([np.zeros_like(one), np.zeros_like(one), one], axis=1)
    return np.hstack([centre, axis, np.zeros_like(centre)])


def swept(name: str) -> Nearest:
    solid = roller()
    slide = along_and_across(np.array([[-2.0, 2.0], [-1.0, 1.5]]))
    if name == "still":
        still = fit(lambda _: steered(np.zeros((1, 2))), np.zeros((0, 2)), slide=slide, reach_mm=solid.reach_mm)
        return Nearest(still, solid)
    if name == "steered":
        box = np.array([[-20.0, 30.0], [-0.5, 0.6]])
        return Nearest(fit(steered, box, slide=slide, reach_mm=solid.reach_mm), solid)
    box = np.array([[-30.0, 30.0], [-30.0, 30.0]])
    limit = Limit(one=0, other=1, most=35.0)
    return Nearest(fit(tilted, box, reach_mm=solid.reach_mm), solid, (limit,))


def settings_of(disc: Nearest, rng: np.random.Generator) -> Array:
    """Random settings, half of their numbers at an end of their range, of those that the limit allows."""
    box = disc.path.box
    settings = rng.uniform(box[:, 0], box[:, 1], (SAMPLES, len(box)))
    end = rng.random(settings.shape) < 0.5
    settings = np.where(end, np.where(rng.random(settings.shape) < 0.5, box[:, 0], box[:, 1]), settings)
    for limit in disc.limits:
        settings = settings[limit.allows(settings)]
    return settings


def least_of(disc: Nearest, points: Array, settings: Array) -> Array:
    """(n,): the least distance of points (n, 3) over settings, by asking all of them."""
    many = np.repeat(points, len(settings), axis=0)
    return disc.distance(many, np.tile(settings, (len(points), 1))).reshape(len(points), -1).min(axis=1)


def faces_about(disc: Nearest, settings: Array, rng: np.random.Generator) -> Array:
    """Small triangles about as far from the swept disc as is needed, some nearer and some further."""
    way = rng.normal(size=(FACES, 3))
    way /= np.linalg.norm(way, axis=1)[:, None]
    point = 150.0 * way
    for _ in range(8):
        point = point - (least_of(disc, point, settings[:250]) - NEEDED_MM)[:, None] * 0.9 * way
    point = point + rng.uniform(-1.0, 3.0, FACES)[:, None] * way
    return point[:, None] + rng.normal(scale=0.8, size=(FACES, 3, 3))


@pytest.mark.parametrize("name", ["still", "steered", "tilted"])
def test_no_face_is_held_that_the_disc_reaches_and_most_others_are(name):
    rng = np.random.default_rng(11)
    disc = swept(name)
    settings = settings_of(disc, rng)
    corners = faces_about(disc, settings, rng)
    normals = np.repeat((corners.mean(axis=1) / 100.0)[:, None], 3, axis=1)
    found = Planes(disc, 0.03).hold(corners, normals, np.full(len(corners), NEEDED_MM))
    held = ~np.isin(np.arange(len(corners)), found.triangle)
    kept = found.least_mm[held].min()
    weights = np.vstack([np.eye(3), np.full((1, 3), 1 / 3)])
    least = np.min([least_of(disc, w @ corners, settings) for w in weights], axis=0)
    assert (least[held] >= NEEDED_MM).all()
    # each by itself: what is left open of a face is not in what it is said to keep
    assert (least[held] >= found.least_mm[held] - 1e-9).all()
    assert NEEDED_MM <= kept < NEEDED_MM + 0.5
    assert (least < NEEDED_MM).sum() > 25
    clear = least > NEEDED_MM + 0.5
    assert held[clear].mean() > 0.8


@pytest.mark.parametrize("name", ["steered", "tilted"])
def test_within_a_cell_the_disc_reaches_no_further_than_at_its_corners_and_the_bulge(name):
    """A face square to a direction is held up to where the disc reaches, and the room asked for is the bulge's."""
    rng = np.random.default_rng(5)
    disc = swept(name)
    settings = settings_of(disc, rng)
    planes = Planes(disc, 0.5)
    ways = rng.normal(size=(60, 3))
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    centre, axis = disc.path.at(settings)
    true = (ways @ centre.T + outline_of(disc.solid.profile).along(ways @ axis.T)).max(axis=1) - 2 * HULL_SLACK_MM
    beside = np.cross(ways, rng.normal(size=(60, 3)))
    other = np.cross(ways, beside)
    # so large that no other plane than its own has a face beyond the disc
    flat = 500.0 * np.stack([-beside - other, 2.0 * beside, 2.0 * other], axis=1)
    for offset, all_held in ((-0.02, False), (planes.bulge_mm.max() + 0.5, True)):
        corners = flat + ((true + offset)[:, None] * ways)[:, None]
        found = planes.hold(corners, np.repeat(ways[:, None], 3, axis=1), np.zeros(len(corners)))
        assert len(np.unique(found.triangle)) == (0 if all_held else len(corners))


def test_an_outlines_table_reaches_no_less_than_its_places_and_hardly_more():
    profile = roller().profile
    ring = profile.outline(1e-6)
    angle = np.random.default_rng(3).uniform(0.0, np.pi, 500)
    across, away = np.cos(angle), np.sin(angle)
    places = (np.outer(across, ring[:, 0]) + np.outer(away, ring[:, 1])).max(axis=1)
    table = outline_of(profile).along(across)
    assert (table >= places).all()
    assert (table <= places + 1.5 * HULL_SLACK_MM + 1e-5).all()


def test_play_that_turns_the_disc_is_not_served():
    disc = swept("steered")
    assert Planes.serve(disc)
    turning = along_and_across(np.array([[-2.0, 2.0], [-1.0, 1.5]]))
    turning.by[0, 4] = 0.1
    box = np.array([[-20.0, 30.0], [-0.5, 0.6]])
    assert not Planes.serve(Nearest(fit(steered, box, slide=turning, reach_mm=50.0), roller()))
