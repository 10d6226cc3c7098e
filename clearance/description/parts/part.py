"""What every [[part]] says, and what it stands around."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path as FilePath
from typing import Annotated

from pydantic import Field

from clearance.description.lines import Path
from clearance.description.refusal import Refusal, as_written, nearest
from clearance.description.schema import Table
from clearance.description.values import Distance, Name, Word
from clearance.ends import families as ends
from clearance.well.part import Part
from clearance.well.part_kinds import PART_KINDS, WITH_THE_WHEEL_MM
from clearance.well.parts import Tag


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """What the parts need to know about the corner that they stand around."""

    reach_mm: float
    """Half the side of a cube about the hub that holds the tire at every position."""
    frames: tuple[str, ...]
    """What a part can ride on."""
    side: str
    """ "left" or "right"."""
    folder: FilePath
    """Where the corner file is; the files that it names are beside it."""
    bolt_circle: tuple[int, float] | None = None
    """The wheel's, for scans placed by their bolt holes."""
    across: frozenset[int] = frozenset()
    """Parts, by their place in the list, that were measured on the other side of the car and stand here mirrored."""

    def measured_at(self, place: int) -> Surroundings:
        """The surroundings in which the part at this place of the list was measured."""
        if place not in self.across:
            return self
        return replace(self, side="left" if self.side == "right" else "right")


class PartTable(Table):
    """What every [[part]] can say, whatever its kind; a kind adds its own keys, and what they make."""

    name: Name = Field(description="what the findings call it; yours to choose")
    kind: Word = Field(description=f"{', '.join(PART_KINDS)}")
    rides_on: Word = Field("body", description='what it moves with: "body", "axle", "knuckle", or a link')
    required: Annotated[Distance, ends.REQUIRED] | None = Field(
        None, description="the gap that it must keep; a default by kind where not given"
    )
    thickness: Annotated[Distance, ends.THICKNESS] = Field(
        0.0, description="of the sheet behind the surface, away from the tire"
    )
    uncertainty: Annotated[Distance, ends.UNCERTAINTY] | None = Field(
        None, description="how far the surface may be from where it was measured"
    )

    def built(self, tag: Tag, around: Surroundings, path: Path) -> tuple[Part, ...]:
        """The parts of the well that it makes. Raises Refusal, PartError, MeshError."""
        raise NotImplementedError


def required(kind: str, rides_on: str, stated_mm: float | None) -> tuple[float, str]:
    """The gap that a part of this kind must keep, and who says so.

    >>> required("wall", "body", None)
    (25.0, 'default for a wall, common practice')
    >>> required("box", "axle", None)
    (6.0, 'default for what rides on the axle, common practice')
    """
    if stated_mm is not None:
        return stated_mm, "corner file"
    if rides_on != "body":
        return WITH_THE_WHEEL_MM, f"default for what rides on the {rides_on}, common practice"
    return PART_KINDS[kind].required_mm, f"default for a {kind}, common practice"


def refuse_frame(frame: str, around: Surroundings, path: Path) -> None:
    """Raise Refusal where nothing of that name can be ridden on."""
    if frame not in around.frames:
        raise Refusal(
            path, f"nothing here is called {as_written(frame)} for a part to ride on. {nearest(frame, around.frames)}"
        )
