"""What cuts corners off the box of settings: two numbers that may only differ by so much, as articulation has it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """Two numbers of a setting that may not differ by more than `most`."""

    one: int
    other: int
    most: float
