"""An answer: the value, the corner that it is of, and every way to take it away.

* value     - what was found, with units in its names
* to_dict   - the facts that `--json` prints
* words     - the page that the terminal shows
* rows      - one flat dictionary a line, for a data frame
* csv       - the same for a spreadsheet
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from clearance.plain import markup
from clearance.units import FIRST, led_by
from clearance.words.fold import folded

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp

Value = TypeVar("Value")

_NOTHING: tuple[str, ...] = ()
_ACROSS = 110
"""Letters across a page in a notebook."""
_FRAME = (
    "<style>.clearance-picture{{max-width:26em}}.clearance-picture text"
    "{{paint-order:stroke;stroke:#fff;stroke-width:1px}}</style>"
    '<div class="clearance-picture">{}</div>'
)
"""As large as a hand, and words on a white edge where they stand on lines."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, repr=False)
class Answer(Generic[Value]):
    """What a question of a corner gave. What it has not itself is looked up on its value.

    Printed, it is the page that a person reads; in a notebook, that and the section picture where there is one.
    """

    value: Value
    corner: MockUp | None = None
    """What was asked; None where no corner is needed, as of a tire."""
    told: Callable[[], str] = field(repr=False)
    """Makes the page."""
    plain: Callable[[], Mapping[str, Any]] = field(repr=False)
    """Makes the facts."""
    listed: str = ""
    """Which of the facts has the rows."""
    units: str | None = None
    """Which unit its page has first, "mm" or "in"; None: the corner's."""
    pictured: Callable[[], Sequence[str]] = field(default=lambda: _NOTHING, repr=False)
    """Makes the pictures, as SVG."""

    def to_dict(self) -> dict[str, Any]:
        """Numbers and words alone, as `--json` prints them: mm and deg, the steering's signs as on the real car."""
        return dict(self.plain())

    def words(self, units: str | None = None) -> str:
        """The page in plain text, with this unit first ("mm" or "in"); the corner's own where none is named."""
        return led_by(self.told(), units or self.first)

    @property
    def first(self) -> str:
        """The unit that its page has first."""
        return self.units or (FIRST[0] if self.corner is None else self.corner.units)

    def rows(self) -> list[dict[str, Any]]:
        """One flat dictionary for each part, size, width or change: `pandas.DataFrame(answer.rows())`."""
        return [dict(_flat(row)) for row in self.to_dict().get(self.listed, [])]

    def csv(self) -> str:
        """The same rows for a spreadsheet, each column headed with its key and unit: mm and deg."""
        from clearance.facts.columns import table_text

        return table_text(self.to_dict(), self.listed)

    def pictures(self) -> tuple[str, ...]:
        """Each picture of the answer as SVG text; none where there is nothing to draw."""
        return tuple(self.pictured())

    def __repr__(self) -> str:
        return self.words()

    def _repr_html_(self) -> str:
        drawn = [_FRAME.format(picture) for picture in self.pictures()[:1]]
        lines = map(markup, folded(self.words(), _ACROSS).split("\n"))
        return "".join([*drawn, "<pre>", "\n".join(lines), "</pre>"])

    def __getattr__(self, name: str) -> Any:
        if name.startswith("_"):
            raise AttributeError(name)
        return getattr(self.value, name)


def _flat(row: Mapping[str, Any], before: str = "") -> Iterator[tuple[str, Any]]:
    """Tables within a row are laid side by side: gap.at_least beside gap.at_most; lists stay as they are."""
    for key, value in row.items():
        if isinstance(value, Mapping):
            yield from _flat(value, f"{before}{key}.")
        else:
            yield f"{before}{key}", value
