"""
What confirmation builds show, and how many it takes.

tolerance.py     one- and two-sided tolerance factors of a normal sample, ranks without a distribution
between.py       bounds for parts when builds differ: one-way random effects
weibull.py       Weibull strength with lower bounds among the values, and bounds of its quantiles
agreement.py     do batches agree, is a sample normal
equivalence.py   two one-sided tests against a reference, ratios of paired builds
capability.py    how many standard deviations fit, with its lower bound
requirement.py   what must be shown of a response
verdict.py       shown, not shown, contradicted, or not enough numbers
size.py          how many builds a proof needs
"""
