"""The letters of the measuring sheet: every dimension that a tape can give, in the order in which it is taken.

The printed sheet and the interview both read this list and nothing else, so they cannot drift apart.

* sheet  - what carries the wheel: "rear-leaf", "front-strut" and so on; `forms` has them all
* letter - one dimension: its letter on the drawing, what it is, how it is taken safely, what holds when it is left out
* mark   - where a letter stands on the drawing: a dimension line between two points of one view

Lengths are millimetres, angles degrees. Marks are in corner axes of a left corner whose wheel is the drawing's own
(`drawn.py`): a view "behind" shows (outboard, above), "side" (ahead, above), "bench" the bare wheel and tire as a
profile (along the axle, away from it).
"""

from __future__ import annotations

from dataclasses import dataclass

from clearance.ends import families
from clearance.ends.ends import Circle, Ends, turned_over
from clearance.ends.ends import Point as EndsOfPoint
from clearance.units import both
from clearance.well.part_kinds import BESIDE_MM, FINGER_MM, WITH_THE_WHEEL_MM

LEAF = ("rear-leaf", "front-leaf")
LINKS = ("rear-links", "rear-de-dion", "front-links")
AXLES = (*LEAF, *LINKS)
"""A rigid axle from wheel to wheel."""
REAR_WHEELS = (
    "rear-trailing-arm", "rear-semi-trailing-arm", "rear-multi-link", "rear-wishbones", "rear-swing-axle",
    "rear-twin-beam",
)  # fmt: skip
FRONT_WHEELS = ("front-wishbones", "front-strut")
FRONT = (*FRONT_WHEELS, "front-leaf", "front-links")
EVERY = (*AXLES, *REAR_WHEELS, *FRONT_WHEELS)
UPRIGHTS = (*FRONT_WHEELS, "rear-multi-link", "rear-wishbones")
"""On an upright of its own, with ball joints."""

STANDING, TRAVEL_DEPTH, LINKS_DEPTH = "standing", "travel", "links"
DEPTHS = {
    STANDING: "as it stands: the wheel, the tire and the well; nothing is known of the travel",
    TRAVEL_DEPTH: "by travel: bump, droop, track and locks; whatever the links may do is in the answer",
    LINKS_DEPTH: "by links: the points that the suspension swings on, or a table of measured positions",
}
"""How much is measured, and what the answer then stands on."""

AXLE_LETTERS = ("K1", "K2")
"""Of the whole axle; of tire and wheel one is ordered for both sides; all else is of one side."""

LENGTH = "length"
ANGLE = "angle"
MARKING = "marking"
BOLTS = "bolt circle"
PLACE = "place"
POINT = "point"
ROW = "row"
WORD = "word"
NUMBER = "number"

TIRE = "The tire, mounted on its rim and inflated, off the car"
WHEEL = "The wheel, off the car, face down on a clean bench"
TRAVEL = "How the corner moves"
WELL = "The well, wheel off, axle on stands at ride height"
KEEP = "The gaps that must be left"
NEAR = "What sits close to the wheel inside the well"

Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A dimension line on one view of the drawing; its letter stands at the middle."""

    view: str
    """behind, side or bench."""
    start: Point
    end: Point
    offset_mm: float = 0.0
    """How far the line stands off the two points, to its left as one looks from start to end."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Letter:
    """One dimension of the measuring sheet."""

    letter: str
    key: str
    """Its name in an answers file, for readers."""
    name: str
    group: str
    sheets: tuple[str, ...]
    how: str
    """How it is taken, and what makes it wrong."""
    measure: str = LENGTH
    needed: bool = False
    """Where the corner is measured by its travel; see `forms.needed`."""
    within: float = 3.0
    """How far the answer may be off as a careful person takes it, mm or degrees: 1/8 in, common practice."""
    choices: tuple[str, ...] = ()
    columns: tuple[tuple[str, str, Ends], ...] = ()
    """Of a row: name, measure and ends of each number."""
    ends: Ends | EndsOfPoint | Circle | None = None
    """Those of its key: outside the hard ones an answer is asked for again, outside the usual ones it is doubted."""
    of: str = ""
    """The key of the language that it becomes; empty where it is none by itself, and then `WITHOUT_KEY` says why."""
    left_out: str = ""
    """What holds when the box stays empty."""
    marks: tuple[Mark, ...] = ()


