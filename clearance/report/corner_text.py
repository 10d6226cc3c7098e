"""A commented corner file from the answers: every line says which letter it came from, or that it was assumed.

What was measured is written as it was measured, fraction and unit. What two letters make together is written in
millimetres, to a tenth, with the sum beside it.
"""

from __future__ import annotations

import json
from collections.abc import Iterable

from clearance.report.answers import Answers, marking_of, value_of
from clearance.report.letters import SHEETS

LIP_RETURN_MM = 20.0
"""Depth of a lip's return where it was not measured: 3/4 in, common practice."""
KINGPIN_OFFSET_MM, KINGPIN_INCLINATION_DEG, CASTER_DEG = 95.0, 8.0, 3.0
"""Of a steering axis that was not measured: common practice."""
LEAF_PLAY_MM = 6.0
"""Sideways, each way, of an axle on leaf springs: 1/4 in, a proposal from common practice (no published figure)."""

_COLUMN = 44


def corner_text(sheet: str, answers: Answers) -> str:
    """The corner file; it needs every letter that `missing` names."""
    blocks = [_head(sheet, answers), _tire(answers), _wheel(answers), _suspension(sheet, answers)]
    if sheet == "front":
        blocks.append(_steering(answers))
    blocks += [_well(answers), _lip(answers)]
    for letter, name, rides_on, words in _NEAR.get(sheet, ()):
        if answers.get(letter):
            blocks.append(_wall(name, answers[letter], f"{letter}, {words}", rides_on=rides_on))
    if answers.get("Z"):
        blocks.append(_rail(answers))
    return "\n".join(blocks)


_NEAR = {
    "rear-leaf": (("Y", "leaf spring", "axle", "it rides on the axle, so this gap is the same at every height"),),
    "front": (("Y", "strut", "knuckle", "it steers with the wheel"),),
}


def _head(sheet: str, answers: Answers) -> str:
    return _block(
        f"# Measured with the sheet for a {SHEETS[sheet]}. The letters are the sheet's.",
        "# Lengths carry their unit. Points are [ahead, outboard, above] from the centre of the hub's mounting face.",
        _row("title", _text(answers.get("title") or f"A {SHEETS[sheet]}")),
        _row("corner", _text(answers.get("corner") or ("front-left" if sheet == "front" else "rear-left"))),
    )


def _tire(answers: Answers) -> str:
    rows = ["[tire]"]
    rows += _given(answers, "A", "size", "the marking; measured numbers beat it")
    rows += _given(answers, "B", "overall_diameter", "tread to tread, no weight on it")
    rows += _given(answers, "C", "section_width", "widest place, on this rim")
    rows += _given(answers, "D", "tread_width", "to where the shoulders begin")
    if not answers.get("A"):
        rows += _given(answers, "E", "rim_diameter", "the rim that it is for")
    rows.append(_row("shape", '"road"', "road, square or round: look at the shoulders"))
    rows.append(_row("growth", '"none"', '"in-service" adds what a tire grows in use (ISO 4000)'))
    return _block(*rows)


def _wheel(answers: Answers) -> str:
    marking = marking_of(answers)
    rim = _given(answers, "E", "diameter", "of the bead seats")
    if not rim and marking is not None:
        rim = [_row("diameter", f'"{marking.rim_in:g} in"', "from the marking")]
    return _block(
        "[wheel]",
        *rim,
        *_given(answers, "F", "width", "between the bead seats, not over all"),
        *_given(answers, "G", "backspace", "mounting face to the inner edge of the rim"),
        *_given(answers, "H", "bolt_circle", "for inspection and the gauge"),
    )


def _suspension(sheet: str, answers: Answers) -> str:
    rows = [
        "[suspension]",
        _row("kind", '"straight"', "straight up and down: give hardpoints instead where you have them"),
        *_given(answers, "J", "bump", "ride height to bump stop, at the wheel"),
        *_given(answers, "K", "droop", "ride height to full droop"),
    ]
    play = f'{{ inboard = "{LEAF_PLAY_MM:g} mm", outboard = "{LEAF_PLAY_MM:g} mm" }}'
    if sheet == "rear-leaf":
        rows.append(_row("shift", play, "sideways flex of leaf springs: assumed, edit it"))
    else:
        rows.append(f"# shift = {play}  # play and flex, where you know it")
    return _block(*rows)


def _steering(answers: Answers) -> str:
    offset = answers.get("N") or f"{KINGPIN_OFFSET_MM:g} mm"
    inclination = answers.get("P") or f"{KINGPIN_INCLINATION_DEG:g} deg"
    caster = answers.get("Q") or f"{CASTER_DEG:g} deg"
    assumed = [letter for letter in ("N", "P", "Q") if not answers.get(letter)]
    words = f"{', '.join(assumed)} assumed (common practice): measure them if lock is tight" if assumed else "N, P, Q"
    return _block(
        "[steering]",
        *_given(answers, "L", "left", "this wheel's angle at full left lock"),
        *_given(answers, "M", "right", "and at full right lock"),
        f"# {words}",
        f'axis = {{ through = ["0 mm", {_negative(offset)}, "0 mm"],'
        f' inclination = "{inclination}", caster = "{caster}" }}',
    )


