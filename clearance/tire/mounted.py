"""A tire on the rim that will be used: what was measured beats what is marked, and the result says which was used.

Lengths are millimetres, rim widths and codes inches.

* measured on - the rim width on which a section width was measured; left out, it was measured on the rim used
* growth - "none", "in-service" (as the marking's standard allows: see `allowed`), or added width and diameter
* chains - room for snow chains by SAE J1232 class, or added room over tread and side wall
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from clearance.errors import TireError
from clearance.plain import echoed
from clearance.tire.allowed import height_factor, height_rule, width_factor, width_rule
from clearance.tire.basis import Basis
from clearance.tire.dimensions import RIM_SLOPE, Dimensions, bound_warnings, dimensions_of, nominal_rim_mm, rim_warning
from clearance.tire.doubts import doubts_about
from clearance.tire.room import CHAIN_ROOM_MM
from clearance.tire.section import DEFAULT_TREAD
from clearance.tire.size import Marking, read
from clearance.tire.tire import SHAPES, Tire
from clearance.units import MM_PER_INCH, both

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

Growth = str | tuple[float, float]
Chains = str | tuple[float, float] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tape:
    """What was measured on the tire itself; every field may be missing."""

    overall_diameter_mm: float | None = None
    section_width_mm: float | None = None
    measured: bool = False
    """Whether they were taken off this very tire, as it is: grown or worn, perhaps."""
    measured_on_in: float | None = None
    """Rim width under the section width; None: the rim used."""
    tread_width_mm: float | None = None
    traced: Array | None = None
    """(n, 2) across and radius: a traced section."""


def tire_for(
    marking: str | None = None,
    *,
    rim_width_in: float | None = None,
    rim_diameter_in: float | None = None,
    tape: Tape | None = None,
    shape: str = "road",
    growth: Growth = "none",
    chains: Chains = None,
) -> Tire:
    """A tire on a rim of `rim_width_in`, from its marking, from what was measured, or from both.

    Without a rim width the tire stands on its measuring rim. Raises TireError where something is missing or
    contradicts.
    """
    tape = tape or Tape()
    info = None if marking is None else read(marking)
    known = _dimensions(info, tape)
    rim_in = _rim_code(info, rim_diameter_in)
    if tape.traced is not None:
        tape, shape = _as_traced(tape), "traced"
    if shape not in SHAPES or (shape == "traced" and tape.traced is None):
        raise TireError(
            f'the shape {echoed(shape)} is not known. Use "road", "square", "round", or a traced section\'s CSV.',
            key="shape",
        )
    section_mm, section_basis, section_from = _section(known, tape, rim_width_in)
    overall_mm, overall_basis, overall_from = _overall(known, tape)
    tread_mm, tread_from = _tread(tape, shape, section_mm)
    tire = Tire(
        marking=None if info is None else info.text,
        overall_diameter_mm=overall_mm,
        section_width_mm=section_mm,
        tread_width_mm=tread_mm,
        rim_diameter_in=rim_in,
        shape=shape,
        traced=tape.traced,
        info=info,
        overall_from=overall_basis,
        section_from=section_basis,
        sources={
            "overall_diameter": overall_from,
            "section_width": section_from,
            "tread_width": tread_from,
            "shape": "traced section" if shape == "traced" else f"{shape} section of tangent arcs (assumed)",
        },
        warnings=_warnings(known, tape, rim_width_in),
    )
    return with_chains(with_growth(tire, growth), chains)


def with_growth(tire: Tire, growth: Growth) -> Tire:
    """The tire as it may be after service: "none", "in-service", or (width, diameter) to add.

    In service: as far as the standard of the marking lets width and section height go, see `allowed`.

    Raises TireError for another word.
    """
    if isinstance(growth, str):
        if growth not in ("none", "in-service"):
            raise TireError(
                f'the growth {echoed(growth)} is not known. Use "none", "in-service", or a width and a diameter to'
                " add.",
                key="growth",
            )
        if growth == "none":
            return replace(tire, growth_width_mm=0.0, growth_diameter_mm=0.0)
        height_mm = (tire.overall_diameter_mm - nominal_rim_mm(tire.rim_diameter_in)) / 2
        width_mm = tire.section_width_mm * (width_factor(tire.info) - 1)
        diameter_mm = 2 * height_mm * (height_factor(tire.info) - 1)
        source = f"in service: width x {width_factor(tire.info)}, height x {height_factor(tire.info)}"
        rules = dict.fromkeys((width_rule(tire.info), height_rule(tire.info)))
        return _grown(tire, width_mm, diameter_mm, f"{source}, {' and '.join(rules)}")
    return _grown(tire, growth[0], growth[1], "as given")


def _grown(tire: Tire, width_mm: float, diameter_mm: float, source: str) -> Tire:
    return replace(
        tire, growth_width_mm=width_mm, growth_diameter_mm=diameter_mm, sources={**tire.sources, "growth": source}
    )


def with_chains(tire: Tire, chains: Chains) -> Tire:
    """The tire with room for snow chains: an SAE J1232 class (S, U, W), or (over the tread, over each side wall).

    Both are in mm. Raises TireError for a class that is not known.
    """
    if chains is None:
        return replace(tire, chain_tread_mm=0.0, chain_side_mm=0.0)
    if isinstance(chains, str):
        if chains.upper() not in CHAIN_ROOM_MM:
            raise TireError(
                f"the chain class {echoed(chains)} is not known. Use S, U or W (SAE J1232), or give the room.",
                key="chains",
            )
        tread_mm, side_mm = CHAIN_ROOM_MM[chains.upper()]
        source = f"SAE J1232 class {chains.upper()}, as five pages quote it"
    else:
        (tread_mm, side_mm), source = chains, "as given"
    return replace(tire, chain_tread_mm=tread_mm, chain_side_mm=side_mm, sources={**tire.sources, "chains": source})


def _dimensions(info: Marking | None, tape: Tape) -> Dimensions | None:
    if info is None:
        return None
    try:
        return dimensions_of(info)
    except TireError:
        # a size that no table knows is no trouble where both dimensions were measured
        if tape.traced is not None or (tape.overall_diameter_mm and tape.section_width_mm):
            return None
        raise


def _rim_code(info: Marking | None, rim_diameter_in: float | None) -> float:
    if info is not None:
        return info.rim_in
    if rim_diameter_in is None:
        raise TireError("a tire without a marking needs the rim diameter that it fits, as 15 in.")
    return rim_diameter_in


Found = tuple[float, Basis, str]
"""A dimension, what it stands on, and its source in words."""


def _taken(tape: Tape) -> str:
    """Where a stated dimension comes from; that it was measured has to be said."""
    return "measured" if tape.measured or tape.traced is not None else "stated"


def _section(known: Dimensions | None, tape: Tape, rim_in: float | None) -> Found:
    if tape.section_width_mm is not None:
        if tape.measured_on_in is None or rim_in is None or abs(tape.measured_on_in - rim_in) < 1e-9:
            return tape.section_width_mm, Basis.MEASURED, _taken(tape)
        change_mm = RIM_SLOPE * (rim_in - tape.measured_on_in) * MM_PER_INCH
        note = f"{_taken(tape)} on {tape.measured_on_in:g} in, {change_mm:+.1f} mm for {rim_in:g} in"
        note += " (0.4 of the rim's change)"
        return tape.section_width_mm + change_mm, Basis.MEASURED, note
    if known is None:
        raise TireError(
            "the section width is not known. Give the tire's size as marked, or section_width as measured.",
            key="section_width",
        )
    source = known.sources["section_width"]
    if rim_in is None or abs(rim_in - known.measuring_rim_in) < 1e-9:
        return known.section_width_mm, known.section_from, source
    change_mm = known.width_on(rim_in) - known.section_width_mm
    note = f"{source}, {change_mm:+.1f} mm for a {rim_in:g} in rim instead of {known.measuring_rim_in:.3g} in"
    return known.width_on(rim_in), known.section_from, note


def _overall(known: Dimensions | None, tape: Tape) -> Found:
    if tape.overall_diameter_mm is not None:
        return tape.overall_diameter_mm, Basis.MEASURED, _taken(tape)
    if known is None:
        raise TireError(
            "the overall diameter is not known. Give the tire's size as marked, or overall_diameter as measured.",
            key="overall_diameter",
        )
    return known.overall_diameter_mm, known.overall_from, known.sources["overall_diameter"]


def _tread(tape: Tape, shape: str, section_mm: float) -> tuple[float, str]:
    if tape.tread_width_mm is not None:
        return tape.tread_width_mm, _taken(tape)
    share = DEFAULT_TREAD.get(shape, DEFAULT_TREAD["road"])
    return share * section_mm, f"{share:.0%} of the section width (assumed)"


def _as_traced(tape: Tape) -> Tape:
    """The tape with the dimensions of its traced section; a measured one must agree with it."""
    from clearance.tire.traced import overall_diameter_of, section_width_of, whole_section

    assert tape.traced is not None
    ring = whole_section(tape.traced)
    for name, stated, found in (
        ("overall diameter", tape.overall_diameter_mm, overall_diameter_of(ring)),
        ("section width", tape.section_width_mm, section_width_of(ring)),
    ):
        if stated is not None and abs(stated - found) > 1.0:
            raise TireError(
                f"the {name} of the traced section is {both(found)}, but {both(stated)} is given. Leave one out;"
                " a traced section is never scaled.",
                key=name.replace(" ", "_"),
            )
    return replace(
        tape,
        traced=ring,
        overall_diameter_mm=overall_diameter_of(ring),
        section_width_mm=section_width_of(ring),
        measured_on_in=None,
    )


def _warnings(known: Dimensions | None, tape: Tape, rim_in: float | None) -> tuple[str, ...]:
    if known is None:
        return ()
    used = (
        known.overall_from if tape.overall_diameter_mm is None else Basis.MEASURED,
        known.section_from if tape.section_width_mm is None else Basis.MEASURED,
    )
    warnings = list(bound_warnings(known.marking, *used))
    if rim_in is not None and (outside := rim_warning(known, rim_in)):
        warnings.append(outside)
    on_in = rim_in if tape.measured_on_in is None else tape.measured_on_in
    warnings += doubts_about(known, tape.overall_diameter_mm, tape.section_width_mm, on_in, measured=tape.measured)
    return tuple(warnings)
