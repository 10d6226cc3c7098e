"""The whole way, from an empty folder to the order card: by mouse, by thumb, by keys alone; and what axe-core says."""

from __future__ import annotations

import json
import math
import shutil
import subprocess
from pathlib import Path

import pytest
from chromium import IN_BROWSER
from clearance_cli.page.shipped import CARS
from page.conftest import COMMAND, FIXTURES, closed, laid_out, served
from page.sight import Sight, command

import clearance

ROOT = Path(__file__).resolve().parents[2]
AXE = [
    folder / "node_modules" / "axe-core" / "axe.min.js" for folder in (ROOT, ROOT / "tests" / "report" / "axe")
]  # fmt: skip
pytestmark = IN_BROWSER
WELL = FIXTURES / "corners" / "scanned-well.ply"


class Hand:
    """Does everything in one way: "mouse", "touch" or "keys"."""

    def __init__(self, page, way: str) -> None:
        self.page, self.way = page, way

    def on(self, what) -> None:
        """Press it: by keys, only what Tab leads to can be pressed."""
        one = self.page.locator(what).first if isinstance(what, str) else what.first
        one.wait_for()
        if self.way == "mouse":
            one.click()
        elif self.way == "touch":
            one.tap()
        else:
            self.tab_to(one)
            self.page.keyboard.press("Enter")

    def tab_to(self, one) -> None:
        for _ in range(120):
            if one.evaluate("e => e === document.activeElement"):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"no Tab leads to {one}")

    def ticks(self, what: str) -> None:
        """A radio button: by keys, with the arrows from the one of its name that Tab leads to."""
        one = self.page.locator(what)
        if self.way != "keys":
            self.on(what)
        else:
            name = one.get_attribute("name")
            self.tab_to(self.page.locator(f"input[name={name}]:checked"))
            for _ in range(40):
                if one.is_checked():
                    break
                self.page.keyboard.press("ArrowDown")
        assert one.is_checked()

    def selects(self, what: str, value: str) -> None:
        """One of a list: by keys, with the arrows. The list that a browser opens is no page's, so a hand uses none."""
        one = self.page.locator(what)
        if self.way != "keys":
            one.select_option(value)
        else:
            self.tab_to(one)
            self.page.keyboard.press("Home")
            for _ in range(40):
                if one.input_value() == value:
                    break
                self.page.keyboard.press("ArrowDown")
        assert one.input_value() == value

    def writes(self, what: str, text: str) -> None:
        one = self.page.locator(what)
        if self.way == "keys":
            self.tab_to(one)
            self.page.keyboard.press("Control+a")
            self.page.keyboard.type(text)
        else:
            self.on(what)
            one.fill(text)


def measured_by_hand(hand: Hand, known: dict[str, str]) -> None:
    """Every letter of the sheet that is asked, with these answers."""
    page = hand.page
    for _ in range(90):
        letter = page.get_attribute("html", "data-letter")
        if letter == "end":
            return
        text = known.get(letter, "")
        listed = page.locator("select#answer").count() > 0
        if listed:
            hand.selects("#answer", text)
        elif hand.way != "keys":
            page.fill("#answer", text)
        else:
            # the letter that is asked has the keys already
            page.keyboard.press("Control+a")
            page.keyboard.type(text or " ")
        with page.expect_response("**/ask/letter"):
            page.keyboard.press("Enter") if hand.way == "keys" and not listed else hand.on(".walk .main")
        page.wait_for_function(
            "l => document.documentElement.dataset.letter !== l || document.querySelector('.question .said li')",
            arg=letter,
        )
    raise AssertionError("the sheet does not end")


WAYS = [
    pytest.param("phone", "touch", id="thumb"),
    pytest.param("wide", "mouse", id="mouse", marks=pytest.mark.slow),
    pytest.param("wide", "keys", id="keys", marks=pytest.mark.slow),
    pytest.param("phone", "keys", id="narrow keys", marks=pytest.mark.slow),
]


