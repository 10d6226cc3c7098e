"""The page as a person meets it: a real headless Chromium on the real server, by mouse, touch and keyboard."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest
from chromium import IN_BROWSER
from page.conftest import COMMAND, laid_out, served
from page.sight import SIZES, Sight, command

pytestmark = IN_BROWSER
ROOT = Path(__file__).resolve().parents[2]


def told_by_check(folder: Path, file: str) -> dict[str, str]:
    """The gap of every part, in the words of the command line's page."""
    import json

    findings = json.loads(command("check", file, "--json", folder=folder))
    page = command("check", file, folder=folder)
    rows = [line for line in page.splitlines() if line[2:12].strip() in ("clears", "tight", "hits", "undecided")]
    assert len(rows) == len(findings["parts"])
    return {part["name"]: row for part, row in zip(findings["parts"], rows, strict=True)}


def test_drag_let_go_undo_and_save(sight, bench):
    """The whole way of choosing, and the file that comes of it says what the page said."""
    page = sight.page
    sight.measured()
    before = sight.gaps()
    file = bench.folder / "orchard-pickup-rear.toml"
    for part, row in told_by_check(bench.folder, file.name).items():
        assert before[part] in row

    dial = sight.dial("backspace")
    slider = dial.locator("[type=range]")
    slider.evaluate("dial => dial.scrollIntoView()")  # a thumb that pushes the page until the dial is in sight
    looks = int(page.get_attribute("html", "data-looks"))
    box = slider.bounding_box()
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] * 0.46, box["y"] + box["height"] / 2, steps=4)
    page.wait_for_selector("#sentence.meanwhile")
    assert "at least" in page.inner_text("#parts")
    assert page.inner_text("#sentence").startswith("≥")
    page.mouse.up()
    page.wait_for_selector("html[data-measured=yes]", timeout=90_000)
    page.wait_for_selector("#steps [data-do=undo]:not([disabled])")
    assert int(page.get_attribute("html", "data-looks")) > looks
    after = sight.gaps()
    assert after != before

    sight.looked_anew("#steps [data-do=undo]")
    page.wait_for_selector("#steps [data-do=redo]:not([disabled])")
    assert sight.gaps() == before
    sight.looked_anew("#steps [data-do=redo]")
    page.wait_for_selector("#steps [data-do=redo][disabled]")
    assert sight.gaps() == after

    remarks = [line.partition("#")[2] for line in file.read_text().splitlines() if "#" in line]
    page.click("#steps [data-do=save]")
    page.wait_for_selector("#steps [data-do=save][disabled]")
    text = file.read_text()
    assert f'backspace = "{dial.locator("[type=text]").input_value()}"' in text
    assert [line.partition("#")[2] for line in text.splitlines() if "#" in line] == remarks
    for part, row in told_by_check(bench.folder, file.name).items():
        assert after[part] in row


def test_by_keyboard_alone(sight):
    """Nobody touches the mouse: a dial by its arrows, a box by its text, a refusal that is read."""
    page = sight.page
    sight.measured()
    slider = sight.dial("backspace").locator("[type=range]")
    slider.focus()
    was = slider.get_attribute("aria-valuetext")
    page.keyboard.press("ArrowLeft")
    page.wait_for_selector("#steps [data-do=undo]:not([disabled])")
    sight.measured()
    assert slider.get_attribute("aria-valuetext") != was
    page.keyboard.press("Tab")
    page.keyboard.press("Control+z")
    page.wait_for_selector("#steps [data-do=undo][disabled]")
    box = sight.dial("backspace").locator("[type=text]")
    box.focus()
    page.keyboard.press("Control+a")
    page.keyboard.type("3 5/8 in")
    page.keyboard.press("Enter")
    page.wait_for_selector("#steps [data-do=undo]:not([disabled])")
    box.focus()
    page.keyboard.press("Control+a")
    page.keyboard.type("ninety")
    page.keyboard.press("Enter")
    page.wait_for_selector("#line.refused")
    assert "ninety" in page.inner_text("#line")


def test_nothing_runs_out_of_the_screen_and_targets_are_large(sight):
    page = sight.page
    sight.measured()
    assert page.evaluate("document.documentElement.scrollWidth") <= page.viewport_size["width"]
    small = page.evaluate(
        """() => [...document.querySelectorAll('button, input[type=range], input[type=text], summary')]
        .filter(e => e.offsetParent && !e.closest('#corners, .was'))
        .map(e => [e.textContent || e.type, e.getBoundingClientRect().height])
        .filter(([, high]) => high < 43)"""
    )
    assert small == []


def test_two_browsers_see_one_bench(browser, bench):
    one, two = Sight(browser, bench.link, "wide"), Sight(browser, bench.link, "phone")
    one.measured()
    two.measured()
    one.dial("backspace").locator("[type=range]").focus()
    one.page.keyboard.press("ArrowLeft")
    two.page.wait_for_selector("#steps [data-do=undo]:not([disabled])")
    one.measured()
    two.measured()
    assert one.gaps() == two.gaps()
    assert one.trouble == two.trouble == []
    one.context.close()
    two.context.close()


