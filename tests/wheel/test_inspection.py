"""The wheels in their boxes: bolt circles by hole edges against exact chords, and what each reading tells."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clearance.errors import WheelError
from clearance.wheel.bolt_circle import BoltCircle
from clearance.wheel.decided import READ_AGAIN, RETURN, by_the_order
from clearance.wheel.fasteners import Thread
from clearance.wheel.inspection import (
    CENTRE,
    FAR_EDGE,
    HOLE_PLACES,
    NEAR_EDGE,
    OPEN,
    OUTSIDE,
    SAME_EDGE,
    UNREAD,
    WITHIN,
    HoleReading,
    Measured,
    Order,
    circle_from_holes_mm,
    circle_reading_mm,
    inspect,
    judged,
    reading_for_mm,
)

CIRCLE = BoltCircle(studs=5, diameter_mm=120.65)


def order(**changes):
    base = {
        "width_mm": 7 * 25.4,
        "bead_seat_diameter_mm": 380.2,
        "flange_diameter_mm": 415.2,
        "overall_width_mm": 8 * 25.4,
        "backspace_mm": 4.25 * 25.4,
        "bolt_circle": CIRCLE,
        "center_bore_mm": 70.3,
        "lug_seat": "60 deg cone",
        "thread": Thread.parse("M12x1.5"),
    }
    return Order(**(base | changes))


def good(name="front left", **changes):
    base = {
        "name": name,
        "width_mm": 178.0,
        "overall_width_mm": 203.5,
        "straight_edge_mm": 108.2,
        "bead_seat_circumference_mm": math.pi * 380.1,
        "holes": HoleReading(holes=5, on=2, reading_mm=CIRCLE.chord_mm(2) + 7.0, hole_diameter_mm=14.0, start=FAR_EDGE),
        "center_bore_mm": 70.35,
        "lug_seat": "60 deg taper",
        "thread": Thread.parse("M12 x 1.5"),
        "engagement_turns": 9.0,
    }
    return Measured(**(base | changes))


def four(**changes):
    return [good(n, **changes) for n in ("front left", "front right", "rear left", "rear right")]


def findings(result, item):
    return [check.finding for check in result.checks if check.item == item]


@pytest.mark.parametrize("holes", [4, 5, 6, 8])
def test_a_hole_circle_is_where_a_drawing_puts_its_holes(holes):
    """No chord formula: holes drilled at 360/n degrees on a 114.3 mm circle, distances by Pythagoras."""
    radius, hole = 57.15, 13.0
    centres = [
        (radius * math.cos(2 * math.pi * k / holes), radius * math.sin(2 * math.pi * k / holes)) for k in range(holes)
    ]
    for on in range(1, holes // 2 + 1):
        between = math.dist(centres[0], centres[on])
        for start, shift in ((FAR_EDGE, hole / 2), (NEAR_EDGE, -hole / 2), (CENTRE, 0.0), (SAME_EDGE, 0.0)):
            reading = HoleReading(holes=holes, on=on, reading_mm=between + shift, hole_diameter_mm=hole, start=start)
            assert circle_from_holes_mm(reading) == pytest.approx(114.3, abs=1e-9)


@pytest.mark.parametrize(
    ("holes", "on", "chord", "diameter"),
    [
        (5, 1, 67.184, 114.3),
        (5, 2, 108.706, 114.3),
        (5, 1, 70.916, 120.65),
        (5, 2, 114.745, 120.65),
        (5, 1, 58.779, 100.0),
        (5, 1, 65.832, 112.0),
        (6, 1, 69.850, 139.7),
        (8, 1, 63.181, 165.1),
        (4, 1, 70.711, 100.0),
    ],
)
def test_trade_chords_give_their_circles(holes, on, chord, diameter):
    """Chords as worked by hand from D sin(on pi / n), to the micrometre that they are printed to."""
    found = circle_from_holes_mm(HoleReading(holes=holes, on=on, reading_mm=chord))
    # the chord is rounded to half a micrometre, and the shortest chord here magnifies that 2.6 times
    assert found == pytest.approx(diameter, abs=0.0015)


@given(
    studs=st.integers(3, 12),
    diameter=st.floats(90, 220),
    hole=st.floats(10, 20),
    start=st.sampled_from(HOLE_PLACES),
    data=st.data(),
)
def test_what_the_card_says_to_expect_reads_back_as_the_circle(studs, diameter, hole, start, data):
    on = data.draw(st.integers(1, studs // 2))
    circle = BoltCircle(studs=studs, diameter_mm=diameter)
    expected = reading_for_mm(circle, on=on, hole_diameter_mm=hole, start=start)
    reading = HoleReading(holes=studs, on=on, reading_mm=expected, hole_diameter_mm=hole, start=start)
    assert circle_from_holes_mm(reading) == pytest.approx(diameter, abs=1e-9)


def test_a_longer_chord_reads_the_circle_more_closely():
    short = HoleReading(holes=5, on=1, reading_mm=70.9)
    long = HoleReading(holes=5, on=2, reading_mm=114.7)
    assert circle_reading_mm(long, 0.2) < circle_reading_mm(short, 0.2)


def test_of_four_good_wheels_every_number_is_within():
    result = inspect(order(), four())
    # backspace 108.2 of 107.95 read to 0.8 is within 1.5; the bolt circle is exact but read to 0.24, within 0.3
    assert [c for c in result.checks if c.finding != WITHIN] == []
    assert result.remarks == ()


@pytest.mark.parametrize(("off", "finding"), [(0.0, WITHIN), (0.6, WITHIN), (0.8, OPEN), (2.2, OPEN), (2.4, OUTSIDE)])
def test_backspace_is_judged_with_the_reading_in_hand(off, finding):
    """Tolerance 1.5, reading 0.8: within to 0.7, outside past 2.3, and in between it is open."""
    result = inspect(order(), four(straight_edge_mm=107.95 + off))
    assert set(findings(result, "backspace")) == {finding}


@given(st.floats(0, 10), st.floats(0, 5), st.floats(0, 5))
def test_a_finer_reading_never_turns_within_into_outside(off, tolerance, reading):
    order_of = {WITHIN: 0, OPEN: 1, OUTSIDE: 2}
    coarse, fine = judged(off, tolerance, reading), judged(off, tolerance, reading / 2)
    if coarse != OPEN:
        assert fine == coarse
    assert abs(order_of[coarse] - order_of[fine]) <= 1


def test_the_straight_edge_is_taken_off():
    assert good(straight_edge_mm=118.2, straight_edge_thickness_mm=10.0).backspace_mm == pytest.approx(108.2)


def test_5_x_120_is_not_5_x_120_65():
    """The trade's trap: 0.65 mm apart, told apart by calipers across two holes and not by a tape."""
    wrong = HoleReading(holes=5, on=2, reading_mm=BoltCircle(studs=5, diameter_mm=120.0).chord_mm(2))
    by_caliper = inspect(order(), four(holes=wrong, readings_mm={"hole": 0.1}))
    assert set(findings(by_caliper, "bolt circle")) == {OUTSIDE}
    by_tape = inspect(order(), four(holes=wrong, readings_mm={"hole": 0.8}))
    assert set(findings(by_tape, "bolt circle")) == {OPEN}
    assert all("5 x 120 mm" in c.why for c in by_tape.checks if c.item == "bolt circle")


