"""
Experiment plans: which combinations of levels to print, how often, and in which order.

plan.py        make_plan, the one entry; DESIGNS, the table of designs
types.py       PlanRequest, Design, Slot and what builders exchange
ground.py      the checked request: factors with steps, limits, usual settings; feasible samples
terms.py       polynomial model terms by name and their model matrix
criteria.py    how good a plan is for a model: D, A, I, G, aliases, inflation of variance
aliases.py     what a plan cannot tell apart, in words
ladder.py      one factor at a time
factorial.py   full and fractional two-level plans, Plackett-Burman
screening.py   definitive screening from conference matrices
surface.py     central composite and Box-Behnken
filling.py     space-filling plans and the default start
exchange.py    coordinate exchange for any covariance of the builds
optimal.py     D- and I-optimal plans
repeats.py     centre builds and repeats of the classical plans
limits.py      moves rows inside the machine's limits, cuts a plan to its budget
order.py       random print order by session and whole plot
blinding.py    random test order of specimens under codes that tell nothing
"""
