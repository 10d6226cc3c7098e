"""The ends of every kind of number that a corner file holds, each with a word on where they come from.

A key is declared with one of these, once, where the key is. "From memory" is not looked up; "common practice" is
a fact of the trade without a published source. Trucks are meant too, so the hard ends are wide; what only a truck has
can be unusual.
"""

from __future__ import annotations

from clearance.ends.ends import Circle, Ends, Point

WIDTH = "a road vehicle is at most 2.6 m wide (96/53/EC, 23 CFR 658.15; from memory)"
LENGTH = "a road vehicle is at most 12 m long (96/53/EC; from memory)"
TRADE = "common practice"
SHOP = "what shops sell and do (common practice)"
TAPE = "what a tape and a scan are good to (common practice)"
RIMS = "codes 8 to 30 of UN R30, widths of ISO 4000-2 and makers' lists (from memory)"
TIRES = "5.20-10 to 16.00R20 and 445/50R22.5, makers' lists (from memory)"
CONTOURS = "B 10.0 by 14.5 mm, J 11.0 by 17.5 mm (JIS D 4218:2021); truck flanges (from memory)"
CIRCLES = "trade tables: 3 x 112 to 10 x 335 mm"
CHAIN_CLASSES = "SAE J1232: up to 64 mm over the tread, 38 mm beside (second-hand)"


def _mm(
    what: str, least: float, most: float, usual: tuple[float, float], source: str = TRADE, *, minus: str = ""
) -> Ends:
    return Ends(what=what, least=least, most=most, usual=usual, unit="mm", source=source, minus=minus)


def _deg(
    what: str, least: float, most: float, usual: tuple[float, float], source: str = TRADE, *, minus: str = ""
) -> Ends:
    return Ends(what=what, least=least, most=most, usual=usual, unit="deg", source=source, minus=minus)


def _count(what: str, least: float, most: float, usual: tuple[float, float], source: str, *, of: str) -> Ends:
    return Ends(what=what, least=least, most=most, usual=usual, unit="", source=source, of=of)


INBOARD = "a minus sign is inboard, toward the middle of the car"
BEHIND = "a minus sign is behind the hub"
BELOW = "a minus sign is below the hub"

# ---- what rolls

RIM_DIAMETER = Ends(what="a rim diameter", least=8, most=30, usual=(10, 24.5), unit="in", source=RIMS)
RIM_WIDTH = Ends(what="a rim width", least=2, most=20, usual=(3.5, 14), unit="in", source=RIMS)
OVERALL_DIAMETER = _mm("an overall diameter", 380, 1500, (500, 1120), TIRES)
SECTION_WIDTH = _mm("a section width", 90, 620, (120, 400), TIRES)
TREAD_WIDTH = _mm("a tread width", 50, 580, (80, 360), TIRES)
GROWTH = _mm("a growth", 0, 80, (0, 40), "a bias slick gains 25 to 38 mm at speed (a maker, second-hand)")
CHAIN_TREAD = _mm("room over the tread", 0, 120, (5, 64), CHAIN_CLASSES)
CHAIN_SIDE = _mm("room beside the tire", 0, 80, (3, 38), CHAIN_CLASSES)
BACKSPACE = _mm("a backspace", 0, 350, (40, 240), "rims of the same lists, with the offsets below")
OFFSET = _mm(
    "an offset",
    -200,
    200,
    (-80, 80),
    "deep-dished -134 mm to duals 175 mm, makers' lists (from memory)",
    minus="a minus sign puts the wheel further outboard",
)
FLANGE_THICKNESS = _mm("a flange thickness", 5, 40, (9, 20), CONTOURS)
FLANGE_HEIGHT = _mm("a flange height", 6, 60, (11, 45), CONTOURS)
BARREL = _mm("a barrel", 120, 740, (190, 600), "the rims above, less their wells")
FACE = _mm("a wheel face", 1, 400, (5, 230), "the rims above, with the offsets above")
STUDS = _count("a bolt circle's count", 3, 12, (4, 10), CIRCLES, of="wheel")
BOLT_CIRCLE = _mm("a bolt circle", 70, 350, (95, 340), CIRCLES)
CIRCLE = Circle(studs=STUDS, diameter=BOLT_CIRCLE)
CENTER_BORE = _mm("a center bore", 30, 300, (50, 285), "54.1 to 281.2 mm, trade tables (from memory)")

# ---- the well

