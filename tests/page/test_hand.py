"""What the bench does when it is asked for two things at once; no server, no browser."""

from __future__ import annotations

import shutil
from concurrent.futures import Future
from types import SimpleNamespace

import pytest
from page.conftest import FIXTURES

import clearance

sitting_of = pytest.importorskip("clearance_cli.page.sitting", reason="the page's extra is not installed")
folder_of = pytest.importorskip("clearance_cli.page.folder", reason="the page's extra is not installed")


@pytest.fixture
def hand(tmp_path):
    """The pickup on the bench, nothing measured yet, and what everybody is told."""
    place = tmp_path / "orchard-pickup-rear.toml"
    shutil.copy(FIXTURES / "corners" / place.name, place)
    text = place.read_text()
    sitting = sitting_of.Sitting(
        folder=folder_of.Folder(place=tmp_path), name=place.name, bench=clearance.on_bench(text, place), as_read=text
    )
    hand = sitting_of.Hand(sitting=sitting)
    hand.heard = []
    hand.told.add(hand.heard.append)
    yield hand
    hand.end()


def said(hand):
    return [news["say"] for news in hand.heard]


def test_a_position_that_is_asked_while_it_measures_is_answered_in_between(hand):
    part = next(iter(hand.sitting.names))
    hand.ask({"do": "place", "on": hand.sitting.on, "bump": 10.0, "other": 0.0, "steer": 0.0, "part": part})
    assert hand._looks() is True
    assert said(hand) == ["measuring", "stands", "look"]
    assert hand.heard[-1]["exact"]
    # what every part does there is owed, once the measuring is over
    assert hand.around is not None


def test_what_was_measured_before_a_dial_was_touched_is_not_measured_again(hand):
    """The second part is under way when somebody drags; brought back, only what was open is searched."""
    asked = []

    def until_the_second(done, _, words):
        asked.append(words.partition(":")[0])
        if done:
            raise sitting_of.Superseded

    with pytest.raises(sitting_of.Superseded):
        hand.sitting.look(until_the_second)
    first = asked[0]
    again = []
    hand.sitting.look(lambda _, __, words: again.append(words.partition(":")[0]))
    assert again
    assert first not in again


def test_what_comes_sooner_is_said_to_be_so_and_the_checks_own_number_follows(hand):
    sitting = hand.sitting
    assert hand._looks() is True
    sitting.set_text(["wheel", "backspace"], "3 1/2 in")
    hand.heard.clear()
    assert hand._looks() is True
    assert said(hand) == ["measuring", "look", "look"]
    soon, exact = hand.heard[1:]
    assert (soon["exact"], soon["certified"], exact["exact"], exact["certified"]) == (False, True, True, True)
    assert soon["verdict"] == exact["verdict"]
    assert "last digit" in soon["sentence"]
    # the number of the page is the command line's
    fresh = clearance.check(clearance.on_bench(sitting.bench.text, sitting.bench.place).mockup)
    look = clearance.look_at(fresh.corner, fresh.value.gaps, exact=True)
    assert exact["parts"] == look.facts()["parts"]


def test_who_leaves_with_a_dial_in_hand_leaves_what_stood_there(hand):
    from clearance_cli.page.house import House

    house = House(hand.sitting.folder, hand.sitting)
    assert house.hand._looks() is True
    dial = house.hand.sitting.bench.dial(("wheel", "width"))
    house.hand._turns(
        {"do": "turn", "on": house.hand.sitting.on, "path": list(dial.path), "value": dial.value + 0.5, "part": ""}
    )
    assert not house.hand.last["certified"]
    house.go(hand.heard.append)
    assert [job["do"] for job in house.hand.jobs] == ["look"]
    house.hand.end()


def test_the_ends_of_the_window_stay_while_the_wheel_only_stands_elsewhere_across(hand):
    sitting = hand.sitting
    sitting.marks = (clearance.Mark(value=50.0, words="50 mm: lip"), clearance.Mark(value=98.0, words="98 mm: wall"))
    sitting.set_text(["wheel", "backspace"], "3 1/2 in")
    assert len(sitting.marks) == 2
    assert not sitting.marked
    sitting.set_text(["wheel", "width"], "7.5 in")
    assert sitting.marks == ()


def test_a_fault_of_our_own_is_said_and_the_bench_goes_on(hand, capsys):
    def falls(*_):
        raise ImportError("half of a library")

    assert hand._safely(falls) is True
    assert "fault in clearance" in hand.heard[-1]["words"]
    assert "fault in clearance" in capsys.readouterr().err
    assert hand._safely(hand._looks) is True
    assert said(hand)[-2:] == ["measuring", "look"]


def test_a_window_that_is_asked_no_more_ends_by_itself(hand, monkeypatch):
    """The process beside sees the number of the window that is wanted; once that is another, it looks no further."""
    bench = hand.sitting.bench
    asked = (bench.text, str(bench.place), bench.corner)
    wanted = SimpleNamespace(value=7)
    monkeypatch.setattr(sitting_of, "_asked_last", wanted)
    assert sitting_of.marks_of(7, *asked) == clearance.window_marks(bench) != ()
    wanted.value = 8
    assert sitting_of.marks_of(7, *asked) == ()


def test_what_changes_the_corner_gives_the_window_of_the_old_one_up(hand):
    hand.windows, hand.marking = SimpleNamespace(value=3), Future()
    hand.sitting.marked = True
    hand._mark_no_more()
    assert hand.windows.value == 3
    hand.sitting.set_text(["wheel", "width"], "7.5 in")
    hand._mark_no_more()
    assert hand.windows.value == 4
    assert hand.marking.cancelled()
