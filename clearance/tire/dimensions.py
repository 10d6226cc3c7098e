"""The dimensions behind a marking: section width, overall diameter, rims, tolerances, rolling circumference.

Words of UN R30: S1 nominal section width, Ra nominal aspect ratio, A rim width, A1 theoretical rim width, d nominal rim
diameter (25.4 mm to the code, rounded), H section height, D overall diameter. Lengths are millimetres, rim widths are
inches.

    S = S1 + K (A - A1)      K = 0.4, A1 = x S1, rounded to the nearest millimetre      UN R30 6.1.1.1
    H = S1 Ra / 100          rounded                                                    UN R30 6.1.2 (from memory)
    D = d + 2 H                                                                         UN R30 6.1.2.1 (from memory)

Half millimetres round up. x is 0.70 for Ra of 50 and above, 0.85 below (design guide), and 0.75 on 15-degree rims,
those of half codes (17.5, 19.5, 22.5), where it gives four sizes of a truck-tire maker's sheets to the millimetre.

What a dimension stands on is its `Basis`: a standard's formula, a published table, or an upper bound. Nothing is ever
guessed in the middle. Nominal is not measured: deep treads stand up to 20 mm proud of D, and two makers' tires of one
size differ; `allowed` has what a standard lets a new tire be.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from clearance.tire.allowed import LEAST_HEIGHT, commercial, height_factor, width_factor
from clearance.tire.basis import Basis
from clearance.tire.bounds import LETTER_HEIGHT, bound_of, letter_height_mm
from clearance.tire.size import Marking, read
from clearance.tire.tables import LT_RIMS_IN, RIMS_IN, Row, key, recalled_of, row_of
from clearance.units import MM_PER_INCH

RIM_SLOPE = 0.4
"""K: millimetres of section width per millimetre of rim width. UN R30 6.1.1.1; the trade's 0.2 in per 0.5 in."""
R30_FORMULA = "marking, UN R30 formula"
R54_FORMULA = "marking, UN R30 formula (UN R54 has the same)"
MEASURING_RIM = "share of the marked width by aspect ratio, design guide (from memory)"
MEASURING_RIM_15 = "nearest 15-degree rim to three quarters of the marked width; six published sizes agree"
USUAL_RIMS = "usual range, half an inch under the measuring rim to one over (from memory)"
USUAL_RIMS_15 = "usual range, the next 15-degree rim either way (from memory)"
ROLLING_FACTOR = {True: 3.05, False: 2.99}
"""Rolling circumference over overall diameter: radial and bias, UN R30 and ETRTO (from memory; 16 light-truck sheets
average 3.052)."""
FIFTEEN_DEGREE_RIMS_IN = (*(5.25, 6.00, 6.75, 7.50, 8.25, 9.00, 9.75, 10.50, 11.75, 12.25, 13.00, 14.00, 15.00, 16.50),)
"""Widths of 15-degree drop-centre rims, which come in quarters of an inch (from memory; tires are published on 6.00,
6.75, 7.50, 8.25, 9.00, 9.75 and 11.75)."""


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
    section_from: Basis
    """What the section width stands on."""
    overall_from: Basis
    """What the overall diameter stands on."""
    least_overall_mm: float | None = None
    """The smallest overall diameter that the marking is known to mean, where several are."""
    meant_overall_mm: float | None = None
    """The standard's own overall diameter, where published tires of the marking are larger."""
    meant_section_mm: float | None = None
    """The standard's own section width, where published tires of the marking are wider."""
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

    def greatest_width_on(self, rim_in: float) -> float:
        """The widest that a new tire of this marking may be, on a rim; there is no least width."""
        meant_mm = self.section_width_mm if self.meant_section_mm is None else self.meant_section_mm
        return (self.width_on(rim_in) - self.section_width_mm + meant_mm) * width_factor(self.marking)

    @property
    def greatest_width_mm(self) -> float:
        """`greatest_width_on` the measuring rim."""
        return self.greatest_width_on(self.measuring_rim_in)

    @property
    def least_diameter_mm(self) -> float | None:
        """The smallest overall diameter that a new tire may have, d + 2 H 0.97; None where only a bound is known."""
        if self.overall_from is Basis.BOUND:
            return None
        least_mm = self.overall_diameter_mm if self.least_overall_mm is None else self.least_overall_mm
        return self.rim_diameter_mm + (least_mm - self.rim_diameter_mm) * LEAST_HEIGHT

    @property
    def greatest_diameter_mm(self) -> float:
        """The largest overall diameter: d + 2 H b."""
        meant_mm = self.overall_diameter_mm if self.meant_overall_mm is None else self.meant_overall_mm
        return self.rim_diameter_mm + (meant_mm - self.rim_diameter_mm) * height_factor(self.marking)

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
    if found.section_from is Basis.BOUND:
        # its rims are as unknown as its width
        return ""
    if low - 0.01 <= rim_in <= high + 0.01:
        return ""
    return (
        f"a {rim_in:.3g} in rim is outside what {found.marking.text} may be mounted on: {low:.3g} to {high:.3g} in"
        f" ({found.sources['rims']}). The bead may leave the rim; ask the tire's maker."
    )


