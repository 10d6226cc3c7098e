"""Every number of the page stands out seven to one, from the colours that are really there (WCAG 2.2, contrast
(enhanced)): a picture with the words, one without them, and where the two differ there was ink."""

from __future__ import annotations

import io

import numpy as np
import pytest
from chromium import IN_BROWSER
from page.sight import Sight as OneSight

pytestmark = IN_BROWSER
WORDS = (
    "#sentence, #stands, .axis output, #around li, #drawn figcaption, #drawn .chip, #parts .num, #parts .chip,"
    " #parts td, .dial [type=text], .told, .was, #compared pre"
)
DRAWN = "#over text, #drawn svg text"
TALL = 5200
INK = 0.6
"""Of the greatest difference of a word: less is the soft edge of a letter."""
SLIVERS = 0.01
"""Of the places beside letters: where one is cut off at a frame, or the halo of two leaves a slit, 3 to 11 pixels of a
thousand and more (looked at, four times as large)."""
_PLACES = """([what, kind]) => [...document.querySelectorAll(what)].filter(e => e.getClientRects().length
        && /[0-9]/.test(e.value || e.textContent)).map(e => {
    const b = e.getBoundingClientRect();
    return [e.id || e.getAttribute('class') || e.tagName, e.value || e.textContent, getComputedStyle(e)[kind],
            [b.left, b.top, b.right, b.bottom]]; })"""
_WITHOUT = """([what, kind]) => { const sheet = new CSSStyleSheet();
    const every = what.split(',').map(one => `${one}, ${one} *`).join(',');
    sheet.replaceSync(`${every} { ${kind}: transparent !important }`);
    document.adoptedStyleSheets = [sheet]; }"""


def light(colours):
    """Relative luminance of sRGB colours (..., 3), 0 to 255."""
    c = np.asarray(colours, dtype=float) / 255.0
    linear = np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)
    return linear @ np.array([0.2126, 0.7152, 0.0722])


def ratio(one, other):
    """The contrast of two luminances."""
    return (np.maximum(one, other) + 0.05) / (np.minimum(one, other) + 0.05)


def test_the_ratio_is_that_of_the_standard():
    """Black on white is 21 to 1; #767676 on white is the grey that just makes 4.5 (WCAG's own examples)."""
    white = light([255, 255, 255])
    assert ratio(light([0, 0, 0]), white) == pytest.approx(21.0)
    assert ratio(light([0x76] * 3), white) == pytest.approx(4.54, abs=0.005)


def seen(page):
    """A picture of the page once nothing moves on it."""
    from PIL import Image

    before, now = b"", page.screenshot()
    while now != before:
        page.wait_for_timeout(100)
        before, now = now, page.screenshot()
    return np.asarray(Image.open(io.BytesIO(now)).convert("RGB"), dtype=float)


def around(mask):
    """A mask and what lies right beside it."""
    wide = np.pad(mask, 1)
    steps = [(up, across) for up in (-1, 0, 1) for across in (-1, 0, 1)]
    return np.logical_or.reduce([np.roll(wide, step, (0, 1)) for step in steps])[1:-1, 1:-1]


def weak(page, what, kind):
    """Words that stand out by less than seven to one from anything right beside their letters, and by how much."""
    with_words = seen(page)
    places = page.evaluate(_PLACES, [what, kind])
    page.evaluate(_WITHOUT, [what, kind])
    without = seen(page)
    page.evaluate("document.adoptedStyleSheets = []")
    found, looked = [], 0
    for name, words, colour, (left, top, right, bottom) in places:
        rows, across = slice(max(0, int(top)), int(bottom) + 1), slice(max(0, int(left)), int(right) + 1)
        differs = np.abs(with_words[rows, across] - without[rows, across]).max(axis=2, initial=0.0)
        if not differs.size or differs.max() < 40.0:
            continue  # another thing lies over it, or it is out of the picture
        looked += 1
        ink = light([float(part) for part in colour[colour.index("(") + 1 : -1].split(",")[:3]])
        letters = differs > INK * differs.max()
        ground = without[rows, across][around(letters) & ~letters]
        least = float(np.quantile(ratio(ink, light(ground)), SLIVERS))
        if least < 7.0:
            found.append((name, words.strip()[:40], colour, round(least, 2)))
    return found, looked


def all_weak(browser, link, scheme, size):
    sight = OneSight(browser, link, size, color_scheme=scheme)
    page = sight.page
    page.set_viewport_size({"width": page.viewport_size["width"], "height": TALL})
    sight.measured()
    sight.looked_anew("#steps [data-do=redo]:not([disabled])")
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true; })")
    page.wait_for_selector("#compared pre", timeout=90_000)
    page.wait_for_selector("#compared:not([aria-busy])", timeout=90_000)
    found = [weak(page, WORDS, "color"), weak(page, DRAWN, "fill")]
    # a position asked by hand has words of its own, and those of every part
    page.locator("#move-bump").focus()
    page.keyboard.press("PageUp")
    page.wait_for_selector("#around li", timeout=60_000)
    found += [weak(page, WORDS, "color"), weak(page, DRAWN, "fill")]
    # and so has a dial that is being dragged
    page.evaluate("""() => { const range = document.getElementById('dial-wheel-width');
        range.value = range.valueAsNumber + 0.5; range.dispatchEvent(new Event('input', { bubbles: true })); }""")
    page.wait_for_selector("html[data-certified=no]")
    found.append(weak(page, WORDS, "color"))
    sight.context.close()
    return found


@pytest.mark.parametrize("scheme", ["light", pytest.param("dark", marks=pytest.mark.slow)])
def test_numbers_stand_out_seven_to_one(browser, bench, scheme):
    """In the sun and at night, also those over the scene and in the sections."""
    _one_step_and_back(browser, bench.link)
    found = all_weak(browser, bench.link, scheme, "wide")
    assert [weak for weak, _ in found if weak] == []
    assert min(looked for _, looked in found) > 3
    assert found[0][1] > 30


@pytest.mark.slow
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_numbers_stand_out_seven_to_one_on_a_phone(browser, bench, scheme):
    _one_step_and_back(browser, bench.link)
    found = all_weak(browser, bench.link, scheme, "phone")
    assert [weak for weak, _ in found if weak] == []
    assert min(looked for _, looked in found) > 2


def _one_step_and_back(browser, link):
    sight = OneSight(browser, link, "wide")
    sight.measured()
    sight.dial("backspace").locator("[type=range]").focus()
    sight.page.keyboard.press("ArrowLeft")
    sight.page.wait_for_selector("#steps [data-do=undo]:not([disabled])")
    sight.looked_anew("#steps [data-do=undo]")
    sight.context.close()
