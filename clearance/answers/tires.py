"""Other tires and other rims for the mock-up: the same tire remounted, a listed one mounted, and what may go together.

A tire is as wide as its rim makes it: 0.4 mm of section for every mm of rim (UN R30 6.1.1.1), the trade's 0.2 in per
half inch. Its diameter hardly changes with the rim and is left alone.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from clearance.errors import TireError
from clearance.tire.catalog import Listed
from clearance.tire.dimensions import RIM_SLOPE, dimensions_of, rim_widths_in
from clearance.tire.mounted import Tape, tire_for, with_growth
from clearance.units import MM_PER_INCH
from clearance.wheel.contour import contour_of

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp
    from clearance.terms import Limits
    from clearance.tire.tire import Tire
    from clearance.wheel.wheel import Wheel


def on_width(mockup: MockUp, width_in: float) -> MockUp:
    """The same tire on a rim of another width, at the same offset.

    Raises TireError for a traced section, which is known on its own rim only.
    """
    change_in = width_in - mockup.wheel.width_in
    if abs(change_in) < 1e-9:
        return mockup
    tire = mockup.tire
    if tire.traced is not None:
        raise TireError(
            f"a traced section is known on its own rim only ({mockup.wheel.width_in:g} in)."
            " Give overall_diameter and section_width to try other rims."
        )
    share = tire.tread_width_mm / tire.section_width_mm
    section = tire.section_width_mm + RIM_SLOPE * change_in * MM_PER_INCH
    # The tread is held by its belts: it keeps its width until the narrower section would leave no shoulder.
    tread = min(tire.tread_width_mm, section * max(share, 0.97))
    given = tire.sources.get("section_width", "given")
    source = f"{given}, {section - tire.section_width_mm:+.1f} mm for a {width_in:g} in rim"
    other = replace(
        tire, section_width_mm=section, tread_width_mm=tread, sources={**tire.sources, "section_width": source}
    )
    return replace(mockup, tire=other, wheel=rim_of(mockup.wheel, width_in, mockup.wheel.diameter_in))


def rim_of(wheel: Wheel, width_in: float, diameter_in: float) -> Wheel:
    """A wheel like this one on another rim, at the same offset; what was measured on the old rim alone is let go.

    Flanges as high as the old rim's contour has them become those of the new one's; others were measured and stay.
    """
    same = abs(diameter_in - wheel.diameter_in) < 1e-9
    barrel = wheel.barrel_inner_diameter_mm
    if barrel is not None and not same:
        # A larger rim of the same make has its barrel larger by as much.
        barrel = barrel + (diameter_in - wheel.diameter_in) * MM_PER_INCH
    face = None
    if wheel.face_mm is not None:
        face = wheel.face_mm + (width_in - wheel.width_in) * MM_PER_INCH / 2
    flange = wheel.flange_height_mm
    if flange == contour_of(wheel.diameter_in).flange_height_mm:
        flange = contour_of(diameter_in).flange_height_mm
    return replace(
        wheel,
        width_in=width_in,
        diameter_in=diameter_in,
        flange_height_mm=flange,
        barrel_inner_diameter_mm=barrel,
        face_mm=face,
    )


def permitted_widths(mockup: MockUp, limits: Limits) -> tuple[float, ...]:
    """Rim widths that the tire may go on, in the steps in which they are made, the given one always among them."""
    given = mockup.wheel.width_in
    if mockup.tire.traced is not None:
        return (given,)
    if limits.rim_widths_in:
        widths = limits.rim_widths_in
    elif mockup.tire.info is not None:
        widths = _by_marking(mockup)
    else:
        widths = (given - 0.5, given, given + 0.5)
    return tuple(sorted({*(round(w, 4) for w in widths), round(given, 4)}))


def _by_marking(mockup: MockUp) -> tuple[float, ...]:
    assert mockup.tire.info is not None
    try:
        return rim_widths_in(mockup.tire.info, *dimensions_of(mockup.tire.info).rims_in)
    except TireError:
        return (mockup.wheel.width_in,)


def listed_widths(listed: Listed) -> tuple[float, ...]:
    """Rim widths that a listed tire may go on: the list's own, or those of its marking."""
    return listed.rim_widths_in() or rim_widths_in(listed.marking, *dimensions_of(listed.marking).rims_in)


def mounted(listed: Listed, width_in: float, like: Tire) -> Tire:
    """A listed tire on a rim, with the shape, growth rule and chain room of the tire that it would replace.

    Raises TireError where neither the list nor the marking gives its dimensions.
    """
    tape = Tape(
        overall_diameter_mm=listed.overall_diameter_mm,
        section_width_mm=listed.section_width_mm,
        measured_on_in=listed.measured_rim_in,
    )
    return as_used(tire_for(listed.marking.text, rim_width_in=width_in, tape=tape, shape=shape_of(like)), like)


def shape_of(like: Tire) -> str:
    """The shape that another tire is given in the place of this one: a traced section is of this one alone."""
    return "road" if like.shape == "traced" else like.shape


def as_used(tire: Tire, like: Tire) -> Tire:
    """A tire grown by the rule of the one that it would replace, and with its chain room."""
    if like.sources.get("growth", "").startswith("in service"):
        tire = with_growth(tire, "in-service")
    elif like.growth_width_mm or like.growth_diameter_mm:
        tire = with_growth(tire, (like.growth_width_mm, like.growth_diameter_mm))
    return replace(tire, chain_tread_mm=like.chain_tread_mm, chain_side_mm=like.chain_side_mm)
