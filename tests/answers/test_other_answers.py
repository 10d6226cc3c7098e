"""Largest, budget, load states, chains, spare well, duals, cover."""

import math
from dataclasses import replace

import numpy as np
import pytest
from mockups import between_walls, steered, tire, under_ceiling

from clearance.answers.budget import budget, sources_of
from clearance.answers.checked import all_clear, gaps_of
from clearance.answers.largest import best_offset, largest
from clearance.answers.other import between_duals, cover, in_spare_well, load_states, outermost_mm, with_chains
from clearance.answers.seen import seen_by_wheel
from clearance.description.agreed import AgreedTables
from clearance.description.lines import path_text
from clearance.description.reading import read
from clearance.description.refusal import Refusal
from clearance.errors import InputError
from clearance.terms import (
    Chains,
    Coverage,
    Duals,
    Load,
    Now,
    SpareWell,
    Terms,
    Uncertainty,
)
from clearance.tire.catalog import (
    ride_height_change_mm,
    rolling_circumference_mm,
    sizes_from_csv,
    speedometer_change,
    standard_sizes,
    turns_per_km,
)
from clearance.tire.room import CHAIN_ROOM_MM
from clearance.well.lip import lip
from clearance.well.parts import Tag

SIZES = (
    "size,section_width_mm,overall_diameter_mm,rim_least_in,rim_most_in,load_index\n"
    "205/65R15,215,650,6,7,94\n215/65R15,225,670,6,7,96\n225/70R15,230,689,6,7,100\n235/75R15,240,733,6,7,105\n"
)


# ---- largest


def test_the_largest_under_a_ceiling_is_the_one_that_a_subtraction_picks():
    """Ceiling 455, 90 bump, keep 20: radius 345 at most, so 689 mm clears and 733 does not."""
    found = largest(under_ceiling(height=455.0), sizes_from_csv(SIZES, name="test"), Terms())
    assert [fit.size for fit in found.fits] == ["225/70R15", "215/65R15", "205/65R15"]
    assert found.combinations > 4 * 3 * 20
    for fit in found.fits:
        mockup = replace(under_ceiling(height=455.0), tire=fit.tire, wheel=fit.wheel)
        assert all_clear(gaps_of(mockup))
        assert fit.spare_mm >= 0


def test_it_sorts_by_what_is_asked_and_says_what_each_does():
    sizes = sizes_from_csv(SIZES, name="test")
    sections = Terms(load=Load(corner_kg=700.0), now=Now(overall_diameter_mm=700.0))
    found = largest(under_ceiling(height=455.0, terms=sections), sizes, sections, by="target", target_mm=668.0)
    assert found.fits[0].size == "215/65R15"
    # hub 15 mm lower on 670 than on 700; the car goes 670/700 as far for each turn
    assert found.fits[0].swap.hub_mm == pytest.approx(-15.0)
    assert found.fits[0].swap.speed == pytest.approx(670 / 700 - 1)
    # load index 96 is 710 kg and 94 is 670 kg (ISO 4000-1)
    carries = {fit.size: fit.carries for fit in found.fits}
    assert carries["215/65R15"] is True
    assert carries["205/65R15"] is False
    with pytest.raises(InputError, match="not an order"):
        largest(under_ceiling(), sizes, sections, by="beauty")
    with pytest.raises(InputError, match="target"):
        largest(under_ceiling(), sizes, sections, by="target")


def test_the_quick_look_over_offsets_finds_what_trying_every_one_does():
    """Oracle: every offset of the lattice tried; the quick search may stop half a millimetre short of the best."""
    mockup = between_walls(inboard=160.0, outboard=150.0)
    seen = seen_by_wheel(mockup, within_mm=mockup.solid.reach_mm + 50)
    offsets = np.arange(-40.0, 40.1, 3.175)
    chain = mockup.solid.chain
    every = [min(s.gap_mm(chain, -o) - s.required_mm for s in seen) for o in offsets]
    _, spare = best_offset(mockup, seen, offsets)
    assert max(every) - 0.5 <= spare <= max(every)


def test_the_built_in_list_can_all_be_mounted_and_names_its_sources():
    from clearance.answers.tires import listed_widths, mounted

    sizes = standard_sizes()
    assert len(sizes) > 120
    assert len({s.size for s in sizes}) == len(sizes)
    for listed in sizes:
        assert listed.source
        widths = listed_widths(listed)
        assert widths
        assert mounted(listed, widths[0], tire()).overall_diameter_mm > listed.marking.rim_in * 25.4


