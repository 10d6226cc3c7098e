"""`clearance budget`: what the uncertainty of every measurement does to the answer."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from clearance_cli.out import Progress, say, show

if TYPE_CHECKING:
    from clearance.answers.budget import Budget
    from clearance.mockup.mockup import MockUp


def command(
    file: Annotated[Path, typer.Argument(help="The corner file.", show_default=False)],
    rechecks: Annotated[int, typer.Option(help="Draws that are measured again in full.", min=0, max=200)] = 6,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """What tape, tire maker, axle and stops being a little off do to every gap, and which number to measure again.

    Worst case, root sum square, and the share of 20,000 drawn cars in which everything clears; some of them measured
    again in full. Exit code 0: it clears with 95 % confidence or more; 1: it does not.
    """
    from clearance_cli.answer_text import read_corner

    from clearance.answers.budget import budget

    mockup = read_corner(file)
    progress = Progress(quiet=as_json)
    found = budget(mockup, mockup.terms.uncertainty, rechecks=rechecks, progress=progress)
    progress.close()
    if as_json:
        show(facts(mockup, found))
    else:
        say(page(mockup, found))
    return 0 if found.confidence >= 0.95 else 1


def facts(mockup: MockUp, found: Budget) -> dict[str, Any]:
    """Everything that the page says."""
    return {
        "format": "clearance-budget/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "confidence": round(found.confidence, 4),
        "parts": [
            {
                "part": p.part,
                "required": round(p.required_mm, 2),
                "gap": round(p.gap_mm, 2),
                "likely": round(p.likely_mm, 2),
                "worst": round(p.worst_mm, 2),
                "confidence": round(p.confidence, 4),
            }
            for p in found.parts
        ],
        "sources": [
            {
                "name": s.name,
                "unit": s.unit,
                "low": round(s.low, 3),
                "high": round(s.high, 3),
                "drawn": "evenly" if s.even else "normal, the ends at two deviations",
                "why": s.why,
                "per_unit": {p.part: round(float(v), 4) + 0.0 for p, v in zip(found.parts, s.per_unit, strict=True)},
            }
            for s in found.sources
        ],
        "worth": [
            {"source": w.source, "share": round(w.share, 4), "confidence_if_halved": round(w.confidence, 4)}
            for w in found.worth
        ],
        "rechecked": found.rechecked,
        "recheck_worst": round(found.recheck_worst_mm, 3),
        "recheck_mean": round(found.recheck_mean_mm, 3),
    }


def page(mockup: MockUp, found: Budget) -> str:
    """The budget as a fabricator reads it."""
    from clearance_cli.answer_text import head, table

    from clearance.units import both

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
