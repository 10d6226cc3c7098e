"""A round tube along points."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

from pydantic import Field

from clearance.description.lines import Path
from clearance.description.parts.part import PartTable, Surroundings, refuse_frame
from clearance.description.refusal import Refusal
from clearance.description.values import Point, Size, Word
from clearance.ends import families as ends
from clearance.well import parts
from clearance.well.part import Part
from clearance.well.parts import Tag


class BarTable(PartTable):
    """A round tube along points."""

    points: tuple[Annotated[Point, ends.PART_POINT], ...] = Field(
        description="two or more, along the middle of the tube"
    )
    diameter: Annotated[Size, ends.BAR_DIAMETER] = Field(description="over all")
    ends_ride_on: tuple[Word, Word] | None = Field(None, description='what each end moves with: ["axle", "body"]')

    def built(self, tag: Tag, around: Surroundings, path: Path) -> tuple[Part, ...]:
        """As `PartTable.built`. Raises Refusal for `rides_on` beside `ends_ride_on`, and PartError."""
        if self.ends_ride_on is None:
            return (parts.bar(tag, points_mm=self.points, diameter_mm=self.diameter),)
        if "rides_on" in self.model_fields_set:
            raise Refusal(
                (*path, "rides_on"), "a bar with ends_ride_on says there what each end moves with: leave rides_on out."
            )
        near, far = self.ends_ride_on
        for i, frame in enumerate((near, far)):
            refuse_frame(frame, around, (*path, "ends_ride_on", i))
        # a bar with one end on the wheel's side is a moving part beside a moving wheel: the finger stays its default
        tag = replace(tag, rides_on=near)
        return (parts.bar(tag, points_mm=self.points, diameter_mm=self.diameter, far_frame=far),)
