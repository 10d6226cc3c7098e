"""The page of a study: which sizes fit which cars, a table to filter, and what was not answered.

Every verdict is a sign of its own; color only says it again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from importlib.resources import files
from typing import Any

from markupsafe import Markup

from clearance.plain import visible
from clearance.report.page import CAUTIONS

_MOST_CARS, _MOST_SIZES, _MOST_ROWS, _MOST_MISSING = 60, 200, 4_000, 1_000
_SHAPES = {
    "clears": ("#1a6fb0", '<circle cx="8" cy="8" r="6.5" fill="{0}"/>'),
    "tight": ("#8a6d00", '<path d="M8 1.5 14.5 14h-13z" fill="none" stroke="{0}" stroke-width="2"/>'),
    "hits": ("#b5402a", '<path d="M2.5 2.5l11 11m0-11l-11 11" stroke="{0}" stroke-width="2.6"/>'),
    "undecided": ("#6b6b6b", '<path d="M2 8h12" stroke="{0}" stroke-width="2.6" stroke-dasharray="3 2"/>'),
}


def write_study(found: Mapping[str, Any]) -> bytes:
    """The page as bytes."""
    from jinja2 import Environment, StrictUndefined

    room = files("clearance.report")
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True, finalize=_seen
    )
    template = environment.from_string(room.joinpath("study.html").read_text(encoding="utf-8"))
    cars = found["cars"][:_MOST_CARS]
    missing = found["not_answered"]
    text = template.render(
        found=found,
        marks=[(word, mark(word)) for word in _SHAPES],
        cars=cars,
        sizes=_sizes(cars),
        left_out=_left_out(found["cars"]),
        rows=_rows(found["cars"]),
        missing=missing[:_MOST_MISSING],
        more_missing=_more(len(missing), _MOST_MISSING, "not-answered.csv"),
        cautions=CAUTIONS,
        css=Markup(room.joinpath("page.css").read_text(encoding="utf-8")),
        script=Markup(room.joinpath("study.js").read_text(encoding="utf-8")),
    )
    return text.encode()


def mark(verdict: str) -> Markup:
    """A verdict's own sign, with its word for who cannot see it."""
    color, shape = _SHAPES[verdict]
    return Markup('<svg viewBox="0 0 16 16" role="img" aria-label="{}">{}</svg>').format(
        verdict, Markup(shape.format(color))
    )


def _sizes(cars: Sequence[Mapping[str, Any]]) -> list[tuple[str, list[dict[str, Any] | None]]]:
    """Each size, and what it does on each car."""
    each = [{one["tire"]: one for one in car["sizes"]} for car in cars]
    names = sorted({name for sizes in each for name in sizes})[:_MOST_SIZES]
    return [(name, [_cell(sizes.get(name)) for sizes in each]) for name in names]


def _cell(one: Mapping[str, Any] | None) -> dict[str, Any] | None:
    if one is None:
        return None
    words = "" if one["margin"] is None else f"{one['margin']:+.0f} mm"
    return {"mark": mark(one["verdict"]), "words": words}


def _left_out(cars: Sequence[Mapping[str, Any]]) -> str:
    names = {one["tire"] for car in cars for one in car["sizes"]}
    said = []
    if len(cars) > _MOST_CARS:
        said.append(f"{len(cars) - _MOST_CARS:,} more cars")
    if len(names) > _MOST_SIZES:
        said.append(f"{len(names) - _MOST_SIZES:,} more sizes")
    return f"Not drawn: {' and '.join(said)}; they stand in study.csv." if said else ""


def _rows(cars: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    rows = [row for car in cars for row in (*car["best"], *car["near"])]
    return [{**row, **_shown(row)} for row in rows[:_MOST_ROWS]]


def _shown(row: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "mark": mark(row["verdict"]),
        "gap": _gap(row),
        "margin": _number(row["margin"], "{:.1f}"),
        "position": _position(row),
        "sure": _number(None if row["confidence"] is None else 100 * row["confidence"], "{:.0f} %"),
        "change": _number(row["offset_change"], "{:+.0f}"),
    }


def _number(value: float | None, form: str) -> str:
    return "" if value is None else form.format(value)


def _gap(row: Mapping[str, Any]) -> str:
    words = [_number(row[key], "{:.1f}") for key in ("at_least", "at_most")]
    if all(words):
        return " to ".join(dict.fromkeys(words))
    return f"at least {words[0]}" if words[0] else ""


def _position(row: Mapping[str, Any]) -> str:
    if row["bump"] is None:
        return ""
    places = (("bump", "mm bump"), ("other_bump", "mm other bump"), ("steer", "deg steer"))
    return ", ".join(f"{row[key]:g} {word}" for key, word in places if row[key]) or "ride height"


def _more(count: int, most: int, where: str) -> str:
    return f"and {count - most:,} more, in {where}." if count > most else ""


def _seen(value: Any) -> Any:
    return visible(value) if type(value) is str else value
