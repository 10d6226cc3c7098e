"""A server that is killed, a page that is loaded again and two pages at once, in the middle of an edit."""

from __future__ import annotations

import shutil
from pathlib import Path

from chromium import IN_BROWSER
from page.conftest import FIXTURES, closed, served
from page.sight import Sight, command

pytestmark = IN_BROWSER
FILE = "orchard-pickup-rear.toml"
BOX = "#dial-wheel-backspace"
LOST = ("WebSocket", "ERR_CONNECTION", "ERR_EMPTY_RESPONSE")
"""What a browser says of a server that is gone, beside what the page says."""


def begun(folder: Path):
    shutil.copy(FIXTURES / "corners" / FILE, folder)
    return served(folder / FILE)


def backspace(sight: Sight, text: str) -> None:
    """Written into its box, and heard by the bench."""
    box = sight.dial("backspace").locator("[type=text]")
    box.fill(text)
    box.press("Enter")
    sight.page.wait_for_function(
        "words => [...document.querySelectorAll('.dial [type=text]')].some(e => e.value === words)", arg=text
    )
    sight.page.wait_for_selector("#steps [data-do=save]:not([disabled])")


def shown(sight: Sight) -> str:
    return sight.dial("backspace").locator("[type=text]").input_value()


def test_a_page_that_is_loaded_again_goes_on_where_it_was(browser, tmp_path):
    found = begun(tmp_path)
    sight = Sight(browser, found.link, "phone")
    sight.measured()
    backspace(sight, "3 5/8 in")
    sight.page.reload()
    sight.measured()
    assert shown(sight) == "3 5/8 in"
    assert "not saved" in sight.page.inner_text("#file")
    sight.looked_anew("#steps [data-do=undo]")
    assert shown(sight) != "3 5/8 in"
    assert sight.trouble == []
    sight.context.close()
    closed(found)


def test_a_server_that_is_killed_in_mid_edit_leaves_the_file_whole(browser, tmp_path):
    """What was saved is there, what was not is not, and nothing is half of either."""
    found = begun(tmp_path)
    sight = Sight(browser, found.link, "wide")
    page = sight.page
    sight.measured()
    backspace(sight, "3 5/8 in")
    page.click("#steps [data-do=save]")
    page.wait_for_selector("#steps [data-do=save][disabled]")
    saved = (tmp_path / FILE).read_bytes()
    assert b'backspace = "3 5/8 in"' in saved
    # a hand is on the dial, and what it left is being measured
    slider = sight.dial("backspace").locator("[type=range]")
    slider.scroll_into_view_if_needed()
    box = slider.bounding_box()
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] * 0.3, box["y"] + box["height"] / 2, steps=5)
    found.process.kill()
    found.process.wait()
    page.mouse.up()
    page.wait_for_selector("#line.lost")
    closed(found)
    assert (tmp_path / FILE).read_bytes() == saved
    assert [one.name for one in tmp_path.iterdir()] == [FILE]
    again = served(tmp_path / FILE)
    page.goto(again.link)
    sight.measured()
    assert shown(sight) == "3 5/8 in"
    told = command("check", FILE, folder=tmp_path)
    assert all(any(gap in row for row in told.splitlines()) for gap in sight.gaps().values())
    assert [words for words in sight.trouble if not any(word in words for word in LOST)] == []
    sight.context.close()
    closed(again)


def test_two_pages_lose_nothing_of_one_another(browser, tmp_path):
    """Each turns a dial of its own; both stand on both, either takes back the last, and the file has all of it."""
    found = begun(tmp_path)
    one, two = Sight(browser, found.link, "wide"), Sight(browser, found.link, "phone")
    one.measured()
    two.measured()
    backspace(one, "3 5/8 in")
    two.page.wait_for_function("() => document.querySelector('#file').textContent.includes('not saved')")
    # half written here while the other page does something: it stays
    width = two.dial("width").locator("[type=text]")
    width.fill("8")
    backspace(one, "3 1/2 in")
    two.page.wait_for_function("() => document.querySelector('#dials').textContent.includes('3 3/4')")
    assert width.input_value() == "8"
    width.press("End")
    two.page.keyboard.type(" in")
    two.page.keyboard.press("Enter")
    one.page.wait_for_function(
        "() => [...document.querySelectorAll('.dial [type=text]')].some(e => e.value === '8 in')"
    )
    assert shown(one) == shown(two) == "3 1/2 in"
    two.page.click("#steps [data-do=save]")
    one.page.wait_for_selector("#steps [data-do=save][disabled]")
    text = (tmp_path / FILE).read_text()
    assert 'backspace = "3 1/2 in"' in text
    assert 'width = "8 in"' in text
    assert one.trouble == two.trouble == []
    one.context.close()
    two.context.close()
    closed(found)
