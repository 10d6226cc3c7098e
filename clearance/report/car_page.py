"""The report for a car: one page, its corners as they stand on the car, worst first, each opening into its own report.

Front is up, and left is left, as the car is seen from above.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from importlib.resources import files
from typing import Any

from markupsafe import Markup

from clearance.mockup.car import Car
from clearance.mockup.mockup import CORNERS
from clearance.plain import visible
from clearance.report.page import CAUTIONS, with_lengths
from clearance.units import both
from clearance.words.car_check import sentence
from clearance.words.sentence import gap_words, when_words
from clearance.words.text import by_corner


def write_car(
    car: Car,
    findings: Mapping[str, Mapping[str, Any]],
    pictures: Mapping[str, str],
    drawn: Sequence[tuple[str, str]] = (),
) -> bytes:
    """The page as bytes; `findings` of each corner by its name, worst first, and the picture of its worst place.

    `drawn` are pictures of the whole car, each with its title.
    """
    from jinja2 import Environment, StrictUndefined

    room = files("clearance.report")
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True, finalize=_seen
    )
    environment.filters["words"] = partial(with_lengths, first=car.units)
    template = environment.from_string(room.joinpath("car.html").read_text(encoding="utf-8"))
    order = list(findings)
    text = template.render(
        car=car,
        verdict=findings[order[0]]["verdict"],
        sentence=sentence(list(findings.values())),
        corners=[
            _corner(findings[name], order.index(name), pictures.get(name, "")) for name in CORNERS if name in order
        ],
        notes=by_corner({name: found["warnings"] for name, found in findings.items()}),
        drawn=[(title, Markup(svg)) for title, svg in drawn],
        base=[f"{words} {both(mm)}" for words, mm in _base(car)],
        cautions=CAUTIONS,
        css=Markup(room.joinpath("page.css").read_text(encoding="utf-8")),
    )
    return text.encode()


def _base(car: Car) -> list[tuple[str, float]]:
    """The car's own lengths, as far as they are known."""
    known = [] if car.wheelbase_mm is None else [("wheelbase", car.wheelbase_mm)]
    return [*known, *((f"{axle} track", mm) for axle, mm in car.track_mm.items())]


def _corner(found: Mapping[str, Any], rank: int, picture: str) -> dict[str, Any]:
    worst = found["parts"][0] if found["parts"] else None
    return {
        "name": found["corner"],
        "side": "left" if found["corner"].endswith("left") else "right",
        "rank": rank + 1,
        "verdict": found["verdict"],
        "worst": worst,
        "gap": "" if worst is None else gap_words(worst, found["tolerance"]),
        "when": "" if worst is None else when_words(worst, found["cycle"]),
        "tire": found["tire"],
        "wheel": found["wheel"],
        "picture": Markup(picture),
        "report": f"{found['corner']}-report.html",
    }


def _seen(value: object) -> object:
    """What goes into the page: text from a file with every sign in it seen, the page's own markup as it is."""
    return visible(value) if isinstance(value, str) and not isinstance(value, Markup) else value