def test_a_mounted_size_has_its_handbook_dimensions():
    """UN R30: 245/45R17 on 8 in is 243 x 652 and 205/55R16 on 6.5 in is 214 x 632 (handbooks agree, from memory)."""
    from clearance.answers.tires import mounted

    by_size = {s.size: s for s in standard_sizes()}
    for size, rim, section, diameter in (("245/45R17", 8.0, 243, 652), ("205/55R16", 6.5, 214, 632)):
        found = mounted(by_size[size], rim, tire())
        assert found.section_width_mm == pytest.approx(section, abs=0.5)
        assert found.overall_diameter_mm == pytest.approx(diameter, abs=0.5)


@pytest.mark.parametrize(
    "text",
    [
        "width,od\n1,2\n",
        "size,color\n205/55R16,red\n",
        "size\n",
        "size,load_index\n205/55R16,heavy\n",
        "size\nround one\n",
    ],
)
def test_a_list_that_is_none_is_refused_with_its_line(text):
    with pytest.raises(InputError, match="in the list"):
        sizes_from_csv(text, name="in the list")


def test_speedometer_and_ride_height_are_ratios_and_halves():
    """245/45R17: 3.05 x 652 = 1988.6 mm, 502.9 turns a kilometre (worked by hand)."""
    around = rolling_circumference_mm(652.0)
    assert around == pytest.approx(1988.6)
    assert turns_per_km(around) == pytest.approx(502.9, abs=0.05)
    assert speedometer_change(around, 1.03 * around) == pytest.approx(0.03)
    assert ride_height_change_mm(652.0, 672.0) == pytest.approx(10.0)


# ---- budget


def budget_of(mockup, **stated):
    return budget(mockup, Uncertainty(stated=stated, parts_mm=2.0), rechecks=0)


def test_the_budget_of_one_wall_is_what_a_hand_sum_gives():
    """Inner wall: gap 55, keep 20; backspace 1.5, width 3 at a half, axle 3, wall 2, camber 0.

    Worst 1.5 + 1.5 + 3 + 2 = 8; likely sqrt(1.5^2 + 1.5^2 + 3^2 + 2^2) = 4.18 (two deviations).
    """
    mockup = between_walls(outboard=500.0)
    found = budget_of(mockup, backspace=1.5, section_width=3.0, axle_sideways=3.0, overall_diameter=0.0, camber=0.0)
    part = next(p for p in found.parts if p.part == "inner wall")
    assert part.gap_mm - part.worst_mm == pytest.approx(8.0, abs=0.02)
    assert part.gap_mm - part.likely_mm == pytest.approx(math.sqrt(1.5**2 + 1.5**2 + 9 + 4), abs=0.02)
    assert found.confidence == 1.0


def test_a_gap_that_is_just_kept_clears_half_the_time():
    """Symmetric doubt about a gap that equals its required one: one draw in two (spread 0.35 % of 20,000)."""
    mockup = between_walls(inboard=135.05, outboard=500.0)
    found = budget_of(mockup, overall_diameter=0.0, camber=0.0)
    assert found.confidence == pytest.approx(0.5, abs=0.03)


def test_the_same_file_gives_the_same_confidence_and_less_doubt_gives_more():
    mockup = between_walls(inboard=138.0, outboard=500.0)
    wide, again = budget_of(mockup, axle_sideways=4.0), budget_of(mockup, axle_sideways=4.0)
    assert wide.confidence == again.confidence
    assert budget_of(mockup, axle_sideways=1.0).confidence >= wide.confidence
    best = wide.worth[0]
    assert best.source == "axle_sideways"
    assert best.confidence >= wide.confidence
    assert sum(w.share for w in wide.worth) == pytest.approx(1.0)


def test_straight_lines_agree_with_full_measurement_where_walls_are_flat():
    """Between flat walls every sensitivity is a constant but camber's, which turns its sign with the lean: left out."""
    mockup = between_walls(inboard=138.0, outboard=300.0)
    found = budget(mockup, Uncertainty(stated={"camber": 0.0}), rechecks=3)
    # two brackets of 0.05 each
    assert found.recheck_worst_mm <= 0.11


def test_a_measured_table_is_never_asked_for_more_than_its_rows():
    """A draw with more travel than the table has rows for is measured with what there is."""
    from clearance.answers.budget import reachable

    class Short(type(between_walls().suspension)):
        def pose(self, positions, frame="hub"):
            from clearance.errors import SuspensionError

            if np.asarray(positions)[:, 0].max() > 70.0:
                raise SuspensionError("outside the measured table")
            return super().pose(positions, frame)

    base = between_walls()
    mockup = replace(base, suspension=Short(cycle=base.suspension.cycle))
    from clearance.answers.budget import Source

    sources = [
        Source(name=n, unit="mm", low=-1, high=1, even=False, why="", per_unit=np.ones(1))
        for n in ("backspace", "bump_travel")
    ]
    names = [s.name for s in sources]
    draw = np.ones(len(sources))
    kept = reachable(mockup, sources, draw)
    expected = [0.0 if name in ("bump_travel", "steer") else 1.0 for name in names]
    assert kept.tolist() == expected


