"""The findings as a fabricator reads them: worst first, ending with one sentence."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from clearance.units import both
from clearance.words.sentence import (
    gap_words,
    held_words,
    holes_in_reach,
    promise_words,
    verdict_sentence,
    zone_sentence,
)

_PRACTICE = ", common practice"


def page(findings: Mapping[str, Any], out: Path | None) -> str:
    """The findings as a fabricator reads them in a terminal: worst first, ending with one sentence."""

    tire, wheel = findings["tire"], findings["wheel"]
    lines = [
        findings["title"] or "Corner",
        f"  {findings['corner']}: {tire['marking'] or 'tire'}, {both(tire['overall_diameter'])} high and"
        f" {both(tire['section_width'])} wide ({tire['source']})",
        f"  on {wheel['diameter_in']:g} x {wheel['width_in']:g} in, backspace {both(wheel['backspace'])},"
        f" offset {wheel['offset']:.1f} mm",
        f"  {_cycle_words(findings['cycle'])}; {promise_words(findings)}",
        "",
    ]
    for warning in findings["warnings"]:
        lines += [f"  Note: {warning}", ""]
    width = max([len(part["name"]) for part in findings["parts"]] + [4])
    told = [gap_words(part, findings["tolerance"]) for part in findings["parts"]]
    room = max([19, *map(len, told)])
    lines.append(f"  {'':9} {'part':<{width}}  {'gap':>{room}}  {'must keep':>19}  where the tire is")
    for part, gap in zip(findings["parts"], told, strict=True):
        lines += _row(part, findings, gap.rjust(room), width)
    if findings.get("zones"):
        lines += ["", "  What must go, as in zones.stl:"]
        lines += [f"    {z['number']}  {z['part']}: {zone_sentence(z, findings)}" for z in findings["zones"]]
    lines += ["", f"  {_kept_because(findings['parts'])}"] if findings["parts"] else []
    if out is not None:
        lines += ["", f"  Wrote {len(findings['files'])} files to {out}: open {out / 'report.html'} first."]
    lines += ["", *holes_in_reach(findings), verdict_sentence(findings)]
    return "\n".join(lines)


def _row(part: Mapping[str, Any], findings: Mapping[str, Any], gap: str, width: int) -> list[str]:

    when = held_words(part, findings["cycle"], None)
    uncertain = f", give or take {both(part['uncertainty'])}" if part["uncertainty"] else ""
    indent = " " * 12
    return [
        f"  {part['verdict']:<9} {part['name']:<{width}}  {gap}  {both(part['required']):>19}  {when}",
        f"{indent}{part['tire_region']}; {part['where']}{uncertain}",
        *(f"{indent}{why}" for why in part["why"]),
    ]


def _kept_because(parts: Sequence[Mapping[str, Any]]) -> str:
    """Who says what must be kept: it decides the verdict as much as the gap does."""
    given = [part["name"] for part in parts if not part["required_from"].endswith(_PRACTICE)]
    usual: dict[float, list[str]] = {}
    for part in parts:
        if part["name"] not in given:
            to = part["required_from"].removeprefix("default for ").removesuffix(_PRACTICE)
            said = usual.setdefault(part["required"], [])
            said += [] if to in said else [to]
    told = []
    if given:
        told.append(f"given in the corner file for {', '.join(given)}")
    if usual:
        kept = "; ".join(f"{both(mm)} to {' or '.join(to)}" for mm, to in sorted(usual.items(), reverse=True))
        told.append(f"common practice{' for the others' if given else ''}, yours to change: {kept}")
    return f"Must keep: {'; '.join(told)}."


def _cycle_words(cycle: Mapping[str, Any]) -> str:

    low, high = cycle["bump"]
    words = f"travel {both(-low)} down, {both(high)} up"
    if cycle["other_bump"] != [0, 0]:
        words += f", the other side {both(-cycle['other_bump'][0])} down, {both(cycle['other_bump'][1])} up"
    if cycle["steer"] != [0, 0]:
        words += f", lock {cycle['steer'][1]:.1f} deg left, {-cycle['steer'][0]:.1f} deg right"
    return words