@pytest.mark.parametrize(("size", "way"), WAYS)
def test_from_an_empty_folder_to_the_order_card(browser, tmp_path, size, way):
    known = dict(clearance.measuring(start="pickup-rear").known)
    found = served(tmp_path)
    sight = Sight(browser, found.link, size)
    page, hand = sight.page, Hand(sight.page, way)
    hand.on(page.get_by_role("button", name="Measure a corner"))
    page.wait_for_selector("#new-title")
    hand.ticks("input[name=carrier][value=rear-links]")
    hand.ticks("input[name=carrier][value=rear-leaf]") if way != "keys" else page.keyboard.press("ArrowUp")
    hand.selects("#new-depth", "travel")
    hand.selects("#new-corner", known["corner"])
    hand.writes("#new-title", "Barn find")
    hand.writes("#new-name", "barn")
    hand.on(page.get_by_role("button", name="Begin"))
    page.wait_for_selector("html[data-letter]")
    measured_by_hand(hand, known)
    if page.get_by_role("button", name="Go on", exact=True).count():
        hand.on(page.get_by_role("button", name="Go on", exact=True))
    if page.get_attribute("html", "data-letter") != "end":
        measured_by_hand(hand, known)
    hand.on(page.get_by_role("button", name="No", exact=True))
    hand.on(page.get_by_role("button", name="Make the corner file"))
    sight.measured()
    assert page.evaluate("document.documentElement.scrollWidth") <= page.viewport_size["width"]
    hand.on("#ways [data-way=take]")
    hand.on("article[data-kind=order] button")
    page.wait_for_selector("article[data-kind=order] a", timeout=60_000)
    found.come_in()
    card = found.ask("/take/order/order.txt").body.decode()
    words = page.inner_text("article[data-kind=order] code").split()
    done = subprocess.run([*COMMAND, *words[1:]], cwd=tmp_path, capture_output=True, text=True, check=True)
    assert card == done.stdout
    assert "Barn find" in card
    assert sight.trouble == []
    sight.context.close()
    closed(found)


@pytest.mark.slow
def test_the_other_side_is_asked_and_gets_its_file(browser, tmp_path):
    """What the page writes of it is what `new` writes of the same answers."""
    terminal, bench = tmp_path / "terminal", tmp_path / "bench"
    terminal.mkdir()
    bench.mkdir()
    command("new", "--from", "pickup-rear", "--no-ask", "--out", "truck.toml", folder=terminal)
    shutil.copy(terminal / "truck.answers.csv", bench)
    found = served(bench)
    found.come_in()
    sheet = found.post("/ask/sheet", {"name": "truck", "unit": "in"}).json
    while sheet["at"]:
        sheet = found.post("/ask/letter", {"letter": sheet["at"], "text": "", "sent": ""}).json
    if sheet["near"]:
        sheet = found.post("/ask/near", {"letters": ""}).json
    sight = Sight(browser, found.link, "phone")
    page = sight.page
    page.click("#ways [data-way=measure]")
    page.get_by_role("button", name="Yes, ask me").click()
    page.wait_for_selector("#other")
    asked = []
    while page.locator("#other").count():
        letter = page.get_attribute("html", "data-other")
        asked.append(letter)
        with page.expect_response("**/ask/other"):
            page.get_by_role("button", name="Measured there, and the same").click()
        page.wait_for_function("l => document.documentElement.dataset.other !== l", arg=letter)
    assert len(asked) > 5
    page.get_by_role("button", name="Make the corner file").click()
    sight.measured()
    shutil.copy(bench / "truck.answers.csv", terminal / "both.csv")
    command("new", "--answers", "both.csv", "--no-ask", "--out", "truck.toml", "--overwrite", folder=terminal)
    made = {p.name for p in bench.glob("*.toml")}
    assert len(made) == 3
    assert {n: (bench / n).read_bytes() for n in made} == {n: (terminal / n).read_bytes() for n in made}
    assert sight.trouble == []
    sight.context.close()
    closed(found)


def test_the_cars_that_come_along_are_the_shipped_ones(tmp_path):
    for name, (_, others) in CARS.items():
        for one in (name, *others):
            place = next(p for p in (FIXTURES / "cars" / one, FIXTURES / "corners" / one) if p.is_file())
            own = ROOT / "cli" / "page" / f"shipped_{one}"
            assert own.read_text() == place.read_text().replace('"../corners/', '"')


