"""Tire markings."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Marking:
    """What a marking says."""

    text: str
