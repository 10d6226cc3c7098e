"""The sections of a corner file and their keys, each with its kind of value, its default and what it means.

A model here is one table of the file. Lengths arrive as text with a unit and leave as millimetres, angles as degrees.
What depends on the kind of suspension is described by `clearance.suspension.kinds` and read in `motion`; what only the
answers read is described by `clearance.answers.sections`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from clearance.description.reading import read
from clearance.description.refusal import as_written, nearest
from clearance.description.values import (
    Circle,
    Distance,
    Flag,
    Length,
    RimDiameter,
    RimWidth,
    Size,
    Word,
    refused,
)
from clearance.ends import families as ends


def listed(words: tuple[str, ...]) -> str:
    """A sentence that offers all of these words.

    >>> listed(("mm", "cm", "in"))
    'Write "mm", "cm" or "in".'
    """
    quoted = [f'"{word}"' for word in words]
    return f"Write {', '.join(quoted[:-1])} or {quoted[-1]}."


@dataclass(frozen=True, slots=True)
class OneOf:
    """Reads one of these words; another is refused with the nearest."""

    words: tuple[str, ...]

    def __call__(self, value: object) -> str:
        """The word. Raises PydanticCustomError for what is none of them."""
        if not isinstance(value, str) or value not in self.words:
            hint = nearest(value, self.words) if isinstance(value, str) else listed(self.words)
            raise refused(f"{as_written(value)} cannot be used here. {hint if 'Did' in hint else listed(self.words)}")
        return value


def one_of(*words: str) -> BeforeValidator:
    """One of these words."""
    return BeforeValidator(OneOf(words))


class Table(BaseModel):
    """One table of the file: unknown keys are refused.

    What reads a table is built when the first of its kind is read: a file has a few of them.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)


# ---- tire and wheel


class Growth(Table):
    """How much the tire grows in service, both sides together."""

    width: Annotated[Distance, ends.GROWTH] = Field(0.0, description="added to the section width")
    diameter: Annotated[Distance, ends.GROWTH] = Field(0.0, description="added to the overall diameter")


class ChainRoom(Table):
    """Room for chains that are not one of the classes."""

    tread: Annotated[Distance, ends.CHAIN_TREAD] = Field(description="room over the tread")
    side: Annotated[Distance, ends.CHAIN_SIDE] = Field(description="room over each side wall")


class Traced(Table):
    """A section traced from the tire itself."""

    file: Word = Field(description="a CSV beside the corner file: across, radius; one point a row")
    unit: Annotated[Literal["mm", "cm", "in"], one_of("mm", "cm", "in")] = Field(description="of both columns")


def _growth(value: object) -> object:
    if isinstance(value, str) and value not in ("none", "in-service"):
        hint = nearest(value, ("none", "in-service"))
        raise refused(
            f'{as_written(value)} is not a growth. {hint} Or write {{ width = "4 mm", diameter = "8 mm" }}.'
            if "Known" not in hint
            else f'{as_written(value)} is not a growth. Write "none", "in-service"'
            ' or { width = "4 mm", diameter = "8 mm" }.'
        )
    if isinstance(value, str):
        return value
    return inner_table(
        Growth, "growth", table_or(value, '"none", "in-service" or { width = "4 mm", diameter = "8 mm" }')
    )


def _chains(value: object) -> object:
    if isinstance(value, str):
        if value.upper() not in ("S", "U", "W"):
            raise refused(
                f'{as_written(value)} is not a class of chain. Write "S", "U" or "W" (SAE J1232), or its room.'
            )
        return value.upper()
    return inner_table(ChainRoom, "chains", table_or(value, '"S", "U", "W" or { tread = "37 mm", side = "15 mm" }'))


def _shape(value: object) -> object:
    if isinstance(value, str):
        if value not in ("road", "square", "round"):
            hint = nearest(value, ("road", "square", "round"))
            if value.lower().endswith((".csv", ".txt")):
                hint = f'Write {{ file = {as_written(value)}, unit = "mm" }} for a traced section.'
            elif "Known" in hint:
                hint = 'Write "road", "square", "round" or { file = "section.csv", unit = "mm" }.'
            raise refused(f"{as_written(value)} is not a shape. {hint}")
        return value
    return inner_table(
        Traced, "shape", table_or(value, '"road", "square", "round" or { file = "section.csv", unit = "mm" }')
    )


def inner_table(model: type[Table], key: str, value: object) -> Table:
    """A table inside a table that may also be a word: its own keys are named in a refusal."""
    return read(model, value, (key,))


def table_or(value: object, example: str) -> object:
    """A table, of a key that may also be a word; `example` is what to write."""
    if not isinstance(value, dict):
        raise refused(f"{as_written(value)} cannot be used here. Write {example}.")
    return value


