"""The answers behind the question: what fits, and what is the least that must change.

Every answer is a mock-up, changed, measured again: ``MockUp -> changed MockUps -> gaps -> answer``. Nothing is answered
from a formula that has not been put back into `gap.cycle.over_cycle`.

* window       - the backspace and offset range that keeps every required gap, for each rim width
* largest      - which tire sizes clear at their best backspace
* relief       - how far each part must move, and which way
* least change - the smallest single change that clears, exact, then rounded up to what is sold
* compare      - two mock-ups part by part; left against right of one car
* budget       - what the uncertainty of every measurement does to the answer
* other        - load states, spare well, duals, chains, body coverage: other clearances of the same solid

Sections of the corner file that answers read
---------------------------------------------

All are optional, and all are read from ``MockUp.extra``: a mapping from the table's name to the table exactly as TOML
gave it (lengths still text with their unit). `sections.read_sections(extra)` turns them into values; it raises
`sections.SectionError`, whose ``key`` ("limits.spacer") says where, so that the corner file can add file and line by
calling it once while loading. Unknown keys are refused there with the nearest known one.

::

    [load_states]                   # how far the body sits above (+) or below (-) the ride height measured
    driver = "0 mm"
    laden  = "-35 mm"
    towing = "-60 mm"

    [limits]                        # the most that each change may be; a change set to false is not offered
    spacer        = "25 mm"
    backspace     = { least = "3 in", most = "6 in" }
    bump_stop     = "40 mm"         # travel that may be given up, at the wheel
    steering_stop = "8 deg"         # lock that may be given up, each side
    rack_per_deg  = "1.4 mm"        # rack travel per degree at the wheel; turns degrees of lock into rack mm
    ride_height   = "30 mm"         # how far the car may be raised
    camber        = { least = "-2 deg", most = "0 deg" }
    lip_roll      = "13 mm"         # the most that rolling a lip gains (common practice)
    rim_widths    = ["7 in", "7.5 in", "8 in"]   # instead of the tire's permitted range

    [sold]                          # the steps in which things can be bought or set
    spacer        = "3 mm"          # or a list: ["3 mm", "5 mm", "8 mm", "15 mm", "20 mm"]
    bump_stop     = "1/4 in"
    backspace     = "1/8 in"
    ride_height   = "1/4 in"
    steering_stop = "0.5 deg"
    camber        = "0.25 deg"
    lip_roll      = "1 mm"

    [uncertainty]                   # plus or minus, at about two standard deviations; over the defaults of `budget`
    backspace        = "1.5 mm"
    overall_diameter = "4 mm"
    section_width    = "3 mm"
    axle_sideways    = "3 mm"       # how well the axle is centred
    axle_lengthways  = "2 mm"
    ride_height      = "3 mm"
    bump_travel      = "3 mm"
    camber           = "0.25 deg"
    steer            = "0.5 deg"
    parts            = "2 mm"       # for every part that does not state its own
    part             = { "inner wall" = "1.5 mm" }   # by name

    [load]                          # what the tire must carry
    corner = "520 kg"               # or "1146 lb"
    speed  = "180 km/h"

    [order]                         # what the wheel maker is told, beyond the wheel itself
    quantity      = 4
    center_bore   = "70.3 mm"
    lug_seat      = "60 deg cone"   # or "ball 14 mm", "flat with washer"
    thread        = "M12x1.5"       # or "1/2-20"
    stud_length   = "38 mm"         # stud standing out of the hub's face
    seat_depth    = "12 mm"         # wheel thickness under the nut, at the seat
    backspace_tolerance   = "1.5 mm"     # likewise width_, diameter_, bolt_circle_, center_bore_tolerance

    [spare_well]                    # a round well that the spare lies in, outer face up or down
    diameter = "690 mm"
    depth    = "205 mm"             # floor to lid
    stand    = "12 mm"              # floor to the wheel's mounting face; left out, it lies on the floor
    face     = "down"               # which way the wheel's outer face lies
    off_centre = "5 mm"             # how far the hold-down may be off the middle
    required = "6 mm"

    [duals]
    spacing  = "292 mm"             # between the centre planes of the two tires
    bulge    = "6 %"                # how much wider the loaded section is
    required = "19 mm"

    [chains]
    class = "S"                     # SAE J1232 S, U, W; or tread = "37 mm", side = "15 mm"

    [coverage]                      # a rule about the body over the tire, with its source
    ahead    = "30 deg"
    behind   = "50 deg"
    protrude = "0 mm"               # how far the tire may stand out past the body inside those angles
    part     = ["rear lip"]         # parts that count as cover; all lips where not given
    source   = "78/549/EEC as quoted by an inspection office; check your own code"

    [opposite]                      # tape numbers of the other side, for left against right
    hub_to_spring = "149 mm"
    hub_to_lip    = "156 mm"

    [tape]                          # the same numbers on this side
    hub_to_spring = "149 mm"
    hub_to_lip    = "156 mm"
"""