def rim_widths_in(marking: Marking, least_in: float, most_in: float) -> tuple[float, ...]:
    """The rim widths that are made from least to most: half inches, and on 15-degree rims those that exist.

    >>> rim_widths_in(read("245/45R17"), 7.5, 9.0), rim_widths_in(read("225/70R19.5"), 6.0, 7.5)
    ((7.5, 8.0, 8.5, 9.0), (6.0, 6.75, 7.5))
    """
    if on_fifteen_degrees(marking.rim_in):
        return tuple(rim for rim in FIFTEEN_DEGREE_RIMS_IN if least_in - 1e-6 <= rim <= most_in + 1e-6)
    count = int((most_in - least_in) / 0.5 + 1e-6)
    return tuple(round(least_in + 0.5 * k, 6) for k in range(count + 1))


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


def theoretical_rim_factor(aspect: float, rim_in: float = 15.0) -> float:
    """x = A1 / S1: 0.70 for aspect ratios of 50 and above, 0.85 below (design guide), 0.75 on 15-degree rims."""
    if on_fifteen_degrees(rim_in):
        return 0.75
    return 0.70 if aspect >= 50 else 0.85


def on_fifteen_degrees(rim_in: float) -> bool:
    """Whether a rim code is of a 15-degree drop-centre rim: the half codes from 17.5 up."""
    return rim_in >= 17 and rim_in % 1 == 0.5


_RIM_STEPS = ((75, 0.70), (60, 0.75), (50, 0.80), (45, 0.85), (30, 0.90), (0, 0.92))


def measuring_rim_in(width_mm: float, aspect: float, rim_in: float = 15.0, *, spare: bool = False) -> float:
    """Rim width on which a metric tire is measured: a share of S1 by aspect ratio, to the nearest half inch.

    Design guide (from memory; eight of nine light-truck sheets agree). Temporary spares are measured on 4 in, tires of
    15-degree rims on the nearest such rim to 0.75 S1.

    >>> measuring_rim_in(245, 45), measuring_rim_in(225, 70, 19.5), measuring_rim_in(315, 80, 22.5)
    (8.0, 6.75, 9.0)
    """
    if spare:
        return 4.0
    if on_fifteen_degrees(rim_in):
        return min(FIFTEEN_DEGREE_RIMS_IN, key=lambda rim: abs(rim - 0.75 * width_mm / MM_PER_INCH))
    share = next(share for least, share in _RIM_STEPS if aspect >= least)
    return half_up(2 * share * width_mm / MM_PER_INCH) / 2


def dimensions_of(marking: Marking) -> Dimensions:
    """What a marking stands for: by its formula, by published rows, or by an upper bound.

    Raises TireError where none of the three is known; such a tire must be measured.
    """
    row = row_of(marking)
    if marking.form in ("metric", "temporary spare"):
        meant = by_formula(marking)
        return meant if row is None else _raised(meant, row)
    return _by_bound(marking) if row is None else _by_row(marking, row)


def dimensions_for(text: str) -> Dimensions:
    """`dimensions_of` of a marking as written."""
    return dimensions_of(read(text))


