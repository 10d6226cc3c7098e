"""Things to hold against the car: a printed gauge, flat patterns, blocks, and templates of the envelope."""
