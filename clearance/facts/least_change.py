"""The least change as facts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from clearance.answers.combined import Combination
from clearance.answers.least_change import Change, LeastChange, Smaller
from clearance.facts.gap import gap_json, gap_shape
from clearance.facts.shape import Shape, flag, maybe, mm, number, of_corner, one_of, rows, table, text
from clearance.gap.found import Gap
from clearance.mockup.mockup import MockUp


def change_json(change: Change, after: list[Any]) -> dict[str, Any]:
    """One single change; `after` is every part with it."""
    return {
        "change": change.knob,
        "unit": change.unit,
        "exact": round(change.exact, 3),
        "bought": None if change.bought is None else round(change.bought, 3),
        "cost": change.cost,
        "effort": round(change.effort, 4),
        "after": after,
    }


def combination_json(one: Combination, after: list[Any]) -> dict[str, Any]:
    """What is sold and clears together; `after` is every part with it."""
    return {
        "changes": [
            {
                "change": change.knob,
                "unit": change.unit,
                "amount": round(change.amount, 3),
                "said": change.said,
                "cost": change.cost,
                "hours": change.work.hours,
                "money": change.work.money,
                "reversible": change.work.reversible,
            }
            for change in one.changes
        ],
        "work_hours": round(one.work_hours, 2),
        "money": round(one.money, 2),
        "reversible": one.reversible,
        "cost_hours": round(one.hours, 2),
        "effort": round(one.effort, 4),
        "after": after,
    }


def smaller_json(smaller: Smaller | None, after: list[Any]) -> dict[str, Any] | None:
    """The next tire size down that clears; `after` is every part with it."""
    if smaller is None:
        return None
    return {
        "size": smaller.size,
        "overall_diameter": round(smaller.tire.overall_diameter_mm, 1),
        "section_width": round(smaller.tire.section_width_mm, 1),
        "source": smaller.source,
        "after": after,
    }


def facts(mockup: MockUp, found: LeastChange) -> dict[str, Any]:
    """Everything that the page says."""

    def after(gaps: Sequence[Gap]) -> list[Any]:
        return [gap_json(mockup, gap) for gap in gaps]

    smaller = found.smaller
    return {
        "format": "clearance-least-change/2",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "before": after(found.before),
        "changes": [change_json(change, after(change.gaps)) for change in found.changes],
        "smaller_tire": smaller_json(smaller, [] if smaller is None else after(smaller.gaps)),
        "combinations": [combination_json(one, after(one.gaps)) for one in found.combinations],
        "not_enough": list(found.tried),
    }


def changed_shapes(before: Shape, after: Shape) -> dict[str, Shape]:
    """What every answer of this kind has; `before` and `after` are rows of gaps as it is and with something changed."""
    change = table(
        "one change",
        change=text("what is changed"),
        unit=one_of("of exact and bought", "mm", "deg"),
        exact=number("the least that clears, in its unit"),
        bought=maybe(number("the least of what is sold that clears, in its unit"), "where nothing sold clears"),
        cost=text("what it costs, lengths in mm"),
        effort=number("bought, or exact, over the most that [limits] allows: 0 is nothing, 1 all of it"),
        after=after,
    )
    smaller = table(
        "the next size down that clears on the same wheel",
        size=text("as it is marked"),
        overall_diameter=mm("nominal"),
        section_width=mm("on this rim, nominal"),
        source=text("where its dimensions come from"),
        after=after,
    )
    together = table(
        "one of them",
        changes=rows("each change in it", _SOLD),
        work_hours=number("of work, hours"),
        money=number("of what is bought, in its own unit: the money of [cost]"),
        reversible=flag("whether all of it can be put back"),
        cost_hours=number("all of it counted in hours, as [cost] weighs it"),
        effort=number("shares of what [limits] allows, added up"),
        after=after,
    )
    return {
        "before": before,
        "changes": rows("single changes that clear, least effort first", change),
        "smaller_tire": maybe(smaller, "where none clears or none was looked for"),
        "combinations": rows("one, two or three changes of what is sold that clear together, cheapest first", together),
        "not_enough": rows("changes that do not clear within [limits]", text("what would be changed")),
    }


_SOLD = table(
    "one change as it is sold",
    change=text("what is changed"),
    unit=one_of("of the amount", "mm", "deg"),
    amount=number("as sold, in its unit"),
    said=text("the amount in words"),
    cost=text("what it costs, lengths in mm"),
    hours=number("of work, hours"),
    money=number("of what is bought, in its own unit: the money of [cost]"),
    reversible=flag("whether it can be put back"),
)
SHAPE = of_corner(
    "clearance-least-change/2",
    "the smallest changes that clear: each alone, and one, two or three of what is sold together",
    **changed_shapes(
        rows("every part as it is", gap_shape("one part")), rows("every part with it", gap_shape("one part"))
    ),
)
