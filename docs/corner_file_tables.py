"""Writes the tables of keys in docs/corner-file.md from the models that read a corner file.

    python docs/corner_file_tables.py        rewrites what stands between the marks

A test holds the page against `written`, so a key cannot be added without its line here.
"""

from __future__ import annotations

import re
import textwrap
from pathlib import Path
from typing import Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from clearance import answers
from clearance.corner_file import defaults, schema, values
from clearance.suspension.kinds import AXIS_KEYS, KINDS, STEERING_KEYS, Key

PAGE = Path(__file__).parent / "corner-file.md"
_MARK = re.compile(r"(<!-- keys: (?P<name>[\w -]+) -->\n).*?(<!-- end -->)", re.DOTALL)

KIND_OF_VALUE: dict[object, str] = {
    values.length: "length, + or -",
    values.not_negative: "length, 0 or more",
    values.positive: "length, more than 0",
    values.rim_diameter: "length, 4 to 60 in",
    values.rim_width: "length, 1 to 40 in",
    values.angle: "angle, + or -",
    values.not_negative_angle: "angle, 0 or more",
    values.point: "point",
    values.flat_point: "[ahead, above]",
    values.word: "text",
    values.name: "text",
    values.whole: "whole number",
    values.number: "number",
    values.flag: "true or false",
    values.bolt_circle: "studs x length",
    schema.direction: '"+x", or 3 numbers',
}
DIMENSIONS = {
    "length": "length, + or -",
    "angle": "angle, + or -",
    "number": "number",
    "text": "text",
    "point": "point",
    "points": "list of points",
    "rows": "list of rows",
}


def written(page: str) -> str:
    """The page with every table of keys as the models have it now."""
    return _MARK.sub(lambda mark: f"{mark[1]}{_tables()[mark['name']]}{mark[3]}", page)


def _tables() -> dict[str, str]:
    models: dict[str, type[BaseModel]] = {
        "tire": schema.TireTable,
        "wheel": schema.WheelTable,
        "travel": schema.TravelTable,
        "shift": schema.ShiftTable,
        "any part": schema.PartTable,
        "turn": schema.BoxTurn,
        "crown": schema.CrownTable,
        "taper": schema.TaperTable,
        "scale": schema.ScaleTable,
        "place": schema.PlaceTable,
        "remove": schema.RemoveTable,
        "split": schema.SplitTable,
        "box region": schema.BoxRegionTable,
        "axle region": schema.AxleRegionTable,
    }
    tables = {name: _table(model) for name, model in models.items()}
    for kind, model in schema.PARTS.items():
        tables[kind] = _table(model, leave_out=set(schema.PartTable.model_fields))
    tables["steering"] = _key_table(STEERING_KEYS)
    tables["axis"] = _key_table(AXIS_KEYS)
    tables["kinds"] = "\n".join(_kind(name) for name in KINDS)
    tables["required"] = _required()
    tables["answers"] = _answers()
    return tables


def _table(model: type[BaseModel], leave_out: frozenset[str] | set[str] = frozenset()) -> str:
    rows = [
        f"| `{field.alias or name}` | {_value(field)} | {_default(field)} | {field.description} |"
        for name, field in model.model_fields.items()
        if name not in leave_out
    ]
    return "\n".join(["| key | value | if left out | meaning |", "|---|---|---|---|", *rows, ""])


def _value(field: FieldInfo) -> str:
    known = [KIND_OF_VALUE[mark.func] for mark in field.metadata if getattr(mark, "func", None) in KIND_OF_VALUE]
    return known[0] if known else _words(field.annotation)


def _words(annotation: Any) -> str:
    """The kind of value of an annotation: what its reader reads, or what it is a list of."""
    readers = [getattr(mark, "func", None) for mark in getattr(annotation, "__metadata__", ())]
    if readers:
        return KIND_OF_VALUE.get(readers[0]) or _words(annotation.__origin__)
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
    if default is None or default == ():
        return "-"
    if isinstance(default, BaseModel):
        return "none"
    if isinstance(default, bool):
        return str(default).lower()
    if isinstance(default, tuple):
        return "[" + ", ".join(f'"{v:g} mm"' for v in default) + "]"
    if isinstance(default, float):
        return f'"{default:g} {"deg" if "angle" in _value(field) else "mm"}"'
    return f'"{default}"'


def _key_table(keys: tuple[Key, ...]) -> str:
    rows = [
        f"| `{key.name}` | {_dimension(key)} | {'must be given' if key.required else '-'} | {key.help} |"
        for key in keys
    ]
    return "\n".join(["| key | value | if left out | meaning |", "|---|---|---|---|", *rows, ""])


def _dimension(key: Key) -> str:
    if key.columns:
        return f"rows of [{', '.join(name for name, _ in key.columns)}]"
    return " or ".join(f'"{word}"' for word in key.choices) or DIMENSIONS[key.dimension]


def _kind(name: str) -> str:
    kind = KINDS[name]
    live = "\nA live axle: `other_bump`, `other_droop` and `articulation` belong to it.\n" if kind.live_axle else ""
    axis = "\nIts hardpoints give the steering axis: `[steering]` takes no `axis`.\n" if kind.own_axis else ""
    return f"#### `{name}`\n\n{kind.help[:1].upper()}{kind.help[1:]}.\n{live}{axis}\n{_key_table(kind.keys)}"


def _required() -> str:
    rows = [f"| `{kind}` on the body | {mm:g} mm |" for kind, mm in defaults.BY_KIND.items()]
    rows.append(f"| anything that rides on the axle, the knuckle or a link | {defaults.WITH_THE_WHEEL_MM:g} mm |")
    return "\n".join(["| part | required, where not given |", "|---|---|", *rows, ""])


def _answers() -> str:
    assert answers.__doc__ is not None
    block = answers.__doc__.split("::\n", 1)[1]
    return f"```toml\n{textwrap.dedent(block).strip()}\n```\n"


if __name__ == "__main__":
    PAGE.write_text(written(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