WITHOUT_KEY = {
    "A": "a marking is text: its numbers are read from it",
    "T1": "it is only ever taken from T, and has T's ends",
}
"""Letters that are no number of the language by themselves, and why."""


LETTERS: tuple[Letter, ...] = (
    Letter(
        letter="A",
        within=0.0,
        key="tire_marking",
        name="tire marking",
        group=TIRE,
        sheets=EVERY,
        measure=MARKING,
        how="Copy it from the sidewall, all of it. It is a name, not a size: tires of one marking differ by 10 mm and"
        " more, so take B and C as well where the tire is at hand.",
        left_out="B, C and E describe the tire",
    ),
    Letter(
        letter="B",
        within=3.0,
        key="overall_diameter",
        ends=families.OVERALL_DIAMETER,
        of="tire.overall_diameter",
        name="overall diameter of the tire",
        group=TIRE,
        sheets=EVERY,
        how="Stand the tire against a wall without its weight on it. Square on top of the tread, measure"
        " square to floor;"
        " or wrap a tape round the middle of the tread and divide by 3.1416. Not with the car's weight on it.",
        left_out="worked out from the marking",
        marks=(Mark(view="bench", start=(-6, -360), end=(-6, 360), offset_mm=-300),),
    ),
    Letter(
        letter="C",
        within=3.0,
        key="section_width",
        ends=families.SECTION_WIDTH,
        of="tire.section_width",
        name="section width of the tire",
        group=TIRE,
        sheets=EVERY,
        how="Widest place, sidewall to sidewall, without lettering or rim protector: two straight edges held upright"
        " against both sides. On the rim that will be used; half an inch of rim width is 5 mm of section.",
        left_out="worked out from the marking and F",
        marks=(Mark(view="bench", start=(-126, 300), end=(114, 300), offset_mm=135),),
    ),
    Letter(
        letter="D",
        within=6.0,
        key="tread_width",
        ends=families.TREAD_WIDTH,
        of="tire.tread_width",
        name="tread width of the tire",
        group=TIRE,
        sheets=EVERY,
        how="Across the flat of the tread, from where one shoulder starts to round off to where the other does.",
        left_out="worked out from C",
        marks=(Mark(view="bench", start=(-96, 356), end=(84, 356), offset_mm=25),),
    ),
    Letter(
        letter="E",
        within=1.0,
        key="rim_diameter",
        ends=families.RIM_DIAMETER,
        of="wheel.diameter",
        name="rim diameter",
        group=WHEEL,
        sheets=EVERY,
        how="The number cast or stamped on the wheel, in inches: it is where the bead sits, not the outer edge, which"
        " measures about 1 3/8 in (35 mm) more.",
        left_out="read from the marking",
        marks=(Mark(view="bench", start=(-100, -190), end=(-100, 190), offset_mm=-140),),
    ),
    Letter(
        letter="F",
        within=1.5,
        key="rim_width",
        ends=families.RIM_WIDTH,
        of="wheel.width",
        name="rim width, between the bead seats",
        group=WHEEL,
        sheets=EVERY,
        needed=True,
        how="Inside one flange to inside the other, where the beads sit. Over the outside edges it is about 1"
        " in (25 mm)"
        " more: that is the usual mistake.",
        marks=(Mark(view="bench", start=(-108, -190), end=(95, -190), offset_mm=-205),),
    ),
    Letter(
        letter="G",
        within=1.5,
        key="backspace",
        ends=families.BACKSPACE,
        of="wheel.backspace",
        name="backspace",
        group=WHEEL,
        sheets=EVERY,
        needed=True,
        how="Face down, lay a straight edge across the back of the rim, and measure from it down to the"
        " mounting face that"
        " meets the hub. Not to the centre cap or the spokes. This is the number that decides most fits.",
        marks=(Mark(view="bench", start=(-120.7, -212), end=(0, -212), offset_mm=-240),),
    ),
    Letter(
        letter="H",
        key="bolt_circle",
        ends=families.CIRCLE,
        of="wheel.bolt_circle",
        name="bolt circle",
        group=WHEEL,
        sheets=EVERY,
        measure=BOLTS,
        how='Count and diameter, as "5 x 4.5 in" or "5 x 114.3 mm". Even counts: centre to centre straight'
        " across. Five:"
        " from the far edge of one hole to the centre of the second next, near enough to tell patterns apart.",
        left_out="not checked, and no gauge can be drawn",
    ),
    Letter(
        letter="J",
        within=6.0,
        key="bump",
        ends=families.TRAVEL,
        of="suspension.bump",
        name="bump: ride height up to the bump stop",
        group=TRAVEL,
        sheets=EVERY,
        needed=True,
        how="At the wheel, not at the stop. Mark hub to fender at ride height with the usual load. Then, on"
        " stands and with"
        " the springs out, raise the hub with a jack until the stop is squeezed as it will be; the difference is J.",
        marks=(Mark(view="behind", start=(230, 0), end=(230, 90)),),
    ),
    Letter(
        letter="K",
        within=6.0,
        key="droop",
        ends=families.TRAVEL,
        of="suspension.droop",
        name="droop: ride height down to full droop",
        group=TRAVEL,
        sheets=EVERY,
        needed=True,
        how="Same marks, axle hanging on the shock or strap. A car on a lift is at droop, not at ride height.",
        marks=(Mark(view="behind", start=(230, -75), end=(230, 0)),),
    ),
    Letter(
        letter="K1",
        key="track",
        ends=families.TRACK,
        of="axle-by-travel.track",
        name="hub face to hub face, across the axle",
        group=TRAVEL,
        sheets=AXLES,
        needed=True,
        within=5.0,
        how="Where the wheels bolt on, from one side to the other, past the differential: with a straight edge on each"
        " face, or as the track at the tires less twice what they stand out.",
    ),
    Letter(
        letter="K2",
        key="articulation",
        ends=families.ARTICULATION,
        of="suspension.articulation",
        name="the most that one wheel can be above the other",
        group=TRAVEL,
        sheets=AXLES,
        within=10.0,
        how="One wheel raised on a jack as far as the other stays down by its own weight: the difference of the two.",
        left_out="J and K of both sides together: one at its stop and the other hanging",
    ),
    Letter(
        letter="L",
        within=1.0,
        key="left_lock",
        ends=families.LOCK,
        of="steering.left",
        name="left lock: this wheel's angle with the steering hard left",
        group=TRAVEL,
        sheets=FRONT,
        measure=ANGLE,
        needed=True,
        how="Turn plates, or chalk a line along the tire straight ahead and at the stop, and measure between the lines."
        " The inner wheel turns further, so L and M of one wheel differ.",
    ),
    Letter(
        letter="M",
        within=1.0,
        key="right_lock",
        ends=families.LOCK,
        of="steering.right",
        name="right lock: this wheel's angle with the steering hard right",
        group=TRAVEL,
        sheets=FRONT,
        measure=ANGLE,
        needed=True,
        how="The same, hard right. Do not use L for both.",
    ),
    Letter(
        letter="N",
        within=10.0,
        key="kingpin_offset",
        ends=turned_over(families.HARDPOINT.axes["outboard"]),
        of="steering.axis.through.outboard",
        name="hub face inboard to the steering axis, at hub height",
        group=TRAVEL,
        sheets=FRONT,
        how="Sight from the upper to the lower ball joint (or strut top to ball joint) with a straight edge,"
        " and measure"
        " from it out to the hub face at the height of the hub.",
        left_out="95 mm (3 3/4 in) give or take 60 mm, all of it in the answer",
        marks=(Mark(view="behind", start=(-95, 0), end=(0, 0), offset_mm=-30),),
    ),
    Letter(
        letter="P",
        within=2.0,
        key="kingpin_inclination",
        ends=families.INCLINATION,
        of="steering.axis.inclination",
        name="inclination of the steering axis, seen from the front",
        group=TRAVEL,
        sheets=FRONT,
        measure=ANGLE,
        how="From an alignment sheet (KPI, SAI), or an angle gauge on the line between the ball joints. Top inboard is"
        " positive.",
        left_out="9 deg give or take 6, all of it in the answer",
    ),
    Letter(
        letter="Q",
        within=2.0,
        key="caster",
        ends=families.CASTER,
        of="steering.axis.caster",
        name="caster",
        group=TRAVEL,
        sheets=FRONT,
        measure=ANGLE,
        how="From an alignment sheet. Top of the steering axis leaning back is positive.",
        left_out="4 deg give or take 6, all of it in the answer",
    ),
    Letter(
        letter="R",
        key="inner_wall",
        ends=families.ACROSS_WELL,
        of="part tub.inner",
        name="hub face inboard to the inner wall of the well",
        group=WELL,
        sheets=EVERY,
        needed=True,
        how="Straight edge across the hub face, tape square to it. At tire height, at the tightest place: look"
        " for seams,"
        " clips, seat-belt bolts. Take the smallest.",
        marks=(Mark(view="behind", start=(-195, 265), end=(0, 265)),),
    ),
    Letter(
        letter="R1",
        key="inner_wall_bottom",
        ends=turned_over(families.SHEET_BELOW),
        of="part wall.below",
        name="hub centre up to the lowest edge of the well",
        group=WELL,
        sheets=EVERY,
        how="The lowest of the inner wall, the front and the rear, where the sheet ends or turns under. Negative if"
        " it hangs"
        " below the hub centre.",
        left_out="the sheets are taken to reach down to the road, and no further",
        marks=(Mark(view="behind", start=(-225, 0), end=(-225, 95), offset_mm=-12),),
    ),
    Letter(
        letter="S",
        key="lip",
        ends=families.EDGE,
        of="part lip.outboard",
        name="hub face outboard to the inside of the fender lip",
        group=WELL,
        sheets=EVERY,
        needed=True,
        how="Plumb line from the lip's inward edge, straight edge out from the hub face, measure between them."
        " Negative if"
        " the lip is inboard of the hub face.",
        marks=(Mark(view="behind", start=(0, 330), end=(140, 330)),),
    ),
    Letter(
        letter="T",
        key="lip_height",
        ends=families.ARCH_RADIUS,
        of="part lip.radius",
        name="hub centre up to the lip, the car on its wheels at ride height",
        group=WELL,
        sheets=EVERY,
        needed=True,
        how="With the usual load, after rolling the car to settle it: from the centre of the hub (the cap's middle)"
        " up to"
        " the lower edge of the lip.",
        marks=(Mark(view="side", start=(0, 0), end=(0, 390)),),
    ),
    Letter(
        letter="T1",
        key="lip_height_as_measured",
        ends=families.ARCH_RADIUS,
        name="the same, as the car stood while the well was measured",
        group=WELL,
        sheets=EVERY,
        needed=True,
        how="Before the first number of the well is taken, wheel off. If the axle is held at ride height this is T"
        " again;"
        " if it hangs it is more, and every height is put right by the difference.",
    ),
    Letter(
        letter="U",
        key="lip_return",
        ends=families.RETURN_DEPTH,
        of="part lip.return_depth",
        name="depth of the lip's inward return",
        group=WELL,
        sheets=EVERY,
        how="How far the folded edge reaches inboard from the outer skin. It is the first metal that the tire meets.",
        left_out="20 mm (3/4 in), common practice; if the lip is rolled flat, its two sheets, about 2 mm",
        marks=(Mark(view="behind", start=(140, 390), end=(160, 390), offset_mm=-30),),
    ),
    Letter(
        letter="U1",
        key="edge_trim",
        ends=families.TRIM,
        of="part lip.trim_thickness",
        name="thickness of a trim or welt on the lip",
        group=WELL,
        sheets=EVERY,
        within=1.0,
        how="Rubber or chrome over the edge: how far it stands off the metal. The tire rubs through it first.",
        left_out="no trim",
    ),
    Letter(
        letter="V",
        key="crown",
        ends=families.CROWN_HEIGHT,
        of="part tub.crown",
        name="hub centre up to the top of the well",
        group=WELL,
        sheets=EVERY,
        how="Straight up from the hub centre to the lowest thing above the tread: a seam, a brace, a shock mount.",
        left_out="no roof is checked",
        marks=(Mark(view="behind", start=(-30, 0), end=(-30, 470)),),
    ),
    Letter(
        letter="W",
        key="well_front",
        ends=families.END_SHEET,
        of="part tub.front",
        name="hub centre ahead to the front of the well",
        group=WELL,
        sheets=EVERY,
        how="Level, at hub height; for a curved well the nearest place within the tire's height.",
        left_out="no front wall is checked",
        marks=(Mark(view="side", start=(0, 0), end=(450, 0), offset_mm=-60),),
    ),
    Letter(
        letter="X",
        key="well_rear",
        ends=families.END_SHEET,
        of="part tub.rear",
        name="hub centre back to the rear of the well",
        group=WELL,
        sheets=EVERY,
        how="The same, behind the hub.",
        left_out="no rear wall is checked",
        marks=(Mark(view="side", start=(-450, 0), end=(0, 0), offset_mm=-60),),
    ),
    Letter(
        letter="X1",
        key="keep_body",
        ends=families.REQUIRED,
        of="part wall.required",
        name="gap to keep to body, frame and everything fixed",
        group=KEEP,
        sheets=EVERY,
        within=0.0,
        how="What must be left at the worst: body and axle move on their rubber, a tire grows, a tape errs.",
        left_out=f"{both(BESIDE_MM, digits=0)}, common practice: the least that is quoted beside a tire",
    ),
    Letter(
        letter="X2",
        key="keep_lip",
        ends=families.REQUIRED,
        of="part lip.required",
        name="gap to keep to the fender lip",
        group=KEEP,
        sheets=EVERY,
        within=0.0,
        how="A finger: the lip is met at the end of the travel, for a moment, and can be rolled.",
        left_out=f"{both(FINGER_MM, digits=0)}, common practice: a finger between a moving and a fixed part",
    ),
    Letter(
        letter="X3",
        key="keep_with_wheel",
        ends=families.REQUIRED,
        of="part wall.required",
        name="gap to keep to what goes with the wheel: spring, strut, brake, arm",
        group=KEEP,
        sheets=EVERY,
        within=0.0,
        how="It moves with the wheel, so travel takes nothing of it; flex, stones and tolerances of the tire do.",
        left_out=f"{both(WITH_THE_WHEEL_MM, digits=0)}, common practice: it moves with the wheel, so travel takes none",
    ),
    Letter(
        letter="Y",
        key="spring",
        ends=families.ACROSS_WELL,
        of="part wall.inboard",
        name="hub face inboard to the leaf spring",
        group=NEAR,
        sheets=LEAF,
        how="To the nearest of leaves, clamps, U-bolts and their ends. It rides with the axle: this gap is the"
        " same at every"
        " height.",
        left_out="no spring is checked",
        marks=(Mark(view="behind", start=(-165, -30), end=(0, -30), offset_mm=-70),),
    ),
    Letter(
        letter="Y",
        key="strut",
        ends=families.ACROSS_WELL,
        of="part wall.inboard",
        name="hub face inboard to the strut, or to what is nearest on the knuckle",
        group=NEAR,
        sheets=UPRIGHTS,
        how="Strut tube, spring seat, steering arm, caliper hose: whatever turns with the wheel and is nearest"
        " to tire or"
        " rim above the hub. It steers along, so this gap stays as it is.",
        left_out="no strut is checked",
        marks=(Mark(view="behind", start=(-150, 190), end=(0, 190)),),
    ),
    Letter(
        letter="Y1",
        key="strut_bottom",
        ends=turned_over(families.SHEET_BELOW),
        of="part wall.below",
        name="hub centre up to the lowest of it beside tire or rim",
        group=NEAR,
        sheets=UPRIGHTS,
        how="Spring seat, steering arm or clamp: the lowest point of what Y was taken to. Negative if below the hub.",
        left_out="it is taken to begin at the hub's height",
        marks=(Mark(view="behind", start=(-62, 0), end=(-62, 120)),),
    ),
    Letter(
        letter="Z",
        key="rail",
        ends=families.ACROSS_WELL,
        of="part wall.inboard",
        name="hub face inboard to the frame rail",
        group=NEAR,
        sheets=EVERY,
        how="To the outer face of rail, bracket or bolt, whichever stands out most beside the tire.",
        left_out="no rail is checked",
        marks=(Mark(view="behind", start=(-235, -150), end=(0, -150), offset_mm=-30),),
    ),
    Letter(
        letter="Z1",
        key="rail_bottom",
        ends=turned_over(families.SHEET_BELOW),
        of="part wall.below",
        name="hub centre up to the bottom of the rail",
        group=NEAR,
        sheets=EVERY,
        how="Negative if it hangs below the hub centre.",
        left_out="the rail is taken to reach down past the tire",
        marks=(Mark(view="behind", start=(-300, 0), end=(-300, 60), offset_mm=-30),),
    ),
    Letter(
        letter="Z2",
        key="rail_top",
        ends=families.SHEET_ABOVE,
        of="part wall.above",
        name="hub centre up to the top of the rail",
        group=NEAR,
        sheets=EVERY,
        how="Negative if it is below the hub centre.",
        left_out="the rail is taken to reach up past the tire",
        marks=(Mark(view="behind", start=(-300, 0), end=(-300, 180), offset_mm=-80),),
    ),
    Letter(
        letter="AA",
        key="spring_perch",
        ends=families.ACROSS_WELL,
        of="part wall.inboard",
        name="spring seat or perch on the car: hub face inboard to it, its lowest and its highest point above the hub",
        group=NEAR,
        sheets=EVERY,
        measure=PLACE,
        within=5.0,
        how="The bracket or turret beside the tire. Three numbers, as 9 in, 3 in, 8 in; the first alone where it"
        " reaches all the way up and down.",
        left_out="it is not checked",
    ),
    Letter(
        letter="AB",
        key="bump_stop_bracket",
        ends=families.ACROSS_WELL,
        of="part wall.inboard",
        name="bump stop bracket: hub face inboard to it, its lowest and its highest point above the hub",
        group=NEAR,
        sheets=EVERY,
        measure=PLACE,
        within=5.0,
        how="The bracket on frame or body that the stop meets. Three numbers, as 9 in, 3 in, 8 in; the first alone"
        " where it reaches all the way up and down.",
        left_out="it is not checked",
    ),
    Letter(
        letter="AC",
        key="shock",
        ends=families.ACROSS_WELL,
        of="part wall.inboard",
        name="shock absorber, at its lower end: hub face inboard to it, its lowest and its highest point above the hub",
        group=NEAR,
        sheets=EVERY,
        measure=PLACE,
        within=5.0,
        how="Its lower eye and stone guard go with the wheel; its upper mount is AA or AB. Three numbers, as 9 in, 3"
        " in, 8 in; the first alone where it reaches all the way up and down.",
        left_out="it is not checked",
    ),
    Letter(
        letter="AD",
        key="lower_link",
        ends=families.ACROSS_WELL,
        of="part wall.inboard",
        name="lower link or arm, and its joint: hub face inboard to it, its lowest and its highest point above the hub",
        group=NEAR,
        sheets=EVERY,
        measure=PLACE,
        within=5.0,
        how="The end at the wheel, its bolt and nut among it. Three numbers, as 9 in, 3 in, 8 in; the first alone"
        " where it reaches all the way up and down.",
        left_out="it is not checked",
    ),
    Letter(
        letter="AE",
        key="sway_bar",
        ends=families.ACROSS_WELL,
        of="part wall.inboard",
        name="sway bar or its link: hub face inboard to it, its lowest and its highest point above the hub",
        group=NEAR,
        sheets=EVERY,
        measure=PLACE,
        within=5.0,
        how="Where it comes nearest to tire or rim; on a steered wheel at both locks. Three numbers, as 9 in, 3 in,"
        " 8 in; the first alone where it reaches all the way up and down.",
        left_out="it is not checked",
    ),
    Letter(
        letter="AF",
        key="tie_rod",
        ends=families.ACROSS_WELL,
        of="part wall.inboard",
        name="tie rod end or steering arm: hub face inboard to it, its lowest and its highest point above the hub",
        group=NEAR,
        sheets=FRONT,
        measure=PLACE,
        within=5.0,
        how="Nearest to the rim; it turns with the wheel. Three numbers, as 9 in, 3 in, 8 in; the first alone where"
        " it reaches all the way up and down.",
        left_out="it is not checked",
    ),
    Letter(
        letter="AG",
        key="caliper",
        ends=families.ACROSS_WELL,
        of="part wall.inboard",
        name="brake caliper, drum or backing plate: hub face inboard to it, its lowest and its highest point above"
        " the hub",
        group=NEAR,
        sheets=EVERY,
        measure=PLACE,
        within=5.0,
        how="The innermost of it beside the rim's inner edge. Three numbers, as 9 in, 3 in, 8 in; the first alone"
        " where it reaches all the way up and down.",
        left_out="it is not checked",
    ),
    Letter(
        letter="AH",
        key="brake_hose",
        ends=families.ACROSS_WELL,
        of="part wall.inboard",
        name="brake hose, line or its bracket: hub face inboard to it, its lowest and its highest point above the hub",
        group=NEAR,
        sheets=EVERY,
        measure=PLACE,
        within=5.0,
        how="At its worst: full lock, full droop. Three numbers, as 9 in, 3 in, 8 in; the first alone where it"
        " reaches all the way up and down.",
        left_out="it is not checked",
    ),
    Letter(
        letter="AJ",
        key="parking_cable",
        ends=families.ACROSS_WELL,
        of="part wall.inboard",
        name="parking brake cable: hub face inboard to it, its lowest and its highest point above the hub",
        group=NEAR,
        sheets=EVERY,
        measure=PLACE,
        within=5.0,
        how="With its brackets. Three numbers, as 9 in, 3 in, 8 in; the first alone where it reaches all the way up"
        " and down.",
        left_out="it is not checked",
    ),
    Letter(
        letter="AK",
        key="exhaust",
        ends=families.ACROSS_WELL,
        of="part wall.inboard",
        name="exhaust: hub face inboard to it, its lowest and its highest point above the hub",
        group=NEAR,
        sheets=EVERY,
        measure=PLACE,
        within=5.0,
        how="Add what it moves on its hangers: 10 mm (3/8 in), common practice. Three numbers, as 9 in, 3 in, 8 in;"
        " the first alone where it reaches all the way up and down.",
        left_out="it is not checked",
    ),
    Letter(
        letter="AL",
        key="filler",
        ends=families.ACROSS_WELL,
        of="part wall.inboard",
        name="fuel filler, tank or its strap: hub face inboard to it, its lowest and its highest point above the hub",
        group=NEAR,
        sheets=EVERY,
        measure=PLACE,
        within=5.0,
        how="Three numbers, as 9 in, 3 in, 8 in; the first alone where it reaches all the way up and down.",
        left_out="it is not checked",
    ),
)
"""In the order of the sheet and of the interview. I and O are left out: they look like 1 and 0."""

CAUTIONS = (
    "Work on level ground, wheels chocked, the car on stands under frame or axle: never under a car that only a jack"
    " holds up.",
    "Springs out (or coils removed with the proper compressor) before a hub is moved by hand: a loaded spring kills."
    " Leave springs in if you cannot do this safely, and take J from the bump stop instead.",
    "Mark ride height with the usual load and fuel, tires at their pressure, after rolling the car to settle it.",
    "Both sides differ, often by 6 to 25 mm (1/4 to 1 in): measure both, and write each into its own box.",
)
"""Printed on every sheet and said before the interview starts; common practice."""
