"""Hand gauges: a step block, a go / no-go block for the lip, and a piece of ring at the rim flange's radius.

* step block - a stair whose steps are the gaps that must be kept; slide it in and see which step passes
* go         - the end as thick as the required gap: it must pass
* no-go      - the end thicker by what you are ready to give away: if it passes too, more was cut than was needed
* rim ring   - part of a ring as large as the rim's flange; alike parts make a whole ring

They are held in the hand and drawn lying on the bed. A printed block is true to about 0.2 mm (common practice):
measure it once with a caliper before trusting it. Lengths are millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from clearance.gauge.body import Body, Piece, joined, lie_deg, risen
from clearance.gauge.flatwork import disc, oblong, on_circle, wedge, words
from clearance.gauge.making import Making
from clearance.units import inch_text
from clearance.wheel.wheel import Wheel

SHOP_STEPS_MM = (6.0, 10.0, 13.0, 25.0)
"""Gaps that are often asked for (common practice); the corner's own required gaps are added."""
STEP_LONG_MM = 26.0
BLOCK_WIDE_MM = 30.0
TALLEST_STEP_MM = 80.0
RIM_THICK_MM = 8.0
_ALIKE_MM = 0.25
"""Steps closer than this are one step: a print cannot tell them apart."""


def steps_of(required_mm: Sequence[float], making: Making) -> tuple[float, ...]:
    """The heights of the stair: shop steps and required gaps, each once, lowest first.

    >>> steps_of([25.0, 12.7], Making())
    (6.0, 10.0, 12.7, 25.0)
    """
    wanted = [g for g in required_mm if making.wall_mm <= g <= TALLEST_STEP_MM]
    shop = [s for s in SHOP_STEPS_MM if all(abs(s - g) > 2 * _ALIKE_MM for g in wanted)]
    steps: list[float] = []
    for height in sorted([*wanted, *shop]):
        if not steps or height - steps[-1] > _ALIKE_MM:
            steps.append(float(height))
    return tuple(steps)


def step_block(steps_mm: Sequence[float], making: Making, number: int) -> list[Piece]:
    """The stair, in as many blocks as the bed asks for."""
    per_block = max(1, int((max(making.bed.x_mm, making.bed.y_mm) - 6.0) // STEP_LONG_MM))
    pieces: list[Piece] = []
    for k in range(0, len(steps_mm), per_block):
        run = steps_mm[k : k + per_block]
        body = joined(*(_step(i, h) for i, h in enumerate(run)))
        for i, height in enumerate(run):
            at = STEP_LONG_MM * (i + 0.5)
            said = [f"{height:.1f}", inch_text(height).replace(" in", '"')]
            body = body - _writing(said, (at, 0.0), height, making)
        name = f"{number + len(pieces)}"
        body = body - _writing([name], (STEP_LONG_MM * 0.5, -BLOCK_WIDE_MM / 2 + 4.0), run[0], making, 3.6)
        size = " ".join(f"{h:g}" for h in run)
        pieces.append(
            Piece(
                number=number + len(pieces),
                name="step block",
                body=body,
                plane=None,
                size=f"steps {size} mm",
                lie_deg=lie_deg(body, making.bed) or 0.0,
            )
        )
    return pieces


def lip_block(required_mm: float, over_mm: float, making: Making, number: int) -> Piece:
    """A block with a go end as thick as the required gap and a no-go end thicker by `over_mm`."""
    go, stop = required_mm, required_mm + over_mm
    half = BLOCK_WIDE_MM / 2
    body = joined(
        risen(oblong(0.0, -half, 42.0, half), 0.0, go),
        risen(oblong(42.0, -half, 78.0, half), 0.0, stop + 4.0),
        risen(oblong(78.0, -half, 120.0, half), 0.0, stop),
    )
    body = body - _writing(["GO", f"{go:.1f}"], (21.0, 0.0), go, making)
    body = body - _writing([f"{number}", "LIP", inch_text(go).replace(" in", '"')], (60.0, 0.0), stop + 4.0, making)
    body = body - _writing(["NO GO", f"{stop:.1f}"], (99.0, 0.0), stop, making)
    return Piece(number=number, name="lip block", body=body, plane=None, size=f"go {go:.1f}, no-go {stop:.1f} mm")


def rim_ring(wheel: Wheel, making: Making, number: int) -> Piece:
    """A quarter (on a small bed, less) of a ring whose outside is the rim flange's, its inside the barrel's.

    Held against the hub on its centre it shows where the rim's edge passes; the holes near its ends take a strap, so
    that alike parts make a whole ring.
    """
    outer = wheel.flange_diameter_mm / 2
    inner = min(wheel.barrel_mm / 2, outer - 20.0)
    for count in (4, 6, 8, 12, 16, 24):
        body = _ring_part(inner, outer, 360.0 / count, making)
        if lie_deg(body, making.bed) is not None:
            break
    from shapely.affinity import rotate, translate

    middle = 180.0 / count
    flat = words([f"{number} RIM", f"D {2 * outer:.1f}"], 5.0, 0.8)
    turned = rotate(flat, -middle, origin=(0.0, 0.0))
    spot = on_circle((inner + outer) / 2, middle)
    body = body - risen(translate(turned, *spot), RIM_THICK_MM - making.engrave_mm, RIM_THICK_MM + 1.0)
    return Piece(
        number=number,
        name="rim ring quarter" if count == 4 else f"rim ring part, 1 of {count}",
        body=body,
        plane=None,
        size=f"flange {2 * outer:.1f} mm, {count} make a ring",
        lie_deg=lie_deg(body, making.bed) or 0.0,
    )


def _ring_part(inner: float, outer: float, angle_deg: float, making: Making) -> Body:
    ring = disc(outer).difference(disc(inner)).intersection(wedge(0.0, angle_deg, outer + 20.0))
    across = (inner + outer) / 2
    from_end = math.degrees(10.0 / across)
    for a in (from_end, angle_deg - from_end):
        ring = ring.difference(disc(making.bolt_hole_mm / 2, on_circle(across, a)))
    return risen(ring, 0.0, RIM_THICK_MM)


def _step(place: int, height: float) -> Body:
    return risen(
        oblong(STEP_LONG_MM * place, -BLOCK_WIDE_MM / 2, STEP_LONG_MM * (place + 1), BLOCK_WIDE_MM / 2), 0.0, height
    )


def _writing(
    lines: list[str], at: tuple[float, float], top_mm: float, making: Making, height_mm: float | None = None
) -> Body:
    from shapely.affinity import translate

    longest = max(len(text) for text in lines)
    height = height_mm or float(np.clip((STEP_LONG_MM - 3.0) / (0.95 * longest), 3.2, 5.5))
    shape = translate(words(lines, height, 0.8 if height > 4 else 0.7), *at)
    return risen(shape, top_mm - making.engrave_mm, top_mm + 1.0)
