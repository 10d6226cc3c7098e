"""The page as a person meets it: a real headless Chromium, from disk, with the network off."""

from __future__ import annotations

import io
import os
import re
import shutil
from pathlib import Path

import numpy as np
import pytest
from chromium import IN_BROWSER

pytestmark = IN_BROWSER
ROOT = Path(__file__).resolve().parents[2]
AXE = [
    ROOT / "node_modules" / "axe-core" / "axe.min.js",
    ROOT / "tests" / "report" / "axe" / "node_modules" / "axe-core" / "axe.min.js",
]


class Sight:
    """One look at the page, and everything that its console and the network said."""

    def __init__(self, browser, report, *, width: int, height: int = 900, scheme: str = "light") -> None:
        self.context = browser.new_context(
            viewport={"width": width, "height": height}, offline=True, color_scheme=scheme, reduced_motion="reduce"
        )
        self.page = self.context.new_page()
        self.trouble: list[str] = []
        self.asked: list[str] = []
        self.page.on("console", lambda m: self.trouble.append(m.text) if m.type == "error" else None)
        self.page.on("pageerror", lambda e: self.trouble.append(str(e)))
        self.page.on("request", lambda r: self.asked.append(r.url))
        self.page.goto(report.path.as_uri())
        self.page.wait_for_function("document.documentElement.dataset.ready === 'yes'", timeout=60_000)
        self.page.wait_for_selector("#view canvas", timeout=60_000)

    def value(self, identity: str) -> int:
        return int(self.page.input_value(f"#{identity}"))

    def now(self) -> list[float]:
        return self.page.eval_on_selector_all("[data-now]", "cells => cells.map(c => Number(c.dataset.mm))")

    def wheel(self) -> np.ndarray:
        return np.array(
            self.page.evaluate("['x','y','z'].map(k => Array.from(document.getElementById('view').data[0][k]))")
        )

    def shot(self, selector: str) -> np.ndarray:
        from PIL import Image

        image = self.page.locator(selector).screenshot()
        with Image.open(io.BytesIO(image)) as opened:
            return np.asarray(opened.convert("RGB")).astype(int)


@pytest.fixture(scope="module")
def wide(browser, report):
    sight = Sight(browser, report, width=1280)
    yield sight
    sight.context.close()


@pytest.fixture(scope="module")
def phone(browser, report):
    sight = Sight(browser, report, width=390, height=844)
    yield sight
    sight.context.close()


def test_it_opens_without_a_word_on_the_console_and_without_asking_the_network(wide, phone):
    for sight in (wide, phone):
        assert sight.trouble == []
        assert [url for url in sight.asked if not url.startswith(("file:", "blob:", "data:"))] == []


