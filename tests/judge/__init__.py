"""A second judge of every certified gap, which shares no line with the search that it judges.

It reads the same corner files as the program, moves the same corners, and looks for a place where a part comes nearer
to the tire than the program says that any does. It takes nothing from the program but the answer that it judges and
the outline of tire on wheel. All else is its own and, where there is a choice, done another way:

* linkages are solved for the body's place and a quaternion, by Newton's method, with slopes that come from carrying
  every number's rate of change along with it; the program turns by rotation vectors, with slopes written out
* a corner is moved by what a mechanic moves: the height of the point that the spring holds, the rack, the turn about
  a kingpin. Bump and steer, the program's numbers, are only read off
* points of parts are placed on the car, and so is the hub; neither is seen from the other
* the distance to the outline takes its sign from how often the outline winds round the point

Words of this package:

* trial    - one seed: a corner file that is invented, checked by the program and attacked by the judge
* setting  - what the mechanic moves: one row of numbers, within a box
* stance   - the whole corner at some settings: hub, axle, knuckle and links, where they stand
* push     - play taken up: how far the hub is pushed ahead and outboard
* place    - a setting, a push and a point of a part, where a gap can be measured
* charge   - one thing that the judge holds against an answer

Lengths are millimetres and angles degrees, but for angles inside a function body. Points are [ahead, outboard, above],
left corner and right, as in the corner file. A wheel turns *out* where its front goes outboard: to the left on a left
corner, to the right on a right one.
"""
