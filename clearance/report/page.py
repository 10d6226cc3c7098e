"""report.html: one page that can be sent to a customer or stood on the bench. It needs no network.

The page is `page.html` (its text), `page.css` and `page.js` (how it moves), and the plotting library's own script,
packed, all in one file. Everything that is a length stands in a `len` element with its millimetres, so that one switch
changes them all; every number in the text is a number of the findings.
"""

from __future__ import annotations

import base64
import gzip
import re
from collections.abc import Mapping, Sequence
from functools import partial
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from markupsafe import Markup, escape

from clearance.export.svg import picture
from clearance.gap.found import Gap
from clearance.mockup.words import steer_text
from clearance.plain import json_text, visible
from clearance.report.findings import worst_first
from clearance.report.scene import scene_of
from clearance.report.sections import section_drawing
from clearance.units import WRITTEN, both, inch_text, inches, led_by
from clearance.words.sentence import (
    WIDER_MM,
    deepest_words,
    gap_words,
    position_words,
    promise_words,
    verdict_sentence,
    when_words,
)

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp

PICTURES = 3
"""How many of the tightest places are shown as pictures."""

CAUTIONS = (
    "This page answers one question: whether the shapes that were described touch, over the positions that"
    " were described."
    " It knows nothing of what was not described or measured wrong.",
    "Before anyone relies on it: cycle the corner by hand with springs out and the car on stands, wheel on,"
    " through bump"
    " and both locks, and look. Never under a car that only a jack holds up.",
    "Tires flex, grow and bulge near the ground; bushings give. What was allowed for that is listed above, and"
    " nothing else"
    " was.",
    "Load and speed rating of the tire, lug seats and thread engagement, brake and steering parts and cut structure can"
    " hurt people: follow the makers' limits and local codes, and have structural cuts done by licensed practice.",
    "A tire that rubs can fail at speed; do not drive to find out.",
)


SCRIPT = "plotting.js"
"""The plotting library's script where it stands beside the pages that use it."""


def write_report(
    mockup: MockUp, gaps: Sequence[Gap], findings: Mapping[str, Any], *, script_beside: bool = False
) -> bytes:
    """The page as bytes: the same mock-up, gaps and findings, the same bytes.

    `findings` are those of `findings_of` for the same gaps. With `script_beside` the plotting library's script is not
    in the page but in a file of its own beside it.
    """
    from jinja2 import Environment, StrictUndefined

    room = files("clearance.report")
    environment = Environment(
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        finalize=_seen,
    )
    first = mockup.units
    environment.filters.update(
        length=partial(length, first=first),
        fine=partial(fine_length, first=first),
        plain=partial(plain_length, first=first),
        words=partial(with_lengths, first=first),
        steer=steer_text,
        told=lambda part: gap_markup(part, findings["tolerance"], first=first),
        deep=lambda zone: with_lengths(deepest_words(zone, findings), first=first),
        share=per_mm,
    )
    template = environment.from_string(room.joinpath("page.html").read_text(encoding="utf-8"))
    scene = scene_of(mockup, gaps)
    text = template.render(
        f={"zones": [], **findings},
        first=first,
        sentence=verdict_sentence(findings),
        promise=promise_words(findings),
        places=places(mockup, gaps, findings),
        position=lambda part: when_words(part, findings["cycle"]),
        place=lambda position: position_words(position, findings["cycle"]),
        notes=[*_endless_note(mockup), *(part["note"] for part in scene["parts"] if part["note"])],
        cautions=CAUTIONS,
        css=Markup(room.joinpath("page.css").read_text(encoding="utf-8")),
        js=Markup(room.joinpath("page.js").read_text(encoding="utf-8")),
        plotting="" if script_beside else Markup(packed_script()),
        script=SCRIPT if script_beside else "",
        scene=Markup(_as_script(scene)),
        findings_json=Markup(_as_script(findings)),
    )
    return text.encode()


