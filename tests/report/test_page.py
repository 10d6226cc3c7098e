"""The page as text: its numbers are those of findings.json, and it needs nothing but itself."""

from __future__ import annotations

import json
import re

import pytest
from lxml import html

from clearance.gap.found import CLEARS
from clearance.units import MM_PER_INCH


@pytest.fixture(scope="module")
def tree(report):
    return html.fromstring(report.page)


def lengths(element) -> list[float]:
    return [float(e.get("data-mm")) for e in element.xpath(".//span[contains(@class, 'len')]")]


def test_it_is_one_file_under_3_mb_that_asks_for_nothing(report, tree):
    assert len(report.page.encode()) < 3_000_000
    assert not tree.xpath("//link | //img[not(starts-with(@src, 'data:'))] | //script[@src] | //iframe | //object")
    styles = " ".join(tree.xpath("//style/text()"))
    assert "url(" not in styles
    assert "@import" not in styles


def test_the_same_findings_make_the_same_bytes(report):
    assert report.page.encode() == report.again


def ends_shown(part):
    """The lower end of a gap alone where it is as close as was asked; else both, the smaller figure first."""
    least, most = part["gap"]["at_least"], part["gap"]["at_most"]
    return [least] if most - least <= 0.0515 else sorted((least, most), key=abs)


def test_the_numbers_of_the_table_are_the_numbers_of_the_findings(report, tree):
    rows = tree.xpath("//table[@id='parts']/tbody/tr[not(@class='note')]")
    assert [row.get("data-part") for row in rows] == [part["name"] for part in report.findings["parts"]]
    for row, part in zip(rows, report.findings["parts"], strict=True):
        shown = lengths(row.xpath("td[@data-key='at_least']")[0])
        inside = "inside" in row.xpath("string(td[@data-key='at_least'])")
        assert [-mm if inside else mm for mm in shown] == ends_shown(part)
        assert lengths(row.xpath("td[@data-key='required']")[0])[0] == part["required"]
        assert row.xpath(".//span[contains(@class, 'chip')]")[0].text == part["verdict"]
        assert part["tire_region"] in row.text_content()
        for whole in re.findall(r"\d+(?= mm)", part["where"]):
            assert f"{whole} mm" in row.text_content()


def test_what_rides_on_the_knuckle_is_as_close_at_every_position(tree):
    rows = tree.xpath("//table[@id='parts']/tbody/tr[not(@class='note')]")
    everywhere = {row.get("data-part"): "at every position" in row.text_content() for row in rows}
    assert [name for name, said in everywhere.items() if said] == ["strut"]


def test_the_three_tightest_places_are_the_first_of_the_findings(report, tree):
    figures = tree.xpath("//figure[@class='place']")
    assert len(figures) == 3
    for figure, part in zip(figures, report.findings["parts"], strict=False):
        assert figure.xpath("figcaption/strong")[0].text == part["name"]
        shown = lengths(figure.xpath(".//dd[@class='big']")[0])
        assert shown == pytest.approx([abs(mm) for mm in ends_shown(part)], abs=1e-9)
        pictures = figure.xpath(".//*[local-name()='svg']")
        assert len(pictures) == 2
        for drawn in pictures:
            assert part["name"] in drawn.get("aria-label")
        assert f"{abs(part['gap']['at_least']):.1f} mm" in pictures[0].text_content()


def test_tire_and_wheel_are_those_of_the_findings(report, tree):
    tire = lengths(tree.xpath("//table[@id='tire']")[0])
    assert {report.findings["tire"][key] for key in ("overall_diameter", "section_width", "tread_width")} <= set(tire)
    wheel = lengths(tree.xpath("//table[@id='wheel']")[0])
    assert [report.findings["wheel"][key] for key in ("backspace", "offset", "overall_width")] == wheel[:3]


def test_every_assumption_warning_and_version_is_told(report, tree):
    text = " ".join(tree.text_content().split())
    for row in [*report.findings["assumptions"], *report.findings["warnings"]]:
        assert " ".join(row.split()) in text
    assert "clearance test" in text


def test_the_sections_stand_in_the_order_that_a_reader_needs(tree):
    heads = [head.get("id") for head in tree.xpath("//main//h2")]
    assert heads == ["verdict-title", "tightest", "turn", "maps", "all", "sizes", "sources"]
    assert tree.xpath("//h3[@id='cautions']")


def test_endless_sheets_are_shown_near_the_wheel_and_the_page_says_so(report, tree):
    """The tub has no bottom, the wall on the knuckle no bound but one: 1.25 times the reach, the gap and the travel."""
    scene = json.loads(tree.xpath("//script[@id='scene']")[0].text)
    for shown in scene["parts"]:
        furthest = max(abs(v) for axis in "xz" for v in shown[axis])
        assert furthest < 1.25 * scene["reach"] + shown["required"] + 80 + 20, shown["name"]
    assert "it is shown only near the wheel" in " ".join(tree.text_content().split())


