"""What a marking means, in millimetres and inches, and where each number comes from."""

from __future__ import annotations

from clearance.tire.allowed import LEAST_HEIGHT, height_factor, height_rule, width_factor, width_rule
from clearance.tire.basis import Basis
from clearance.tire.dimensions import Dimensions
from clearance.tire.rated import load_at_own_speed_kg, rim_warnings
from clearance.tire.room import CHAIN_ROOM_MM
from clearance.tire.size import understood
from clearance.units import KG_PER_POUND, KMH_PER_MPH, MM_PER_INCH, inch_text

CAUTION = (
    "Marked is not measured: tires of one size differ by several millimetres. Measure before you cut, and let the load"
    " index and speed symbol carry the car."
)


Row = tuple[str, str, str, str]


def page(found: Dimensions, rim_in: float, first: str = "mm") -> str:
    """Sizes, duty and chains in three tables; the column of this unit comes first."""

    mark = found.marking
    heading = f"{mark.text}   {', '.join(understood(mark))}"
    parts = [heading, "", _table(_led(_size_rows(found, rim_in), first)), ""]
    parts += [_table(_led(_duty_rows(found), first)), "", _table(_chain_rows(found, rim_in, first)), ""]
    parts += [f"warning: {text}" for text in (*found.warnings, *rim_warnings(found, rim_in))]
    return "\n".join([*parts, CAUTION])


def _size_rows(found: Dimensions, rim_in: float) -> list[Row]:

    width = found.width_on(rim_in)
    sources, least = found.sources, found.least_diameter_mm
    under = {Basis.BOUND: ", upper bound", Basis.TABLE: ", largest known"}
    rows: list[Row] = [
        ("", "mm", "in", "from"),
        _row(
            f"overall diameter{under.get(found.overall_from, '')}",
            found.overall_diameter_mm,
            sources["overall_diameter"],
        ),
        *([] if least is None else [_row("  new, at least", least, _least_note(found))]),
        _row("  new or in service, at most", found.greatest_diameter_mm, _height_note(found)),
        _row(f"section width on {_rim(rim_in)}{under.get(found.section_from, '')}", width, _width_note(found, rim_in)),
        _row(
            "  new or in service, at most",
            found.greatest_width_on(rim_in),
            f"{width_factor(found.marking)} x, {width_rule(found.marking)}",
        ),
        _row("section height", found.section_height_mm, "rim to tread"),
        _row("rolling circumference", found.rolling_mm, sources["rolling"]),
    ]
    low, high = found.rims_in
    measuring = found.measuring_rim_in
    rows.append(("measuring rim", _rim_mm(measuring), _rim(measuring), sources["measuring_rim"]))
    rows.append(("permitted rims, from", _rim_mm(low), _rim(low), sources["rims"]))
    rows.append(("  to", _rim_mm(high), _rim(high), ""))
    return rows


def _least_note(found: Dimensions) -> str:

    several = found.least_overall_mm is not None and found.least_overall_mm < found.overall_diameter_mm
    smallest = f" of the smallest, {found.least_overall_mm:.0f} mm over all" if several else ""
    return f"{LEAST_HEIGHT} x section height{smallest}, {height_rule(found.marking)}"


def _height_note(found: Dimensions) -> str:

    return f"{height_factor(found.marking)} x section height, {height_rule(found.marking)}"


def _width_note(found: Dimensions, rim_in: float) -> str:
    change = found.width_on(rim_in) - found.section_width_mm
    source = found.sources["section_width"]
    return source if abs(change) < 0.05 else f"{source}; {change:+.1f} mm for the rim (0.4 of its change)"


def _rim(rim_in: float) -> str:
    return f"{rim_in:.3g} in"


def _rim_mm(rim_in: float) -> str:

    return f"{rim_in * MM_PER_INCH:.1f}"


def _row(name: str, mm: float, source: str) -> Row:

    return (name, f"{mm:.1f}", inch_text(mm), source)


def _duty_rows(found: Dimensions) -> list[Row]:
    mark = found.marking
    rows: list[Row] = [
        ("turns", f"{found.turns_per_km:.0f} per km", f"{found.turns_per_km * KMH_PER_MPH:.0f} per mile", ""),
    ]
    for name, index, load in (
        ("load, single", mark.load_index, mark.load_kg),
        ("load, dual", mark.load_index_dual, mark.load_dual_kg),
    ):
        if load is not None:
            rows.append(
                (name, f"{load:g} kg", f"{load / KG_PER_POUND:.0f} lb", f"index {index}, ISO 4000-1 (from memory)")
            )
    left = load_at_own_speed_kg(found)
    if left is not None and mark.load_kg is not None and left < mark.load_kg:
        share = f"{100 * left / mark.load_kg:.0f} % of it for symbol {mark.speed} (UN R30, from memory)"
        rows.append((f"  at {mark.speed_kmh:g} km/h", f"{left:.0f} kg", f"{left / KG_PER_POUND:.0f} lb", share))
    if mark.speed_kmh is not None:
        speed = mark.speed_kmh
        rows.append(
            ("speed", f"{speed:g} km/h", f"{speed / KMH_PER_MPH:.0f} mph", f"symbol {mark.speed} (from memory)")
        )
    elif mark.speed:
        rows.append(("speed", "over 240 km/h", "over 149 mph", "ZR says no more; ask the tire's maker"))
    if mark.load_range:
        rows.append(("load range", mark.load_range, "", "as marked"))
    if mark.extra_load:
        rows.append(("extra load", "yes", "", "needs its higher inflation pressure"))
    return rows


def _led(rows: list[Row], first: str) -> list[Row]:
    """Metric and American side by side, whichever is wanted first."""
    return [(name, inch, mm, source) for name, mm, inch, source in rows] if first == "in" else rows


def _chain_rows(found: Dimensions, rim_in: float, first: str) -> list[Row]:

    rows: list[Row] = [("with snow chains", "over all", "across", "room by SAE J1232, as five pages quote it")]
    for name, (tread, side) in CHAIN_ROOM_MM.items():
        around, across = found.overall_diameter_mm + 2 * tread, found.width_on(rim_in) + 2 * side
        note = f"tread face {tread:g} mm, each side wall {side:g} mm"
        over, wide = (inch_text(mm) if first == "in" else f"{mm:.0f} mm" for mm in (around, across))
        rows.append((f"  class {name}", over, wide, note))
    return rows


def _table(rows: list[Row]) -> str:
    # the three tables of a page stand under each other, so none is narrower than these
    name, mm, inch = (max(least, *(len(row[column]) for row in rows)) for column, least in enumerate((30, 9, 12)))
    return "\n".join(f"{a:<{name}}  {b:>{mm}}  {c:>{inch}}   {d}".rstrip() for a, b, c, d in rows)
