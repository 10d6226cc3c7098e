"""Where the steering axis meets the road, against where the tire stands on it.

* contact      - the tire's middle at the road: straight below the wheel's centre in the wheel's own plane
* scrub radius - contact outboard of the point where the axis meets the road (ISO 8855: kingpin offset at the ground,
                 positive where the axis meets the road inboard of the contact)
* trail        - how far ahead of the contact the axis meets the road

At ride height, straight ahead, at half of the tire's overall diameter: how far a tire squats is not known, and each
millimetre of it takes tan(inclination) mm off the scrub radius. Corner axes of a left corner, millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from clearance.pose import Array
from clearance.suspension.adjusted import Adjusted
from clearance.suspension.by_travel import ByTravel
from clearance.suspension.position import HUB
from clearance.suspension.steering import Kingpin

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp

_DOWN = np.array([0.0, 0.0, -1.0])


@dataclass(frozen=True, slots=True, kw_only=True)
class Scrub:
    """Where a tire stands against its steering axis."""

    radius_mm: float
    trail_mm: float


def steering_axis(corner: MockUp) -> Kingpin | None:
    """The corner's steering axis where hardpoints or [steering] axis give it; None where nothing does."""
    suspension: Any = corner.suspension
    if isinstance(suspension, Adjusted):
        suspension = suspension.base
    if isinstance(suspension, ByTravel) and (suspension.axis.within_mm or suspension.axis.within_deg):
        # a middling axis that was taken because none was measured
        return None
    found = getattr(suspension, "kingpin", None)
    return found if isinstance(found, Kingpin) else None


def scrub_of(corner: MockUp) -> Scrub | None:
    """Scrub radius and trail of the corner's tire; None where the steering axis is not known.

    An axis through a point 50 mm inboard of the tire's middle at hub height, leaning in by 12.5 deg, over 310 mm:
    50 - 310 tan 12.5 deg = -18.7 mm (a worked example of a chassis text; see tests).
    """
    axis = steering_axis(corner)
    if axis is None:
        return None
    contact = contact_mm(corner)
    meets = axis.through_mm + axis.axis * (contact[2] - axis.through_mm[2]) / axis.axis[2]
    return Scrub(radius_mm=float(contact[1] - meets[1]), trail_mm=float(meets[0] - contact[0]))


def contact_mm(corner: MockUp) -> Array:
    """(3,): where the tire's middle stands on the road at ride height."""
    hub = corner.suspension.pose(np.zeros((1, 3)), HUB)
    spin = hub.axis[0]
    down = _DOWN - (_DOWN @ spin) * spin
    middle: Array = hub.origin_mm[0] - corner.wheel.offset_mm * spin
    contact: Array = middle + corner.tire.overall_diameter_mm / 2 * down / np.linalg.norm(down)
    return contact