def test_what_is_not_measured_yet_never_stands_under_another_corners_answer(browser, bench):
    """Another file is opened, and a number is written: the answer of before is not shown as that of now."""
    bench.come_in()
    sight = Sight(browser, bench.link, "phone")
    page = sight.page
    sight.measured()
    before = page.inner_text("#sentence")
    box = sight.dial("backspace").locator("[type=text]")
    page.evaluate("""() => { window.seen = []; const sentence = document.getElementById("sentence");
        new MutationObserver(() => seen.push([document.title, sentence.className, sentence.textContent,
            document.querySelectorAll("#parts tr").length])).observe(sentence, { childList: true }); }""")
    box.fill("3 1/2 in")
    box.press("Enter")
    page.wait_for_function("() => seen.length > 0")
    first = page.evaluate("seen[0]")
    assert first[1] == "meanwhile"
    assert first[2].startswith("…Being measured. Before this change: ")
    assert first[2].endswith(before.partition("\n")[2] or before.lstrip("✓▲✕?"))
    sight.measured()
    page.evaluate("seen.length = 0")
    assert bench.post("/ask/open", {"name": "sorrel-sedan-front.toml"}).status == 200
    page.wait_for_function("() => seen.length > 0")
    title, name, words, rows = page.evaluate("seen[0]")
    assert "Sorrel" in title
    assert (name, rows) == ("meanwhile", 0)
    assert words == f"…{title}: being measured."
    assert sight.trouble == []
    sight.context.close()


def test_of_an_empty_bench_nothing_is_offered_to_take_away(browser, tmp_path):
    """And of a corner without a bolt circle the gauge says what it lacks."""
    file = tmp_path / "no-circle.toml"
    text = (laid_out(tmp_path) / "orchard-pickup-rear.toml").read_text()
    file.write_text("\n".join(line for line in text.splitlines() if not line.startswith("bolt_circle")))
    found = served(tmp_path)
    found.come_in()
    sight = Sight(browser, found.link, "phone")
    page = sight.page
    page.wait_for_selector("#starts button")
    page.click("#ways [data-way=take]")
    page.get_by_text("No corner lies on the bench yet").wait_for()
    assert page.locator("#take article").count() == 0
    page.get_by_role("button", name="To what you have").click()
    page.get_by_role("button", name="no-circle.toml").click()
    page.wait_for_function("() => document.title !== 'The bench'")
    page.click("#ways [data-way=take]")
    page.locator("article[data-kind=gauge]").wait_for()
    assert "bolt_circle" in page.inner_text("article[data-kind=gauge]")
    assert page.locator("article[data-kind=gauge] button").count() == 0
    assert page.locator("article[data-kind=drawings] button").count() == 1
    assert sight.trouble == []
    sight.context.close()
    found.end()
    found.process.stderr.close()
    found.process.stdout.close()


def test_a_part_with_a_name_like_a_script_is_a_name(browser, tmp_path):
    """Nothing of a file is ever more than text."""
    name = "<img src=x onerror=alert(1)><script>alert(2)</script>"
    place = laid_out(tmp_path) / "tern-coupe-rear.toml"
    place.write_text(place.read_text().replace('name = "lip"', f"name = '{name}'"))
    found = served(place)
    sight = Sight(browser, found.link, "wide")
    alerts: list[str] = []
    sight.page.on("dialog", lambda d: (alerts.append(d.message), d.dismiss()))
    sight.measured()
    assert any("onerror" in part for part in sight.gaps())
    assert sight.page.locator("#choose img, #choose script").count() == 0
    assert (alerts, sight.trouble) == ([], [])
    sight.context.close()
    found.end()
    found.process.stderr.close()
    found.process.stdout.close()


def test_what_is_taken_away_is_what_the_command_line_writes(browser, bench):
    import urllib.parse

    sight = Sight(browser, bench.link, "phone")
    page = sight.page
    sight.measured()
    page.click("#ways [data-way=take]")
    bench.come_in()
    for kind in ("order", "drawings", "file"):
        article = page.locator(f"article[data-kind={kind}]")
        article.get_by_role("button").click()
        article.locator("a").first.wait_for(timeout=90_000)
        words = article.locator("code").inner_text().split()
        names = article.locator("a").all_inner_texts()
        taken = {n: bench.ask(f"/take/{kind}/{urllib.parse.quote(n)}").body for n in names}
        if kind == "file":
            assert taken == {n: (bench.folder / n).read_bytes() for n in names}
            continue
        assert words[0] == "clearance"
        printed = command(*words[1:], folder=bench.folder)
        if kind == "order":
            assert taken == {"order.txt": printed.encode()}
        else:
            made = bench.folder / words[words.index("--out") + 1]
            written = {p.name: p.read_bytes() for p in made.iterdir() if not p.name.startswith(".")}
            assert taken == written
    assert sight.trouble == []
    sight.context.close()


def csv_of(folder: Path, name: str) -> str:
    return (folder / f"{name}.answers.csv").read_text()


