"""The budget as a fabricator reads it."""

from __future__ import annotations

from clearance.answers.budget import Budget
from clearance.mockup.mockup import MockUp
from clearance.units import both
from clearance.words.text import head, table


def page(mockup: MockUp, found: Budget) -> str:
    """The budget as a fabricator reads it."""

    parts = [
        [
            p.part,
            both(p.gap_mm),
            both(p.required_mm, digits=0),
            both(p.likely_mm),
            both(p.worst_mm),
            f"{100 * p.confidence:.0f} %",
        ]
        for p in sorted(found.parts, key=lambda p: (p.confidence, p.gap_mm - p.required_mm))
    ]
    sources = [
        [s.name, _range(s.low, s.high, s.unit), s.why, f"{100 * w.share:.0f} %", f"{100 * w.confidence:.0f} %"]
        for w in found.worth
        for s in found.sources
        if s.name == w.source and w.share >= 0.005
    ]
    lines = head(mockup)
    lines.append(table(["part", "gap", "must keep", "19 in 20 above", "worst case", "clears"], parts))
    lines += ["", table(["what may be off", "by", "as", "share", "clears if halved"], sources), ""]
    lines.append(f"Everything clears with {100 * found.confidence:.0f} % confidence.{_advice(found)}")
    lines.append(
        f"{found.rechecked} of the draws were measured again in full: the straight lines were off by at most"
        f" {found.recheck_worst_mm:.1f} mm (mean {found.recheck_mean_mm:+.1f} mm). Play and flex are"
        f" in every gap already."
    )
    return "\n".join(lines)


def _range(low: float, high: float, unit: str) -> str:
    return f"+-{high:.3g} {unit}" if abs(low + high) < 1e-9 else f"{low:+.3g} to {high:+.3g} {unit}"


def _advice(found: Budget) -> str:
    best = max(found.worth, key=lambda w: (w.confidence, w.share), default=None)
    if best is None or best.confidence - found.confidence < 0.005:
        return " No single measurement taken again would change that by half a percent."
    return f" Worth measuring again: {best.source} (half as uncertain, it clears with {100 * best.confidence:.0f} %)."