@pytest.mark.parametrize(("diameter", "named"), [(114.3, "5 x 114.3 mm"), (127.2, "5 x 127 mm"), (180.0, None)])
def test_a_wheel_of_another_circle_goes_back_with_its_name(diameter, named):
    """Trade tables: 5 x 114.3 and 5 x 127 are in use, and nothing near 5 x 180."""
    holes = HoleReading(holes=5, on=2, reading_mm=BoltCircle(studs=5, diameter_mm=diameter).chord_mm(2))
    result = inspect(order(), four(holes=holes))
    assert set(findings(result, "bolt circle")) == {OUTSIDE}
    for check in result.checks:
        if check.item == "bolt circle":
            assert ("nearest circle in common use" in check.why) == (named is not None)
            assert named is None or named in check.why


def test_another_number_of_holes_goes_back():
    six = HoleReading(holes=6, on=3, reading_mm=120.65)
    assert set(findings(inspect(order(), four(holes=six)), "bolt circle")) == {OUTSIDE}


def test_the_odd_wheel_of_a_set_is_named():
    """One drilled 4 mm deeper than the other three: it goes back, once, and the others are no part of that."""
    wheels = four()
    wheels[2] = good("rear left", straight_edge_mm=112.2)
    result = inspect(order(), wheels)
    assert [words.partition(":")[0] for words in result.remarks] == ["rear left"]
    assert "backspace is 4.00 mm" in result.remarks[0]
    assert by_the_order("rear left", result.of("rear left")).verdict == RETURN
    assert by_the_order("front left", result.of("front left")) is None


