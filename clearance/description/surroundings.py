"""[[part]]: every part of the file as the parts of the well that it makes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from clearance.description.lines import Path
from clearance.description.parts.kinds import PARTS
from clearance.description.parts.part import PartTable, Surroundings, refuse_frame, required
from clearance.description.reading import read
from clearance.description.refusal import Refusal, as_written, nearest
from clearance.errors import MeshError, PartError
from clearance.well import parts
from clearance.well.part import Part


def read_parts(tables: object) -> tuple[PartTable, ...]:
    """Every [[part]] of the file as the table of its kind. Raises Refusal."""
    if isinstance(tables, Mapping):
        raise Refusal(("part",), "[part] is one table; parts are a list. Write [[part]], with two brackets, for each.")
    if not isinstance(tables, list) or not tables:
        raise Refusal(("part",), "there are no parts: nothing to clear. Write a [[part]] for each thing in the well.")
    return tuple(part_table(table, ("part", i)) for i, table in enumerate(tables))


def parts_of(tables: Sequence[PartTable], around: Surroundings) -> tuple[Part, ...]:
    """The parts of the well that the tables make. Raises Refusal."""
    built = [part_built(table, around.measured_at(i), ("part", i)) for i, table in enumerate(tables)]
    _refuse_doubles(built)
    return tuple(part for some in built for part in some)


def part_table(table: object, path: Path) -> PartTable:
    """One [[part]] as the table of its kind. Raises Refusal."""
    if not isinstance(table, Mapping):
        raise Refusal(path, f"{as_written(table)} is not a part. Write [[part]] and its keys below it.")
    if "kind" not in table:
        raise Refusal((*path, "kind"), f'"kind" is missing. Write one of {", ".join(PARTS)}.')
    kind = table["kind"]
    if not isinstance(kind, str) or kind not in PARTS:
        hint = nearest(kind, PARTS) if isinstance(kind, str) else f"Write one of {', '.join(PARTS)}."
        raise Refusal((*path, "kind"), f"{as_written(kind)} is not a kind of part. {hint}")
    return read(PARTS[kind], table, path)


def _refuse_doubles(built: Sequence[Sequence[Part]]) -> None:
    first: dict[str, int] = {}
    for i, some in enumerate(built):
        for part in some:
            if part.name in first:
                other = first[part.name]
                whose = f"part[{other + 1}]" if other != i else "the same part"
                raise Refusal(
                    ("part", i, "name"),
                    f'the name "{part.name}" is taken by {whose}. Give every part a name of its own.',
                )
            first[part.name] = i


def part_built(table: PartTable, around: Surroundings, path: Path) -> tuple[Part, ...]:
    """The parts of the well that one [[part]] makes: a tub makes several. Raises Refusal."""
    refuse_frame(table.rides_on, around, (*path, "rides_on"))
    required_mm, required_from = required(table.kind, table.rides_on, table.required)
    tag = parts.Tag(
        name=table.name,
        required_mm=required_mm,
        required_from=required_from,
        rides_on=table.rides_on,
        thickness_mm=table.thickness,
        uncertainty_mm=table.uncertainty or 0.0,
    )
    try:
        return table.built(tag, around, path)
    except (PartError, MeshError) as wrong:
        at, also = ((*path, *word.split(".")) if word else path for word in (wrong.key, wrong.also))
        raise Refusal(at, str(wrong), other=also if wrong.also else None) from None
