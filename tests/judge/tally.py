"""What was tried and what came of it, in numbers: to be quoted, and to see that the judge looked where it should."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

import numpy as np

from .trial import Trial

REACHED_MM = 0.05
"""A search of the judge's own that comes so near to `at_most` has found the place."""


@dataclass(slots=True)
class Tally:
    """Counts over many trials."""

    files: int = 0
    refusals: Counter[str] = field(default_factory=Counter)
    suspensions: Counter[str] = field(default_factory=Counter)
    kinds: Counter[str] = field(default_factory=Counter)
    rides_on: Counter[str] = field(default_factory=Counter)
    verdicts: Counter[str] = field(default_factory=Counter)
    charges: Counter[str] = field(default_factory=Counter)
    unfinished: int = 0
    samples: int = 0
    room_mm: list[float] = field(default_factory=list)
    """Of every part, the least gap found less `at_least`."""
    unaided_mm: list[float] = field(default_factory=list)
    """Of every part, the least gap found without a hint less `at_most`."""

    def add(self, trial: Trial, suspension: str) -> None:
        """One more trial."""
        self.files += 1
        self.suspensions[suspension] += 1
        if trial.refusal:
            self.refusals[" ".join(line.strip() for line in trial.refusal.splitlines()[1:])] += 1
            return
        rows = {row["name"]: row for row in trial.findings["parts"]}
        for part, found in zip(trial.parts, trial.found, strict=True):
            row = rows.get(part.name)
            if row is None:
                continue
            self.kinds[part.kind] += 1
            self.rides_on[part.near if part.far is None else "between two"] += 1
            self.verdicts[row["verdict"]] += 1
            self.unfinished += not row["finished"]
            self.samples += found.samples
            if row["gap"]["at_least"] is not None:
                self.room_mm.append(found.gap_mm - row["gap"]["at_least"])
            self.unaided_mm.append(found.unaided_mm - row["gap"]["at_most"])
        for charge in trial.charges:
            self.charges[", ".join([charge.what, *charge.special])] += 1

    def text(self) -> str:
        """The counts, a line each."""
        parts = sum(self.kinds.values())
        lines = [
            f"{self.files} files, {sum(self.refusals.values())} refused; {parts} parts,"
            f" {self.samples / 1e6:.0f} million samples; {self.unfinished} gaps not finished",
            f"suspensions: {_listed(self.suspensions)}",
            f"parts: {_listed(self.kinds)}",
            f"riding on: {_listed(self.rides_on)}",
            f"verdicts: {_listed(self.verdicts)}",
        ]
        lines += [f"refused, {count} times: {words}" for words, count in self.refusals.most_common()]
        if parts:
            room, reached = np.array([*self.room_mm, np.inf]), np.mean(np.array(self.unaided_mm) < REACHED_MM)
            lines += [
                f"the place that comes nearest to its at_least: {room.min():.6f} mm above it",
                f"the judge's own search, without a hint, comes within {REACHED_MM} mm of at_most, or under it, in"
                f" {100.0 * reached:.1f} % of parts",
            ]
        return "\n".join([*lines, f"charges: {_listed(self.charges) or 'none'}"])


def _listed(counts: Counter[str]) -> str:
    return ", ".join(f"{name} {count}" for name, count in counts.most_common())
