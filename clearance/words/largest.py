"""The sizes that clear, as a buyer reads them."""

from __future__ import annotations

from clearance.answers.largest import Fit, Largest
from clearance.answers.swap import NOTHING_NOW
from clearance.mockup.mockup import MockUp
from clearance.units import both
from clearance.words.text import head, table


def page(mockup: MockUp, found: Largest) -> str:
    """The list as a buyer reads it."""
    return "\n".join([*head(mockup), *listed(mockup, found)])


def listed(mockup: MockUp, found: Largest, *, corners: bool = False) -> list[str]:
    """The sizes and what was looked at; with `corners`, where each is tightest."""
    rows = [_row(fit, corners=corners) for fit in found.fits]
    header = ["size", "high", "wide", "rim", "backspace", "offset", "to spare", "tightest", "speed", "height", "load"]
    lines = []
    lines.append(table(header, rows) if rows else "  Nothing on the list clears.")
    lines += [
        "",
        f"{found.combinations} combinations of tire, rim and backspace; {found.screened_out} tires on"
        f" rims hit or are tight"
        f" at every backspace; {found.certified} were measured over the whole cycle.",
    ]
    if found.not_reached:
        lines.append(
            f"Not reached, may clear: {', '.join(found.not_reached[:12])}{' ...' * (len(found.not_reached) > 12)}."
        )
    needs = "" if found.needed_index is None else f" ({found.needed_index} or more)"
    lines += [
        "speed: how much faster the car really goes at one reading. height: how much higher the hub stands. Both are"
        " against what is on the car now.",
        *([NOTHING_NOW] if mockup.terms.now is None else []),
        f"load: the size's usual load index (from memory); NO where it does not carry [load] corner{needs}. Check the"
        " sidewall: an overloaded tire fails. Dimensions are nominal; measure the tire before you buy the wheel.",
    ]
    return lines


def _row(fit: Fit, *, corners: bool) -> list[str]:

    load = "?" if fit.load_index is None else str(fit.load_index)
    if fit.carries is not None:
        load += " ok" if fit.carries else " NO"
    return [
        fit.size,
        both(fit.tire.overall_diameter_mm, digits=0),
        f"{fit.tire.section_width_mm:.0f} mm",
        f"{fit.wheel.diameter_in:.4g} x {fit.wheel.width_in:.3g}",
        both(fit.wheel.backspace_mm),
        f"{fit.wheel.offset_mm:+.1f}",
        f"{fit.spare_mm:.1f} mm",
        f"{fit.corner}: {fit.binds.part}" if corners else fit.binds.part,
        "?" if fit.swap is None else f"{100 * fit.swap.speed:+.1f} %",
        "?" if fit.swap is None else f"{fit.swap.hub_mm:+.0f} mm",
        load,
    ]
