"""A car: its corners, and what it has once.

* axle   - "front" or "rear", with one or two of the corners
* sides  - the corners of one axle, left first
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from clearance.errors import InputError
from clearance.mockup.mockup import CORNERS, MockUp
from clearance.plain import echoed
from clearance.sound import one_of
from clearance.units import FIRST

AXLES = ("front", "rear")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Car:
    """The mock-ups of a car's corners by their names.

    Raises InputError for a car without a corner, a corner under another's name, a unit that no page can have first.
    """

    title: str
    corners: Mapping[str, MockUp]
    """front-left, front-right, rear-left, rear-right: those that are described, in this order."""
    wheelbase_mm: float | None = None
    track_mm: Mapping[str, float] = field(default_factory=dict)
    """Hub face to hub face, of the axles where it is given."""
    driven: tuple[str, ...] = ()
    """The axles that the engine drives; empty where that is not said."""
    speedometer: str | None = None
    """The axle whose wheels the speedometer counts; None where that is not said."""
    cautions: tuple[str, ...] = ()
    """What applies to this car, whatever is asked."""
    units: str = FIRST[0]

    def __post_init__(self) -> None:
        one_of(self.units, FIRST, "a unit that a page can have first", InputError, key="units")
        for axle in (*self.driven, *([] if self.speedometer is None else [self.speedometer])):
            one_of(axle, AXLES, "an axle", InputError, key="axle")
        if not self.corners:
            raise InputError("a car needs at least one corner.", key="corner")
        for name, corner in self.corners.items():
            one_of(name, CORNERS, "a corner", InputError, key="corner")
            if corner.corner != name:
                raise InputError(f"{name} was given the {corner.corner} corner.", key=name)

    @property
    def axles(self) -> tuple[str, ...]:
        """The axles of which a corner is described, front first."""
        return tuple(axle for axle in AXLES if self.sides(axle))

    @property
    def counted(self) -> str | None:
        """The axle that the speedometer goes by: as said, else the one that is driven (common practice: a speedometer
        is driven from the gearbox); None where neither is said or both axles are driven."""
        only = self.driven[0] if len(self.driven) == 1 else None
        return self.speedometer or only

    def sides(self, axle: str) -> tuple[MockUp, ...]:
        """The corners of one axle, left first."""
        return tuple(self.corners[name] for name in CORNERS if name.startswith(axle) and name in self.corners)

    def at(self, name: str) -> MockUp:
        """The corner of this name. Raises InputError where the car has none."""
        if name not in self.corners:
            raise InputError(f"there is no corner {echoed(name)}. The corners are: {', '.join(self.corners)}.")
        return self.corners[name]
