"""How large a tire can be whose marking has no formula and no published row: upper bounds, never a middle.

A guess that is too small lets a tire hit what it was said to clear; so every rule here errs large. Each is the smallest
plain rule of its kind that lies over every row of `published_rows.csv` and, for sizes that were only remembered, over
`recalled_rows.csv`; `tests/known/test_published_rows.py` holds them to that, and docs/accuracy.md prints by how much
they err. Where too little is published to bound a kind of marking at all, it is refused: measure it.

Words: w the width in the marking, H the section height (rim to tread), rows the two lists above. Lengths are
millimetres, rim widths inches.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from clearance.errors import TireError
from clearance.tire.size import Marking
from clearance.units import MM_PER_INCH

LOW_SECTION_IN = (5.95, 6.15, 6.45, 6.95, 7.35, 7.75, 8.15, 8.45, 8.55, 8.85, 9.15)
"""Numeric widths of the low-section car series of the 1960s; 8.25 is one of them on 14 in rims alone."""
BALLOON_IN = (5.20, 5.60, 5.90, 6.40, 6.70, 7.10, 7.60, 8.00, 8.20, 8.50, 8.90)
"""Numeric widths of the car series of the 1950s, which no truck series shares."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """What no tire of a marking exceeds when new, on a rim that errs narrow."""

    overall_mm: float
    section_mm: float
    rim_in: float
    """Measuring rim, rounded down: a section on a wider rim is then wider still."""
    overall_rule: str
    """The rule of the diameter in words, for whoever reads the answer."""
    section_rule: str
    """The rule of the section width in words."""


def bound_of(marking: Marking) -> Bound:
    """Upper bounds by form. Raises TireError where the marking's kind cannot be bounded."""
    return _RULES[marking.form](marking)


def unbounded(marking: Marking, why: str) -> TireError:
    """The refusal of a size that can be neither looked up nor bounded."""
    return TireError(
        f"{marking.text}: {why}, so its dimensions cannot be told from its marking. Measure the tire and give"
        " overall_diameter and section_width."
    )


def _bound(marking: Marking, height_mm: float, section_mm: float, rim_in: float, rules: tuple[str, str]) -> Bound:
    # rounded up: a bound may not lose half a millimetre to rounding
    overall_mm = math.ceil(marking.rim_in * MM_PER_INCH - 1e-9) + 2 * math.ceil(height_mm - 1e-9)
    return Bound(
        overall_mm=overall_mm,
        section_mm=math.ceil(section_mm - 1e-9),
        rim_in=rim_in,
        overall_rule=f"section height {rules[0]}",
        section_rule=rules[1],
    )


def car_series(marking: Marking) -> bool:
    """Whether a numeric size is of a series that only cars had: low-section and balloon widths without LT or plies."""
    if marking.form != "numeric" or marking.commercial or marking.load_range is not None:
        return False
    return _low_section(marking) or _width_in(marking) in BALLOON_IN


def _low_section(marking: Marking) -> bool:
    width_in = _width_in(marking)
    return width_in in LOW_SECTION_IN or (width_in == 8.25 and marking.rim_in == 14)


def _width_in(marking: Marking) -> float:
    return round((marking.width_mm or 0.0) / MM_PER_INCH, 2)


def _half_down(rim_in: float) -> float:
    return max(math.floor(2 * rim_in + 1e-9) / 2, 1.0)


# ---- numeric


def _numeric(marking: Marking) -> Bound:
    if car_series(marking):
        return _low_car(marking) if _low_section(marking) else _balloon_car(marking)
    if _width_in(marking) > 16:
        raise unbounded(marking, "too few tires of this kind are published to bound it")
    return _full(marking)


def _low_car(marking: Marking) -> Bound:
    w = marking.width_mm or 0.0
    rules = ("85 % of the marked width, low-section car sizes", "104 % of the marked width, low-section car sizes")
    return _bound(marking, 0.85 * w, 1.04 * w, _half_down(0.70 * w / MM_PER_INCH), rules)


def _balloon_car(marking: Marking) -> Bound:
    w = marking.width_mm or 0.0
    rules = ("103.5 % of the marked width, balloon car sizes", "106 % of the marked width, balloon car sizes")
    return _bound(marking, 1.035 * w, 1.06 * w, _half_down(0.70 * w / MM_PER_INCH), rules)


def _full(marking: Marking) -> Bound:
    """Truck, light-truck, trailer and early car sizes: as high as wide and more; deep treads count."""
    w = marking.width_mm or 0.0
    height_mm, words = _full_height(marking.rim_in, w)
    section_mm = min(1.16 * w, max(w + 32.0, 1.10 * w))
    rim_in = _half_down((0.75 if w <= 14 * MM_PER_INCH else 0.70) * w / MM_PER_INCH)
    return _bound(marking, height_mm, section_mm, rim_in, (words, _full_width_words(w)))


