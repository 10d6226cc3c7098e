"""Move it: the scene, the section and the number beside them in a real Chromium, by mouse, touch and keyboard."""

from __future__ import annotations

from chromium import IN_BROWSER
from page.conftest import FIXTURES, laid_out, served
from page.sight import Sight, command

import clearance
from clearance.gap.still import at_position
from clearance.units import led_by
from clearance.words.text import told

pytestmark = IN_BROWSER
NO_SCENE = """HTMLCanvasElement.prototype.getContext = () => null;"""
_INK = """() => { const view = document.getElementById('view').getBoundingClientRect();
    return [view.x, view.y, view.width, view.height]; }"""


def stands(sight) -> str:
    return sight.page.inner_text("#stands")


def anew(sight, act) -> str:
    """Do something, and wait until the corner stands anew because of it."""
    before = int(sight.page.get_attribute("html", "data-stands") or 0)
    act()
    sight.page.wait_for_function("n => Number(document.documentElement.dataset.stands) > n", arg=before, timeout=60_000)
    return stands(sight)


def told_here(folder, name, part, bump) -> str:
    """The gap of a part at a position, asked of the gap itself."""
    file = folder / name
    mockup = clearance.on_bench(file.read_text(), file).mockup
    gap = at_position(mockup, clearance.Position(bump_mm=bump), parts=(part,))[0]
    return led_by(told(gap), mockup.units)


def colours(sight) -> int:
    """How many colours the scene shows: an empty one has that of the paper and of the words over it."""
    import io

    from PIL import Image

    picture = sight.page.locator("#seen").screenshot()
    return len(Image.open(io.BytesIO(picture)).convert("RGB").getcolors(1_000_000))


def test_moved_by_hand_the_number_is_that_of_the_gap_there_in_scene_and_section(sight, bench):
    page = sight.page
    sight.measured()
    page.wait_for_selector("html[data-known=worst]")
    worst = sight.gaps()
    first = next(iter(worst))
    assert stands(sight).startswith(f"{first}: {worst[first]} at its tightest")
    assert colours(sight) > 60

    # by keyboard alone: the slider, then back to the worst
    page.locator("#move-bump").focus()
    page.keyboard.press("Home")
    said = anew(sight, lambda: page.keyboard.press("PageUp"))
    page.wait_for_function("() => document.getElementById('stands').textContent.includes('here')")
    page.wait_for_selector("#around li", timeout=60_000)
    bump = page.locator("#move-bump").evaluate("e => e.valueAsNumber")
    said = stands(sight)
    gap = told_here(bench.folder, "orchard-pickup-rear.toml", first, bump)
    assert said.startswith(f"{first}: {gap} here")
    # the same words in the section, over the scene and among all parts
    assert gap in page.inner_text("#drawn .first figcaption")
    assert page.get_attribute("#drawn .first svg", "aria-label").startswith(f"{first}, {gap}")
    assert page.text_content("#over text") == gap
    every = dict(page.eval_on_selector_all(
        "#around li", "all => all.map(l => [l.dataset.part, l.lastChild.textContent.trim()])"))  # fmt: skip
    assert every[first] == gap
    assert set(every) == set(worst)

    page.locator("#to-worst").focus()
    said = anew(sight, lambda: page.keyboard.press("Enter"))
    assert said.startswith(f"{first}: {worst[first]} at its tightest")
    assert page.evaluate("document.documentElement.scrollWidth") <= page.viewport_size["width"]


def test_a_part_that_is_pointed_at_in_one_view_is_lit_in_all(sight):
    page = sight.page
    sight.measured()
    page.wait_for_selector("html[data-known=worst]")
    names = list(sight.gaps())
    lit = "all => [...new Set(all.map(e => e.dataset.part))]"
    # in the table, then in the section beside it, then in the scene
    last = names[-1]
    said = anew(sight, lambda: page.locator("#parts tr").last.locator("button").click())
    assert said.startswith(f"{last}: {sight.gaps()[last]} at its tightest")
    assert page.eval_on_selector_all("#choose .chosen", lit) == [last]
    assert last in page.inner_text("#to-part")
    figure = page.locator("#drawn .place").nth(1)
    name = figure.get_attribute("data-part")
    figure.locator("button").focus()
    anew(sight, lambda: page.keyboard.press("Enter"))
    assert page.eval_on_selector_all("#choose .chosen", lit) == [name]
    # from outside, a little above the middle, is the wheel or what stands behind it; the wall fills the picture beside
    page.locator("[data-eye=inside]").click()
    page.wait_for_timeout(150)
    page.locator("#view").scroll_into_view_if_needed()
    x, y, wide, high = page.evaluate(_INK)
    touch = page.touchscreen.tap if page.viewport_size["width"] < 400 else page.mouse.click
    said = anew(sight, lambda: touch(x + wide / 2, y + high * 0.35))
    assert said.partition(":")[0] in names
    assert page.eval_on_selector_all("#choose .chosen", lit) == [said.partition(":")[0]]