@pytest.mark.parametrize(
    "car",
    [pytest.param(name, marks=() if name.startswith("tern") else pytest.mark.slow) for name in CARS],
)
def test_a_car_that_comes_along_says_what_the_command_line_says(browser, tmp_path, car):
    found = served(tmp_path)
    sight = Sight(browser, found.link, "phone")
    page = sight.page
    page.get_by_role("button", name=CARS[car][0]).tap()
    sight.measured()
    tabs = page.locator("#corners button")
    corners = [text.replace(" ", "-") for text in tabs.all_inner_texts()]
    for corner in corners or [""]:
        if corner and page.locator(f"#corners .at-{corner}").get_attribute("aria-pressed") != "true":
            sight.looked_anew(f"#corners .at-{corner}")
        which = ["--corner", corner] if corner else []
        told = command("check", car, *which, folder=tmp_path)
        gaps = sight.gaps()
        assert gaps
        for part, gap in gaps.items():
            assert any(gap in row and part in row for row in told.splitlines()), (corner, part, gap)
    assert sight.trouble == []
    sight.context.close()
    closed(found)


# ---- the scan

QUICK = """
title = "Heron test corner"
corner = "rear-left"
[tire]
size = "185/55R15"
[wheel]
diameter = "15 in"
width = "6 in"
offset = "40 mm"
[suspension]
kind = "straight"
bump = "10 mm"
droop = "10 mm"
[[part]]
name = "inner wall"
kind = "wall"
inboard = "190 mm"
"""
"""Measured in no time, so that what is waited for is the page."""


def clicks_round_the_rotor(page, scan: dict) -> list[tuple[float, float]]:
    """Where on the screen four points round the rotor of the shipped scan are, seen from -z."""
    page.locator("#solid").scroll_into_view_if_needed()
    box = page.locator("#solid").bounding_box()
    reach = 1.15 * math.hypot(*scan["size"]) / 2.0
    wide, high = box["width"], box["height"]
    across, up = (reach * wide / high, reach) if wide > high else (reach, reach * high / wide)
    spots = [(0.215 + 0.11 * math.cos(a), 0.34 + 0.11 * math.sin(a)) for a in (0.3, 1.9, 3.4, 5.0)]
    return [
        (
            box["x"] + (-(x - scan["middle"][0]) / across + 1) / 2 * wide,
            box["y"] + (1 - (y - scan["middle"][1]) / up) / 2 * high,
        )
        for x, y in spots
    ]


@pytest.mark.slow
@pytest.mark.parametrize("size", ["wide", "phone"])
def test_a_scan_is_brought_placed_by_clicks_and_laid_on(browser, tmp_path, size):
    file = tmp_path / "quick.toml"
    file.write_text(QUICK)
    found = served(file)
    found.come_in()
    sight = Sight(browser, found.link, size)
    page = sight.page
    sight.measured()
    page.click("#ways [data-way=scan]")
    page.set_input_files(".drop input", str(WELL))
    page.wait_for_selector("#solid[data-drawn]")
    assert (tmp_path / WELL.name).read_bytes() == WELL.read_bytes()
    page.check("#unit-m")
    page.wait_for_selector("#over .ring-line")
    page.evaluate("document.querySelector('#picks details[data-name=hub]').open = true")
    page.click("#group-face")
    page.click(".tools [title='Seen from -z']")
    for k, (x, y) in enumerate(clicks_round_the_rotor(page, found.post("/ask/scan", {}).json)):
        page.mouse.click(x, y) if size == "wide" else page.touchscreen.tap(x, y)
        page.wait_for_function(
            "n => document.querySelectorAll('#over .mark.face').length === n", arg=k + 1, timeout=10_000
        )
    # what was clicked lies on the rotor's face, which stands at -0.508 in the scan's own numbers
    points = found.post("/ask/scan", {}).json["points"]["face"]
    assert [round(abs(p[2] + 0.508), 2) for p in points] == [0.0] * 4
    page.click("#scan-undo")
    page.wait_for_function("() => document.querySelectorAll('#over .mark.face').length === 3")
    page.click("#scan-redo")
    page.wait_for_function("() => document.querySelectorAll('#over .mark.face').length === 4")
    page.select_option("#say-up", "+y")
    page.wait_for_selector("#say-up")
    page.select_option("#say-ahead", "+x")
    page.wait_for_selector("#needs.done")
    page.click("#place")
    page.wait_for_selector(".sure svg", timeout=90_000)
    assert "mm off the circle" in page.inner_text("#residuals")
    assert "Placing adds" in page.inner_text(".sure figcaption")
    assert page.evaluate("document.documentElement.scrollWidth") <= page.viewport_size["width"]
    page.click("#lay")
    page.wait_for_selector("#steps [data-do=save]:not([disabled])")
    sight.measured()
    assert "scanned well" in sight.gaps()
    page.click("#steps [data-do=save]")
    page.wait_for_selector("#steps [data-do=save][disabled]")
    findings = json.loads(command("check", file.name, "--json", folder=tmp_path))
    assert "scanned well" in [part["name"] for part in findings["parts"]]
    rows = command("check", file.name, folder=tmp_path).splitlines()
    assert any(sight.gaps()["scanned well"] in row for row in rows)
    assert sight.trouble == []
    sight.context.close()
    closed(found)


