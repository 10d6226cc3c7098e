"""Every dimension on a drawing against the mock-up, read back from the files as another program reads them.

The DXF is read by ezdxf: a DIMENSION has its figure, and its two points, between which it is measured again. The PDF is
read by poppler and checked by qpdf. What the figures must be is worked out here anew: extents from a fine mesh of the
wheel at a grid of positions, gaps and required gaps from what was measured.
"""

from __future__ import annotations

import html
import io
import re
import shutil
import subprocess
from itertools import pairwise
from pathlib import Path

import ezdxf
import numpy as np
import pytest

from clearance.description.load import load
from clearance.gap.cycle import over_cycle
from clearance.report.drawings import VIEWS, drawings
from clearance.report.findings import findings_of
from clearance.units import both, inch_text
from clearance.words.sentence import gap_words

CORNERS = Path(__file__).parents[2] / "fixtures" / "corners"
STEERED = """
title = "Wren roadster, front {side}"
corner = "front-{side}"
{units}
[tire]
size = "185/65R15"
[wheel]
diameter = "15 in"
width = "6 in"
backspace = "118 mm"
[suspension]
kind = "straight"
bump = "70 mm"
droop = "80 mm"
shift = {{ inboard = "2 mm", outboard = "3 mm" }}
[steering]
left = "33 deg"
right = "28 deg"
axis = {{ through = ["0 mm", "-90 mm", "0 mm"], inclination = "9 deg", caster = "4 deg" }}
[[part]]
name = "well"
kind = "tub"
inner = "260 mm"
crown = "440 mm"
outer = "97 mm"
front = "400 mm"
rear = "410 mm"
[[part]]
name = "sway bar"
kind = "bar"
points = [["-300 mm", "-240 mm", "40 mm"], ["-120 mm", "-150 mm", "30 mm"]]
diameter = "22 mm"
[[part]]
name = "strut"
kind = "wall"
inboard = "150 mm"
below = "0 mm"
rides_on = "knuckle"
"""
FIGURE = re.compile(r"(backspace|tire and wheel|swept|gap|required) ((?:between )?\d.*)")


class Sheets:
    """A corner, what was measured of it, and its drawings."""

    def __init__(self, path: Path) -> None:
        self.mockup = load(path)
        self.gaps = over_cycle(self.mockup)
        self.files = drawings(self.mockup, self.gaps)

    def dimensions(self, name: str) -> list[tuple[str, float]]:
        """Figure and measured length of every dimension in a DXF."""
        document = ezdxf.read(io.StringIO(self.files[f"{name}.dxf"].decode()))
        assert not document.audit().errors
        assert not document.audit().fixes
        found = []
        for one in document.modelspace().query("DIMENSION"):
            ends = one.dxf.defpoint2, one.dxf.defpoint3
            assert one.get_measurement() == pytest.approx((ends[1] - ends[0]).magnitude, abs=1e-6)
            assert list(one.virtual_entities())
            found.append((one.dxf.text, float(one.get_measurement())))
        return found


@pytest.fixture(scope="module", params=["left", "right, inches"])
def sheets(request, tmp_path_factory) -> Sheets:
    side, inches = request.param.split(",")[0], "inches" in request.param
    path = tmp_path_factory.mktemp("sheets") / "corner.toml"
    path.write_text(STEERED.format(side=side, units='units = "in"' if inches else ""))
    return Sheets(path)