def test_sensitivities_are_what_moving_a_little_does():
    """Oracle: each slope against a full measurement a little way off."""
    from clearance.answers.budget import drawn

    mockup = steered()
    gaps = gaps_of(mockup, tolerance_mm=0.01)
    sources = sources_of(mockup, gaps, Uncertainty())
    # the rail is nearest within the travel, so the stops do not come into it
    assert {"backspace", "camber", "steer", "axle_sideways"} <= {s.name for s in sources}
    for k, source in enumerate(sources):
        step = 1.0 if source.unit == "mm" else 0.3
        values = [step if j == k else 0.0 for j in range(len(sources))]
        (full,) = gaps_of(drawn(mockup, sources, values, gaps), tolerance_mm=0.01)
        slope = (full.at_least_mm - gaps[0].at_least_mm) / step
        # brackets of 0.01 over the step, and the curve of the shoulder and of the swing
        assert slope == pytest.approx(float(source.per_unit[0]), abs=0.15), source.name


# ---- load states, chains, spare, duals, cover


def test_a_laden_car_stands_with_its_wheels_further_up():
    """Ceiling 470, radius 350: 120 at ride height; 35 lower leaves 85 and 55 of 90 travel; 200 lower is on the stop."""
    states = load_states(under_ceiling(height=470.0), {"empty": 0.0, "laden": -35.0, "sunk": -200.0})
    gap = {s.name: next(g for g in s.gaps if g.part == "ceiling").at_least_mm for s in states}
    assert gap["empty"] == pytest.approx(120.0, abs=0.06)
    assert gap["laden"] == pytest.approx(85.0, abs=0.06)
    assert gap["sunk"] == pytest.approx(30.0, abs=0.06)
    assert [s.on_stop for s in states] == [False, False, True]
    assert states[1].travel_left_mm == pytest.approx(55.0)


@pytest.mark.parametrize(("name", "tread", "side"), [("S", 37, 15), ("U", 50, 23), ("W", 64, 38)])
def test_chain_classes_take_their_published_room(name, tread, side):
    """SAE J1232 classes as several pages print them: tread face and side wall."""
    assert CHAIN_ROOM_MM[name] == (tread, side)
    mockup = under_ceiling(height=470.0)
    gaps = {g.part: g for g in with_chains(mockup, Chains(name=name, tread_mm=tread, side_mm=side))}
    bare = {g.part: g for g in gaps_of(mockup)}
    assert bare["ceiling"].at_least_mm - gaps["ceiling"].at_least_mm == pytest.approx(tread, abs=0.06)
    assert bare["inner wall"].at_least_mm - gaps["inner wall"].at_least_mm == pytest.approx(side, abs=0.3)
    assert gaps["ceiling"].verdict == ("clears" if tread <= 30 else "hits")


def test_a_spare_in_its_well_is_a_subtraction():
    """Tire 700 x 230 on 7 in, offset 0: lying on its face, 115 over and under the middle; well 720 x 240."""
    rows = {
        r.name: r for r in in_spare_well(between_walls(), SpareWell(diameter_mm=720, depth_mm=240, off_centre_mm=4))
    }
    assert rows["rim of the well"].gap_mm == pytest.approx(720 / 2 - 350 - 4, abs=0.01)
    assert rows["lid"].gap_mm == pytest.approx(240 - 230, abs=0.3)
    assert "floor" not in rows
    up = SpareWell(diameter_mm=720, depth_mm=240, stand_mm=120, face_up=True)
    stood = {r.name: r for r in in_spare_well(between_walls(offset=10.0), up)}
    # offset 10 puts 125 behind the mounting face and 105 before it
    assert stood["floor"].gap_mm == pytest.approx(120 - 125, abs=0.2)
    assert stood["lid"].gap_mm == pytest.approx(240 - 120 - 105, abs=0.2)


def test_duals_stand_twice_the_outset_apart():
    """Trade table: dual spacing is twice the wheel's outset; 130 is 260 apart, 230 wide, 30 between, 16.2 bulged."""
    mockup = between_walls(offset=-130.0)
    new, loaded = between_duals(mockup, Duals(bulge=0.06, required_mm=19.0))
    assert new.gap_mm == pytest.approx(30.0)
    assert loaded.gap_mm == pytest.approx(30.0 - 13.8)
    assert not loaded.enough
    with pytest.raises(InputError, match="spacing"):
        between_duals(between_walls(offset=20.0), Duals())


