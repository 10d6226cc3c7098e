"""The flat patterns of a tub as a drawing to cut from: each piece with where it stands, where it is folded, and what
putting it back into the check said.

A pattern shows the inside face, the one that the tire sees. Lengths are millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from clearance.gauge.flatwork import marks_of
from clearance.gauge.templates import datum_lines, label_in
from clearance.gauge.tub_solid import PANEL, TubPiece, TubSolid
from clearance.geom.drawing import ENGRAVE, FOLD, Drawing, Mark, Text, drawing_of, line

Array = npt.NDArray[np.float64]

TICK_EVERY_MM = 50.0
FLAT_MM = 40.0
"""A straight stretch of the crown longer than this is bent at its ends, not rolled."""
BETWEEN_MM = 40.0


def piece_drawings(solid: TubSolid, *, title: str, checked: Sequence[str] = ()) -> tuple[Drawing, ...]:
    """The pattern of each piece by itself, about its flat outline's own axes; `checked` are the lines that say what the
    check of the tub found.
    """
    return tuple(
        drawing_of((_panel if piece.name == PANEL else _crown)(piece, solid, title, checked)) for piece in solid.pieces
    )


def side_by_side(solid: TubSolid, drawn: Sequence[Drawing]) -> Drawing:
    """All patterns in a row."""
    whole, x = Drawing(), 0.0
    for piece, one in zip(solid.pieces, drawn, strict=True):
        x0, y0, x1, _ = piece.flat.bounds
        whole += one.moved(x - x0, -y0)
        x += x1 - x0 + BETWEEN_MM
    return whole


def _panel(piece: TubPiece, solid: TubSolid, title: str, checked: Sequence[str]) -> list[Mark]:
    marks = [*marks_of(piece.flat), *(line(*fold, FOLD) for fold in piece.folds)]
    datum = datum_lines("upright", piece.flat)
    said = ["INNER PANEL", f"AT {solid.inboard_mm:+.0f} FROM HUB FACE", "AHEAD >", *checked, title]
    return [*marks, *datum, *label_in(piece.flat, said, datum)]


def _crown(piece: TubPiece, solid: TubSolid, title: str, checked: Sequence[str]) -> list[Mark]:
    """Along it from its rear end to its front end upward, across it from inboard to outboard."""
    run = solid.run_mm
    step = np.hypot(*np.diff(run, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(step)])
    low, first, _, last = piece.flat.bounds
    inner, outer = low, solid.outboard_mm
    marks: list[Mark] = [*marks_of(piece.flat), *(line(*fold, FOLD) for fold in piece.folds)]
    marks += _ticks(run, along, (inner, outer), (first, last))
    folded = {round(fold[0][1], 3) for fold in piece.folds}
    for at in _bends(run, step, along):
        if first + 1.0 < at < last - 1.0 and round(at, 3) not in folded:
            marks.append(line((inner, at), (outer, at), FOLD))
    marks += _axes(run, along, (inner, outer), (first, last))
    ends = ((first, "REAR END", 34.0, along[0]), (last, "FRONT END", -39.0, along[-1]))
    for at, which, off, end in ends:
        if abs(at - end) < 1.0 and last - first > 120.0:
            marks.append(Text(at=(inner + 40.0, at + off), text=which, height_mm=5.0, layer=ENGRAVE))
    said = [f"{piece.name.upper()}  OUT >", *checked, title]
    drawn = [m for m in marks if m.layer in (ENGRAVE, FOLD)]
    return [*marks, *label_in(piece.flat, said, drawn)]


def _ticks(run: Array, along: Array, across: tuple[float, float], ends: tuple[float, float]) -> list[Mark]:
    """Marks each 50 mm along both edges: how far ahead of the axle and above it that line stands."""
    marks: list[Mark] = []
    (inner, outer), (first, last) = across, ends
    for k in range(math.ceil(first / TICK_EVERY_MM + 1e-9), math.ceil(last / TICK_EVERY_MM)):
        at = TICK_EVERY_MM * k
        if not first + 1.0 < at < last - 1.0:
            continue
        x, z = (float(np.interp(at, along, run[:, i])) for i in (0, 1))
        marks += [line((inner, at), (inner + 6.0, at), ENGRAVE), line((outer - 6.0, at), (outer, at), ENGRAVE)]
        marks.append(Text(at=(inner + 8.0, at - 1.5), text=f"{x:+.0f} / {z:+.0f}", height_mm=3.5, layer=ENGRAVE))
    return marks


def _axes(run: Array, along: Array, across: tuple[float, float], ends: tuple[float, float]) -> list[Mark]:
    """The line above the axle, and the hub face, where they run through a piece."""
    marks: list[Mark] = []
    (inner, outer), (first, last) = across, ends
    top = float(np.interp(0.0, run[:, 0], along)) if run[0, 0] < 0 < run[-1, 0] else -1.0
    if first + 1.0 < top < last - 1.0:
        marks.append(line((inner, top), (outer, top), ENGRAVE))
        said = Text(at=(outer - 8.0, top + 1.5), text="ABOVE AXLE", height_mm=5.0, align="right", layer=ENGRAVE)
        marks.append(said)
    if inner + 5 < 0 < outer - 5:
        marks.append(line((0.0, first), (0.0, last), ENGRAVE))
        marks.append(Text(at=(-1.5, first + 30.0), text="HUB FACE", height_mm=5.0, turn_deg=90.0, layer=ENGRAVE))
    return marks


def _bends(run: Array, step: Array, along: Array) -> list[float]:
    """Where the crown turns between a long straight stretch and what follows."""
    bends: set[float] = set()
    for k in np.flatnonzero(step > FLAT_MM):
        for end in (k, k + 1):
            if 0 < end < len(run) - 1:
                bends.add(round(float(along[end]), 4))
    return sorted(bends)
