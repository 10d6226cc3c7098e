"""Small faults put into the rooms that carry the promise, one at a time: does a test notice?

* mutant    - a module with one small change: a `<` that has become `<=`, a number one larger, a `not` too many
* killed    - a test of the room fails, or does not come to an end
* survivor  - no test of the room notices
* explained - a survivor that changes nothing which the room promises; `explained.toml` says why

`rooms.py` says which tests each room is judged by, `mutants.py` makes the mutants and picks them, `trial.py` tries
them, `figures.py` writes what was found. `python -m tests.mutation --help` has the options.
"""