@pytest.mark.parametrize(("turns", "finding"), [(8.0, WITHIN), (7.9, OPEN), (7.5, OUTSIDE), (6.5, OUTSIDE)])
def test_an_m12x15_needs_eight_turns(turns, finding):
    """One diameter of M12x1.5 is 8.0 turns (trade pages quote this as the SAE's advice; common practice)."""
    result = inspect(order(), four(engagement_turns=turns))
    assert set(findings(result, "thread engagement")) == {finding}


def test_another_seat_or_thread_goes_back():
    result = inspect(order(), [good("a", lug_seat="ball 14 mm"), good("b", thread=Thread.parse("1/2-20"))])
    assert findings(result, "lug seat") == [OUTSIDE, WITHIN]
    assert findings(result, "thread") == [WITHIN, OUTSIDE]
    assert "same lug seat" in result.cautions[0]


def test_what_was_not_measured_is_asked_for():
    result = inspect(order(), [Measured(name="only")])
    asked = {c.item for c in result.checks if c.finding == UNREAD}
    assert {"bead seat width", "bead seat diameter", "backspace", "bolt circle", "lug seat", "thread"} <= asked
    assert result.lacking == 3
    assert result.remarks[0].startswith("1 of 4 wheels were read")


def test_widths_that_leave_no_flange_are_read_again():
    """A J flange is at least 11 mm across (JIS D 4218:2021 table 3); 4 mm means that one width was read elsewhere.

    An overall width of 186 mm is 17 mm outside its tolerance, and would send the wheel back by itself.
    """
    result = inspect(order(), four(overall_width_mm=186.0))
    assert set(findings(result, "overall width")) == {OPEN}
    decision = by_the_order("front left", result.of("front left"))
    assert decision.verdict == READ_AGAIN
    assert "flanges of 4.0 mm" in decision.why


def test_a_width_read_over_the_flanges_sends_no_wheel_back():
    """7 in between the flanges is 8 in over them: the trade's mistake, told from an 8 in wheel by both widths alone."""
    over = inspect(order(), four(width_mm=8 * 25.4, overall_width_mm=None))
    assert set(findings(over, "bead seat width")) == {OPEN}
    both_read = inspect(order(), four(width_mm=8 * 25.4, overall_width_mm=9 * 25.4))
    assert set(findings(both_read, "bead seat width")) == {OUTSIDE}


def test_what_is_read_round_the_seat_is_divided_by_pi_with_its_error():
    """A tape to 1.6 mm round the seat finds the diameter to 1.6 / pi = 0.51 mm, of the 1.0 mm that it may differ."""
    wheel = good(readings_mm={"circumference": 1.6})
    assert wheel.reading_mm("diameter") == pytest.approx(0.509, abs=0.001)


@pytest.mark.parametrize(
    "bad",
    [
        {"holes": 5, "on": 3, "reading_mm": 100.0},
        {"holes": 2, "on": 1, "reading_mm": 100.0},
        {"holes": 5, "on": 1, "reading_mm": 100.0, "start": FAR_EDGE},
        {"holes": 5, "on": 1, "reading_mm": 5.0, "hole_diameter_mm": 14.0, "start": FAR_EDGE},
        {"holes": 5, "on": 1, "reading_mm": 100.0, "start": "left edge"},
    ],
)
def test_a_hole_reading_that_cannot_be_is_refused(bad):
    with pytest.raises(WheelError):
        HoleReading(**bad)


def test_two_wheels_of_one_name_are_refused():
    with pytest.raises(WheelError, match="own name"):
        inspect(order(), [good("a"), good("a")])
