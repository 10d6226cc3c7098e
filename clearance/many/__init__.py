"""Many wheels and tires on many corners: each corner's room drawn once as an outline, every wheel laid against it.

* cover   - what the wheel sees of one part, as a plane outline that holds all of it, and real places on its edge
* room    - the outlines of every part of a corner
* laid    - a wheel laid against them: a certified bracket for every part
"""
