"""Corner files as text, and numbers as people write them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

Tables = dict[str, Any]


def mm(value: float, rng: np.random.Generator | None = None) -> str:
    """A length, to 0.1 mm or so: mostly in mm, at times in cm or in."""
    choice = 0.0 if rng is None else rng.random()
    if choice < 0.8:
        return f"{value:.1f} mm"
    if choice < 0.88:
        return f"{value / 10.0:.2f} cm"
    if choice < 0.94:
        return f"{value / 25.4:.3f} in"
    sixteenths = round(abs(value) / 25.4 * 16.0)
    whole, part = divmod(sixteenths, 16)
    sign = "-" if value < 0 and sixteenths else ""
    return (
        f"{sign}{whole} {part}/16 in"
        if part and whole
        else f"{sign}{sixteenths}/16 in"
        if part
        else f"{sign}{whole} in"
    )


def deg(value: float) -> str:
    """An angle, to 0.01 deg."""
    return f"{value:.2f} deg"


def point(values: Any, rng: np.random.Generator | None = None) -> list[str]:
    """A point."""
    return [mm(float(v), rng) for v in values]


def text_of(tables: Tables) -> str:
    """The corner file."""
    lines = [f"{key} = {_value(value)}" for key, value in tables.items() if not isinstance(value, (dict, list))]
    for key, value in tables.items():
        for heading, table in _sections(key, value):
            lines += ["", heading, *(f"{name} = {_value(item)}" for name, item in table.items())]
    return "\n".join(lines) + "\n"


def _sections(key: str, value: Any) -> list[tuple[str, Mapping[str, Any]]]:
    if isinstance(value, dict):
        return [(f"[{key}]", value)]
    return [(f"[[{key}]]", table) for table in value] if isinstance(value, list) else []


def _value(value: Any) -> str:
    if isinstance(value, str):
        return "'" + value + "'" if '"' in value else f'"{value}"'
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{name} = {_value(item)}" for name, item in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(_value(item) for item in value) + "]"
    return repr(float(value))