@pytest.mark.parametrize("size", list(SIZES))
def test_measured_letter_by_letter_kept_and_taken_up_again_by_the_terminal(browser, tmp_path, size):
    """From an empty folder: fractions by their keys, a doubt, a server that is killed, and `new` that goes on."""
    found = served(tmp_path)
    sight = Sight(browser, found.link, size)
    page = sight.page
    page.get_by_role("button", name="Measure a corner").click()
    page.fill("#new-title", "Barn find")
    page.select_option("#new-corner", "rear-left")
    page.fill("#new-name", "barn")
    page.get_by_role("button", name="Begin").click()
    page.wait_for_selector("html[data-letter=A]")
    assert page.get_attribute("#answer", "inputmode") == "text"
    page.fill("#answer", "235/75R15")
    page.keyboard.press("Enter")
    page.wait_for_selector("html[data-letter=B]")
    assert "235/75R15" in csv_of(tmp_path, "barn")
    page.locator(".margin button:has(b:text-is('G'))").click()
    page.wait_for_selector("html[data-letter=G]")
    assert page.get_attribute("#answer", "inputmode") == "decimal"
    assert page.locator(".lit svg .fold").count() > 0
    assert page.inner_text("#sheet-on").startswith("barn.toml: 1 of ")
    # whoever chose a letter in the margin has it in sight
    assert page.evaluate("() => { const at = document.getElementById('answer').getBoundingClientRect();"
                         " return at.top >= 0 && at.bottom <= innerHeight; }")  # fmt: skip
    page.keyboard.press("Enter")
    page.wait_for_selector(".said.refused li")
    assert page.inner_text(".said.refused li") == "This one is needed."
    # what was not taken stands there to be put right
    page.fill("#answer", "huge")
    page.keyboard.press("Enter")
    page.locator(".said.refused li", has_text="huge").wait_for()
    assert page.input_value("#answer") == "huge"
    page.fill("#answer", "3")
    page.get_by_role("button", name="3/4", exact=True).click()
    page.keyboard.press("Enter")
    page.wait_for_selector("html[data-letter]:not([data-letter=G])")
    assert "3 3/4" in csv_of(tmp_path, "barn")
    # an answer that no car has is asked for again, and says why
    page.locator(".margin button:has(b:text-is('G'))").click()
    page.wait_for_selector("html[data-letter=G]")
    page.fill("#answer", "99")
    page.keyboard.press("Enter")
    page.wait_for_selector(".said.refused li")
    assert "3 3/4" in csv_of(tmp_path, "barn")
    assert sight.trouble == []

    # in the middle of it the server is killed outright
    found.process.kill()
    found.process.wait()
    found.process.stderr.close()
    found.process.stdout.close()
    again = served(tmp_path)
    page.goto(again.link)
    page.click("#ways [data-way=measure]")
    page.get_by_role("button", name="Go on with barn").click()
    page.wait_for_selector(".margin")
    assert "235/75R15" in page.inner_text(".margin")
    assert "3 3/4" in page.inner_text(".margin")
    assert page.evaluate("document.documentElement.scrollWidth") <= page.viewport_size["width"]
    sight.context.close()
    again.end()
    again.process.stderr.close()
    again.process.stdout.close()
    # the terminal takes up the same sheet, and says what it still needs
    words = ["new", "--no-ask", "--out", "barn.toml", "--answers", "barn.answers.csv"]
    done = subprocess.run([*COMMAND, *words], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert "still needed" in done.stderr
    assert "G " not in done.stderr.partition("still needed")[2]


def test_a_sheet_that_is_full_becomes_the_corner_that_new_makes(browser, tmp_path):
    """The shipped example's answers, taken up on the page: the same bytes as from the terminal."""
    terminal = tmp_path / "terminal"
    terminal.mkdir()
    command("new", "--from", "pickup-rear", "--no-ask", "--out", "truck.toml", folder=terminal)
    bench = tmp_path / "bench"
    bench.mkdir()
    shutil.copy(terminal / "truck.answers.csv", bench)
    found = served(bench)
    sight = Sight(browser, found.link, "phone")
    page = sight.page
    page.wait_for_selector("#start:not([hidden])")
    page.click("#ways [data-way=measure]")
    page.get_by_role("button", name="Go on with truck").click()
    page.wait_for_selector(".sheet")
    for _ in range(60):
        if page.get_attribute("html", "data-letter") == "end":
            break
        with page.expect_response("**/ask/letter"):
            page.click(".walk .main")
        page.wait_for_timeout(100)
    if page.get_by_role("button", name="Go on", exact=True).count():
        page.get_by_role("button", name="Go on", exact=True).click()
    page.get_by_role("button", name="No", exact=True).click()
    page.get_by_role("button", name="Make the corner file").click()
    sight.measured()
    assert (bench / "truck.toml").read_bytes() == (terminal / "truck.toml").read_bytes()
    assert sight.trouble == []
    sight.context.close()
    found.end()
    found.process.stderr.close()
    found.process.stdout.close()
