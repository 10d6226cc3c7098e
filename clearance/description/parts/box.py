"""A rectangular block."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from clearance.description.lines import Path
from clearance.description.parts.part import PartTable, Surroundings
from clearance.description.schema import Table, one_of
from clearance.description.values import Angle, Point
from clearance.ends import families as ends
from clearance.well import parts
from clearance.well.part import Part
from clearance.well.parts import Tag


class BoxTurn(Table):
    """How a box stands askew."""

    about: Annotated[str, one_of("ahead", "outboard", "above")] = Field(description='"ahead", "outboard" or "above"')
    angle: Annotated[Angle, ends.BOX_TURN] = Field(
        description="positive lifts the outboard side, dips the front, swings the front outboard"
    )
    through: Annotated[Point, ends.PART_POINT] | None = Field(
        None, description="a point of the axis; the box's middle where not given"
    )


class BoxTable(PartTable):
    """A rectangular block."""

    min: Annotated[Point, ends.PART_POINT] = Field(description="the least ahead, outboard and above")
    max: Annotated[Point, ends.PART_POINT] = Field(description="the greatest ahead, outboard and above")
    turn: BoxTurn | None = Field(None, description="{ about, angle, through }")

    def built(self, tag: Tag, around: Surroundings, path: Path) -> tuple[Part, ...]:
        """As `PartTable.built`."""
        turn = self.turn
        if turn is None:
            return (parts.box(tag, min_mm=self.min, max_mm=self.max),)
        part = parts.box(
            tag,
            min_mm=self.min,
            max_mm=self.max,
            turn_about=turn.about,
            turn_deg=turn.angle,
            turn_through_mm=turn.through,
        )
        return (part,)
