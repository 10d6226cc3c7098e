"""What two keys of a corner file say against each other.

* clash - two keys that cannot both be (`stops`: the file is refused, with both lines), or hardly (said at the top of
  the answer, with both lines)
* rule  - finds the clashes of one kind; what it looks for is its first line, which docs/corner-file.md lists

The rules stand in four files, by what they are about: `clash_wheel`, `clash_motion`, `clash_well`, `clash_answers`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any, TypeVar

from clearance.description.lines import Path
from clearance.description.refusal import Refusal

Described = TypeVar("Described")
Rule = Callable[[Described], Iterator["Clash"]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """Two keys that do not go together."""

    at: Path
    against: Path
    words: str
    stops: bool = True


def hardly(at: Path, against: Path, words: str) -> Clash:
    """A clash that is more often a slip than the truth: it is said, and does not stop."""
    return Clash(at=at, against=against, words=words, stops=False)


def clashes(rules: Iterable[Rule[Described]], read: Described) -> tuple[Clash, ...]:
    """What the rules find that does not stop. Raises Refusal for the first thing that does."""
    found = [clash for rule in rules for clash in rule(read)]
    for clash in found:
        if clash.stops:
            raise Refusal(clash.at, clash.words, other=clash.against)
    return tuple(found)


def first_of(table: Any, *keys: str) -> str:
    """The first of these keys that the table has a value for; the last of them where it has none."""
    return next((key for key in keys if getattr(table, key) is not None), keys[-1])