REQUIRED = _mm("a required gap", 0, 200, (0, 100), "trailers ask for 100 mm over the tire (common practice)")
THICKNESS = _mm("a thickness", 0, 80, (0, 15))
UNCERTAINTY = _mm("an uncertainty", 0, 100, (0, 20), TAPE)
ACROSS_WELL = _mm("a distance inboard of the hub face", 0, 1300, (40, 700), WIDTH)
OUT_OF_WELL = _mm("a distance outboard of the hub face", 0, 600, (0, 300), WIDTH)
SHEET_AHEAD = _mm("a way ahead of the hub", -3000, 6000, (0, 2000), LENGTH, minus="a minus sign ends it behind the hub")
SHEET_BEHIND = _mm(
    "a way behind the hub", -3000, 6000, (0, 2000), LENGTH, minus="a minus sign ends it ahead of the hub"
)
SHEET_ABOVE = _mm("a way above the hub", -1500, 3000, (-250, 1200), minus="a minus sign ends it below the hub")
SHEET_BELOW = _mm("a way below the hub", -1500, 3000, (-250, 1200), minus="a minus sign ends it above the hub")
END_SHEET = _mm("a distance along the car", 100, 3000, (200, 1000), "the tires above, and their wells")
BOTTOM = _mm("a depth below the hub", 0, 1200, (0, 500))
CROWN_HEIGHT = _mm("a crown's height", 50, 1800, (220, 900), "the tires above, and their wells")
CROWN_RADIUS = _mm("a crown's radius", 100, 2000, (220, 800), "the tires above, and their wells")
ARCH_RADIUS = _mm("an arch's radius", 100, 2000, (220, 800), "the tires above, and their wells")
EDGE = _mm("a distance outboard of the hub face", -600, 700, (-50, 300), WIDTH, minus=INBOARD)
PANEL_HEIGHT = _mm("a height above the hub", -600, 1800, (-200, 900), minus=BELOW)
LEAN_HEIGHT = _mm("a height above the hub", -1000, 1800, (-400, 900), minus=BELOW)
ARCH_ANGLE = _deg("an angle around the arch", -360, 360, (-120, 120), minus="a minus sign is behind the top")
RETURN_DEPTH = _mm("a return's depth", 0, 150, (0, 45))
RETURN_ANGLE = _deg("a return's angle", -180, 180, (-90, 110), minus="a minus sign hangs toward the tire")
TRIM = _mm("a trim's thickness", 0, 60, (0, 15))
BAR_DIAMETER = _mm("a bar's diameter", 1, 400, (4, 200), "a brake hose to a silencer (common practice)")
CYLINDER_DIAMETER = _mm(
    "a cylinder's diameter", 5, 1200, (30, 650), "a damper's body to a truck's fuel tank (common practice)"
)
BOX_TURN = _deg("a box's turn", -360, 360, (-90, 90))

PART_POINT = Point(
    what="a point in the well",
    axes={
        "ahead": _mm("a point in the well", -6000, 6000, (-1500, 1500), LENGTH, minus=BEHIND),
        "outboard": _mm("a point in the well", -2600, 700, (-1400, 350), WIDTH, minus=INBOARD),
        "above": _mm("a point in the well", -1500, 3000, (-600, 1200), TRADE, minus=BELOW),
    },
)
ARCH_POINT = Point(
    what="a point of an arch",
    axes={
        "ahead": _mm("a point of an arch", -2000, 2000, (-800, 800), minus=BEHIND),
        "above": _mm("a point of an arch", -1000, 1800, (-400, 800), minus=BELOW),
    },
)
ARCH_CENTRE = Point(
    what="an arch's centre",
    axes={
        "ahead": _mm("an arch's centre", -600, 600, (-100, 100), minus=BEHIND),
        "above": _mm("an arch's centre", -600, 800, (-100, 200), minus=BELOW),
    },
)

# ---- scans

SCAN_NUMBER = _count(
    "a number of the scan", -1e7, 1e7, (-1e5, 1e5), "survey coordinates; 100 m of a scan in millimetres", of="scan"
)
SCAN_POINT = Point(what="a point of the scan", axes=dict.fromkeys("xyz", SCAN_NUMBER))
SCAN_DISTANCE = _mm("a distance in the scan", 20, 12000, (50, 3000), LENGTH)
PICKED_WITHIN = _mm("how well points were picked", 0, 100, (0, 10), TAPE)
LEVEL_WITHIN = _deg("how well up is known", 0, 30, (0, 5), TAPE)
PICKED_CIRCLE = _mm("a circle through picked points", 30, 900, (60, 450), "hubs and rotors (common practice)")
FACE_OUTBOARD = _mm("a way out to the mounting face", -200, 200, (-60, 60), minus=INBOARD)
REGION_RADIUS = _mm("a region's radius", 5, 1500, (20, 450))
REGION_ALONG_AXLE = _mm("a place along the axle", -3000, 1000, (-900, 400), WIDTH, minus=INBOARD)
REGION_POINT = Point(
    what="a region of the scan",
    axes={
        "ahead": _mm("a region of the scan", -12000, 12000, (-3000, 3000), LENGTH, minus=BEHIND),
        "outboard": _mm("a region of the scan", -12000, 12000, (-3000, 3000), LENGTH, minus=INBOARD),
        "above": _mm("a region of the scan", -12000, 12000, (-3000, 3000), LENGTH, minus=BELOW),
    },
)
STRAY = _mm("a stray piece", 0, 1000, (0, 200), TAPE)
TRIANGLES = _count("a number of triangles", 4, 5e7, (1000, 5e6), TAPE, of="scan")
BALL_RADIUS = _mm("a point's radius", 0.05, 100, (0.2, 30), TAPE)