def test_one_finger_or_the_mouse_turns_the_scene(sight):
    page = sight.page
    sight.measured()
    page.wait_for_selector("html[data-known=worst]")
    page.locator("#view").scroll_into_view_if_needed()
    page.wait_for_timeout(150)
    label = "() => document.querySelector('#over .ring').getAttribute('cx')"
    before = page.evaluate(label)
    x, y, wide, high = page.evaluate(_INK)
    ways = [(x + wide * (0.3 + 0.1 * k), y + high * 0.6) for k in range(4)]
    if page.viewport_size["width"] < 400:
        finger = sight.context.new_cdp_session(page)
        kinds = ["touchStart", *["touchMove"] * (len(ways) - 1)]
        for kind, (a, b) in zip(kinds, ways, strict=True):
            finger.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": a, "y": b}]})
        finger.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    else:
        page.mouse.move(*ways[0])
        page.mouse.down()
        for place in ways[1:]:
            page.mouse.move(*place)
        page.mouse.up()
    page.wait_for_function("was => document.querySelector('#over .ring').getAttribute('cx') !== was", arg=before)
    turned = page.evaluate(label)
    page.locator("#seen").focus()
    page.keyboard.press("ArrowLeft")
    page.wait_for_function("was => document.querySelector('#over .ring').getAttribute('cx') !== was", arg=turned)


def test_the_cycle_plays_and_stops_and_a_drag_is_followed(browser, bench):
    sight = Sight(browser, bench.link, "wide")
    page = sight.page
    sight.measured()
    page.wait_for_selector("html[data-known=worst]")
    page.emulate_media(reduced_motion="no-preference")
    page.click("#play")
    seen = {anew(sight, lambda: None) for _ in range(4)}
    assert len(seen) > 1
    page.click("#play")
    assert page.inner_text("#play") == "Play the cycle"
    page.wait_for_selector("html[data-known=here]")
    anew(sight, lambda: page.click("#to-worst"))
    # a dial that is dragged takes the scene along: the mark moves, and the words say that it is meanwhile
    slider = sight.dial("backspace").locator("[type=range]")
    slider.scroll_into_view_if_needed()
    box = slider.bounding_box()
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] * 0.45, box["y"] + box["height"] / 2, steps=3)
    page.wait_for_selector("html[data-known=meanwhile]")
    assert "while you turn it" in stands(sight)
    page.mouse.up()
    page.wait_for_selector("html[data-known=worst]", timeout=90_000)
    first = next(iter(sight.gaps()))
    assert stands(sight).startswith(f"{first}: {sight.gaps()[first]} at its tightest")
    assert sight.trouble == []
    sight.context.close()


def test_without_webgl_the_section_answers_and_the_page_says_so(browser, tmp_path):
    found = served(laid_out(tmp_path) / "heron-roadster-front.toml")
    sight = Sight(browser, "about:blank", "phone")
    sight.page.add_init_script(NO_SCENE)
    sight.page.goto(found.link)
    sight.measured()
    page = sight.page
    assert page.get_attribute("html", "data-scene") == "none"
    assert "no WebGL" in page.inner_text("#flat")
    assert page.locator("#view").is_hidden()
    page.locator("#move-steer").focus()
    said = anew(sight, lambda: page.keyboard.press("End"))
    page.wait_for_selector("html[data-known=here]")
    assert "left" in stands(sight)
    assert said.partition(": ")[0] in page.inner_text("#drawn .first")
    assert sight.trouble == []
    sight.context.close()
    found.end()
    found.process.stderr.close()
    found.process.stdout.close()


NOW = '\n[now]\nsize = "215/75R15 100S"\nwidth = "6 in"\nbackspace = "3 1/2 in"\n'


def test_beside_what_is_on_the_car_now_in_the_words_of_compare(browser, tmp_path):
    """The file has [now]: the page says what `clearance compare` says of that corner, and how it was opened."""
    worn = laid_out(tmp_path) / "worn.toml"
    worn.write_text((FIXTURES / "corners" / "orchard-pickup-rear.toml").read_text() + NOW)
    found = served(worn)
    sight = Sight(browser, found.link, "phone")
    page = sight.page
    sight.measured()
    printed = command("compare", "worn.toml", folder=tmp_path)
    page.click("#beside summary")
    page.wait_for_selector("#compared pre", timeout=90_000)
    # the same words, folded to what stands side by side on a phone
    assert page.locator("#compared pre").first.text_content().split() == printed.split()
    assert page.evaluate("[...document.querySelectorAll('#compared pre')].every(e => e.scrollWidth <= e.clientWidth)")
    assert page.locator("#compared h3").count() == 2
    page.locator("#dial-wheel-backspace").focus()
    page.keyboard.press("ArrowLeft")
    page.locator("#compared h3", has_text="opened").wait_for(timeout=90_000)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    # on a phone what stands on the board lies over the dials alone, never over scene, table or this
    for what in ("#view", "#hand", "#parts", "#compared pre"):
        page.locator(what).first.evaluate("e => e.scrollIntoView({ block: 'start' })")
        page.mouse.wheel(0, -60)
        page.wait_for_timeout(100)
        over = page.locator(what).first.evaluate(
            """e => { const box = (one) => one.getBoundingClientRect();
            const here = box(e), lies = box(document.getElementById('board'));
            return Math.min(here.bottom, lies.bottom) - Math.max(here.top, lies.top); }"""
        )
        assert over <= 1, what
    assert sight.trouble == []
    sight.context.close()
    found.end()
    found.process.stderr.close()
    found.process.stdout.close()