def formula_section_mm(width_mm: float, aspect: float, rim_width_in: float, rim_in: float = 15.0) -> float:
    """S = S1 + 0.4 (A - x S1), rounded. UN R30 6.1.1.1.

    >>> formula_section_mm(205, 55, 6.5), formula_section_mm(315, 80, 9.0, 22.5)
    (214.0, 312.0)
    """
    theoretical_mm = theoretical_rim_factor(aspect, rim_in) * width_mm
    return half_up(width_mm + RIM_SLOPE * (rim_width_in * MM_PER_INCH - theoretical_mm))


def formula_overall_mm(width_mm: float, aspect: float, rim_in: float) -> float:
    """D = d + 2 H, with d and H = S1 Ra / 100 rounded. UN R30 6.1.2.

    >>> formula_overall_mm(225, 50, 17)
    658.0
    """
    return nominal_rim_mm(rim_in) + 2 * half_up(width_mm * aspect / 100)


# ---- each way to know them


def by_formula(marking: Marking) -> Dimensions:
    """What a metric marking means by the standard's formula alone."""
    width_mm, aspect = marking.width_mm or 0.0, marking.aspect or 0.0
    sheet = LT_RIMS_IN.get(key(marking)) if marking.commercial or marking.prefix == "LT" else None
    spare = marking.prefix == "T"
    rim_in = sheet[1] if sheet else measuring_rim_in(width_mm, aspect, marking.rim_in, spare=spare)
    rims, rims_from = _permitted(marking, rim_in, sheet)
    source = R54_FORMULA if commercial(marking) else R30_FORMULA
    guide = MEASURING_RIM_15 if on_fifteen_degrees(marking.rim_in) else MEASURING_RIM
    return _whole(
        marking,
        rim_in=rim_in,
        section=(formula_section_mm(width_mm, aspect, rim_in, marking.rim_in), Basis.STANDARD, source),
        overall=(formula_overall_mm(width_mm, aspect, marking.rim_in), Basis.STANDARD, source),
        measuring_from=rims_from if sheet else "4 in, as such spares are" if spare else guide,
        rims=rims,
        rims_from=rims_from,
    )


def _raised(meant: Dimensions, row: Row) -> Dimensions:
    """What a marking means, made as large as the largest published tire of it."""
    found, sources = meant, dict(meant.sources)
    if row.overall_mm is not None and row.overall_mm > meant.overall_diameter_mm:
        sources["overall_diameter"] = f"{row.source}; by the formula {meant.overall_diameter_mm:.0f} mm"
        found = replace(
            found,
            overall_diameter_mm=row.overall_mm,
            overall_from=Basis.TABLE,
            least_overall_mm=meant.overall_diameter_mm,
            meant_overall_mm=meant.overall_diameter_mm,
            rolling_mm=ROLLING_FACTOR[meant.marking.radial] * row.overall_mm,
        )
    if row.section_mm is not None:
        on_in = meant.measuring_rim_in if row.rim_in is None else row.rim_in
        section_mm = row.section_mm + RIM_SLOPE * (meant.measuring_rim_in - on_in) * MM_PER_INCH
        if section_mm > meant.section_width_mm:
            sources["section_width"] = f"{row.source}; by the formula {meant.section_width_mm:.0f} mm"
            found = replace(
                found,
                section_width_mm=section_mm,
                section_from=Basis.TABLE,
                meant_section_mm=meant.section_width_mm,
            )
    return replace(found, sources=sources)


def _permitted(
    marking: Marking, rim_in: float, sheet: tuple[float, float, float] | None = None
) -> tuple[tuple[float, float], str]:
    """Narrowest and widest rim, and who says so."""
    if sheet:
        return (sheet[0], sheet[2]), "tire makers' specification sheets"
    if marking.form == "metric" and key(marking) in RIMS_IN:
        return RIMS_IN[key(marking)], "handbook (from memory)"
    if on_fifteen_degrees(marking.rim_in):
        return (max(rim_in - 0.75, 5.25), rim_in + 0.75), USUAL_RIMS_15
    return (max(rim_in - 0.5, 1.0), rim_in + 1.0), USUAL_RIMS


Known = tuple[float, Basis, str]
"""A dimension, what it stands on, and in words."""


