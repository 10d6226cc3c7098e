"""What a certificate proves."""

from __future__ import annotations

from clearance.certificate.claims import Checked, CheckedEnvelope
from clearance.mockup.mockup import MockUp
from clearance.units import both
from clearance.words.text import table


def page(mockup: MockUp, parts: list[Checked], envelopes: list[CheckedEnvelope]) -> str:
    """What was proven, part by part."""

    rows = []
    for part in parts:
        least = "-" if part.at_least_mm is None else both(part.at_least_mm)
        planes = f"{part.leaves:,}" if part.leaves else "-"
        rows.append([part.verdict, part.name, least, both(part.at_most_mm), both(part.required_mm), planes])
    lines = [
        mockup.title or "Corner",
        "",
        table(["", "part", "proven at least", "found", "must keep", "planes"], rows),
    ]
    for one in envelopes:
        lines += [
            "",
            f"  {one.name} holds the wheel at every position, by {one.leaves:,} planes, and lies nowhere more than"
            f" {one.slack_mm:.2f} mm outside of its way.",
        ]
    return "\n".join([*lines, "", "The certificate holds: its planes were checked one by one, rounding outward."])
