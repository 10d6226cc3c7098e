"""Twelve sheets filled by hand, each with the one gap that a pencil finds, to a millimetre.

The sums all stand on two lengths. With the rim over its flanges w = F + 1 in, the wheel's middle is G - w/2 inboard of
the hub face, and so the tire's inner flank stands

    in = G - w/2 + C/2

inboard of it. A surface that stands upright d inboard is d - in away, where the tire is upright too; a flat roof V
above the hub is V - B/2 away. Of a corner whose links were not measured only what goes with the wheel keeps its
distance; of one that only stands, or goes by a table straight up, everything that is upright does.
"""

import csv
import io

import pytest

from clearance.answers.room import where_it_stands
from clearance.description.load import of_text
from clearance.door.measuring import corner_files, measuring
from clearance.gap.cycle import over_cycle
from clearance.report.forms import form_of
from clearance.report.measuring_sheet import answers_csv

A_MILLIMETRE = 1.0
"""A pencil rounds sixteenths to tenths of a millimetre and the sum has three of them."""


def corner_of(folder, kind, unit, cells, between=","):
    """The corner of a blank sheet of this kind whose cells are filled as a person writes them."""
    form = form_of(kind)
    head, *rows = csv.reader(io.StringIO(answers_csv(form, unit=unit).decode()))
    filled = dict(pair.split("=", 1) for pair in cells.split("; "))
    rows = [[*row[:3], filled.get(row[0], row[3]), *row[4:]] for row in rows]
    assert set(filled) <= {row[0] for row in rows}
    out = io.StringIO()
    csv.writer(out, delimiter=between).writerows([head, *rows])
    path = folder / "filled.csv"
    path.write_text(out.getvalue(), encoding="utf-8")
    files, _ = corner_files(measuring(filled=path, title="by hand"), folder / "c.toml")
    return of_text(files["c.toml"].decode(), folder / "c.toml")


def gap_of(folder, kind, unit, part, cells, between=","):
    """The gap (at least, at most) of one part of that corner."""
    corner = corner_of(folder, kind, unit, cells, between)
    standing = form_of(kind).depth == "standing"
    found = where_it_stands(corner) if standing else over_cycle(corner, parts=[part])
    gap = next(one for one in found if one.part == part)
    return gap.at_least_mm, gap.at_most_mm


def about(mm):
    return pytest.approx((mm, mm), abs=A_MILLIMETRE)


# ---- as it stands


def test_a_leaf_sprung_rear_as_it_stands_to_its_inner_wall(tmp_path):
    """w = 7 + 1 = 8 in; in = 3 3/4 - 4 + 9 3/8 / 2 = 4.4375 in = 112.7 mm. Wall at 7 in = 177.8: 65.1 mm."""
    cells = "A=235/75R15; B=28 7/8; C=9 3/8; F=7; G=3 3/4; R=7; S=6 1/2; T=17; T1=17; corner=rear-left"
    assert gap_of(tmp_path, "rear-leaf standing", "in", "inner wall", cells) == about(65.1)


def test_a_strut_as_it_stands_in_millimetres_to_its_inner_wall(tmp_path):
    """w = 6.5 + 1 in = 190.5 mm; in = 140 - 95.25 + 205/2 = 147.25. Wall at 180: 32.75 mm, right as left."""
    cells = "B=632; C=205; E=16 in; F=6,5; G=140; R=180; S=100; T=390; T1=390; corner=front-right"
    assert gap_of(tmp_path, "front-strut standing", "mm", "inner wall", cells, ";") == about(32.75)


def test_several_links_as_they_stand_to_the_roof(tmp_path):
    """The tire stands 26 / 2 = 13 in above the hub; the roof at 18 1/4: 5 1/4 in = 133.35 mm."""
    cells = (
        "A=225/60R16; B=26; C=9; D=7; F=7 1/2; G=5 1/2; R=8; S=5; T=15; T1=15; U=1/2; V=18¼; W=18; X=18;"
        " corner=rear-right"
    )
    assert gap_of(tmp_path, "rear-multi-link standing", "in", "well crown", cells) == about(133.35)


def test_an_axle_that_hung_meanwhile_has_its_roof_put_right(tmp_path):
    """T1 - T = 18 1/2 - 16 = 2 1/2 in that the hub hung: the roof read at 21 stands 18 1/2 above it at ride height.

    18.5 - 28/2 = 4.5 in = 114.3 mm.
    """
    cells = "A=215/75R15; B=28; C=8 1/2; F=6; G=3 1/2; R=7 1/2; S=6; T=16; T1=18 1/2; V=21; corner=front-left"
    assert gap_of(tmp_path, "front-leaf standing", "in", "well crown", cells) == about(114.3)