class TireTable(Table):
    """[tire]: a marking, measurements, or both. Measured beats marked."""

    size: Word | None = Field(None, description="the marking on the sidewall; left out, the dimensions are needed")
    overall_diameter: Annotated[Size, ends.OVERALL_DIAMETER] | None = Field(
        None, description="tread to tread, inflated, off the ground"
    )
    section_width: Annotated[Size, ends.SECTION_WIDTH] | None = Field(
        None, description="sidewall to sidewall, as mounted on this rim"
    )
    measured: Flag = Field(
        False,
        description="whether the stated dimensions were measured on this very tire; one that no new tire may have is"
        " then questioned only where service cannot explain it",
    )
    measured_on: Annotated[RimWidth, ends.RIM_WIDTH] | None = Field(
        None, description="the rim width that section_width was measured on, where it was not this one"
    )
    tread_width: Annotated[Size, ends.TREAD_WIDTH] | None = Field(
        None, description="across the tread, to where the shoulders begin to fall away"
    )
    rim_diameter: Annotated[RimDiameter, ends.RIM_DIAMETER] | None = Field(
        None, description="the rim that it fits; the marking's, or the wheel's"
    )
    shape: Annotated[str | Traced, BeforeValidator(_shape)] = Field(
        "road", description='"road", "square", "round", or a traced section'
    )
    growth: Annotated[str | Growth, BeforeValidator(_growth)] = Field(
        "none", description='"none", "in-service", or { width, diameter }'
    )
    chains: Annotated[str | ChainRoom | None, BeforeValidator(_chains)] = Field(
        None, description='room for chains: "S", "U", "W" (SAE J1232), or { tread, side }'
    )


class WheelTable(Table):
    """[wheel]: the rim and where the hub's mounting face lies in it."""

    diameter: Annotated[RimDiameter, ends.RIM_DIAMETER] = Field(description="of the bead seats, as coded")
    width: Annotated[RimWidth, ends.RIM_WIDTH] = Field(
        description="between the flanges, where the beads sit; not over all"
    )
    backspace: Annotated[Length, ends.BACKSPACE] | None = Field(
        None, description="mounting face to the inner flange edge"
    )
    offset: Annotated[Length, ends.OFFSET] | None = Field(
        None, description="mounting face outboard of the rim's centre plane; positive inset"
    )
    flange_thickness: Annotated[Size, ends.FLANGE_THICKNESS] | None = Field(
        None, description="of each flange, across; 12.7 mm where not given"
    )
    flange_height: Annotated[Size, ends.FLANGE_HEIGHT] | None = Field(
        None, description="bead seat to the top of the flange; its contour's where not given"
    )
    barrel_inner_diameter: Annotated[Size, ends.BARREL] | None = Field(
        None, description="least inside diameter of the barrel"
    )
    face: Annotated[Length, ends.FACE] | None = Field(
        None, description="how far the wheel's face stands outboard of the mounting face"
    )
    bolt_circle: Annotated[Circle, ends.CIRCLE] | None = Field(None, description='studs and circle, as "5 x 4.5 in"')
    center_bore: Annotated[Size, ends.CENTER_BORE] | None = Field(
        None, description="the hole for the hub's nose; gauge, order card and inspection read it here"
    )


# ---- motion: what every kind of suspension shares


class ShiftTable(Table):
    """Play and flex: how far the wheel can be pushed, each way, from any position."""

    inboard: Annotated[Distance, ends.PLAY] = Field(0.0, description="toward the middle of the car")
    outboard: Annotated[Distance, ends.PLAY] = Field(0.0, description="away from it")
    ahead: Annotated[Distance, ends.PLAY] = Field(0.0, description="forward")
    behind: Annotated[Distance, ends.PLAY] = Field(0.0, description="back")


class TravelTable(Table):
    """The keys of [suspension] that every kind takes."""

    kind: Word = Field(description="straight, table, or a linkage by its hardpoints")
    bump: Annotated[Distance, ends.TRAVEL] = Field(description="ride height up to the bump stop, at the wheel")
    droop: Annotated[Distance, ends.TRAVEL] = Field(
        description="ride height down to full droop, at the wheel; without a sign"
    )
    other_bump: Annotated[Distance, ends.TRAVEL] | None = Field(
        None, description="of a live axle: the other wheel's; the same where not given"
    )
    other_droop: Annotated[Distance, ends.TRAVEL] | None = Field(None, description="the other wheel's droop")
    articulation: Annotated[Distance, ends.ARTICULATION] | None = Field(
        None, description="the most that the two wheels can differ in bump"
    )
    shift: ShiftTable = Field(ShiftTable.model_construct(), description="play and flex, added to every position")
