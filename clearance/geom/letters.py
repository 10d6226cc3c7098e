"""Letters drawn as single strokes, for a tool that follows a line.

Every letter stands on a grid four wide and six high. A laser, a plasma torch or a pen follows the strokes as they are;
a print is engraved along them with a width. Small letters are written as capitals and accents are left off; what has
no letter here is written as a question mark.
"""

from __future__ import annotations

import unicodedata

import numpy as np
import numpy.typing as npt

from clearance.geom.drawing import Text

Array = npt.NDArray[np.float64]

_HIGH = 6.0
_STEP = 5.6
"""From one letter to the next, in grid units."""

# Strokes are separated by blanks; each is a run of two-figure grid points, column then row.
_STROKES: dict[str, str] = {
    " ": "",
    "A": "0004264440 0242",
    "B": "00063645443303 3342413000",
    "C": "4536160501103041",
    "D": "00062645412000",
    "E": "46060040 0333",
    "F": "460600 0333",
    "G": "453616050110304143 4323",
    "H": "0006 4046 0343",
    "I": "1030 1636 2026",
    "J": "0110203146",
    "K": "0006 4602 1340",
    "L": "060040",
    "M": "0006234640",
    "N": "00064046",
    "O": "100105163645413010",
    "P": "000636454433 3303",
    "Q": "100105163645413010 2240",
    "R": "000636454433 3303 2340",
    "S": "453616050413334241301001",
    "T": "0646 2620",
    "U": "060110304146",
    "V": "062046",
    "W": "0610233046",
    "X": "0046 0640",
    "Y": "062346 2320",
    "Z": "06460040",
    "0": "100105163645413010 1135",
    "1": "142620 1030",
    "2": "05163645440040",
    "3": "0516364544333342413010 1333",
    "4": "3036020242",
    "5": "460603344341301001",
    "6": "36160501103041423303",
    "7": "064610",
    "8": "13040516364544331302011030414233",
    "9": "10304145361605041343",
    ".": "1011212010",
    ",": "2110",
    "-": "1333",
    "+": "0343 2125",
    "/": "0046",
    "(": "36141230",
    ")": "16343210",
    ":": "1112 1415",
    "%": "0046 0616150506 4030314140",
    "=": "0242 0444",
    "#": "1016 3036 0242 0444",
    "'": "2624",
    '"': "1614 3634",
    "°": "14152635342314",
    "×": "0145 0541",
    "±": "0141 0444 2226",
    "<": "450341",
    ">": "054301",
    "?": "0516364544232221 2010",
    "_": "0040",
    "^": "142634 2620",
    "&": "4004051626240211203043",
}


def strokes_of(text: str, height_mm: float) -> list[Array]:
    """Polylines (n, 2) of a line of writing whose capitals are `height_mm` high, from (0, 0) on its base line."""
    scale = height_mm / _HIGH
    polylines = []
    for place, letter in enumerate(_known(text)):
        for stroke in _STROKES[letter].split():
            grid = np.array([(int(stroke[i]), int(stroke[i + 1])) for i in range(0, len(stroke), 2)], dtype=float)
            polylines.append(scale * (grid + np.array([place * _STEP, 0.0])))
    return polylines


def width_mm(text: str, height_mm: float) -> float:
    """How long a line of writing is.

    >>> round(width_mm("12", 6.0), 1)
    9.6
    """
    return height_mm / _HIGH * max(0.0, (len(text) - 1) * _STEP + 4.0) if text else 0.0


def strokes_in_place(mark: Text) -> list[Array]:
    """The strokes of a text mark where it stands."""
    shift = {"left": 0.0, "centre": 0.5, "right": 1.0}[mark.align] * width_mm(mark.text, mark.height_mm)
    turn = np.radians(mark.turn_deg)
    c, s = np.cos(turn), np.sin(turn)
    to_place = np.array([[c, s], [-s, c]])
    return [
        (line - np.array([shift, 0.0])) @ to_place + np.array(mark.at) for line in strokes_of(mark.text, mark.height_mm)
    ]


def _known(text: str) -> list[str]:
    letters = []
    for letter in text:
        if letter in _STROKES:
            letters.append(letter)
            continue
        base = unicodedata.normalize("NFKD", letter)[:1].upper()
        letters.append(base if base in _STROKES else "?")
    return letters
