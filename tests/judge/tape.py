"""What a person wrote, as numbers: lengths in mm, angles in deg, points [ahead, outboard, above]."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

import numpy as np

from .moving import Array

_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, '"': 25.4, "ft": 304.8}

Table = Mapping[str, Any]


def length_mm(text: str) -> float:
    """A length.

    >>> [round(length_mm(text), 6) for text in ("4 3/4 in", "-4-3/4 in", '5/8"', "12.5 cm", "-.5 mm")]
    [120.65, -120.65, 15.875, 125.0, -0.5]
    """
    words = text.strip()
    unit = next(unit for unit in ("mm", "cm", "in", "ft", '"', "m") if words.endswith(unit))
    return _number(words.removesuffix(unit)) * _MM[unit]


def angle_deg(text: str) -> float:
    """An angle.

    >>> angle_deg("-7.5 deg")
    -7.5
    """
    return _number(text.strip().removesuffix("deg"))


def _number(text: str) -> float:
    words = text.strip()
    sign = -1.0 if words.startswith("-") else 1.0
    words = words.lstrip("+-").strip()
    if "/" not in words:
        return sign * float(words)
    return sign * float(sum(Fraction(word) for word in words.replace("-", " ").split()))


def length_of(table: Table, key: str, otherwise: float = 0.0) -> float:
    """The length of that key."""
    return length_mm(table[key]) if key in table else otherwise


def angle_of(table: Table, key: str, otherwise: float = 0.0) -> float:
    """The angle of that key."""
    return angle_deg(table[key]) if key in table else otherwise


def point(value: Sequence[str]) -> Array:
    """A point, or any row of lengths."""
    return np.array([length_mm(item) for item in value])


def point_of(table: Table, key: str) -> Array:
    """The point of that key."""
    return point(table[key])
