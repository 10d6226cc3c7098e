"""A large mesh looked at a block at a time, so that what is worked out beside it takes little room."""

from __future__ import annotations

from collections.abc import Iterator

_BLOCK = 1 << 16
"""Triangles that are looked at together."""


def in_blocks(count: int) -> Iterator[slice]:
    """So many triangles, in their order, a block at a time."""
    yield from (slice(first, min(first + _BLOCK, count)) for first in range(0, count, _BLOCK))