def _full_height(rim_in: float, w: float) -> tuple[float, str]:
    if rim_in in (14.5, 16.5):
        return 0.80 * w, "80 % of the marked width"
    if rim_in < 14:
        return 1.06 * w, "106 % of the marked width"
    if rim_in < 20:
        return min(1.11 * w, w + 25.5), "111 % of the marked width, at most 25.5 mm over it"
    return min(1.14 * w, w + 32.0), "114 % of the marked width, at most 32 mm over it"


def _full_width_words(w: float) -> str:
    if 1.16 * w <= w + 32.0:
        return "116 % of the marked width"
    return "32 mm over the marked width" if 1.10 * w <= w + 32.0 else "110 % of the marked width"


# ---- the others


def _commercial_inch(marking: Marking) -> Bound:
    w = marking.width_mm or 0.0
    if marking.rim_in == int(marking.rim_in):
        raise unbounded(
            marking, "farm, loader and off-road tires share this kind of marking (a truck tire is written 7.50-16)"
        )
    if w >= 14 * MM_PER_INCH:
        raise unbounded(marking, "wide single tires of this kind differ too much to bound it")
    height = 0.72 if marking.rim_in == 16.5 else 0.91
    rules = (f"{100 * height:.0f} % of the marked width", "105 % of the marked width")
    return _bound(marking, height * w, 1.05 * w, math.floor(4 * 0.75 * w / MM_PER_INCH + 1e-9) / 4, rules)


def _flotation(marking: Marking) -> Bound:
    if not marking.commercial and not (marking.radial and marking.rim_in >= 15):
        raise unbounded(
            marking, "bias without LT it is a racing or implement tire, whose second number may be its tread's width"
        )
    w, overall = marking.width_mm or 0.0, marking.overall_mm or 0.0
    width = 1.05 if w <= 12.5 * MM_PER_INCH else 1.08
    return Bound(
        overall_mm=math.ceil(overall + MM_PER_INCH / 2 - 1e-9),
        section_mm=math.ceil(width * w - 1e-9),
        rim_in=max(round(2 * 0.70 * w / MM_PER_INCH) / 2, 1.0),
        overall_rule="half an inch over the marked diameter",
        section_rule=f"{width:.0%} of the marked width".replace("%", " %"),
    )


def _bare_metric(marking: Marking) -> Bound:
    w = marking.width_mm or 0.0
    rim_in = _half_down(0.65 * w / MM_PER_INCH)
    return _bound(marking, 0.83 * w, 1.02 * w, rim_in, ("83 % of the marked width", "102 % of the marked width"))


def _millimetre_rim(marking: Marking) -> Bound:
    w, aspect = marking.width_mm or 0.0, marking.aspect or 0.0
    rim_in = round(0.70 * w / 15) * 15 / MM_PER_INCH
    height_mm = 1.045 * w * aspect / 100
    overall_mm = marking.rim_in * MM_PER_INCH + 2 * math.ceil(height_mm - 1e-9)
    return Bound(
        overall_mm=overall_mm,
        section_mm=math.ceil(1.055 * w - 1e-9),
        rim_in=rim_in,
        overall_rule="section height 4.5 % over the marked one",
        section_rule="5.5 % over the marked width",
    )


_LETTERS = "ABCDEFGHJKLMN"
LETTER_HEIGHT = "four points over the series, of the section width"


def letter_section_mm(marking: Marking) -> float:
    """The widest section that a letter stands for: a step of 0.27 in each letter, wider as the series gets lower."""
    step = _LETTERS.index(marking.letter or "A")
    return float((6.95 + 0.27 * step) * (78 / (marking.aspect or 78.0)) ** 0.62) * MM_PER_INCH


def letter_height_mm(marking: Marking, section_mm: float) -> float:
    """The greatest section height: the series and four points more, of the section."""
    return ((marking.aspect or 78.0) + 4) / 100 * section_mm


def _letter(marking: Marking) -> Bound:
    if not (50 <= (marking.aspect or 0) <= 83 and 13 <= marking.rim_in <= 16):
        raise unbounded(marking, "its letter gives a load, not a size, and no sizes of its series are known")
    section = letter_section_mm(marking)
    rim_in = _half_down(0.68 * section / MM_PER_INCH)
    rules = (LETTER_HEIGHT, "6.95 in and 0.27 in a letter, as the 78 series; wider as the series gets lower")
    return _bound(marking, letter_height_mm(marking, section), section, rim_in, rules)


_RULES = {
    "numeric": _numeric,
    "commercial inch": _commercial_inch,
    "flotation": _flotation,
    "bare metric": _bare_metric,
    "millimetre rim": _millimetre_rim,
    "letter": _letter,
}
