"""Settings that prove how far out a surface lies, made so that `slack` can check them."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from clearance.certificate.interval import Array
from clearance.certificate.slack import DONE, QUARTERED, Slack, quarters
from clearance.errors import OutputError
from clearance.geom.nearest import Nearest

_MOST_DEEP = 9
_CHUNK = 4_000
_STARTS = 24
"""How many places of the cycle a place is looked for from, where the next station did not do."""


def slackened(disc: Nearest, corners: Array, most_mm: float) -> Slack:
    """For faces (n, 3, 3), settings that prove that none lies further than `most_mm` from the disc.

    Raises OutputError where a face cannot be shown to.
    """
    done: dict[tuple[int, ...], Array] = {}
    rows: list[tuple[tuple[int, ...], Array]] = [((face,), triangle) for face, triangle in enumerate(corners)]
    for _ in range(_MOST_DEEP):
        left: list[tuple[tuple[int, ...], Array]] = []
        for at in range(0, len(rows), _CHUNK):
            some = rows[at : at + _CHUNK]
            triangles = np.array([triangle for _, triangle in some])
            setting, held = _near(disc, triangles, most_mm)
            for (name, triangle), found, good in zip(some, setting, held, strict=True):
                if good:
                    done[name] = found
                else:
                    left += [((*name, i), part) for i, part in enumerate(quarters(triangle))]
        rows = left
        if not rows:
            break
    if rows:
        raise OutputError("the slack of an envelope could not be certified. Ask for more of it.")
    return _written(done, len(corners))


def _near(disc: Nearest, triangles: Array, most_mm: float) -> tuple[Array, npt.NDArray[np.bool_]]:
    """A setting for each triangle, and whether all its corners are near enough at it."""
    middle = triangles.mean(axis=1)
    settings = disc.settle(middle, disc.among_stations(middle)).settings
    most_mm -= disc.path.error_mm
    held = _furthest(disc, triangles, settings) <= most_mm
    loose = np.flatnonzero(~held)
    if len(loose):
        settings[loose] = _from_all_over(disc, middle[loose], settings[loose])
        held[loose] = _furthest(disc, triangles[loose], settings[loose]) <= most_mm
    return settings, held


def _from_all_over(disc: Nearest, places: Array, settings: Array) -> Array:
    """The setting that is nearest to each place of those reached downhill from all over the cycle.

    There may be several valleys, and the station that is nearest with its play at the middle may stand in a wrong one.
    """
    best = disc.look(places, settings)
    for station in disc.stations[:: max(1, len(disc.stations) // _STARTS)]:
        found = disc.settle(places, np.tile(station, (len(places), 1)))
        nearer = np.flatnonzero(found.distance < best.distance)
        best.put(nearer, found.take(nearer))
    return best.settings


def _furthest(disc: Nearest, triangles: Array, settings: Array) -> Array:
    """(n,): how far the furthest corner of each triangle is from the disc at its setting."""
    furthest: Array = np.max([disc.distance(triangles[:, i], settings) for i in range(3)], axis=0)
    return furthest


def _written(done: dict[tuple[int, ...], Array], faces: int) -> Slack:
    steps, settings = [], []
    stack: list[tuple[int, ...]] = [(face,) for face in reversed(range(faces))]
    while stack:
        name = stack.pop()
        if name in done:
            steps.append(DONE)
            settings.append(done[name])
        else:
            steps.append(QUARTERED)
            stack += [(*name, i) for i in (3, 2, 1, 0)]
    return Slack(steps=np.array(steps, dtype=np.int64), settings=np.array(settings))