def test_a_swing_axle_as_it_stands_to_its_frame_rail(tmp_path):
    """w = 5 + 1 in = 152.4 mm; in = 115 - 76.2 + 165/2 = 121.3. The rail at 15 cm, beside the tire: 28.7 mm."""
    cells = "B=64 cm; C=16,5 cm; E=15 in; F=5; G=11.5; R=22; S=10; T=39; T1=39; Z=15; Z1=5; Z2=18; corner=rear-left"
    assert gap_of(tmp_path, "rear-swing-axle standing", "cm", "frame rail", cells, "\t") == about(28.7)


# ---- by travel: what goes with the wheel keeps its distance


def test_a_leaf_spring_keeps_its_distance_all_the_way(tmp_path):
    """in = 4.4375 in as above; the spring at 5 7/8: 1.4375 in = 36.5 mm, at every height and however the axle tilts."""
    cells = (
        "A=235/75R15; B=28 7/8; C=9 3/8; F=7; G=3 3/4; J=3 1/2; K=3; K1=60; R=9; S=6 1/2; T=17; T1=17; Y=5 7/8;"
        " corner=rear-left"
    )
    assert gap_of(tmp_path, "rear-leaf", "in", "leaf spring", cells) == about(36.5)


def test_a_strut_turns_with_the_wheel(tmp_path):
    """w = 7 + 1 in; in = 5 3/4 - 4 + 8 3/4 / 2 = 6.125 in; the strut at 6 5/8: 1/2 in = 12.7 mm, at both locks too."""
    cells = (
        "A=225/50R16; B=24 7/8; C=8 3/4; F=7; G=5 3/4; J=2 1/2; K=3; L=36; M=30; R=12; S=4; T=15; T1=15; Y=6 5/8;"
        " Y1=-2; corner=front-left"
    )
    assert gap_of(tmp_path, "front-strut", "in", "strut", cells) == about(12.7)


def test_a_steered_axle_carries_its_spring(tmp_path):
    """w = 152.4 + 25.4 = 177.8 mm; in = 95 - 88.9 + 215/2 = 113.6.

    The spring is on the axle and the wheel turns about its kingpin, so only a locked wheel keeps its distance: standing
    straight ahead the spring at 160 is 160 - 113.6 = 46.4 mm away, and never more than that over the cycle.
    """
    cells = (
        "B=720; C=215; E=15 in; F=6; G=95; J=70; K=80; K1=1500; L=30; M=28; R=240; S=130; T=420; T1=420; Y=160;"
        " corner=front-left"
    )
    least, most = gap_of(tmp_path, "front-leaf", "mm", "leaf spring", cells)
    assert least <= most <= 46.4 + A_MILLIMETRE
    standing = cells.replace("J=70; K=80; K1=1500; L=30; M=28; ", "")
    assert gap_of(tmp_path, "front-leaf standing", "mm", "leaf spring", standing) == about(46.4)


def test_what_stands_on_the_knuckle_of_wishbones_keeps_its_distance(tmp_path):
    """w = 8 + 1 = 9 in; in = 5 1/2 - 4 1/2 + 9 5/8 / 2 = 5.8125 in; it stands at 6 1/2: 0.6875 in = 17.5 mm."""
    cells = (
        "A=245/45R17; B=25 5/8; C=9 5/8; F=8; G=5 1/2; J=2 3/4; K=3; R=11; S=5; T=15 1/2; T1=15 1/2; Y=6½; Y1=-3;"
        " corner=rear-right"
    )
    assert gap_of(tmp_path, "rear-wishbones", "in", "strut", cells) == about(17.5)


# ---- by links: a table of positions that goes straight up


def rows_of(*rows):
    """The table's cells: bump, across, along, camber and toe of five heights."""
    return "; ".join(f"P1.{number}={row}" for number, row in enumerate(rows, start=1))


def straight_up(*heights):
    """The hub rises and nothing else changes."""
    return rows_of(*(f"{height} mm, 0 mm, 0 mm, 0 deg, 0 deg" for height in heights))


def test_a_trailing_arm_that_rises_straight_keeps_its_wall(tmp_path):
    """w = 5.5 + 1 in = 165.1 mm; in = 120 - 82.55 + 185/2 = 129.95; the wall at 170: 40.05 mm at every height."""
    cells = "B=600; C=185; E=14 in; F=5,5; G=120; J=60; K=60; R=170; S=100; T=380; T1=380; corner=rear-left; "
    table = straight_up(-60, -30, 0, 30, 60)
    found = gap_of(tmp_path, "rear-trailing-arm links table", "mm", "inner wall", cells + table, ";")
    assert found == about(40.05)