# ---- motion

TRAVEL = _mm("a wheel's travel", 0, 600, (10, 250), "racing trucks go 900 mm in all (from memory)")
ARTICULATION = _mm("an articulation", 0, 1200, (10, 500), "twice the travel above")
PLAY = _mm("play and flex", 0, 60, (0, 20), "6 mm for leaf springs, 13 mm worn (a proposal, common practice)")
CAMBER = _deg("a camber", -20, 20, (-6, 6), minus="a minus sign leans the top inboard")
TOE = _deg("a toe", -8, 8, (-1.5, 1.5), minus="a minus sign is toe-out")
CAMBER_PER_100 = _deg(
    "camber in 100 mm of bump",
    -30,
    30,
    (-12, 12),
    "a swing axle of 500 mm: 11 deg",
    minus="a minus sign leans the top in",
)
TOE_PER_100 = _deg("toe in 100 mm of bump", -10, 10, (-2, 2), minus="a minus sign is toe-out")
MOVE_PER_100 = _mm("a move in 100 mm of bump", -150, 150, (-40, 40), minus="a minus sign is inboard, or back")
BOUND_PER_100 = _mm("a bound on a move in 100 mm of bump", 0, 150, (1, 50))
TURN_BOUND_PER_100 = _deg("a bound on a turn in 100 mm of bump", 0, 30, (0.2, 15))
ROLL_CENTRE = _mm("a way from the hub to a roll centre", 0, 1000, (0, 450), "ground to above the axle (from memory)")
AXIS_WITHIN = _mm("how well the steering axis is known", 0, 200, (0, 60), TAPE)
AXIS_TURNED_WITHIN = _deg("how well the steering axis's lean is known", 0, 30, (0, 12), TAPE)
ROW_BUMP = _mm("a row's bump", -600, 600, (-250, 250), "the travel above", minus="a minus sign is droop")
ROW_ACROSS = _mm("a row's across", -1500, 1500, (-1000, 1000), WIDTH, minus=INBOARD)
ROW_ALONG = _mm("a row's along", -1500, 1500, (-1000, 1000), minus="a minus sign is back")
ROW_CAMBER = _deg("a row's camber", -30, 30, (-12, 12), minus="a minus sign leans the top inboard")
ROW_TOE = _deg("a row's toe", -15, 15, (-3, 3), minus="a minus sign is toe-out")
ROW_STEER = _deg("a row's steer", -65, 65, (-50, 50), minus="a minus sign is to the right")
LOCK = _deg("a lock angle", 0, 65, (5, 50), "35 to 45 deg inner, 28 to 34 deg outer wheel (from memory)")
RACK = _mm("a rack's travel", 0, 250, (20, 120), "60 to 90 mm each way on cars (from memory)")
INCLINATION = _deg(
    "a kingpin inclination", -15, 35, (0, 20), "8 to 15 deg (from memory)", minus="a minus sign leans the top out"
)
CASTER = _deg("a caster", -20, 30, (-4, 14), "2 to 8 deg (from memory)", minus="a minus sign leans the top ahead")
HARDPOINT = Point(
    what="a hardpoint",
    axes={
        "ahead": _mm("a hardpoint", -3000, 3000, (-1500, 1500), "truck arms of 1.3 m (from memory)", minus=BEHIND),
        "outboard": _mm("a hardpoint", -2600, 300, (-1600, 60), WIDTH, minus=INBOARD),
        "above": _mm("a hardpoint", -1000, 1500, (-500, 800), minus=BELOW),
    },
)
SWING_ARM = _mm("a swing arm", 200, 50000, (400, 6000), "a half axle to nearly parallel arms (from memory)")
CENTRE_ABOVE = _mm("an instant centre's height", -3000, 3000, (-600, 600), minus=BELOW)
WHEELBASE = _mm("a wheelbase", 1000, 9000, (1700, 4500), LENGTH)
TRACK = _mm("a track", 600, 2600, (1000, 2150), WIDTH)
BUSHING = _mm("a bushing's give", 0.1, 60, (1, 25))
FLEX = _mm("sideways flex", 0, 60, (0, 20), "6 to 12 mm under 4 to 6 kN for leaf springs (from memory)")
HALF_LEAF = _mm("half a leaf spring", 150, 1500, (300, 900), "springs of 0.9 to 1.6 m (from memory)")
ARCH = _mm("a spring's arch", -400, 500, (-100, 250), minus="a minus sign is bent the other way")
CLAMP = _mm("a clamp's length", 20, 500, (50, 250))
SPRING_INBOARD = _mm("a spring's distance from the hub face", 0, 1300, (60, 700), WIDTH)
SPRING_ABOVE = _mm("a spring's height", -600, 600, (-250, 250), minus=BELOW)
BAR_LENGTH = _mm("a track bar", 150, 2600, (400, 1300), WIDTH)
BAR_DROP = _mm("a track bar's drop", -800, 800, (-250, 250), minus="a minus sign has the axle's end above")
BAR_HEIGHT = _mm("a track bar's height", -800, 1000, (-250, 400), minus=BELOW)

