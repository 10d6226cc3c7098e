"""Which layers a laminated tire is stacked from: whole sheets from the hub face outward both ways, and what ends it.

* end - how the last of the tire on one side is filled, where it is no whole number of sheets: with thinner sheet, with
        a layer planed to a stated thickness, with a whole sheet that stands out past the tire, or not at all, and then
        by how much the stack is short

Lengths are millimetres along the axis, outboard of the hub face.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement
from typing import TYPE_CHECKING

from clearance.units import both

if TYPE_CHECKING:
    from clearance.gauge.flat import Sheet

ENDS = ("planed", "whole", "short")
NOTHING_MM = 0.25
"""A rest thinner than this is not filled; it is said."""
LEAST_PLANED_MM = 6.0
"""Sheet is not planed thinner (common practice); two layers share what is left instead."""
MOST_END_LAYERS = 3
LEAST_SAID_MM = 0.05
"""What is less is not told apart from nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One layer of the stack."""

    low_mm: float
    high_mm: float
    stock_mm: float
    """Thickness of the sheet that it is cut from."""

    @property
    def thick_mm(self) -> float:
        """Its own thickness in the stack."""
        return self.high_mm - self.low_mm

    @property
    def planed(self) -> bool:
        """Whether it must be made thinner than its sheet."""
        return self.thick_mm < self.stock_mm - 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class End:
    """One side of the stack."""

    side: str
    """inboard or outboard."""
    tire_mm: float
    """Where the tire and wheel end."""
    stack_mm: float
    """Where the stack ends."""
    made_of: tuple[Layer, ...]
    """The layers on this side that are not whole sheets of the usual thickness."""

    @property
    def short_mm(self) -> float:
        """By how much the stack is narrower than the tire on this side; negative where it is wider."""
        out = 1.0 if self.side == "outboard" else -1.0
        return out * (self.tire_mm - self.stack_mm)

    def __str__(self) -> str:
        where = f"{self.side}: the tire ends at {self.tire_mm:+.1f}, the stack at {self.stack_mm:+.1f} mm"
        if self.short_mm >= LEAST_SAID_MM:
            return f"{where}: THE STACK IS {both(self.short_mm)} SHORT"
        how = " and ".join(_made(layer) for layer in self.made_of)
        over = f", {both(-self.short_mm)} more than the tire" if self.short_mm <= -LEAST_SAID_MM else ""
        return f"{where}{over}{f'; {how}' if how else ''}"


def _made(layer: Layer) -> str:
    if layer.planed:
        return f"a layer of {layer.stock_mm:g} mm sheet planed to {layer.thick_mm:.1f} mm"
    return f"a layer of {layer.stock_mm:g} mm sheet"


def layers_of(low_mm: float, high_mm: float, sheet: Sheet) -> tuple[tuple[Layer, ...], tuple[End, End]]:
    """Layers from inboard to outboard, one of them beginning on the hub face, and how each side of the tire ends."""
    outward = _filled(max(high_mm, 0.0), sheet) or [(sheet.thickness_mm, sheet.thickness_mm)]
    inward = _filled(max(-low_mm, 0.0), sheet)
    out, back = _stood(outward, 1.0), _stood(inward, -1.0)
    ends = (
        End(side="inboard", tire_mm=low_mm, stack_mm=back[-1].low_mm if back else 0.0, made_of=_unlike(back, sheet)),
        End(side="outboard", tire_mm=high_mm, stack_mm=out[-1].high_mm, made_of=_unlike(out, sheet)),
    )
    return (*reversed(back), *out), ends


def _unlike(layers: Sequence[Layer], sheet: Sheet) -> tuple[Layer, ...]:
    return tuple(x for x in layers if x.planed or x.stock_mm != sheet.thickness_mm)


def _stood(made: Sequence[tuple[float, float]], out: float) -> list[Layer]:
    """(thickness, sheet) pairs on each other from the hub face outboard (1) or inboard (-1)."""
    layers, at = [], 0.0
    for thick, stock in made:
        ends = sorted((round(out * at, 6), round(out * (at + thick), 6)))
        layers.append(Layer(low_mm=ends[0] + 0.0, high_mm=ends[1] + 0.0, stock_mm=stock))
        at += thick
    return layers


def _filled(span_mm: float, sheet: Sheet) -> list[tuple[float, float]]:
    """(thickness, sheet) of each layer over a span, from the hub face."""
    thick = sheet.thickness_mm
    whole = math.floor((span_mm + 1e-6) / thick)
    rest = span_mm - whole * thick
    made = [(thick, thick)] * whole
    if rest < NOTHING_MM or sheet.ends == "short":
        return made
    stock = _stock_for(rest, sheet)
    over = sum(stock) - rest
    if sheet.ends == "whole" or over < NOTHING_MM:
        return made + [(s, s) for s in stock]
    return made[:-1] + _planed(made[-1:], stock, over)


def _stock_for(rest_mm: float, sheet: Sheet) -> tuple[float, ...]:
    """The sheets that fill a rest with the least over, then in the fewest layers, the thickest nearest the hub."""
    sold = sorted({*(t for t in sheet.also_mm if t < sheet.thickness_mm), sheet.thickness_mm}, reverse=True)
    ways = [w for n in range(1, MOST_END_LAYERS + 1) for w in combinations_with_replacement(sold, n)]
    enough = [w for w in ways if sum(w) >= rest_mm - 1e-9]
    return min(enough, key=lambda w: (round(sum(w), 3), len(w), w))


def _planed(before: Sequence[tuple[float, float]], stock: Sequence[float], over_mm: float) -> list[tuple[float, float]]:
    """The last layers and the one `before` them, what they are over planed off one of them, or shared by two; nothing
    is planed off where it would leave one too thin. The end lies within a tenth of a millimetre beyond the tire's.
    """
    thick = [t for t, _ in before] + list(stock)
    # the thickest of the end layers, else the one before them
    for k in sorted(range(len(thick)), key=lambda k: (k < len(before), -thick[k])):
        if thick[k] - over_mm >= min(LEAST_PLANED_MM, thick[k] - NOTHING_MM):
            return _with({k: _tenth_up(thick[k] - over_mm)}, thick)
    if len(thick) > 1:
        one, other = sorted(range(len(thick)), key=lambda k: (-thick[k], -k))[:2]
        shared = _tenth_up((thick[one] + thick[other] - over_mm) / 2)
        rest = _tenth_up(thick[one] + thick[other] - over_mm - shared)
        if LEAST_PLANED_MM <= rest <= shared <= min(thick[one], thick[other]):
            return _with({one: rest, other: shared}, thick)
    return [(t, t) for t in thick]


def _with(planed: dict[int, float], stock: Sequence[float]) -> list[tuple[float, float]]:
    return [(planed.get(k, t), t) for k, t in enumerate(stock)]


def _tenth_up(mm: float) -> float:
    return math.ceil(round(10.0 * mm, 6)) / 10.0
