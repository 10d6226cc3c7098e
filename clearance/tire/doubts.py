"""What was stated of a tire, held against what its marking means: a dimension that the standard forbids is named.

A stated dimension is always used; this only asks. Widths are compared as they stand on the rim that they were measured
on, because a section is 0.4 mm wider for each millimetre of rim.

* forbidden   - no new tire of the marking may measure so (`allowed`)
* impossible  - nor one that was made to the limit and then grew by as much again, or wore its whole tread off
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from clearance.errors import TireError
from clearance.tire.allowed import height_factor, height_rule, width_factor, width_rule
from clearance.tire.basis import Basis
from clearance.units import both

if TYPE_CHECKING:
    from clearance.tire.dimensions import Dimensions

NARROW = 0.92
"""A stated width under this share of the marked one is asked about; no standard has a least width (common practice)."""
LOW = 0.75
"""A stated section height under this share of a bound is asked about: no collected row is so far under one."""
WORN_MM = 16.0
"""What a worn tread takes off the diameter at most: 8 mm of rubber all round (common practice)."""
TO_SAY_MEASURED = " If it was taken off this very tire, write measured = true below [tire]."
_NAMED = 3
"""How many other markings are named."""


def doubts_about(
    known: Dimensions,
    overall_mm: float | None,
    section_mm: float | None,
    rim_in: float | None,
    *,
    measured: bool = False,
) -> tuple[str, ...]:
    """What to say of stated dimensions; `rim_in` is the rim under the section, None the marking's measuring rim.

    Of measured ones, only what neither growth in service nor wear explains.
    """
    said = []
    if overall_mm is not None and not (measured and in_service(known, overall_mm)):
        said.append(about_overall(known, overall_mm, section_mm, rim_in, measured=measured))
    if section_mm is not None and not (measured and width_in_service(known, section_mm, rim_in)):
        said.append(about_section(known, overall_mm, section_mm, rim_in, measured=measured))
    return tuple(text + ("" if measured else TO_SAY_MEASURED) for text in said if text)


def in_service(known: Dimensions, overall_mm: float) -> bool:
    """Can a tire of the marking measure so, as large as new ones may be and grown, or as low and worn out?"""
    return _lowest_mm(known) - WORN_MM <= overall_mm <= _grown_mm(known)


def width_in_service(known: Dimensions, section_mm: float, rim_in: float | None) -> bool:
    """Can a tire of the marking, as wide as a new one may be and grown, be so wide on this rim?"""
    most = known.greatest_width_on(known.measuring_rim_in if rim_in is None else rim_in)
    return LOW * known.section_width_mm <= section_mm <= most * width_factor(known.marking)


def _lowest_mm(known: Dimensions) -> float:
    least = known.least_diameter_mm
    return known.rim_diameter_mm + 2 * LOW * known.section_height_mm if least is None else least


def _grown_mm(known: Dimensions) -> float:
    tall = known.greatest_diameter_mm - known.rim_diameter_mm
    return known.rim_diameter_mm + tall * height_factor(known.marking)


def about_overall(
    known: Dimensions, overall_mm: float, section_mm: float | None, rim_in: float | None, *, measured: bool = False
) -> str:
    """What to ask of a stated overall diameter; nothing where the marking allows it."""
    least, most, lowest = known.least_diameter_mm, known.greatest_diameter_mm, _lowest_mm(known)
    if lowest <= overall_mm <= most:
        return ""
    means = _means(known.overall_diameter_mm, known.overall_from)
    allowed = f"at most {both(most)}" if least is None else f"{both(least)} to {both(most)}"
    grown = _grown_mm(known)
    worn = lowest - WORN_MM
    return _question(
        known,
        name="overall diameter",
        stated_mm=overall_mm,
        means=f"{means}, and a new tire of it measures {allowed} by {height_rule(known.marking)}",
        beyond=_beyond(overall_mm > most, not worn <= overall_mm <= grown, grown, worn),
        measured=measured,
        others=others(known, overall_mm, section_mm, rim_in),
    )


def about_section(
    known: Dimensions, overall_mm: float | None, section_mm: float, rim_in: float | None, *, measured: bool = False
) -> str:
    """What to ask of a stated section width, as the marking stands on the rim under it; nothing where it is allowed."""
    on_in = known.measuring_rim_in if rim_in is None else rim_in
    marked = known.width_on(on_in)
    most = known.greatest_width_on(on_in)
    grown, least = (
        most * width_factor(known.marking),
        marked * (NARROW if known.section_from is not Basis.BOUND else LOW),
    )
    if least <= section_mm <= most:
        return ""
    if section_mm > most:
        means = f"{_means(marked, known.section_from)} on a rim of {on_in:.3g} in, and a new tire of it is at most"
        means += f" {both(most)} wide by {width_rule(known.marking)}"
    else:
        means = f"{_means(marked, known.section_from)} on a rim of {on_in:.3g} in; no standard has a least width, but"
        means += f" {section_mm / marked - 1:+.0%} is rare"
    return _question(
        known,
        name="section width",
        stated_mm=section_mm,
        means=means,
        beyond=_beyond(True, section_mm > grown, grown, 0.0),
        measured=measured,
        others=others(known, overall_mm, section_mm, rim_in),
    )


def _means(value_mm: float, basis: Basis) -> str:
    words = {Basis.TABLE: "stands in tables at up to ", Basis.BOUND: "is taken here at no more than "}
    return f"{words.get(basis, 'means ')}{both(value_mm)}"


def _beyond(over: bool, impossible: bool, grown_mm: float, worn_mm: float) -> str:
    """The sharper words for a dimension that neither growth nor wear explains."""
    if not impossible:
        return "" if over else " A worn tread is smaller than the new one that will follow it: state the new tire's."
    if over:
        return (
            f" Nor can growth in service explain it: even the largest new tire would grow to {both(grown_mm)} at most."
        )
    return f" Nor can wear explain it: a worn-out one is still about {both(worn_mm)}."


def _question(
    known: Dimensions, *, name: str, stated_mm: float, means: str, beyond: str, others: str, measured: bool
) -> str:
    stated = "measured" if measured else "stated"
    return (
        f"the {stated} {name} of {both(stated_mm)} is not that of a {known.marking.text}: the marking {means}."
        f"{beyond}{others} The {stated} one is used; check the tape and the unit, and the marking on the sidewall."
    )


# ---- which marking would mean it


def others(known: Dimensions, overall_mm: float | None, section_mm: float | None, rim_in: float | None) -> str:
    """A sentence with the nearest markings on the same rim code that may measure what was stated; empty if none."""
    overall_mm = known.overall_diameter_mm if overall_mm is None else overall_mm
    found = [other for other in _same_rim(known) if _may_measure(other, overall_mm, section_mm, rim_in)]
    found.sort(key=lambda other: (_distance(known, other, overall_mm, section_mm, rim_in), other.marking.text))
    if not found:
        return ""
    named = [f"{other.marking.text} ({other.overall_diameter_mm:.0f} mm)" for other in found[:_NAMED]]
    return f" {' or '.join(named)} would mean what was stated."


def _same_rim(known: Dimensions) -> list[Dimensions]:
    from clearance.tire.catalog import standard_sizes
    from clearance.tire.dimensions import dimensions_of
    from clearance.tire.size import read
    from clearance.tire.tables import key, published_rows

    listed = [one.marking for one in standard_sizes()] + [read(row.size) for row in published_rows()]
    by_key = {key(marking): marking for marking in listed if abs(marking.rim_in - known.marking.rim_in) < 1e-6}
    by_key.pop(key(known.marking), None)
    dimensions = []
    for marking in by_key.values():
        try:
            dimensions.append(dimensions_of(marking))
        except TireError:
            continue
    # a bound is no statement of what a tire measures
    return [one for one in dimensions if one.overall_from is not Basis.BOUND]


def _may_measure(other: Dimensions, overall_mm: float, section_mm: float | None, rim_in: float | None) -> bool:
    least = other.least_diameter_mm
    if least is None or not least <= overall_mm <= other.greatest_diameter_mm:
        return False
    if section_mm is None:
        return True
    on_in = other.measuring_rim_in if rim_in is None else rim_in
    return NARROW * other.width_on(on_in) <= section_mm <= other.greatest_width_on(on_in)


def _distance(
    known: Dimensions, other: Dimensions, overall_mm: float, section_mm: float | None, rim_in: float | None
) -> float:
    """How far a marking is from what was stated; where no width was, the marked widths are compared instead."""
    off_mm = abs(other.overall_diameter_mm - overall_mm)
    if section_mm is None:
        return off_mm + abs((other.marking.width_mm or 0.0) - (known.marking.width_mm or 0.0)) / 4
    return off_mm + abs(other.width_on(other.measuring_rim_in if rim_in is None else rim_in) - section_mm) / 4