def test_a_twist_beam_is_nearest_to_its_roof_at_full_bump(tmp_path):
    """The tire stands 23 1/2 / 2 = 11.75 in above the hub and rises 2 3/4 more; the roof at 17 1/2: 3 in = 76.2 mm."""
    cells = (
        "A=195/60R14; B=23 1/2; C=8; F=6; G=5; J=2 3/4; K=2 1/2; R=10; S=5; T=15; T1=15; U=1/2; V=17 1/2; W=18; X=18;"
        " corner=rear-right; "
    )
    table = straight_up(-70, -35, 0, 35, 70)
    assert gap_of(tmp_path, "rear-twin-beam links table", "in", "well crown", cells + table) == about(76.2)


def test_several_links_that_pull_the_hub_in_take_it_off_the_wall(tmp_path):
    """w = 8.5 + 1 in = 241.3 mm; in = 165 - 120.65 + 245/2 = 166.85; the wall at 195: 28.15 mm at ride height.

    The hub goes 6 mm inboard over 60 mm of bump, so at full bump 28.15 - 6 = 22.15 mm are left.
    """
    cells = "B=660; C=245; E=18 in; F=8 1/2; G=165; J=60; K=60; R=195; S=120; T=390; T1=390; corner=rear-left; "
    table = rows_of(*(f"{h} mm, {-h / 10:g} mm, 0 mm, 0 deg, 0 deg" for h in (-60, -30, 0, 30, 60)))
    assert gap_of(tmp_path, "rear-multi-link links table", "mm", "inner wall", cells + table) == about(22.15)


# ---- what a sheet once left out, and the answer flattered


AXLE = (
    "A=235/75R15; B=28 7/8; C=9 3/8; F=7; G=3 3/4; J=3 1/2; K=3; K1=60; R=7; S=6 1/2; T=17; T1=17; Z=9; Z1=3; Z2=8;"
    " corner=rear-left"
)


@pytest.mark.parametrize(("kind", "also"), [("rear-leaf", "Y=6 1/2"), ("rear-links", "")])
def test_an_axle_of_one_piece_tilts_whether_or_not_its_links_were_measured(kind, also, tmp_path):
    """Tilted by 6 1/2 in over a track of 60, 6.2 deg; the tire's top, 14.4 in above its hub, leans 1.56 in = 39 mm.

    So much nearer to an upright wall at the least, less what the hub itself goes out (60/2 (1 - cos 6.2 deg) = 4 mm).
    Upright the wall is 65.1 mm away.
    """
    cells = "; ".join(one for one in AXLE.split("; ") if also or not one.startswith("Z")) + (
        "; " + also if also else ""
    )
    corner = corner_of(tmp_path, kind, "in", cells)
    assert corner.suspension.cycle.other_bump_mm != (0.0, 0.0)
    least, _ = gap_of(tmp_path, kind, "in", "inner wall", cells)
    assert least < 65.1 - (39.0 - 4.0) + A_MILLIMETRE


def test_a_wall_without_a_bottom_ends_at_the_road(tmp_path):
    """A tire 28 7/8 in high stands with its hub at most 14 7/16 in = 366.7 mm above the road; 15 for what grows."""
    wall = corner_of(tmp_path, "rear-leaf", "in", AXLE + "; Y=6 1/2").part("inner wall")
    assert wall.triangles_mm[..., 2].min() == pytest.approx(-381.7, abs=A_MILLIMETRE)


def test_a_strut_ends_where_it_ends(tmp_path):
    """It is no wall on the knuckle: it begins at Y1, 2 in below the hub = 50.8 mm, and only its top is not known."""
    cells = (
        "A=225/50R16; B=24 7/8; C=8 3/4; F=7; G=5 3/4; J=2 1/2; K=3; L=36; M=30; R=12; S=4; T=15; T1=15; Y=6 5/8;"
        " Y1=-2; corner=front-left"
    )
    strut = corner_of(tmp_path, "front-strut", "in", cells).part("strut")
    assert strut.endless == ("above",)
    corners = strut.triangles_mm.reshape(-1, 3)
    assert corners[:, 2].min() == pytest.approx(-50.8, abs=A_MILLIMETRE)
    assert corners[:, 0].max() - corners[:, 0].min() < 250.0
