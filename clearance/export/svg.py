"""Drawings to scale as SVG: one millimetre drawn is one millimetre of the file.

A drawing has y up and SVG has y down, so everything is turned over on the way out; arcs stay arcs.

* sheet   - a file of its own: black on white, width and height in millimetres
* picture - a drawing set into a page: it takes the page's colour of text, so that it can be read in the dark, and the
  page's width
"""

from __future__ import annotations

from collections.abc import Sequence

from clearance import plain
from clearance.geom.drawing import (
    CENTRE,
    CUT,
    ENGRAVE,
    EXTREME,
    FOLD,
    HIDDEN,
    LOCK,
    OUTLINE,
    PART,
    THIN,
    WHOLE,
    Bounds,
    Circle,
    Drawing,
    Mark,
    Path,
    Text,
)
from clearance.geom.profile import Arc, Element, Point

CAP_HEIGHT = 0.718
"""Height of a capital over the font size, Helvetica (Adobe font metrics)."""

# Line width in mm, dashes in mm, colour where it is not that of the text (Okabe and Ito's blue and vermilion).
_STYLES: dict[str, tuple[float, str, str]] = {
    CUT: (0.35, "", ""),
    ENGRAVE: (0.25, "", "#0072b2"),
    FOLD: (0.25, "4 1.5", "#d55e00"),
    OUTLINE: (0.4, "", ""),
    THIN: (0.18, "", ""),
    CENTRE: (0.15, "6 1.5 1 1.5", ""),
    HIDDEN: (0.25, "2 1.2", ""),
    PART: (0.7, "", ""),
    WHOLE: (0.5, "", ""),
    EXTREME: (0.25, "6 1.2 0.3 1.2 0.3 1.2", ""),
    LOCK: (0.3, "0.3 1.1", ""),
}


def sheet(drawing: Drawing, *, title: str = "", margin_mm: float = 5.0) -> bytes:
    """The drawing as an SVG file at 1:1, black on white."""
    return (_svg(drawing, title, "", margin_mm, own_size=True) + "\n").encode()


def picture(drawing: Drawing, *, title: str, description: str, margin_mm: float = 2.0) -> str:
    """The drawing as an SVG element for a page, with the words that stand in for it where it cannot be seen."""
    return _svg(drawing, title, description, margin_mm, own_size=False)


def _svg(drawing: Drawing, title: str, description: str, margin_mm: float, *, own_size: bool) -> str:
    flat = drawing.plain
    x0, y0, x1, y1 = flat.bounds
    box = (x0 - margin_mm, y0 - margin_mm, x1 + margin_mm, y1 + margin_mm)
    width, height = box[2] - box[0], box[3] - box[1]
    label = f" role='img' aria-label={plain.attribute(f'{title}. {description}'.strip())}" if not own_size else ""
    size = f" width='{_n(width)}mm' height='{_n(height)}mm'" if own_size else ""
    rows = [
        f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {_n(width)} {_n(height)}'{size}{label}"
        " font-family='Helvetica, Arial, sans-serif'>"
    ]
    if own_size:
        rows.append(f"<title>{plain.markup(title)}</title>")
        rows.append(f"<rect width='{_n(width)}' height='{_n(height)}' fill='#fff'/>")
    rows.append("<g fill='none' stroke-linecap='round' stroke-linejoin='round'>")
    marks = flat.marks if own_size else _strokes_together(flat.marks)
    rows += [_mark(mark, box, "#000" if own_size else "currentColor") for mark in marks]
    return "\n".join([*rows, "</g>", "</svg>"])


def _strokes_together(marks: Sequence[Mark]) -> list[Mark | tuple[Path, ...]]:
    """Open strokes of one layer that follow each other, as one: a page lays a hundred elements out slowly."""
    found: list[Mark | tuple[Path, ...]] = []
    for mark in marks:
        last = found[-1] if found else None
        if not isinstance(mark, Path) or mark.shade is not None or mark.closed:
            found.append(mark)
        elif isinstance(last, tuple) and last[0].layer == mark.layer:
            found[-1] = (*last, mark)
        else:
            found.append((mark,))
    return found


def _mark(mark: object, box: Bounds, ink: str) -> str:
    if isinstance(mark, tuple):
        steps = [f"M{_pair(one.elements[0].start, box)}{''.join(_step(e, box) for e in one.elements)}" for one in mark]
        return f"<path d='{''.join(steps)}'{_style(mark[0].layer, None, ink)}/>"
    if isinstance(mark, Text):
        return _text(mark, box, ink)
    if isinstance(mark, Circle):
        x, y = _at(mark.centre, box)
        style = _style(mark.layer, mark.shade, ink)
        return f"<circle cx='{_n(x)}' cy='{_n(y)}' r='{_n(mark.radius_mm)}'{style}/>"
    assert isinstance(mark, Path)
    steps = [f"M{_pair(mark.elements[0].start, box)}", *(_step(element, box) for element in mark.elements)]
    close = "Z" if mark.closed else ""
    return f"<path d='{''.join(steps)}{close}'{_style(mark.layer, mark.shade, ink)}/>"


def _step(element: Element, box: Bounds) -> str:
    if not isinstance(element, Arc):
        return f"L{_pair(element.end, box)}"
    large = int(abs(element.sweep_rad) > 3.141592653589793)
    # turned over, a turn to the left is still a turn to the left on the screen, which SVG calls sweep 0
    sweep = 0 if element.ccw else 1
    radius = _n(element.radius_mm)
    return f"A{radius} {radius} 0 {large} {sweep} {_pair(element.end, box)}"


def _text(mark: Text, box: Bounds, ink: str) -> str:
    x, y = _at(mark.at, box)
    anchor = {"left": "start", "centre": "middle", "right": "end"}[mark.align]
    turn = f" transform='rotate({_n(-mark.turn_deg)} {_n(x)} {_n(y)})'" if abs(mark.turn_deg) > 1e-9 else ""
    weight = " font-weight='bold'" if mark.bold else ""
    size = _n(mark.height_mm / CAP_HEIGHT)
    colour = _STYLES[mark.layer][2] or ink
    return (
        f"<text x='{_n(x)}' y='{_n(y)}' font-size='{size}' text-anchor='{anchor}' fill='{colour}'{weight}{turn}>"
        f"{plain.markup(mark.text)}</text>"
    )


def _style(layer: str, shade: float | None, ink: str) -> str:
    width, dashes, colour = _STYLES[layer]
    dash = f" stroke-dasharray='{dashes}'" if dashes else ""
    fill = "" if shade is None else _fill(shade, ink)
    # a page may style what a drawing's layers are for; a sheet stands by itself
    named = f" class='{layer}'" if ink != "#000" else ""
    return f"{named} stroke='{colour or ink}' stroke-width='{_n(width)}'{dash}{fill}"


def _fill(shade: float, ink: str) -> str:
    if ink == "#000":
        return f" fill='#{round(255 * shade):02x}{round(255 * shade):02x}{round(255 * shade):02x}'"
    if shade >= 1.0:
        return " fill='var(--paper, #fff)'"
    # a grey is ink thinned, so that it stays a grey on a dark page
    return f" fill='{ink}' fill-opacity='{_n(1.0 - shade)}'"


def _at(point: Point, box: Bounds) -> Point:
    return point[0] - box[0], box[3] - point[1]


def _pair(point: Point, box: Bounds) -> str:
    x, y = _at(point, box)
    return f"{_n(x)} {_n(y)}"


def _n(value: float) -> str:
    """A number without idle digits, to a micrometre."""
    return f"{round(value, 3) + 0.0:.3f}".rstrip("0").rstrip(".")
