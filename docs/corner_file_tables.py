"""Writes the tables of keys in docs/corner-file.md, and the JSON Schemas of corner and car file beside it, from what
reads them.

    python docs/corner_file_tables.py        rewrites what stands between the marks

A test holds the page against `written`, so a key cannot be added without its line here.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any, get_args

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from clearance.description import agreed, clash_well, clash_wheel, schema, values
from clearance.description.car_schema import car_file_schema
from clearance.description.json_schema import corner_file_schema
from clearance.description.load import WRITTEN
from clearance.description.numbers import Declared, keys_of
from clearance.description.parts import box, mesh, part, tub
from clearance.description.parts.kinds import PARTS
from clearance.ends import families
from clearance.ends.ends import Circle, Ends, Point
from clearance.suspension.kinds import AXIS_KEYS, KINDS, STEERING_KEYS, Key
from clearance.terms import Steps
from clearance.units import SHARE_UNITS
from clearance.well.part_kinds import PART_KINDS, WITH_THE_WHEEL_MM

PAGE = Path(__file__).parent / "corner-file.md"
SCHEMA = Path(__file__).parent / "corner-file.schema.json"
CAR_SCHEMA = Path(__file__).parent / "car-file.schema.json"
_MARK = re.compile(r"(<!-- keys: (?P<name>[\w -]+) -->\n).*?(<!-- end -->)", re.DOTALL)

KIND_OF_VALUE: dict[object, str] = {
    values.length: "length",
    values.not_negative: "length",
    values.positive: "length",
    values.rim_diameter: "length",
    values.rim_width: "length",
    values.angle: "angle",
    values.not_negative_angle: "angle",
    values.point: "point",
    values.flat_point: "[ahead, above]",
    values.word: "text",
    values.name: "text",
    values.whole: "whole number",
    values.number: "number",
    values.flag: "true or false",
    values.bolt_circle: "studs x length",
    values.mass: "mass",
    values.speed: "speed",
    values.share: "percentage",
    values.wheels: "whole number",
    agreed.length_range: "{ least, most }",
    agreed.either_way: "angle, or { least, most }",
    agreed.length_steps: "length, or list of lengths",
    agreed.angle_steps: "angle, or list of angles",
    agreed.widths: "list of lengths",
    agreed.parts_within: "table of lengths",
    agreed.names: "text, or list of text",
    agreed.stud_thread: "text",
    agreed.chain_class: "text",
    mesh.direction: '"+x", or 3 numbers',
}
NOTHING = "-"
HEAD = ["| key | value | can be | usual | if left out | meaning |", "|---|---|---|---|---|---|"]
POINTS = {
    "part": families.PART_POINT,
    "hardpoint": families.HARDPOINT,
    "arch": families.ARCH_POINT,
    "centre": families.ARCH_CENTRE,
    "region": families.REGION_POINT,
    "scan": families.SCAN_POINT,
}
"""The word for each kind of point in the tables of keys, which refer to the table of points."""


def written(page: str) -> str:
    """The page with every table of keys as the models have it now."""
    return _MARK.sub(lambda mark: f"{mark[1]}{_tables()[mark['name']]}{mark[3]}", page)


def _tables() -> dict[str, str]:
    models: dict[str, type[BaseModel]] = {
        "tire": schema.TireTable,
        "wheel": schema.WheelTable,
        "travel": schema.TravelTable,
        "shift": schema.ShiftTable,
        "any part": part.PartTable,
        "turn": box.BoxTurn,
        "crown": tub.CrownTable,
        "taper": tub.TaperTable,
        "scale": mesh.ScaleTable,
        "place": mesh.PlaceTable,
        "remove": mesh.RemoveTable,
        "split": mesh.SplitTable,
        "box region": mesh.BoxRegionTable,
        "axle region": mesh.AxleRegionTable,
    }
    tables = {name: _table(model) for name, model in models.items()}
    for kind, model in PARTS.items():
        tables[kind] = _table(model, leave_out=set(part.PartTable.model_fields))
    tables["steering"] = _key_table(STEERING_KEYS)
    tables["axis"] = _key_table(AXIS_KEYS)
    tables["kinds"] = "\n".join(_kind(name) for name in KINDS)
    tables["required"] = _required()
    tables["points"] = _points()
    tables["agreed"] = _agreed()
    tables["clashes"] = _clashes()
    tables["ends"] = _sources()
    return tables


def _table(model: type[BaseModel], leave_out: frozenset[str] | set[str] = frozenset()) -> str:
    ends = {key.path[0]: key.ends for key in keys_of(model) if key.path[-1] in (key.path[0], 0)}
    rows = []
    for name, field in model.model_fields.items():
        if name not in leave_out:
            key = field.alias or name
            cells = [_value(field), *_ends(ends.get(key)), _default(field), field.description]
            rows.append(f"| `{key}` | {' | '.join(str(cell) for cell in cells)} |")
    return "\n".join([*HEAD, *rows, ""])


def _ends(ends: Declared | None) -> tuple[str, str]:
    """What a number can be, and what is usual."""
    if ends is None:
        return NOTHING, NOTHING
    if isinstance(ends, Point):
        word = next(word for word, point in POINTS.items() if point is ends)
        return f"[{word}](#points)", NOTHING
    if isinstance(ends, Circle):
        studs, across = ends.studs, ends.diameter
        return (
            f"{_span(studs, studs.hard)} x {_span(across, across.hard)}",
            f"{_span(studs, studs.usual)} x {_span(across, across.usual)}",
        )
    return _span(ends, ends.hard), _span(ends, ends.usual)


def _span(ends: Ends, pair: tuple[float, float]) -> str:
    """Two ends, their unit once."""
    unit = f" {ends.unit}" if ends.unit else ""
    return ends.span(pair).replace(f"{unit} to ", " to ")


def _value(field: FieldInfo) -> str:
    known = [_reads(mark) for mark in field.metadata if _reads(mark)]
    return known[0] if known else _words(field.annotation)


def _reads(mark: Any) -> str:
    """What a reader reads, in words; of one that also takes false, that too."""
    reader = getattr(mark, "func", None)
    inner = getattr(reader, "__wrapped__", None)
    return KIND_OF_VALUE.get(reader, "") if inner is None else f"{KIND_OF_VALUE.get(inner, '')}, or false"


def _words(annotation: Any) -> str:
    """The kind of value of an annotation: what its reader reads, or what it is a list of."""
    marks = getattr(annotation, "__metadata__", ())
    if marks:
        return _reads(marks[0]) or _words(annotation.__origin__)
    inside = [inner for inner in getattr(annotation, "__args__", ()) if inner is not type(None)]
    if getattr(annotation, "__origin__", None) is tuple:
        if inside[-1] is Ellipsis:
            return f"list of {_plural(_words(inside[0]))}"
        return f"{len(inside)} {_plural(_words(inside[0]))}"
    if len(inside) > 1:
        return "a word or a table"
    if len(inside) == 1:
        return _words(inside[0])
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return "table"
    return "a word"


def _plural(words: str) -> str:
    already = words.startswith(("[", "text", "length", "3 "))
    return words if already else f"{words}s"


def _default(field: FieldInfo) -> str:
    default = field.default
    if default is PydanticUndefined:
        return "must be given"
    if default is None or default in ((), {}):
        return "-"
    if isinstance(default, BaseModel):
        return "none"
    if isinstance(default, bool):
        return str(default).lower()
    if isinstance(default, Steps):
        default = default.step
    if isinstance(default, tuple):
        return "[" + ", ".join(f'"{v:g} mm"' for v in default) + "]"
    if isinstance(default, float):
        shown = _in_unit(default, field)
        return f'"{shown}"' if " " in shown else shown
    return f'"{default}"' if isinstance(default, str) else str(default)


def _in_unit(value: float, field: FieldInfo) -> str:
    """A default as a person would write it, in the unit that its ends are kept in."""
    ends = next((mark for mark in field.metadata if isinstance(mark, Ends)), None)
    unit = "mm" if ends is None else ends.unit
    return f"{value / SHARE_UNITS['%']:g} %" if unit == "%" else f"{value:g} {unit}".strip()


def _key_table(keys: tuple[Key, ...]) -> str:
    rows = [
        f"| `{key.name}` | {_dimension(key)} | {' | '.join(_key_ends(key))} | "
        f"{'must be given' if key.required else '-'} | {key.help} |"
        for key in keys
    ]
    return "\n".join([*HEAD, *rows, ""])


def _key_ends(key: Key) -> tuple[str, str]:
    if not key.columns:
        return _ends(key.ends)
    if key.columns[0].ends is families.HARDPOINT.axes["ahead"]:
        return "two [hardpoints](#points)", NOTHING
    hard, usual = (
        ", ".join(f"{column.name} {_span(column.ends, getattr(column.ends, which))}" for column in key.columns)
        for which in ("hard", "usual")
    )
    return hard, usual


def _dimension(key: Key) -> str:
    if key.columns:
        return f"rows of [{', '.join(column.name for column in key.columns)}]"
    return " or ".join(f'"{word}"' for word in key.choices) or key.dimension


def _kind(name: str) -> str:
    kind = KINDS[name]
    live = "\nA live axle: `other_bump`, `other_droop` and `articulation` belong to it.\n" if kind.live_axle else ""
    axis = "\nIts hardpoints give the steering axis: `[steering]` takes no `axis`.\n" if kind.own_axis else ""
    return f"#### `{name}`\n\n{kind.help[:1].upper()}{kind.help[1:]}.\n{live}{axis}\n{_key_table(kind.keys)}"


def _required() -> str:
    rows = [f"| `{kind}` on the body | {known.required_mm:g} mm |" for kind, known in PART_KINDS.items()]
    rows.append(f"| anything that rides on the axle, the knuckle or a link | {WITH_THE_WHEEL_MM:g} mm |")
    return "\n".join(["| part | required, where not given |", "|---|---|", *rows, ""])


def _points() -> str:
    rows = [
        f"| {word} | {axis} | {_span(ends, ends.hard)} | {_span(ends, ends.usual)} | {ends.minus or NOTHING} |"
        for word, point in POINTS.items()
        for axis, ends in point.axes.items()
    ]
    return "\n".join(["| point | number | can be | usual | sign |", "|---|---|---|---|---|", *rows, ""])


def _agreed() -> str:
    """Each section that says what is agreed, with its keys; [load_states] has the names that the file chooses."""
    found = []
    for name, field in agreed.AgreedTables.model_fields.items():
        inside = [model for model in (field.annotation, *get_args(field.annotation)) if _is_table(model)]
        heading = f"### `[{name}]`\n\n{str(field.description)[:1].upper()}{str(field.description)[1:]}.\n"
        if inside:
            found.append(f"{heading}\n{_table(inside[0])}")
        else:
            can_be, usual = _ends(next(mark for mark in field.metadata if isinstance(mark, Ends)))
            row = f"| any name | length | {can_be} | {usual} | - | the height |"
            found.append("\n".join([heading, *HEAD, row, ""]))
    return "\n".join(found)


def _is_table(annotation: Any) -> bool:
    return isinstance(annotation, type) and issubclass(annotation, BaseModel)


def _clashes() -> str:
    rules = (*WRITTEN, *clash_wheel.AFTER, *clash_well.AFTER)
    return "\n".join([*(f"* {str(rule.__doc__).splitlines()[0]}" for rule in rules), ""])


def _sources() -> str:
    """Each kind of number once, with where its ends come from."""
    every: dict[tuple[str, str, str], None] = {}
    for found in vars(families).values():
        for ends in _each(found):
            every.setdefault((ends.what, _span(ends, ends.hard), ends.source))
    rows = [f"| {what} | {hard} | {source} |" for what, hard, source in every]
    return "\n".join(["| number | can be | from |", "|---|---|---|", *rows, ""])


def _each(found: object) -> tuple[Ends, ...]:
    if isinstance(found, Point):
        return tuple(found.axes.values())
    return (found,) if isinstance(found, Ends) else ()


def schema_text() -> str:
    """The language as a JSON Schema."""
    return json.dumps(corner_file_schema(), indent=1, ensure_ascii=False) + "\n"


def car_schema_text() -> str:
    """The language of a car file as a JSON Schema."""
    return json.dumps(car_file_schema(), indent=1, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    CAR_SCHEMA.write_text(car_schema_text(), encoding="utf-8")
    SCHEMA.write_text(schema_text(), encoding="utf-8")
    PAGE.write_text(written(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