def covered(outboard, from_deg=-80.0, to_deg=80.0):
    edge = lip(Tag(name="arch"), outboard_mm=outboard, radius_mm=420.0, from_deg=from_deg, to_deg=to_deg)
    return replace(between_walls(), parts=(edge,))


def test_a_body_that_reaches_past_the_tire_from_30_ahead_to_50_behind_keeps_the_rule():
    """78/549/EEC as quoted second-hand: 30 deg ahead to 50 behind. Tire out to 115; arch to 120 covers by 5."""
    found = cover(covered(120.0), Coverage())
    assert found.kept
    assert found.least_mm == pytest.approx(5.0, abs=0.01)
    assert not cover(covered(112.0), Coverage()).kept
    assert cover(covered(112.0), Coverage(protrude_mm=3.5)).kept


def test_an_arch_that_ends_too_soon_leaves_degrees_bare():
    found = cover(covered(120.0, from_deg=-40.0), Coverage())
    assert not found.kept
    assert found.bare_deg[0] == -50.0
    assert len(found.bare_deg) == pytest.approx(10, abs=1)


def test_the_reach_of_a_triangle_in_a_half_plane():
    sheet = np.array([[[-100.0, 0.0, 300.0], [100.0, 0.0, 300.0], [0.0, 80.0, 300.0]]])
    assert outermost_mm(sheet, 0.0) == pytest.approx(80.0)
    assert outermost_mm(sheet, 90.0) is None


# ---- sections


def agreed(tables):
    """These sections, as a mock-up carries them."""
    return read(AgreedTables, tables, ()).value()


def test_sections_are_read_with_their_units_and_refused_with_their_key():
    found = agreed(
        {
            "load_states": {"laden": "-35 mm"},
            "limits": {
                "spacer": "1 in",
                "camber": "2 deg",
                "steering_stop": False,
                "backspace": {"least": "3 in", "most": "6 in"},
            },
            "sold": {"spacer": ["3 mm", "5 mm"], "bump_stop": "1/4 in"},
            "uncertainty": {"backspace": "1.5 mm", "part": {"lip": "1 mm"}},
            "load": {"corner": "1000 lb"},
            "chains": {"class": "u"},
            "order": {"quantity": 5, "thread": "1/2-20"},
        }
    )
    assert found.load_states_mm == {"laden": -35.0}
    assert found.limits.spacer_mm == pytest.approx(25.4)
    assert found.limits.camber_deg == (-2.0, 2.0)
    assert found.limits.steering_stop_deg is None
    assert found.sold.bump_stop_mm.step == pytest.approx(6.35)
    assert found.load.corner_kg == pytest.approx(453.59237)
    assert (found.chains.tread_mm, found.chains.side_mm) == (50.0, 23.0)
    assert found.uncertainty.part_mm == {"lip": 1.0}


@pytest.mark.parametrize(
    ("tables", "key"),
    [
        ({"limits": {"spacr": "3 mm"}}, "limits.spacr"),
        ({"limits": {"spacer": "3"}}, "limits.spacer"),
        ({"limits": {"camber": {"least": "1 deg", "most": "-1 deg"}}}, "limits.camber"),
        ({"limits": "all"}, "limits"),
        ({"sold": {"spacer": []}}, "sold.spacer"),
        ({"uncertainty": {"backspace": "-1 mm"}}, "uncertainty.backspace"),
        ({"load": {"corner": "heavy"}}, "load.corner"),
        ({"order": {"quantity": 0}}, "order.quantity"),
        ({"chains": {"class": "Z"}}, "chains.class"),
        ({"spare_well": {"depth": "20 cm"}}, "spare_well.diameter"),
        ({"spare_well": {"diameter": "700 mm", "depth": "20 cm", "face": "sideways"}}, "spare_well.face"),
        ({"duals": {"bulge": "6"}}, "duals.bulge"),
        ({"load_states": {"laden": 35}}, "load_states.laden"),
        ({"uncertainty": {"part": {"inner wall": "-1 mm"}}}, "uncertainty.part.inner wall"),
        ({"chains": {"class": "S", "tread": "30 mm"}}, "chains"),
        ({"chains": {"tread": "30 mm"}}, "chains"),
        ({"limits": {"rim_widths": []}}, "limits.rim_widths"),
        ({"order": {"thread": "M12"}}, "order.thread"),
    ],
)
def test_a_section_that_cannot_be_used_says_which_key(tables, key):
    with pytest.raises(Refusal) as refused:
        agreed(tables)
    assert path_text(refused.value.path) == key
