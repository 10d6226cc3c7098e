"""The schema of every answer, by the `format` that its JSON says. That of the findings stands with the findings."""

from __future__ import annotations

from clearance.facts import (
    budget,
    candidates,
    car_check,
    car_inspect,
    car_largest,
    car_least_change,
    car_order,
    car_relief,
    car_window,
    carriers,
    compare,
    draw,
    envelope,
    gauge,
    grid,
    inspect,
    largest,
    least_change,
    measure,
    motion,
    new,
    order,
    other,
    relief,
    room,
    rotated,
    sampled,
    scan,
    stance,
    study,
    swap,
    tire,
    verify,
    window,
)
from clearance.facts.shape import Shape

_ROOMS = (
    budget,
    candidates,
    car_check,
    car_inspect,
    car_largest,
    car_least_change,
    car_order,
    car_relief,
    car_window,
    carriers,
    compare,
    draw,
    envelope,
    gauge,
    grid,
    inspect,
    largest,
    least_change,
    measure,
    motion,
    new,
    order,
    other,
    relief,
    room,
    rotated,
    sampled,
    scan,
    stance,
    study,
    swap,
    tire,
    verify,
    window,
)


def answer_schemas() -> dict[str, Shape]:
    """Format: its JSON Schema (draft 2020-12)."""
    return {room.SHAPE["title"]: room.SHAPE for room in _ROOMS}


def schema_file(kind: str) -> str:
    """The file that the schema of a format is published in.

    >>> schema_file("clearance-window/1")
    'clearance-window-1.schema.json'
    """
    return f"{kind.replace('/', '-')}.schema.json"
