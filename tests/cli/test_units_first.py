"""Which unit stands first is one word of the corner file, or of the command line; nothing else moves."""

from __future__ import annotations

import json
import re
from pathlib import Path

import lxml.html
import pytest
from clearance_cli.main import run
from hypothesis import given
from hypothesis import strategies as st

import clearance
from clearance.mockup.words import position_text, where_text
from clearance.units import MM_PER_INCH, both, led_by, length_mm

CORNERS = Path(__file__).parents[2] / "fixtures" / "corners"
ROADSTER = str(CORNERS / "heron-roadster-front.toml")
PICKUP = str(CORNERS / "orchard-pickup-rear.toml")
MM_FIRST = re.compile(r"\d mm \(-?[\d ./]+ in\)")
INCH_FIRST = re.compile(r"(?<![\d.])(-?(?:\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?) in) \((-?[\d.]+) mm\)")
PAGES = [
    ["check", PICKUP],
    ["window", PICKUP, "--width", "7 in"],
    ["relief", PICKUP],
    ["least-change", PICKUP],
    ["other", PICKUP],
    ["order", PICKUP],
    ["inspect", PICKUP, "--wheel", "name=one, width=178 mm, straight_edge=95 mm"],
    ["compare", PICKUP, PICKUP],
    ["scan", str(CORNERS / "scanned-well.ply"), "--unit", "mm"],
]


def said(capsys, *words: str) -> str:
    assert run(list(words)) in (0, 1, 3)
    return capsys.readouterr().out


@pytest.mark.parametrize("words", PAGES, ids=lambda words: words[0])
def test_a_page_has_the_unit_first_that_was_asked_for(words, capsys):
    metric, imperial = said(capsys, *words), said(capsys, *words, "--units", "in")
    assert MM_FIRST.search(metric)
    assert not MM_FIRST.search(imperial)
    pairs = INCH_FIRST.findall(imperial)
    assert len(pairs) > len(INCH_FIRST.findall(metric))  # a rim's width is inches first in any trade
    for inch, mm in pairs:
        # to the nearest sixteenth, to three decimals where it is written so; the millimetres are rounded themselves
        assert length_mm(inch) == pytest.approx(float(mm), abs=MM_PER_INCH / 32 + 0.51)
    if words[0] == "order":  # one line of the options for all of them
        assert said(capsys, *words, "--units", "mm") == metric


@pytest.mark.parametrize("words", [one for one in PAGES if one[0] != "window"], ids=lambda words: words[0])
def test_json_is_the_same_whoever_reads(words, capsys):
    assert said(capsys, *words, "--json") == said(capsys, *words, "--units", "in", "--json")


def test_the_key_of_the_file_says_it_and_the_option_overrides_it(tmp_path, capsys):
    file = tmp_path / "corner.toml"
    _, rest = Path(PICKUP).read_text(encoding="utf-8").split("\n", 1)  # the first line is a comment; no line moves
    file.write_text(f'units = "in"\n{rest}', encoding="utf-8")
    assert said(capsys, "order", str(file)) == said(capsys, "order", PICKUP, "--units", "in")
    assert said(capsys, "order", str(file), "--units", "mm") == said(capsys, "order", PICKUP)


@pytest.mark.parametrize("word", ["inch", "IN", "cm", "", "mm "])
def test_another_word_is_refused(word, tmp_path, capsys):
    file = tmp_path / "corner.toml"
    file.write_text(f'units = "{word}"\n' + Path(PICKUP).read_text(encoding="utf-8"), encoding="utf-8")
    assert run(["order", str(file)]) == 2
    assert 'Write "mm" or "in".' in capsys.readouterr().err
    for verb in (["order", PICKUP], ["tire", "235/75R15"], ["compare", PICKUP, PICKUP]):
        assert run([*verb, "--units", word]) == 2
        assert 'Write "mm" or "in".' in capsys.readouterr().err


def test_in_a_table_the_columns_change_places(capsys):
    header = said(capsys, "tire", "235/75R15", "--units", "in").splitlines()[2].split()
    assert header == ["in", "mm", "from"]
    rows = said(capsys, "motion", PICKUP, "--units", "in").splitlines()
    heads = next(row.split() for row in rows if "bump in" in row)
    assert heads[:4] == ["bump", "in", "bump", "mm"]


def test_in_the_report_every_length_starts_with_inches():
    from dataclasses import replace

    corner = clearance.load(PICKUP)
    pages = {unit: clearance.report_of(clearance.check(replace(corner, units=unit))) for unit in ("mm", "in")}
    trees = {unit: lxml.html.fromstring(page) for unit, page in pages.items()}
    assert {unit: tree.xpath("string(//body/@class)") for unit, tree in trees.items()} == {"mm": "mm", "in": "in"}
    for unit, tree in trees.items():
        assert tree.xpath("//input[@name='unit'][@checked]/@value") == [unit]
        pictures = tree.xpath("//div[@class='only-in']")
        assert pictures
        assert all(("hidden" in one.attrib) is (unit == "mm") for one in pictures)
    # either page holds what the other shows, so that its switch can turn it round without arithmetic
    metric, imperial = (trees[unit].xpath("//span[contains(@class,'len')]") for unit in ("mm", "in"))
    assert len(metric) == len(imperial) > 20
    for one, other in zip(metric, imperial, strict=True):
        assert other.get("data-first", other.text) == one.text
        assert other.text.startswith(one.get("data-in"))


def test_the_figures_of_drawings_follow():
    from dataclasses import replace

    corner = replace(clearance.load(PICKUP), units="in")
    drawn = clearance.drawings_of(clearance.check(corner))["behind.svg"].decode()
    assert re.search(r"backspace 3 3/4 in \(95\.2 mm\)", drawn)
    assert not MM_FIRST.search(drawn)


def test_words_of_an_answer_and_its_facts():
    corner = clearance.load(PICKUP)
    found = clearance.order(corner)
    assert found.words("in") == led_by(found.words(), "in") != found.words()
    assert json.dumps(found.to_dict()).count(" mm (") > 0


@given(st.floats(-3000, 3000), st.sampled_from((0, 1, 2)))
def test_a_pair_turned_is_as_long_as_it_was_and_turning_twice_is_turning_once(mm, digits):
    pair = both(mm, digits=digits)
    turned = led_by(pair, "in")
    assert len(turned) == len(pair)
    assert led_by(turned, "in") == turned
    assert turned.endswith(" mm)")
    assert led_by(pair, "mm") == pair


@given(st.floats(-900, 900), st.floats(-900, 900), st.floats(-900, 900))
def test_no_place_and_no_position_keeps_a_millimetre(ahead, outboard, above):
    place = where_text((ahead, outboard, above))
    when = position_text(ahead, outboard, 3.0, other_moves=True, steers=True)
    assert " mm" not in led_by(place, "in")
    assert " mm" not in led_by(when, "in")
