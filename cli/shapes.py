"""The solids and scenes that `check` writes beside its findings."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from clearance.gap.found import Gap
    from clearance.mockup.mockup import MockUp


def shapes_of(mockup: MockUp, gaps: Sequence[Gap], slack_mm: float, progress: Any) -> tuple[dict[str, bytes], list[str]]:
    """File name and bytes of every shape, and remarks that belong into the findings."""
    return {}, []