def _seen(value: object) -> object:
    """What goes into the page: text from a file with every sign in it seen, the page's own markup as it is."""
    return visible(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def _endless_note(mockup: MockUp) -> list[str]:
    if not any(part.endless for part in mockup.parts):
        return []
    return ["Where a sheet was given no bound, it is shown only near the wheel; it was measured further out."]


def packed_script() -> str:
    """The same as letters that a page can carry in a third of the room; the page unpacks it."""
    packed = gzip.compress(plotting_script().encode(), compresslevel=9, mtime=0)
    return base64.b64encode(packed).decode("ascii")


def plotting_script() -> str:
    """The plotting library's own script, from its package."""
    script = files("plotly").joinpath("package_data", "plotly.min.js").read_text(encoding="utf-8")
    return script.replace("</script", "<\\/script")


def _as_script(value: object) -> str:
    text = json_text(value, indent=None, compact=True)
    return text.replace("<", "\\u003c")


def places(mockup: MockUp, gaps: Sequence[Gap], findings: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The tightest places: the part's findings, and its section in millimetres and in inches."""
    parts = {part.name: part for part in mockup.parts}
    shown = []
    for gap, row in zip(worst_first(gaps)[:PICTURES], findings["parts"], strict=False):
        least = gap.stands_at_mm
        inside = " inside" if least < 0 else ""
        title = f"Section through {gap.part}"
        described = f"{row['tire_region']} and {gap.part}, {gap_words(row)}, {row['where']}"
        pictures = {
            unit: Markup(
                picture(section_drawing(mockup, gap, parts[gap.part], words), title=title, description=described)
            )
            for unit, words in (("mm", f"{abs(least):.1f} mm{inside}"), ("in", f"{inch_text(abs(least))}{inside}"))
        }
        shown.append({"row": row, "pictures": pictures})
    return shown


# ---- how numbers are written


def length(mm: float, digits: int = 1, *, first: str = "mm") -> Markup:
    """A length with its other unit beside it, which the unit switch turns round."""
    written = both(mm, digits=digits)
    return _span("len", mm, inch_text(mm), written, led_by(written, first))


def _span(kind: str, mm: float, inch: str, written: str, shown: str) -> Markup:
    """A length that the unit switch knows: in millimetres, in inches, and as it is written with millimetres first."""
    kept = "" if shown == written else Markup(' data-first="{}"').format(written)
    return Markup('<span class="{}" data-mm="{}" data-in="{}"{}>{}</span>').format(kind, _number(mm), inch, kept, shown)


def gap_markup(part: Mapping[str, Any], tolerance_mm: float, *, first: str = "mm") -> Markup:
    """A gap, or how deep it is inside: one number, or both ends of a bracket wider than was asked."""
    least, most = part["gap"]["at_least"], part["gap"]["at_most"]
    if part["swallowed"] or least is None:
        return with_lengths(gap_words(part, tolerance_mm), first=first)
    if most - least > tolerance_mm + WIDER_MM:
        if most < 0:
            return Markup("{} to {} inside").format(plain_length(-most, first=first), length(-least, first=first))
        return Markup("between {} and {}").format(plain_length(least, first=first), length(most, first=first))
    return Markup("{} inside").format(length(-least, first=first)) if least < 0 else length(least, first=first)


def fine_length(mm: float, *, first: str = "mm") -> Markup:
    """A length too small for a tape: a hundredth of a millimetre, a thousandth of an inch."""
    return _one(mm, f"{inches(mm):.3f} in", f"{mm:.2f} mm", first)


def plain_length(mm: float, *, first: str = "mm") -> Markup:
    """A length in one unit, which the switch changes: for coordinates."""
    return _one(mm, inch_text(mm), f"{round(mm, 1) + 0.0:.1f} mm", first)


def with_lengths(text: str, *, first: str = "mm") -> Markup:
    """A sentence whose lengths follow the switch; millimetres, with or without inches in brackets after them."""
    pieces, at = [], 0
    for match in WRITTEN.finditer(text):
        mm, bare = float(match["mm"]), match["inch"] is None
        pieces += [_angles(text[at : match.start()])]
        pieces += [_one(mm, inch_text(mm), match[0], first) if bare else length(mm, first=first)]
        at = match.end()
    return Markup("").join([*pieces, _angles(text[at:])])


def _angles(text: str) -> Markup:
    """Text whose angles stay on one line with their unit."""
    return Markup(re.sub(r"(?<![\w.])(\d+(?:\.\d+)? deg)\b", r'<span class="whole">\1</span>', str(escape(text))))


def _one(mm: float, inch: str, written: str, first: str) -> Markup:
    return _span("len one", mm, inch, written, inch if first == "in" else written)


def per_mm(row: Mapping[str, Any], key: str) -> str:
    """How much the gap changes for one millimetre of something, as "-0.50"; a dash where it was not worked out."""
    value = row["per_mm"].get(key)
    return "\u2013" if value is None else f"{value:+.2f}"


def _number(mm: float) -> str:
    return f"{round(mm, 4) + 0.0:.4f}".rstrip("0").rstrip(".")
