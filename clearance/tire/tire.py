"""One tire as it stands on one rim: the few numbers that decide whether it clears.

Lengths are millimetres. The section lies in (across, radius): across from the tire's own centre plane, radius from
the spin axis.

* section width - sidewall to sidewall on the rim used, new, without raised lettering or protective ribs
* overall diameter - tread to tread, inflated and off the ground
* tread width - the flat part of the crown, from where the shoulders begin
* growth - what a tire gains in service, added to width and diameter; zero for a new tire
* chain room - space for snow chains, over the tread face and over each side wall
* traced - a measured half or whole section, points (across, radius)
* basis - whether a dimension was measured, is a standard's or a table's, or is an upper bound
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from clearance.errors import TireError
from clearance.sound import a_number, an_array, one_of, shown
from clearance.tire.basis import Basis
from clearance.units import MM_PER_INCH

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from clearance.tire.size import Marking

    Array = npt.NDArray[np.float64]

SHAPES = ("road", "square", "round", "traced")
"""road: rounded shoulders. square: full-width tread, tight shoulders. round: no shoulder at all. traced: measured."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tire:
    """A tire on its rim.

    Raises TireError where the dimensions contradict each other.
    """

    overall_diameter_mm: float
    """New, growth and chains not included."""
    section_width_mm: float
    """On the rim used, growth and chains not included."""
    tread_width_mm: float
    """Where the shoulders begin; smaller than the section width."""
    rim_diameter_in: float
    """The rim code, in inches; a millimetre rim divided by 25.4."""
    marking: str | None = None
    """As moulded on the sidewall, where one was given."""
    shape: str = "road"
    """One of SHAPES."""
    traced: Array | None = None
    """(n, 2) across and radius, for shape "traced"; a half or a whole section."""
    growth_width_mm: float = 0.0
    """Added to the section width, both sides together."""
    growth_diameter_mm: float = 0.0
    """Added to the overall diameter."""
    chain_tread_mm: float = 0.0
    """Room for chains over the tread face."""
    chain_side_mm: float = 0.0
    """Room for chains over each side wall."""
    info: Marking | None = None
    """What the marking says, where one was given: construction, load, speed."""
    overall_from: Basis = Basis.MEASURED
    """What the overall diameter stands on; a bound errs large."""
    section_from: Basis = Basis.MEASURED
    """What the section width stands on; a bound errs large."""
    sources: Mapping[str, str] = field(default_factory=dict)
    """Field: where its value comes from ("measured", "UN R30 formula", ...)."""
    warnings: tuple[str, ...] = ()
    """What the user should know before trusting the numbers."""

    def __post_init__(self) -> None:
        _check(self)

    @property
    def full_width_mm(self) -> float:
        """Section width with growth and chain room: what must pass."""
        return self.section_width_mm + self.growth_width_mm + 2 * self.chain_side_mm

    @property
    def full_diameter_mm(self) -> float:
        """Overall diameter with growth and chain room: what must pass."""
        return self.overall_diameter_mm + self.growth_diameter_mm + 2 * self.chain_tread_mm

    @property
    def rim_radius_mm(self) -> float:
        """Half the nominal rim diameter, 25.4 mm to the code."""
        return self.rim_diameter_in * MM_PER_INCH / 2

    @property
    def section_height_mm(self) -> float:
        """Nominal rim to tread of the new tire."""
        return self.overall_diameter_mm / 2 - self.rim_radius_mm


def _check(tire: Tire) -> None:
    _refuse_shape(tire)
    _refuse_sizes(tire)
    _refuse_room(tire)


def _refuse_shape(tire: Tire) -> None:
    """A shape that is not known, or whose section does not belong to it."""
    one_of(tire.shape, SHAPES, "a shape that is known", TireError, key="shape")
    if (tire.traced is None) == (tire.shape == "traced"):
        raise TireError('a traced section and shape "traced" belong together: give both or neither.', key="shape")
    if tire.traced is not None:
        an_array(tire.traced, (None, 2), "the traced section", TireError, key="shape")
    if not isinstance(tire.marking, str | None):
        raise TireError(f"the marking is {shown(tire.marking)}; it must be a word.", key="size")


def _refuse_sizes(tire: Tire) -> None:
    """Sizes that are no lengths, or that contradict one another."""
    named = {
        "overall diameter": tire.overall_diameter_mm,
        "section width": tire.section_width_mm,
        "tread width": tire.tread_width_mm,
        "rim diameter": tire.rim_diameter_in,
    }
    for name, value in named.items():
        a_number(value, f"the {name}", TireError, key=name.replace(" ", "_"))
        if not 0 < value < 1e5:
            raise TireError(f"the {name} is {value:g}; it must be a positive length.", key=name.replace(" ", "_"))
    if tire.section_height_mm <= 0:
        raise TireError(
            f"the overall diameter {tire.overall_diameter_mm:g} mm is not larger than the rim:"
            f" {2 * tire.rim_radius_mm:g} mm ({tire.rim_diameter_in:g} in).",
            key="overall_diameter",
        )
    if tire.tread_width_mm >= tire.section_width_mm and tire.shape != "traced":
        raise TireError(
            f"the tread width {tire.tread_width_mm:g} mm is not smaller than the section width"
            f" {tire.section_width_mm:g} mm. Measure the tread where the shoulders begin to fall away.",
            key="tread_width",
        )


def _refuse_room(tire: Tire) -> None:
    """Growth or chains that are no lengths."""
    for key, name, value in (
        ("growth", "growth in width", tire.growth_width_mm),
        ("growth", "growth in diameter", tire.growth_diameter_mm),
        ("chains", "chain room over the tread", tire.chain_tread_mm),
        ("chains", "chain room over the side wall", tire.chain_side_mm),
    ):
        a_number(value, f"the {name}", TireError, key=key)
        if not 0 <= value < 1e4:
            raise TireError(f"the {name} is {value:g} mm; it cannot be negative.", key=key)