# ---- what the answers read

BODY_HEIGHT = _mm("a change of ride height", -300, 300, (-130, 130), minus="a minus sign is a body further down")
SPACER = _mm("a spacer", 0, 200, (0, 60), SHOP)
GIVEN_UP = _mm("travel given up", 0, 600, (0, 120), SHOP)
LOCK_GIVEN_UP = _deg("lock given up", 0, 65, (0, 25), SHOP)
RACK_PER_DEG = _mm("rack travel per degree", 0.1, 20, (0.8, 5), "60 to 90 mm for 30 to 40 deg (from memory)")
RAISED = _mm("a raised ride height", 0, 400, (0, 150), SHOP)
LIP_ROLL = _mm("a rolled lip's gain", 0, 80, (0, 25), "13 mm (common practice)")
LIP_TRIM = _mm("a trimmed lip's gain", 0, 80, (0, 30), "19 mm (common practice)")
AXLE_ACROSS = _mm("a move of the axle across the car", 0, 80, (0, 25), "shims, a track bar's end (common practice)")
HOURS = _count("a number of hours", 0, 500, (0, 40), SHOP, of="job on one axle")
MONEY = _count("a sum of money", 0, 1e8, (0, 1e5), "in any money, the same throughout", of="job on one axle")
PER_HOUR = _count("an hour's price", 0.01, 1e7, (5, 10000), "in any money, the same throughout", of="shop")
STEP = _mm("a step", 0.05, 150, (0.2, 60), SHOP)
STEP_ANGLE = _deg("a step", 0.01, 20, (0.05, 5), SHOP)
MEASURED_WITHIN = _mm("an uncertainty", 0, 100, (0, 20), TAPE)
ANGLE_WITHIN = _deg("an uncertainty", 0, 15, (0, 2), "an angle finder reads to 0.1 deg (common practice)")
CORNER_LOAD = Ends(
    what="a corner's load",
    least=20,
    most=6500,
    usual=(100, 2500),
    unit="kg",
    source="an axle carries at most 13 t (23 CFR 658.17, 96/53/EC; from memory)",
)
SPEED = Ends(
    what="a speed", least=5, most=500, usual=(50, 330), unit="km/h", source="UN R30: symbols to (Y), over 300 km/h"
)
WHEELS = _count("a number of wheels", 1, 500, (1, 12), SHOP, of="order")
STUD_LENGTH = _mm("a stud's length", 5, 250, (15, 100), SHOP)
SEAT_DEPTH = _mm("a seat's depth", 0, 100, (2, 30), SHOP)
MADE_WITHIN = _mm("a tolerance", 0, 25, (0, 4), SHOP)
SPARE_DIAMETER = _mm("a spare well's diameter", 300, 1800, (450, 1150), TIRES)
SPARE_DEPTH = _mm("a spare well's depth", 40, 800, (90, 400), TIRES)
SPARE_STAND = _mm("a spare's stand", 0, 500, (0, 200))
OFF_CENTRE = _mm("a hold-down's distance from the middle", 0, 400, (0, 60))
DUAL_SPACING = _mm("a dual spacing", 100, 800, (200, 450), "10.0 in for 225/70R19.5 to 14 in (trade table)")
BULGE = Ends(
    what="a bulge", least=0, most=0.3, usual=(0.02, 0.12), unit="%", source="4 to 8 % at rated load (from memory)"
)
COVER_ANGLE = _deg("an angle of cover", 0, 180, (0, 100), "30 and 50 deg (78/549/EEC, second-hand)")
PROTRUDE = _mm("how far the tire may stand out", -200, 200, (-30, 30), minus="a minus sign asks for that much cover")
TO_SPRING = _mm("hub face to spring", 0, 1300, (40, 600), WIDTH)
TO_LIP = _mm("hub face to lip", 0, 700, (10, 300), WIDTH)
