"""The shipped pickup with fewer parts: for what does not depend on how many there are."""

from __future__ import annotations

import re
from pathlib import Path

SHIPPED = (Path(__file__).parents[1] / "fixtures" / "corners" / "orchard-pickup-rear.toml").read_text(encoding="utf-8")
COSTLY = ("bed floor", "frame rail", "shock", "lip", "tailpipe")
"""Parts of the pickup that a slow answer is asked without: what is left, a wall and a leaf pack, has every key."""


def without(text: str, *names: str) -> str:
    """A corner file without these parts."""
    for name in names:
        text, found = re.subn(rf'\[\[part\]\]\nname = "{name}"\n.*?(?=^\[)', "", text, flags=re.DOTALL | re.MULTILINE)
        assert found == 1, name
    return text


def moved(text: str, inboard: str) -> str:
    """The same corner with its inner wall there."""
    was = 'inboard = "6 in"'
    assert text.count(was) == 1
    return text.replace(was, f'inboard = "{inboard}"')


FEW = without(SHIPPED, *COSTLY)
"""It clears."""
HIT = moved(FEW, "4 in")
"""The tire goes into the inner wall."""
