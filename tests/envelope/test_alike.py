"""Envelopes of corners that move alike are built once, and are what each would have been alone."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pytest

import clearance
from clearance.envelope import alike
from clearance.envelope.build import envelopes_of

CORNERS = Path(__file__).parents[2] / "fixtures" / "corners"
SLACK_MM = 8.0
GROWN = (0.0, 6.0)


@pytest.fixture
def built(monkeypatch):
    """The growths of every envelope that is begun, in order."""
    begun = []
    whole = alike.begin_envelopes

    def told(mockup, grown_mm, **options):
        begun.append((mockup.corner, grown_mm))
        return whole(mockup, grown_mm, **options)

    monkeypatch.setattr(alike, "begin_envelopes", told)
    return begun


def same(found, wanted):
    for one, other in zip(found, wanted, strict=True):
        assert one.vertices_mm.tobytes() == other.vertices_mm.tobytes()
        assert one.faces.tobytes() == other.faces.tobytes()
        assert (one.standoff_mm, one.slack_mm) == (other.standoff_mm, other.slack_mm)


def test_two_sides_read_from_two_files_share_one_and_the_next_is_begun_when_it_is_there(built):
    text = (CORNERS / "orchard-pickup-rear.toml").read_text(encoding="utf-8")
    left, right = clearance.read(text), clearance.read(text)
    right = dataclasses.replace(right, corner="rear-right")
    wide = clearance.changed(left, offset_mm=left.wheel.offset_mm - 20.0)
    waits = alike.begin_alike([(left, GROWN), (right, GROWN), (wide, GROWN)], slack_mm=SLACK_MM)
    assert [corner for corner, _ in built] == ["rear-left"]
    first = waits[0](None)
    assert len(built) == 2
    assert waits[1](None) is first
    same(first, envelopes_of(left, GROWN, slack_mm=SLACK_MM))
    same(waits[2](None), envelopes_of(wide, GROWN, slack_mm=SLACK_MM))
    assert not np.array_equal(first[0].vertices_mm, waits[2](None)[0].vertices_mm)
    assert len(built) == 2


@pytest.mark.parametrize(
    "other",
    [
        lambda corner: clearance.changed(corner, bump_stop_mm=2.0),
        lambda corner: clearance.changed(corner, camber_more_deg=0.01),
        lambda corner: clearance.changed(corner, offset_mm=corner.wheel.offset_mm + 1e-6),
        lambda corner: clearance.changed(corner, tire="225/75R15"),
    ],
)
def test_what_differs_at_all_is_not_alike(other):
    corner = clearance.read_car((CORNERS / "orchard-pickup-rear.toml").read_text(encoding="utf-8")).at("rear-left")
    assert alike._way_of(corner) == alike._way_of(dataclasses.replace(corner, corner="rear-right"))
    assert alike._way_of(other(corner)) != alike._way_of(corner)


def test_other_growth_is_another_envelope(built):
    corner = clearance.load(CORNERS / "orchard-pickup-rear.toml")
    waits = alike.begin_alike([(corner, (0.0,)), (corner, (5.0,))], slack_mm=SLACK_MM)
    waits[1](None)
    waits[0](None)
    assert sorted(grown for _, grown in built) == [(0.0,), (5.0,)]


def test_nothing_asked_is_nothing_begun(built):
    assert alike.begin_alike([]) == []
    assert built == []