def _well(answers: Answers) -> str:
    """A whole tub where the top was measured, else the walls that were."""
    outer = _lip_edge_mm(answers)
    if answers.get("V"):
        rows = [
            _row("name", '"well"', 'findings call its faces "well inner wall", "well crown" and so on'),
            _row("kind", '"tub"'),
            *_given(answers, "R", "inner", "hub face to inner wall, at its tightest"),
            *_given(answers, "V", "crown", "hub centre up to the top"),
            _row("outer", f'"{outer:.1f} mm"', "as far out as the lip: S + U"),
            *_given(answers, "W", "front", "hub centre to the front of the well"),
            *_given(answers, "X", "rear", "hub centre to its rear"),
        ]
        return _block("[[part]]", *rows)
    blocks = [_wall("inner wall", answers["R"], "R, hub face to inner wall, at its tightest")]
    for letter, name, sign in (("W", "well front", 1.0), ("X", "well rear", -1.0)):
        if answers.get(letter):
            blocks.append(_end_plate(answers, letter, name, sign, outer))
    return "\n".join(blocks)


def _end_plate(answers: Answers, letter: str, name: str, sign: float, outer_mm: float) -> str:
    ahead = sign * (value_of(answers, letter) or 0.0)
    inner, high = -(value_of(answers, "R") or 0.0), value_of(answers, "T") or 0.0
    corners = [(ahead, inner, -high), (ahead, outer_mm, -high), (ahead, outer_mm, high), (ahead, inner, high)]
    rows = ", ".join("[" + ", ".join(f'"{c:.1f} mm"' for c in corner) + "]" for corner in corners)
    return _block(
        "[[part]]",
        _row("name", _text(name)),
        _row("kind", '"plate"', f"{letter}; as wide as the well and as high as the lip"),
        f"corners = [{rows}]",
    )


def _lip(answers: Answers) -> str:
    depth = answers.get("U") or f"{LIP_RETURN_MM:g} mm"
    words = "U" if answers.get("U") else "assumed (common practice): measure it, it is what a rear tire meets first"
    return _block(
        "[[part]]",
        _row("name", '"fender lip"'),
        _row("kind", '"lip"'),
        _row("outboard", f'"{_lip_edge_mm(answers):.1f} mm"', "S + U: the edge where the return begins"),
        *_given(
            answers, "T", "radius", "hub centre up to the lip; taken as round about the hub: give centre or outline"
        ),
        _row("return_depth", f'"{depth}"', words),
    )


def _lip_edge_mm(answers: Answers) -> float:
    depth = value_of(answers, "U")
    return (value_of(answers, "S") or 0.0) + (LIP_RETURN_MM if depth is None else depth)


def _rail(answers: Answers) -> str:
    bounds = []
    if answers.get("Z1"):
        bounds.append(
            _row("below", _negative(answers["Z1"]), "Z1, with its sign turned: how far it goes below the hub")
        )
    bounds += _given(answers, "Z2", "above", "hub centre up to its top")
    return _wall("frame rail", answers["Z"], "Z, hub face to the rail", *bounds)


def _wall(name: str, inboard: str, words: str, *bounds: str, rides_on: str = "body") -> str:
    rows = [_row("name", _text(name)), _row("kind", '"wall"'), _row("inboard", _text(inboard), words), *bounds]
    if rides_on != "body":
        rows.append(_row("rides_on", _text(rides_on)))
    return _block("[[part]]", *rows)


def _given(answers: Answers, letter: str, key: str, words: str) -> list[str]:
    """The line of an answered letter; nothing where it was left out."""
    return [_row(key, _text(answers[letter]), f"{letter}, {words}")] if answers.get(letter) else []


def _negative(length: str) -> str:
    """A written length with its sign turned.

    >>> _negative("3 3/4 in"), _negative("-20 mm")
    ('"-3 3/4 in"', '"20 mm"')
    """
    return _text(length[1:].strip() if length.startswith("-") else f"-{length}")


def _row(key: str, value: str, words: str = "") -> str:
    line = f"{key} = {value}"
    return f"{line:<{_COLUMN}}  # {words}" if words else line


def _text(text: str) -> str:
    # JSON's quoting is TOML's, for a basic string
    return json.dumps(text, ensure_ascii=False)


def _block(*rows: str) -> str:
    return "\n".join(_lines(rows))


def _lines(rows: Iterable[str]) -> list[str]:
    return [*rows, ""]
