"""What the standards let a new tire be, beside what its marking means; in service it may be as much.

| tire | section width at most | section height at most | source |
|---|---|---|---|
| car, radial / bias | 1.04 / 1.06 | 1.04 / 1.08 | UN R30 6.1.4 and 6.1.5 (from memory) |
| commercial, radial / bias | 1.04 / 1.08 | 1.04 / 1.07 | UN R54 6.1.4 and 6.1.5 (from memory) |
| the same for use off the road too (POR, ET, MPT) | | 1.06 / 1.09 | UN R54 6.1.5 (from memory) |
| numeric, bias, of no car series: the wider of both | 1.08 | 1.08 | the same |
| US markings: P, LT, ST, T, letters | 1.07 | as above | 49 CFR 571.109 S4.2.2.2, 571.139 S6.1.2 |

The US rule is on the width alone, and counts ribs and lettering; of two rules the wider holds. A new tire is no lower
than 0.97 of its section height (both regulations, from memory); there is no least width. One loader-tire maker's sheet
gives its bias tire 1.083 in width and 1.091 in height in service, 0.5 mm over what MPT allows here.
"""

from __future__ import annotations

from clearance.tire.bounds import car_series
from clearance.tire.size import Marking

LEAST_HEIGHT = 0.97
"""Least over nominal section height of a new tire: UN R30 6.1.5.3 and R54 6.1.5 (from memory)."""
_US_WIDTH = 1.07
_US_PREFIXES = ("P", "LT", "ST", "T")
R30 = "UN R30 6.1.4 and 6.1.5, from memory"
R54 = "UN R54 6.1.4 and 6.1.5, from memory"
US = "49 CFR 571.139 S6.1.2"


def width_factor(marking: Marking | None) -> float:
    """Greatest over nominal section width, new or in service; see the module."""
    if marking is None:
        return 1.04
    by_un = 1.04 if marking.radial else 1.08 if commercial(marking) else 1.06
    return max(by_un, _US_WIDTH) if us_marked(marking) else by_un


def height_factor(marking: Marking | None) -> float:
    """Greatest over nominal section height b, new or in service; see the module."""
    if marking is None or (marking.radial and not marking.special_use):
        return 1.04
    if marking.special_use:
        return 1.06 if marking.radial else 1.09
    # unmarked numeric sizes were made for cars and trucks alike: the wider rule
    return 1.07 if marking.commercial else 1.08


def commercial(marking: Marking) -> bool:
    """Whether UN R54 speaks of it: marked so, on a truck's half-code rim, or a numeric size of no car series."""
    truck = marking.rim_in >= 17 and marking.rim_in % 1 == 0.5
    numeric = marking.form == "numeric" and not car_series(marking)
    return marking.commercial or marking.special_use or truck or numeric


def us_marked(marking: Marking) -> bool:
    """Whether a marking is of the United States' own systems."""
    light_truck = marking.form == "flotation" and marking.commercial
    return marking.prefix in _US_PREFIXES or marking.form == "letter" or light_truck


def width_rule(marking: Marking | None) -> str:
    """Where the greatest width comes from."""
    if marking is not None and us_marked(marking) and width_factor(marking) == _US_WIDTH:
        return US
    return R54 if marking is not None and commercial(marking) else R30


def height_rule(marking: Marking | None) -> str:
    """Where the greatest diameter comes from."""
    if marking is None or not commercial(marking):
        return R30
    wider = marking.form == "numeric" and not marking.radial and not marking.commercial and not marking.special_use
    return R30 if wider else R54
