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

What may change, what is sold and how sure each number is comes with the mock-up: see `clearance.terms`.
"""