@pytest.mark.parametrize("which", ["wide", "phone"])
def test_the_turning_view_is_drawn(which, request):
    sight = request.getfixturevalue(which)
    sight.page.locator("#view").scroll_into_view_if_needed()
    sight.page.wait_for_timeout(1500)
    seen = sight.shot("#view")
    # a blank view has one colour; tire, wheel and parts have dozens
    colours = {tuple(c) for c in (seen // 16).reshape(-1, 3)}
    assert len(colours) > 20
    dark = (seen.sum(axis=2) < 330).mean()
    assert 0.03 < dark < 0.9


def test_a_millimetre_is_as_long_along_every_axis_of_the_view(wide):
    """Or a wheel would not look round: each side of the drawn box over its range of millimetres."""
    sides, spans = wide.page.evaluate(
        """() => {
            const scene = document.getElementById('view')._fullLayout.scene, axes = ['x', 'y', 'z'];
            const drawn = scene._scene.glplot.getAspectratio(), range = (k) => scene[k + 'axis'].range;
            return [axes.map(k => drawn[k]), axes.map(k => Math.abs(range(k)[1] - range(k)[0]))];
        }"""
    )
    scale = np.array(sides) / np.array(spans)
    assert scale == pytest.approx(np.full(3, scale[0]), rel=1e-6)


def test_the_page_opens_at_the_tightest_place(wide, report):
    wide.page.click("#worst")
    part = report.findings["parts"][0]
    assert part["gap"]["at_least"] - 1e-3 <= wide.now()[0] <= part["gap"]["at_most"] + 1e-3


def test_a_slider_moves_the_wheel_and_the_gap_follows(wide):
    wide.page.click("#ride")
    before, gaps = wide.wheel(), wide.now()
    wide.page.focus("#bump")
    wide.page.keyboard.press("End")
    after = wide.wheel()
    # of this suspension the hub goes straight up: by the bump, which is 70 mm
    assert after[2] - before[2] == pytest.approx(np.full(after.shape[1], 70.0), abs=0.02)
    assert wide.now() != gaps
    assert "70.0 mm" in wide.page.text_content("#bump-now")


def test_the_travel_slider_stretches_the_damper(wide, report):
    """On the screen: its lowest point goes up by the 70 mm of bump with the axle, its highest stays on the body."""
    index = 1 + [part["name"] for part in report.findings["parts"]].index("damper")
    heights = f"Array.from(document.getElementById('view').data[{index}].z)"
    wide.page.click("#ride")
    before = wide.page.evaluate(heights)
    wide.page.focus("#bump")
    wide.page.keyboard.press("End")
    after = wide.page.evaluate(heights)
    assert min(after) - min(before) == pytest.approx(70.0, abs=0.02)
    assert max(after) == pytest.approx(max(before), abs=0.02)


def test_the_steer_slider_turns_what_rides_on_the_knuckle_with_the_wheel(wide, report):
    wide.page.click("#ride")
    names = [part["name"] for part in report.findings["parts"]]
    strut, wall = names.index("strut"), names.index("well inner wall")
    gaps = wide.now()
    wide.page.focus("#steer")
    wide.page.keyboard.press("Home")
    turned = wide.now()
    assert "33.0 deg left" in wide.page.text_content("#steer-now")
    # the strut steers along, so its gap stays; the wall does not. A map is good to 0.1 mm
    assert turned[strut] == pytest.approx(gaps[strut], abs=0.1)
    assert abs(turned[wall] - gaps[wall]) > 10


@pytest.mark.parametrize("which", ["wide", "phone"])
def test_a_click_on_the_map_moves_the_sliders(which, request):
    sight = request.getfixturevalue(which)
    sight.page.click("#ride")
    was = (sight.value("bump"), sight.value("steer"))
    sight.page.locator("#map").scroll_into_view_if_needed()
    box = sight.page.locator("#map .nsewdrag").first.bounding_box()
    # near the corner of left lock and full droop, free of the sliders that stay on top of a small screen
    x, y = box["x"] + 0.06 * box["width"], box["y"] + 0.9 * box["height"]
    for _ in range(10):
        # a person's pointer arrives before it clicks, and the plot needs that moment to know where it is
        sight.page.mouse.move(x - 3, y - 3)
        sight.page.mouse.move(x, y, steps=4)
        sight.page.wait_for_timeout(400)
        sight.page.mouse.click(x, y)
        sight.page.wait_for_timeout(400)
        if (sight.value("bump"), sight.value("steer")) != was:
            break
    # 70 mm of bump to 80 mm of droop, nine tenths of the way down; 33 deg left to 28 deg right, a little way across
    shown = {name: sight.page.text_content(f"#{name}-now") for name in ("bump", "steer")}
    droop, left = re.match(r"([\d.]+) mm .*droop", shown["bump"]), re.match(r"([\d.]+) deg left", shown["steer"])
    assert droop is not None, shown
    assert left is not None, shown
    assert float(droop[1]) > 45
    assert float(left[1]) > 20


def test_the_inch_switch_changes_every_length_and_back(wide):
    before = wide.page.eval_on_selector_all(".len, [data-now], #closest", "all => all.map(e => e.textContent)")
    wide.page.check("input[name=unit][value=in]")
    after = wide.page.eval_on_selector_all(".len, [data-now], #closest", "all => all.map(e => e.textContent)")
    same = [text for text, old in zip(after, before, strict=True) if text == old]
    assert same == []
    leading = wide.page.eval_on_selector_all(".len", "all => all.map(e => e.textContent)")
    assert all(re.match(r"(under )?-?[\d/ .]+ in", text) for text in leading)
    assert wide.page.locator(".only-mm").first.is_hidden()
    assert wide.page.locator(".only-in").first.is_visible()
    assert "in" in wide.page.evaluate("document.getElementById('map').layout.yaxis.title.text")
    wide.page.check("input[name=unit][value=mm]")
    back = wide.page.eval_on_selector_all(".len, [data-now], #closest", "all => all.map(e => e.textContent)")
    assert back == before


def test_everything_can_be_reached_and_worked_by_keyboard(wide):
    wide.page.evaluate("document.activeElement.blur(); window.scrollTo(0, 0)")
    reached = set()
    for _ in range(60):
        wide.page.keyboard.press("Tab")
        reached.add(
            wide.page.evaluate(
                "document.activeElement.id || document.activeElement.className || document.activeElement.tagName"
            )
        )
    assert {"bump", "steer", "which", "ride", "worst", "sweep"} <= reached


@pytest.mark.parametrize("which", ["wide", "phone"])
def test_nothing_is_wider_than_the_screen(which, request):
    sight = request.getfixturevalue(which)
    width = sight.page.viewport_size["width"]
    assert sight.page.evaluate("document.documentElement.scrollWidth") <= width
    # what scrolls by itself may hold more
    over = sight.page.evaluate(
        """width => [...document.querySelectorAll('main *')]
            .filter(e => !e.closest('.scroll, .plot') && e.getClientRects().length)
            .filter(e => e.getBoundingClientRect().right > width + 1).map(e => e.tagName + '.' + e.className)""",
        width,
    )
    assert over == []


@pytest.mark.parametrize("paper", [("A4", 210.0), pytest.param(("Letter", 215.9), marks=pytest.mark.slow)])
def test_on_paper_nothing_is_cut(paper, browser, report, tmp_path):
    """Printed pages keep their margins of 14 mm white, and the plots are whole, their scale on the right included."""
    if shutil.which("pdftoppm") is None:
        pytest.skip("poppler-utils is not installed")
    import subprocess

    from PIL import Image

    sight = Sight(browser, report, width=1280)
    sight.page.wait_for_timeout(1500)
    sight.page.pdf(path=tmp_path / "p.pdf", format=paper[0], print_background=True, prefer_css_page_size=False)
    sight.page.emulate_media(media="print")
    wide = paper[1] / 25.4 * 96 - 2 * 14 / 25.4 * 96
    sight.page.set_viewport_size({"width": int(wide), "height": 1000})
    cut = sight.page.evaluate(
        "() => [...document.querySelectorAll('.plot')]"
        ".map(p => [p.scrollWidth - p.clientWidth, p.scrollHeight - p.clientHeight])"
    )
    assert all(dx <= 1 and dy <= 3 for dx, dy in cut), cut
    assert sight.page.evaluate("document.documentElement.scrollWidth") <= int(wide) + 1
    sight.context.close()
    subprocess.run(["pdftoppm", "-r", "50", "-gray", "-png", str(tmp_path / "p.pdf"), str(tmp_path / "p")], check=True)
    pages = sorted(tmp_path.glob("p-*.png"))
    assert len(pages) >= 3
    for page in pages:
        with Image.open(page) as image:
            grey = np.asarray(image.convert("L"))
        # 10 of the 14 mm, at 50 dots per inch
        margin = int(10 / 25.4 * 50)
        assert min(grey[:, :margin].min(), grey[:, -margin:].min()) > 240


def test_on_paper_the_3d_view_is_a_picture_of_it(browser, report):
    """What a sheet shows in place of the view has the colours of tire and parts in it, and the view itself is away."""
    import base64

    from PIL import Image

    sight = Sight(browser, report, width=1280)
    sight.page.wait_for_selector("body.pictured", state="attached", timeout=60_000)
    kept = sight.page.get_attribute("#printed", "src")
    sight.page.emulate_media(media="print")
    assert sight.page.locator("#printed").is_visible()
    assert sight.page.locator("#view").is_hidden()
    sight.context.close()
    with Image.open(io.BytesIO(base64.b64decode(kept.split(",", 1)[1]))) as image:
        seen = np.asarray(image.convert("RGBA"))
    drawn = seen[seen[..., 3] > 200][:, :3]
    assert len(np.unique(drawn // 16, axis=0)) > 40


def test_every_cell_of_the_map_is_a_stop_with_its_number_and_the_lines_run_along_cells(wide):
    """The figure on a cell, its colour's number and the side of the line that it lies on are one measured value."""
    data = wide.page.evaluate(
        "() => document.getElementById('map').data.map(t => ({z: t.z, text: t.text, x: t.x, y: t.y}))"
    )
    cells, kept, zero = data[0], data[1], data[2]
    scene = wide.page.evaluate("JSON.parse(document.querySelector('script#scene').textContent)")
    assert (len(cells["y"]), len(cells["x"])) == (len(scene["bump"]), len(scene["steer"]))
    part = next(p for p in scene["parts"] if p["map"] == cells["z"])
    for row, words in zip(part["map"], cells["text"], strict=True):
        assert [float(w) for w in words] == pytest.approx(row, abs=0.0501)
    for line, level in ((kept, part["required"]), (zero, 0.0)):
        under = np.array(part["map"]) < level
        wanted = int((under[:, 1:] != under[:, :-1]).sum() + (under[1:] != under[:-1]).sum())
        assert sum(value is None for value in line["x"]) == wanted


def luminance(colour):
    """WCAG 2.2, relative luminance of sRGB in 0 to 255."""
    share = np.asarray(colour, dtype=float) / 255.0
    return float(np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4) @ [0.2126, 0.7152, 0.0722])


@pytest.mark.parametrize("which", ["wide", "phone"])
def test_the_figures_of_the_map_stand_out_from_their_cells(which, request):
    """WCAG 2.2, contrast (minimum), 4.5 to 1, of every figure against the pixels of its own cell, as they are shown."""
    sight = request.getfixturevalue(which)
    sight.page.locator("#map").scroll_into_view_if_needed()
    # the words beside the mouse, where another test left it, would lie over a cell
    sight.page.mouse.move(0, 0)
    sight.page.wait_for_function("() => !document.querySelector('#map .hoverlayer .hovertext')")
    figures = sight.page.evaluate(
        """() => [...document.querySelectorAll('#map .textpoint text')].map(t => {
             const box = t.getBoundingClientRect(), map = document.getElementById('map').getBoundingClientRect();
             return [box.left - map.left, box.top - map.top, box.width, box.height, getComputedStyle(t).fill]; })"""
    )
    scene = sight.page.evaluate("JSON.parse(document.querySelector('script#scene').textContent)")
    assert len(figures) == len(scene["bump"]) * len(scene["steer"])
    shot = sight.shot("#map")
    for left, top, wide, high, fill in figures:
        around = shot[max(int(top) - 1, 0) : int(top + high) + 2, max(int(left) - 1, 0) : int(left + wide) + 2].reshape(
            -1, 3
        )
        # most of what is around and between thin strokes is the cell
        cell = np.median(around, axis=0)
        ink = [int(v) for v in re.findall(r"\d+", fill)[:3]]
        dark, light = sorted((luminance(cell), luminance(ink)))
        assert (light + 0.05) / (dark + 0.05) >= 4.5, (cell, ink)


@pytest.mark.parametrize(
    ("width", "scheme"),
    [
        (1280, "light"),
        (390, "dark"),
        pytest.param(390, "light", marks=pytest.mark.slow),
        pytest.param(1280, "dark", marks=pytest.mark.slow),
    ],
)
def test_axe_finds_nothing_serious(width, scheme, browser, report):
    script = next((path for path in AXE if path.exists()), None)
    if script is None:
        pytest.skip("axe-core is not installed: npm install --no-save axe-core")
    sight = Sight(browser, report, width=width, scheme=scheme)
    sight.page.add_script_tag(path=os.fspath(script))
    found = sight.page.evaluate(
        "async () => (await axe.run()).violations.map(v => [v.impact, v.id, v.nodes.map(n => n.html)])"
    )
    sight.context.close()
    assert [row for row in found if row[0] in ("serious", "critical")] == []


@pytest.mark.slow
def test_in_the_dark_the_page_is_dark(browser, report):
    sight = Sight(browser, report, width=1280, scheme="dark")
    seen = sight.shot("h1")
    sight.context.close()
    assert np.median(seen) < 60
    assert seen.max() > 200