def _whole(
    marking: Marking,
    *,
    rim_in: float,
    section: Known,
    overall: Known,
    measuring_from: str,
    rims: tuple[float, float],
    rims_from: str,
) -> Dimensions:
    return Dimensions(
        marking=marking,
        measuring_rim_in=rim_in,
        section_width_mm=section[0],
        overall_diameter_mm=overall[0],
        rims_in=rims,
        rolling_mm=ROLLING_FACTOR[marking.radial] * overall[0],
        section_from=section[1],
        overall_from=overall[1],
        sources={
            "section_width": section[2],
            "overall_diameter": overall[2],
            "measuring_rim": measuring_from,
            "rims": rims_from,
            "rolling": f"{ROLLING_FACTOR[marking.radial]} x {_rolled(overall[1])}, UN R30 (from memory)",
        },
    )


def _rolled(basis: Basis) -> str:
    return "the upper bound of the diameter" if basis is Basis.BOUND else "overall diameter"


def _by_row(marking: Marking, row: Row) -> Dimensions:
    """The largest of what is published; what no row gives is bounded."""
    overall: Known
    section: Known
    if row.overall_mm is not None:
        overall = (row.overall_mm, Basis.TABLE, row.source)
    else:
        overall = _unpublished_overall(marking, row)
    bound = bound_of(marking) if row.section_mm is None or row.rim_in is None else None
    if row.section_mm is not None:
        section = (row.section_mm, Basis.TABLE, row.source)
    else:
        assert bound is not None
        section = (bound.section_mm, Basis.BOUND, _bound_words(bound.section_rule))
    rim_in = bound.rim_in if bound is not None else row.rim_in or 0.0
    rims, rims_from = (row.rims_in, row.source) if row.rims_in else _permitted(marking, rim_in)
    found = _whole(
        marking,
        rim_in=rim_in,
        section=section,
        overall=overall,
        measuring_from=row.source,
        rims=rims,
        rims_from=rims_from,
    )
    warnings = bound_warnings(marking, found.overall_from, found.section_from)
    found = replace(found, least_overall_mm=row.least_overall_mm, warnings=warnings)
    if row.around_mm is None:
        return found
    return replace(found, rolling_mm=row.around_mm, sources={**found.sources, "rolling": row.source})


def _unpublished_overall(marking: Marking, row: Row) -> Known:
    if marking.form == "letter" and row.section_mm is not None:
        height_mm = letter_height_mm(marking, row.section_mm)
        rule = f"section height {LETTER_HEIGHT}"
        overall_mm = math.ceil(marking.rim_in * MM_PER_INCH) + 2.0 * math.ceil(height_mm - 1e-9)
        return overall_mm, Basis.BOUND, _bound_words(rule)
    bound = bound_of(marking)
    return bound.overall_mm, Basis.BOUND, _bound_words(bound.overall_rule)


def _by_bound(marking: Marking) -> Dimensions:
    bound = bound_of(marking)
    recalled = recalled_of(marking)
    rims, rims_from = _permitted(marking, bound.rim_in)
    found = _whole(
        marking,
        rim_in=bound.rim_in,
        section=(bound.section_mm, Basis.BOUND, _bound_words(bound.section_rule, recalled, "section_mm")),
        overall=(bound.overall_mm, Basis.BOUND, _bound_words(bound.overall_rule, recalled, "overall_mm")),
        measuring_from="an assumed rim that errs narrow",
        rims=rims,
        rims_from=rims_from,
    )
    return replace(found, warnings=bound_warnings(marking, Basis.BOUND, Basis.BOUND))


def _bound_words(rule: str, recalled: Row | None = None, field_name: str = "") -> str:
    value_mm = None if recalled is None else getattr(recalled, field_name)
    said = "" if recalled is None or value_mm is None else f"; {recalled.source} says {value_mm:.0f} mm"
    return f"upper bound, no table read: {rule}{said}"


def bound_warnings(marking: Marking, overall: Basis, section: Basis) -> tuple[str, ...]:
    """What to say of a tire of which a dimension in use is only bounded; nothing where none is."""
    bases = (("overall diameter", overall), ("section width", section))
    bounded = [name for name, basis in bases if basis is Basis.BOUND]
    if not bounded:
        return ()
    are, it = ("is", "it") if len(bounded) == 1 else ("are", "them")
    return (
        f"{marking.text}: its {' and its '.join(bounded)} {are} in no table that was read, and taken as large as such"
        f" tires come. The tire itself is probably smaller: measure {it}.",
    )
