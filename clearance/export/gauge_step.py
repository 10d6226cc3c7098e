"""The printed gauge as STEP: every piece with its true surfaces, where it stands when it is put together.

A piece is printed from flat outlines stood up on one another. Each outline is read back as lines and arcs, so that
bores, journals and the tire's round edges leave as cylinders and flat walls as planes; nothing of a gauge is a facet.
Engraved writing is left out: its strokes would be nine tenths of the file, and every solid has its name. What is held
in the hand stands beside the rest. Millimetres, in hub axes: the hub face at y = 0, outboard positive; a left and a
right hub take the same gauge.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from clearance.export.step import Slabs, step
from clearance.gauge.body import ONE_LEVEL_MM, Piece, slabs_of
from clearance.gauge.flatwork import Shape
from clearance.gauge.mock_gauge import Gauge
from clearance.pose import Array

BESIDE_MM = 60.0
"""Between the tire that the gauge sweeps and what is held in the hand, and from one such piece to the next."""
_SAME_MM = 1e-3


def gauge_step(gauge: Gauge) -> bytes:
    """Every piece, as many times as it is needed, as a named solid.

    Raises OutputError where the CAD kernel is not installed, or cannot make a body.
    """
    bodies, beside = [], gauge.blade.section.bounds[3] + BESIDE_MM
    for piece in gauge.pieces:
        if piece.plane is None:
            x0, y0, _, x1, _, _ = piece.body.bounding_box()
            frames = [np.array([[1.0, 0, 0, beside - x0], [0, 1, 0, -y0], [0, 0, 1, 0]])]
            beside += x1 - x0 + BESIDE_MM
        else:
            frames = [_frame(piece, piece.plane, k) for k in range(len(piece.places))]
        bodies += _bodies(piece, frames, gauge.fit.making.engrave_mm)
    return step(bodies, title=f"{gauge.title}: gauge")


def _frame(piece: Piece, plane: Array, place: int) -> Array:
    """(3, 4): its drawing axes to hub axes, at one of its places."""
    turn = np.radians(piece.every_turn[place])
    about_w = np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1]])
    return np.hstack([plane @ about_w, (plane @ np.array(piece.places[place]))[:, None]])


def _bodies(piece: Piece, frames: list[Array], engrave_mm: float) -> list[Slabs]:
    whole = piece.body if piece.uncut is None else piece.uncut
    slabs = tuple(_unwritten(slabs_of(whole), engrave_mm))
    cuts = tuple((cut.shape, cut.low_mm, cut.high_mm) for cut in piece.cuts if not cut.words)
    names = [f"{piece.number} {piece.name}"] * len(frames)
    if len(frames) > 1:
        names = [f"{name}, {k} of {len(frames)}" for k, name in enumerate(names, start=1)]
    return [Slabs(name=name, slabs=slabs, cuts=cuts, frame=f) for name, f in zip(names, frames, strict=True)]


def _unwritten(slabs: Sequence[tuple[Shape, float, float]], engrave_mm: float) -> list[tuple[Shape, float, float]]:
    """The slabs with writing filled in: one as thick as writing is deep that lies within the one beneath is that one's
    upper end.
    """
    found: list[tuple[Shape, float, float]] = []
    for shape, low, high in slabs:
        if found and abs(high - low - engrave_mm) < ONE_LEVEL_MM:
            below, start, end = found[-1]
            if abs(end - low) < ONE_LEVEL_MM and below.buffer(_SAME_MM).covers(shape):
                found[-1] = (below, start, high)
                continue
        found.append((shape, low, high))
    return found