def test_words_from_the_corner_file_cannot_become_markup(tree, report):
    assert tree.xpath("//h1")[0].text_content() == report.findings["title"]
    assert not tree.xpath("//roadster")


def test_the_findings_that_travel_with_the_page_are_whole(report, tree):
    assert json.loads(tree.xpath("//script[@id='findings']")[0].text) == report.findings


def test_at_every_worst_position_the_sliders_show_the_gap_of_the_findings(report, tree):
    """The gap at a part's own worst stop lies between the two ends that were proven."""
    scene = json.loads(tree.xpath("//script[@id='scene']")[0].text)
    for shown, part in zip(scene["parts"], report.findings["parts"], strict=True):
        bump, steer = shown["stop"]
        assert scene["bump"][bump] == pytest.approx(part["position"]["bump"], abs=1e-3)
        assert scene["steer"][steer] == pytest.approx(part["position"]["steer"], abs=1e-3)
        here = shown["map"][bump][steer]
        # written to 0.001 mm
        assert part["gap"]["at_least"] - 1e-3 <= here <= part["gap"]["at_most"] + 1e-3


def test_no_stop_of_the_sliders_beats_the_proven_least_gap(report, tree):
    scene = json.loads(tree.xpath("//script[@id='scene']")[0].text)
    for shown, part in zip(scene["parts"], report.findings["parts"], strict=True):
        least = min(min(row) for row in shown["map"])
        assert least >= part["gap"]["at_least"] - 1e-3
        assert min(shown["least"]) >= part["gap"]["at_least"] - 0.02


def test_the_wheel_of_the_page_stands_where_the_suspension_puts_it(report, tree):
    """At a stop the hub's centre is raised by the bump; at ride height, straight ahead, nothing is moved."""
    scene = json.loads(tree.xpath("//script[@id='scene']")[0].text)
    columns = len(scene["steer"])
    ride = scene["bump"].index(0.0) * columns + scene["steer"].index(0.0)
    assert scene["poses"]["hub"][ride] == pytest.approx([0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0, 1], abs=1e-9)
    straight = scene["steer"].index(0.0)
    for row, bump in enumerate(scene["bump"]):
        assert scene["poses"]["hub"][row * columns + straight][2] == pytest.approx(bump, abs=1e-3)


def test_the_far_end_of_a_damper_goes_with_the_axle_and_its_near_end_stays(tree):
    """At each stop straight ahead the axle is raised by the bump, and so is the end on it; halfway along, half."""
    scene = json.loads(tree.xpath("//script[@id='scene']")[0].text)
    (damper,) = [part for part in scene["parts"] if part["name"] == "damper"]
    assert damper["frame"] == "body"
    columns, straight = len(scene["steer"]), scene["steer"].index(0.0)
    for row, bump in enumerate(scene["bump"]):
        assert damper["far"][row * columns + straight] == pytest.approx([0, 0, bump], abs=1e-3)
    # along the line from the upper end at 330 mm to the lower one at -60 mm, as far as its ring of 25 mm leans
    for height, share in zip(damper["z"], damper["share"], strict=True):
        assert share == pytest.approx((330 - height) / 390, abs=25 * 0.08 / 390 + 1e-3)
    assert {min(damper["share"]), max(damper["share"])} == {0.0, 1.0}
    assert all("far" not in part for part in scene["parts"] if part["name"] != "damper")


def test_steer_runs_from_left_to_right_on_the_slider(tree):
    scene = json.loads(tree.xpath("//script[@id='scene']")[0].text)
    assert scene["steer"] == sorted(scene["steer"], reverse=True)


def test_inches_of_the_page_are_sixteenths_of_its_millimetres(tree):
    for element in tree.xpath("//span[@class='len']"):
        text = element.get("data-in").removesuffix(" in")
        sign, text = (-1, text[1:]) if text.startswith("-") else (1, text)
        whole, _, part = text.partition(" ")
        if "/" in whole:
            whole, part = "0", whole
        top, _, below = part.partition("/")
        inches = sign * (float(whole) + (float(top) / float(below) if part else 0.0))
        # half a sixteenth
        assert inches == pytest.approx(float(element.get("data-mm")) / MM_PER_INCH, abs=1 / 32 + 1e-9)


def test_a_page_of_parts_that_all_clear_says_so(report):
    assert report.findings["verdict"] != CLEARS
    assert "It hits" in report.page or "It is tight" in report.page