def extents_by_mesh(mockup, rows: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The box of a fine mesh of the solid, turned and carried to positions (n, 3) one by one."""
    outline = mockup.solid.profile.outline(0.02)
    turn = np.linspace(0, 2 * np.pi, 361)
    y, r = np.repeat(outline[:, 0], 361), np.outer(outline[:, 1], np.ones(361)).ravel()
    points = np.column_stack([r * np.tile(np.sin(turn), len(outline)), y, r * np.tile(np.cos(turn), len(outline))])
    # what cannot be furthest along any axis of the car, at any small lean, is left out: the inside of the outline
    points = points[_hull(outline).repeat(361)]
    low, high = np.full(3, np.inf), np.full(3, -np.inf)
    for row in rows:
        pose = mockup.suspension.pose(row[None])
        moved = points @ pose.turn[0].T + pose.origin_mm[0]
        low, high = np.minimum(low, moved.min(axis=0)), np.maximum(high, moved.max(axis=0))
    return low, high


def _hull(outline: np.ndarray) -> np.ndarray:
    from scipy.spatial import ConvexHull

    both_sides = np.concatenate([outline, outline * [1, -1]])
    kept = np.zeros(2 * len(outline), dtype=bool)
    kept[ConvexHull(both_sides).vertices] = True
    return kept[: len(outline)]


def cycle_grid(mockup, counts: tuple[int, int, int]) -> np.ndarray:
    ends = [np.unique(np.linspace(*box, n)) for box, n in zip(mockup.suspension.cycle.box, counts, strict=True)]
    return np.stack(np.meshgrid(*ends, indexing="ij"), axis=-1).reshape(-1, 3)


def sizes_of(mockup) -> dict[str, np.ndarray]:
    """What each view's dimensions must say: (across, up) in mm."""
    ride = np.subtract(*extents_by_mesh(mockup, np.zeros((1, 3)))[::-1])
    low, high = extents_by_mesh(mockup, cycle_grid(mockup, (5, 1, 49)))
    shift = mockup.suspension.cycle.shift
    swept = high - low + [shift.ahead_mm + shift.behind_mm, shift.inboard_mm + shift.outboard_mm, 0.0]
    return {"tire and wheel": ride, "swept": swept}


def first_number(words: str) -> float:
    """Millimetres, whichever unit stands first."""
    found = re.search(r"(\d+\.\d) mm", words)
    assert found, words
    return float(found[1])


AXES = {"behind": (1, 2), "side": (0, 2), "plan": (1, 0)}


def test_every_dimension_of_a_view_is_the_mock_ups_to_its_last_digit(sheets):
    """A tenth is printed, so half of one is the most that a figure may be off, and 0.04 mm what the comparison misses
    at both ends together: between its positions, and by chords of 0.02 mm. The length drawn is held to the figure
    alone.
    """
    sizes = sizes_of(sheets.mockup)
    for view in VIEWS:
        wanted = {word: sorted(float(size[axis]) for axis in AXES[view]) for word, size in sizes.items()}
        wanted["backspace"] = [sheets.mockup.wheel.backspace_mm] if view == "behind" else []
        seen: dict[str, list[float]] = {word: [] for word in wanted}
        for text, measured in sheets.dimensions(view):
            word, figure = FIGURE.fullmatch(text).groups()
            printed = first_number(figure)
            assert printed == round(measured, 1)
            assert inch_text(measured) in figure
            seen[word].append(printed)
        for word, lengths in wanted.items():
            assert sorted(seen[word]) == pytest.approx(lengths, abs=0.05 + (0.0 if word == "backspace" else 0.04))


def test_gap_and_required_gap_are_drawn_as_long_as_they_are_and_say_what_the_findings_say(sheets):
    findings = findings_of(sheets.mockup, sheets.gaps)
    found = sheets.dimensions("places")
    for part in findings["parts"][:3]:
        gap = f"gap {gap_words(part)}"
        kept = f"required {both(part['required'])}"
        if sheets.mockup.units == "in":
            from clearance.units import led_by

            gap, kept = led_by(gap, "in"), led_by(kept, "in")
        lengths = [length for text, length in found if text == gap]
        # a narrow bracket's two ends are 0.05 mm apart at most; the drawing has the place that was found
        assert any(length == pytest.approx(abs(part["gap"]["at_most"]), abs=2e-3) for length in lengths), (gap, found)
        assert any(text == kept and length == pytest.approx(part["required"], abs=1e-3) for text, length in found)


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler-utils is not installed")
def test_the_pdf_prints_the_same_figures_and_no_other(sheets, tmp_path):
    (tmp_path / "d.pdf").write_bytes(sheets.files["drawings.pdf"])
    for page, name in enumerate([*VIEWS, "places"], start=1):
        words = ["pdftotext", "-raw", "-f", str(page), "-l", str(page), "d.pdf", "-"]
        said = subprocess.run(words, cwd=tmp_path, capture_output=True, text=True, check=True).stdout
        rest = " ".join(said.split())
        for text, _ in sheets.dimensions(name):
            assert text in rest
            rest = rest.replace(text, "", 1)
        assert not FIGURE.search(rest)


def test_no_measure_is_broken_at_the_end_of_a_line(sheets):
    """A bracket that is opened is closed on its line, and no line ends in a number whose unit stands on the next."""
    for name in (*VIEWS, "places"):
        written = re.findall(r"<text[^>]*>([^<]*)</text>", sheets.files[f"{name}.svg"].decode())
        lines = [html.unescape(one) for one in written]
        assert len(lines) > 5
        assert [one for one in lines if one.count("(") != one.count(")")] == []
        units = ("mm", "in)", "deg", "o'clock")
        broken = [one for one, after in pairwise(lines) if one[-1:].isdigit() and after.startswith(units)]
        assert broken == []


def test_qpdf_finds_nothing_wrong_and_every_font_is_in_the_file(sheets):
    pikepdf = pytest.importorskip("pikepdf", reason="pikepdf is not installed")
    with pikepdf.open(io.BytesIO(sheets.files["drawings.pdf"])) as document:
        assert document.check_pdf_syntax() == []
        assert len(document.pages) == 4
        for page in document.pages:
            fonts = page.Resources.Font
            assert "/ExtGState" not in page.Resources  # no transparency
            assert len(fonts) > 0
            for font in fonts.values():
                assert "/FontFile2" in font.FontDescriptor, font.BaseFont
                assert "/ToUnicode" in font, font.BaseFont


@pytest.mark.slow
@pytest.mark.parametrize("name", sorted(path.stem for path in CORNERS.glob("*.toml")))
def test_shipped_corners_print_the_findings_numbers(name):
    drawn = Sheets(CORNERS / f"{name}.toml")
    findings = findings_of(drawn.mockup, drawn.gaps)
    for view in VIEWS:
        assert all(first_number(text) == round(measured, 1) for text, measured in drawn.dimensions(view))
    texts = [text for text, _ in drawn.dimensions("places")]
    if drawn.mockup.units == "mm":
        assert f"gap {gap_words(findings['parts'][0])}" in texts