# ---- axe-core


LOOKS = [
    pytest.param("wide", "light", id="wide, light"),
    pytest.param("phone", "dark", id="phone, dark"),
    pytest.param("wide", "dark", id="wide, dark", marks=pytest.mark.slow),
    pytest.param("phone", "light", id="phone, light", marks=pytest.mark.slow),
]


@pytest.mark.parametrize(("size", "scheme"), LOOKS)
def test_axe_finds_nothing_serious_on_any_view(browser, tmp_path, size, scheme):
    axe = next((one for one in AXE if one.is_file()), None)
    if axe is None:
        pytest.skip("axe-core is not installed: npm ci --prefix tests/report/axe")
    laid_out(tmp_path)
    found = served(tmp_path)
    found.come_in()
    sight = Sight(browser, found.link, size, color_scheme=scheme)
    page = sight.page
    page.wait_for_selector("#starts button")
    page.evaluate(axe.read_text())
    wrong = {"start": heard(page)}
    page.click("#ways [data-way=take]")
    page.get_by_text("No corner lies on the bench yet").wait_for()
    wrong["nothing to take"] = heard(page)
    page.click("#ways [data-way=scan]")
    page.wait_for_selector(".drop")
    wrong["no scan"] = heard(page)
    assert found.post("/ask/scan/open", {"name": WELL.name}).status == 200
    page.wait_for_selector("#solid[data-drawn]")
    page.evaluate("document.querySelectorAll('#picks details').forEach(d => { d.open = true; })")
    wrong["scan"] = heard(page)
    page.click("#ways [data-way=measure]")
    page.wait_for_selector("#new-title")
    wrong["sheets"] = heard(page)
    page.fill("#new-title", "Barn find")
    page.get_by_role("button", name="Begin").click()
    page.wait_for_selector("html[data-letter]")
    wrong["letter"] = heard(page)
    page.locator(".margin button:has(b:text-is('G'))").click()
    page.wait_for_selector("html[data-letter=G]")
    page.fill("#answer", "99")
    page.keyboard.press("Enter")
    page.wait_for_selector(".said.refused li")
    wrong["refused letter"] = heard(page)
    assert found.post("/ask/open", {"name": "tern-coupe-rear.toml"}).status == 200
    page.click("#ways [data-way=choose]")
    sight.measured()
    page.evaluate("document.querySelectorAll('#dials details').forEach(d => { d.open = true; })")
    wrong["choose"] = heard(page)
    box = sight.dial("backspace").locator("[type=text]")
    box.fill("ninety")
    box.press("Enter")
    page.wait_for_selector("#line.refused")
    page.evaluate("""() => { const range = document.getElementById('dial-wheel-width');
        range.value = range.valueAsNumber + 0.5; range.dispatchEvent(new Event('input', { bubbles: true })); }""")
    page.wait_for_selector("html[data-certified=no]")
    wrong["dragged"] = heard(page)
    page.click("#ways [data-way=take]")
    page.locator("article[data-kind=order] button").click()
    page.wait_for_selector("article[data-kind=order] a", timeout=60_000)
    wrong["take"] = heard(page)
    assert {view: found for view, found in wrong.items() if found} == {}
    sight.context.close()
    closed(found)


def heard(page) -> list[tuple[str, str]]:
    """What axe-core calls serious or critical: the rule, and the first place."""
    found = page.evaluate("axe.run(document, { resultTypes: ['violations'] })")
    return [
        (one["id"], one["nodes"][0]["html"][:160])
        for one in found["violations"]
        if one["impact"] in ("serious", "critical")
    ]
