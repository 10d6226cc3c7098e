"""What a load index and a speed symbol stand for.

ISO 4000-1 and UN R30 annex 4, from memory; indices 71 to 110 were compared with a published list in pounds without a
mismatch. A load is in kilograms per tire, a speed in km/h.

CAUTION: a tire that carries too much, or runs faster than its symbol, fails. The index holds at the inflation pressure
that the tire's maker states for it.
"""

from __future__ import annotations

import math

from clearance.errors import TireError
from clearance.plain import echoed

_FIRST_INDEX = 60
_LOADS_KG = (
    # 60 to 69
    *(250, 257, 265, 272, 280, 290, 300, 307, 315, 325),
    *(335, 345, 355, 365, 375, 387, 400, 412, 425, 437),
    *(450, 462, 475, 487, 500, 515, 530, 545, 560, 580),
    *(600, 615, 630, 650, 670, 690, 710, 730, 750, 775),
    # 100 to 109
    *(800, 825, 850, 875, 900, 925, 950, 975, 1000, 1030),
    *(1060, 1090, 1120, 1150, 1180, 1215, 1250, 1285, 1320, 1360),
    *(1400, 1450, 1500, 1550, 1600, 1650, 1700, 1750, 1800, 1850),
    *(1900, 1950, 2000, 2060, 2120, 2180, 2240, 2300, 2360, 2430),
    # 140 to 149
    *(2500, 2575, 2650, 2725, 2800, 2900, 3000, 3075, 3150, 3250),
    *(3350, 3450, 3550, 3650, 3750, 3875, 4000, 4125, 4250, 4375),
)

SPEED_KMH: dict[str, float] = {
    **{f"A{n}": 5.0 * n for n in range(1, 9)},
    **{"B": 50.0, "C": 60.0, "D": 65.0, "E": 70.0, "F": 80.0, "G": 90.0, "J": 100.0, "K": 110.0, "L": 120.0},
    **{"M": 130.0, "N": 140.0, "P": 150.0, "Q": 160.0, "R": 170.0, "S": 180.0, "T": 190.0, "U": 200.0},
    **{"H": 210.0, "V": 240.0, "W": 270.0, "Y": 300.0},
}
"""Speed symbol: km/h. ZR alone says only "over 240"."""

_FULL_LOAD_TO_KMH = {"V": (210.0, 0.91), "W": (240.0, 0.85), "Y": (270.0, 0.85)}
"""Symbol: (up to here the whole load, share of it left at the symbol's own speed)."""


def load_kg(index: int) -> int:
    """What one tire of this load index carries. Raises TireError for an index that is not in the table.

    >>> load_kg(95)
    690
    """
    place = index - _FIRST_INDEX
    if not 0 <= place < len(_LOADS_KG):
        last = _FIRST_INDEX + len(_LOADS_KG) - 1
        raise TireError(f"load index {index} is not in the table; {_FIRST_INDEX} to {last} are.")
    return _LOADS_KG[place]


def load_index_for(load_needed_kg: float) -> int:
    """The least load index that carries so much. Raises TireError beyond the table.

    >>> load_index_for(680)
    95
    """
    for place, load in enumerate(_LOADS_KG):
        if load >= load_needed_kg:
            return _FIRST_INDEX + place
    raise TireError(f"no load index of the table carries {load_needed_kg:g} kg; the most is {_LOADS_KG[-1]} kg.")


def load_at_kg(index: int, symbol: str, speed_kmh: float) -> float:
    """What one tire carries at a speed: V, W and Y tires carry less near their limit, in a straight line.

    Raises TireError above the symbol's speed. UN R30, as a chassis textbook quotes it (91 % for V at 240 km/h, 85 %
    for W at 270 km/h); Y after the same pattern (from memory).
    """
    limit = SPEED_KMH.get(symbol)
    if limit is None:
        raise TireError(f"the speed symbol {echoed(symbol)} is not known. Use one of {', '.join(SPEED_KMH)}.")
    if not (math.isfinite(speed_kmh) and 0 <= speed_kmh <= limit):
        raise TireError(f"{speed_kmh:g} km/h is more than the speed symbol {symbol} allows: {limit:g} km/h.")
    full = load_kg(index)
    if symbol not in _FULL_LOAD_TO_KMH or speed_kmh <= _FULL_LOAD_TO_KMH[symbol][0]:
        return float(full)
    start, left = _FULL_LOAD_TO_KMH[symbol]
    return full * (1 - (1 - left) * (speed_kmh - start) / (limit - start))
