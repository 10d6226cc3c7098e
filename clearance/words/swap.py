"""A tire and wheel for another, in words."""

from __future__ import annotations

from clearance.answers.swap import Swap
from clearance.units import KMH_PER_MPH, both

NOT_KNOWN = "not known"


def lines(swap: Swap) -> list[str]:
    """What changes, line by line."""
    old, new = swap.old, swap.new
    rows = [
        ("reach inboard", _reach(swap.inboard_mm, "further in", "less far in")),
        ("reach outboard", _reach(swap.outboard_mm, "further out", "less far out")),
        (
            "hub height",
            f"{_more(swap.hub_mm, 'higher', 'lower')}: half of {old.overall_mm:.1f} to {new.overall_mm:.1f} mm",
        ),
        ("ride height", f"the body {_more(swap.hub_mm, 'higher', 'lower')}, where both tires squat alike"),
        ("speedometer", speed_words(swap)),
        ("load", _load(swap)),
    ]
    return [f"  {old.name} comes off, {new.name} goes on:", *(f"    {name:<15} {words}" for name, words in rows)]


def speed_words(swap: Swap) -> str:
    """The true speed at an indicated 60 mph and 100 km/h."""
    mph = swap.true_kmh(60 * KMH_PER_MPH) / KMH_PER_MPH
    reads = "reads low" if swap.speed > 0 else "reads high" if swap.speed < 0 else "reads the same"
    return (
        f"at an indicated 60 mph the car does {mph:.1f} mph, at 100 km/h {swap.true_kmh(100.0):.1f} km/h"
        f" ({100 * swap.speed:+.1f} %): it {reads} where it was right before"
    )


def _more(change_mm: float, up: str, down: str) -> str:
    return "the same" if abs(change_mm) < 0.05 else f"{both(abs(change_mm))} {up if change_mm > 0 else down}"


def _reach(change_mm: float | None, further: str, less: str) -> str:
    if change_mm is None:
        return f"{NOT_KNOWN}: width and backspace of both are needed"
    return _more(change_mm, further, less)


def _load(swap: Swap) -> str:
    old, new = swap.old.load_kg, swap.new.load_kg
    if swap.load_kg is None or old is None or new is None:
        return f"{NOT_KNOWN}: write both markings with their load index, as 245/45R17 95W"
    return f"{old:g} kg to {new:g} kg a tire ({swap.load_kg:+g} kg)" + (": LESS THAN BEFORE" if new < old else "")


def marked_page(swap: Swap, warnings: tuple[str, ...]) -> str:
    """One marking for another."""
    notes = [f"warning: {text}" for text in warnings]
    return "\n".join([f"{swap.old.name} to {swap.new.name}", "", *notes, *lines(swap), "", MARKED])


MARKED = (
    "By the markings, on wheels of the same offset: half of what the width gains goes either way. Marked is not"
    " measured; a corner file with [now] and `clearance compare` say it for the wheels as they are."
)
