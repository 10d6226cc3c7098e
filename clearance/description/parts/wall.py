"""A flat upright sheet."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from clearance.description.lines import Path
from clearance.description.parts.part import PartTable, Surroundings
from clearance.description.refusal import Refusal
from clearance.description.values import Distance, Length
from clearance.ends import families as ends
from clearance.well import parts
from clearance.well.part import Part
from clearance.well.parts import Tag


class WallTable(PartTable):
    """A flat upright sheet, square to the hub's axis."""

    inboard: Annotated[Distance, ends.ACROSS_WELL] | None = Field(
        None, description="of the hub face, toward the middle of the car"
    )
    outboard: Annotated[Distance, ends.OUT_OF_WELL] | None = Field(
        None, description="of the hub face, instead of inboard"
    )
    ahead: Annotated[Length, ends.SHEET_AHEAD] | None = Field(
        None, description="how far it goes ahead of the hub; without a bound where not given"
    )
    behind: Annotated[Length, ends.SHEET_BEHIND] | None = Field(None, description="how far it goes behind the hub")
    above: Annotated[Length, ends.SHEET_ABOVE] | None = Field(None, description="how far it goes above the hub")
    below: Annotated[Length, ends.SHEET_BELOW] | None = Field(None, description="how far it goes below the hub")

    def built(self, tag: Tag, around: Surroundings, path: Path) -> tuple[Part, ...]:
        """As `PartTable.built`. Raises Refusal where its distance is missing, and PartError."""
        if self.inboard is None and self.outboard is None:
            raise Refusal(
                (*path, "inboard"),
                "a wall needs its distance from the hub face: inboard (toward the middle of the car) or outboard.",
            )
        part = parts.wall(
            tag,
            reach_mm=around.reach_mm,
            inboard_mm=self.inboard,
            outboard_mm=self.outboard,
            ahead_mm=self.ahead,
            behind_mm=self.behind,
            above_mm=self.above,
            below_mm=self.below,
        )
        return (part,)
