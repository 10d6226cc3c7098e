"""The dimensions behind a marking: section width, overall diameter, rims, tolerances, rolling circumference.

Words of UN R30: S1 nominal section width, Ra nominal aspect ratio, A rim width, A1 theoretical rim width, d nominal rim
diameter (25.4 mm to the code, rounded), H section height, D overall diameter. Lengths are millimetres, rim widths are
inches.

    S = S1 + K (A - A1)      K = 0.4, A1 = x S1, rounded to the nearest millimetre      UN R30 6.1.1.1
    H = S1 Ra / 100          rounded                                                    UN R30 6.1.2 (from memory)
    D = d + 2 H                                                                         UN R30 6.1.2.1 (from memory)

Half millimetres round up. x is 0.70 for Ra of 50 and above and 0.85 below (design guide). Where a table beats the
formula, `tables` has the row. Nominal is not measured: deep treads stand up to 8 mm proud of D, and two makers' tires
of one size differ.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from clearance.errors import TireError
from clearance.tire.size import Marking, read
from clearance.tire.tables import LT_RIMS_IN, RECALLED, RIMS_IN, ROWS, SAME_SIZE_AS, Row, key
from clearance.units import MM_PER_INCH

RIM_SLOPE = 0.4
"""K: millimetres of section width per millimetre of rim width. UN R30 6.1.1.1; the trade's 0.2 in per 0.5 in."""
R30_FORMULA = "marking, UN R30 formula"
R54_FORMULA = "marking, UN R30 formula (UN R54 has the same)"
MEASURING_RIM = "share of the marked width by aspect ratio, design guide (from memory)"
USUAL_RIMS = "usual range, half an inch under the measuring rim to one over (from memory)"
ROLLING_FACTOR = {True: 3.05, False: 2.99}
"""Rolling circumference over overall diameter: radial and bias, UN R30 and ETRTO (from memory; 16 light-truck sheets
average 3.052)."""
NUMERIC_ASPECT = {"low": 0.81, "full": 0.95}
"""Section height over width of numeric sizes without a table row (trade articles; approximate)."""
LOW_SECTION_IN = (6.45, 6.95, 7.35, 7.75, 8.15, 8.25, 8.45, 8.55, 8.85, 9.00, 9.15)
"""Numeric widths of the low-section series of the 1960s."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimensions:
    """What a marking stands for, on its measuring rim."""

    marking: Marking
    measuring_rim_in: float
    section_width_mm: float
    overall_diameter_mm: float
    rims_in: tuple[float, float]
    """Narrowest and widest permitted rim."""
    rolling_mm: float
    """Rolling circumference, loaded and straight ahead."""
    sources: dict[str, str] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()

    @property
    def rim_diameter_mm(self) -> float:
        """d: the nominal rim diameter, rounded."""
        return nominal_rim_mm(self.marking.rim_in)

    @property
    def section_height_mm(self) -> float:
        """H: rim to tread."""
        return (self.overall_diameter_mm - self.rim_diameter_mm) / 2

    @property
    def greatest_width_mm(self) -> float:
        """The widest that a new tire of this marking may be, on the measuring rim; there is no least width."""
        return self.section_width_mm * width_factor(self.marking)

    @property
    def least_diameter_mm(self) -> float:
        """The smallest overall diameter that a new tire of this marking may have: d + 2 H 0.97."""
        return self.rim_diameter_mm + 2 * self.section_height_mm * 0.97

    @property
    def greatest_diameter_mm(self) -> float:
        """The largest overall diameter: d + 2 H b."""
        return self.rim_diameter_mm + 2 * self.section_height_mm * height_factor(self.marking)

    @property
    def turns_per_km(self) -> float:
        """Turns of the wheel in a kilometre."""
        return 1e6 / self.rolling_mm

    def width_on(self, rim_in: float) -> float:
        """Section width on another rim, 0.4 mm for each millimetre of rim width."""
        return self.section_width_mm + RIM_SLOPE * (rim_in - self.measuring_rim_in) * MM_PER_INCH


def rim_warning(found: Dimensions, rim_in: float) -> str:
    """What to say of a rim that the tire may not be mounted on; nothing where it may."""
    low, high = found.rims_in
    if low - 0.01 <= rim_in <= high + 0.01:
        return ""
    return (
        f"a {rim_in:.3g} in rim is outside what {found.marking.text} may be mounted on: {low:.3g} to {high:.3g} in"
        f" ({found.sources['rims']}). The bead may leave the rim; ask the tire's maker."
    )


def width_factor(marking: Marking | None) -> float:
    """Greatest over nominal section width: 1.04 radial, 1.06 bias (UN R30 6.1.4.2, from memory); 1.04 unmarked."""
    return 1.04 if marking is None or marking.radial else 1.06


def height_factor(marking: Marking | None) -> float:
    """Greatest over nominal section height, b: 1.04 radial, 1.08 bias (UN R30 6.1.5.3, from memory), 1.07 commercial
    bias (UN R54 6.1.5, from memory); 1.04 unmarked."""
    if marking is None or marking.radial:
        return 1.04
    return 1.07 if marking.commercial else 1.08


def half_up(value: float) -> float:
    """The nearest whole number, halves upward."""
    # decimals such as 0.575 * 100 fall a hair below the half that they stand for
    return float(math.floor(value + 0.5 + 1e-9))


def nominal_rim_mm(rim_in: float) -> float:
    """d: 25.4 mm to the code, rounded to the millimetre.

    >>> nominal_rim_mm(17)
    432.0
    """
    return half_up(rim_in * MM_PER_INCH)


def theoretical_rim_factor(aspect: float) -> float:
    """x = A1 / S1: 0.70 for aspect ratios of 50 and above, 0.85 below (design guide)."""
    return 0.70 if aspect >= 50 else 0.85


_RIM_STEPS = ((75, 0.70), (60, 0.75), (50, 0.80), (45, 0.85), (30, 0.90), (0, 0.92))


def measuring_rim_in(width_mm: float, aspect: float, *, spare: bool = False) -> float:
    """Rim width on which a metric tire is measured: a share of S1 by aspect ratio, to the nearest half inch.

    Design guide (from memory; eight of nine light-truck sheets agree). Temporary spares are measured on 4 in.

    >>> measuring_rim_in(245, 45)
    8.0
    """
    if spare:
        return 4.0
    share = next(share for least, share in _RIM_STEPS if aspect >= least)
    return half_up(2 * share * width_mm / MM_PER_INCH) / 2


def dimensions_of(marking: Marking) -> Dimensions:
    """What a marking stands for. Raises TireError where neither a formula nor a table knows it."""
    size = key(marking)
    if marking.form in ("metric", "temporary spare"):
        return _by_formula(marking)
    row = ROWS.get(size) or (ROWS.get(size.replace("R", "-")) if marking.form == "numeric" else None)
    if row is not None:
        return _by_row(marking, row)
    by_rule = {
        "bare metric": _bare_metric,
        "numeric": _numeric,
        "commercial inch": _numeric,
        "flotation": _flotation,
        "millimetre rim": _millimetre_rim,
        "letter": _letter,
    }
    return by_rule[marking.form](marking)


def dimensions_for(text: str) -> Dimensions:
    """`dimensions_of` of a marking as written."""
    return dimensions_of(read(text))


def formula_section_mm(width_mm: float, aspect: float, rim_in: float) -> float:
    """S = S1 + 0.4 (A - x S1), rounded. UN R30 6.1.1.1.

    >>> formula_section_mm(205, 55, 6.5)
    214.0
    """
    return half_up(width_mm + RIM_SLOPE * (rim_in * MM_PER_INCH - theoretical_rim_factor(aspect) * width_mm))


def formula_overall_mm(width_mm: float, aspect: float, rim_in: float) -> float:
    """D = d + 2 H, with d and H = S1 Ra / 100 rounded. UN R30 6.1.2.

    >>> formula_overall_mm(225, 50, 17)
    658.0
    """
    return nominal_rim_mm(rim_in) + 2 * half_up(width_mm * aspect / 100)


def _by_formula(marking: Marking) -> Dimensions:
    width_mm, aspect = marking.width_mm or 0.0, marking.aspect or 0.0
    size = key(marking)
    sheet = LT_RIMS_IN.get(size) if marking.commercial or marking.prefix == "LT" else None
    rim_in = sheet[1] if sheet else measuring_rim_in(width_mm, aspect, spare=marking.prefix == "T")
    overall_mm = formula_overall_mm(width_mm, aspect, marking.rim_in)
    source = R54_FORMULA if marking.commercial else R30_FORMULA
    if sheet:
        rims, rims_from = (sheet[0], sheet[2]), "tire makers' specification sheets"
    elif size in RIMS_IN:
        rims, rims_from = RIMS_IN[size], "handbook (from memory)"
    else:
        rims, rims_from = (rim_in - 0.5, rim_in + 1.0), USUAL_RIMS
    section_mm = formula_section_mm(width_mm, aspect, rim_in)
    found = _whole(marking, rim_in, section_mm, overall_mm, source, rims, rims_from)
    guide = rims_from if sheet else "4 in, as such spares are" if marking.prefix == "T" else MEASURING_RIM
    return replace(found, sources={**found.sources, "measuring_rim": guide})


def _whole(
    marking: Marking,
    rim_in: float,
    section_mm: float,
    overall_mm: float,
    source: str,
    rims_in: tuple[float, float] | None = None,
    rims_from: str = "",
    *warnings: str,
) -> Dimensions:
    return Dimensions(
        marking=marking,
        measuring_rim_in=rim_in,
        section_width_mm=section_mm,
        overall_diameter_mm=overall_mm,
        rims_in=rims_in or (max(rim_in - 0.5, 1.0), rim_in + 1.0),
        rolling_mm=ROLLING_FACTOR[marking.radial] * overall_mm,
        sources={
            "section_width": source,
            "overall_diameter": source,
            "measuring_rim": source,
            "rims": rims_from or (source if rims_in else USUAL_RIMS),
            "rolling": f"{ROLLING_FACTOR[marking.radial]} x overall diameter, UN R30 (from memory)",
        },
        warnings=warnings,
    )


def _by_row(marking: Marking, row: Row) -> Dimensions:
    careful = ("approximate" in row.source) or ("least" in row.source)
    warnings = (f"{marking.text}: {row.source}. Measure the tire itself.",) if careful else ()
    found = _whole(marking, row.rim_in, row.section_mm, row.overall_mm, row.source, row.rims_in, "", *warnings)
    if row.around_mm is None:
        return found
    return replace(found, rolling_mm=row.around_mm, sources={**found.sources, "rolling": row.source})


def _estimate(marking: Marking, why: str) -> str:
    return f"{marking.text}: no table row is known; {why}. An estimate: measure the tire, or give its dimensions."


def _bare_metric(marking: Marking) -> Dimensions:
    width_mm = marking.width_mm or 0.0
    rim_in = half_up(2 * 0.70 * width_mm / MM_PER_INCH) / 2
    overall_mm = nominal_rim_mm(marking.rim_in) + 2 * half_up(0.82 * width_mm)
    why = "its section height is taken as 82 % of its width, as such sizes were made"
    source = "marking, 82 series rule (from memory)"
    return _whole(marking, rim_in, width_mm, overall_mm, source, None, "", _estimate(marking, why))


def _numeric(marking: Marking) -> Dimensions:
    width_mm = marking.width_mm or 0.0
    low = round(width_mm / MM_PER_INCH, 2) in LOW_SECTION_IN and marking.rim_in < 16
    aspect = NUMERIC_ASPECT["low" if low else "full"]
    overall_mm = nominal_rim_mm(marking.rim_in) + 2 * half_up(aspect * width_mm)
    why = f"its section height is taken as {aspect:.0%} of its width"
    if width_mm >= 9 * MM_PER_INCH:
        why += ", and racing, truck and trailer tires of this marking differ by several inches"
    source = "marking, numeric rule (trade articles, approximate)"
    rim_in = half_up(2 * 0.70 * width_mm / MM_PER_INCH) / 2
    return _whole(marking, rim_in, half_up(width_mm), overall_mm, source, None, "", _estimate(marking, why))


def _flotation(marking: Marking) -> Dimensions:
    width_mm, overall_mm = marking.width_mm or 0.0, marking.overall_mm or 0.0
    rim_in = half_up(2 * 0.80 * width_mm / MM_PER_INCH) / 2
    if marking.commercial:
        # the tabulated light-truck sizes all lie 12 mm under their number
        overall_mm, why = overall_mm - 12, "LT tires of such sizes measure some 12 mm under their first number"
    else:
        why = "the diameter and width are taken as marked"
    source = "marking, flotation rule (from memory)"
    return _whole(marking, rim_in, half_up(width_mm), half_up(overall_mm), source, None, "", _estimate(marking, why))


def _millimetre_rim(marking: Marking) -> Dimensions:
    width_mm, aspect = marking.width_mm or 0.0, marking.aspect or 0.0
    rim_in = half_up(0.70 * width_mm / 15) * 15 / MM_PER_INCH
    # the tabulated sizes are some 9 mm larger than the formula, as their section is 4 % wider than marked
    section_mm = half_up(1.04 * width_mm)
    overall_mm = nominal_rim_mm(marking.rim_in) + 2 * half_up(section_mm * aspect / 100)
    why = "width and height are taken as 4 % over the marked ones, as in the known sizes"
    source = "marking, millimetre-rim rule (approximate)"
    return _whole(marking, rim_in, section_mm, overall_mm, source, None, "", _estimate(marking, why))


def _letter(marking: Marking) -> Dimensions:
    metric = SAME_SIZE_AS.get(key(marking))
    if metric is None:
        known = ", ".join(sorted(k for k in (*ROWS, *SAME_SIZE_AS) if k[0].isalpha()))
        raise TireError(
            f"{marking.text}: the dimensions of this letter size are not known; its letter gives a load, not a size."
            f" Measure the tire and give overall_diameter and section_width.\nKnown letter sizes: {known}."
        )
    twin = _by_formula(read(metric))
    why = f"lists give {metric} as its nearest metric size"
    return _whole(
        marking,
        twin.measuring_rim_in,
        twin.section_width_mm,
        twin.overall_diameter_mm,
        f"{metric} instead ({RECALLED})",
        None,
        "",
        _estimate(marking, why),
    )
