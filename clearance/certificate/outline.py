"""The outline of a solid of revolution as lines and arcs, and how far it reaches in a direction."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clearance.certificate.interval import Array, up


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outline:
    """Lines and arcs of a closed outline in the half plane (y, r)."""

    lines: Array
    """(m, 2, 2): start and end of each line."""
    arcs: Array
    """(m, 7): start, end, centre, and 1 where it turns left, -1 where it turns right."""

    def support(self, across: Array, away: Array) -> Array:
        """(n,): no place of the outline is further in directions (n,) than this."""
        most = np.full(across.shape, -np.inf)
        for y, r in self.lines.reshape(-1, 2):
            most = np.maximum(most, _along(across, away, y, r))
        for y0, r0, y1, r1, cy, cr, turn in self.arcs:
            most = np.maximum(most, np.maximum(_along(across, away, y0, r0), _along(across, away, y1, r1)))
            radius = up(max(np.hypot(y0 - cy, r0 - cr), np.hypot(y1 - cy, r1 - cr)) * (1 + 4e-16))
            start, end = np.arctan2(r0 - cr, y0 - cy), np.arctan2(r1 - cr, y1 - cy)
            if turn < 0:
                start, end = end, start
            # the arc's own furthest place, where it has one in this direction; a little to spare costs nothing
            on = (np.arctan2(away, across) - start + 1e-9) % (2 * np.pi) <= (end - start) % (2 * np.pi) + 2e-9
            most = np.where(on, np.maximum(most, up(_along(across, away, cy, cr) + radius)), most)
        return most


def _along(across: Array, away: Array, y: float, r: float) -> Array:
    return up(up(across * y) + up(away * r))
