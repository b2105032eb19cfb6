"""
Invented laboratories with known truth, for the campaign benchmark and for tests. Nothing here was measured.

    bench.py    the space, machine limits, build time; Lab: what a build gives, and what is true of a setting
    truths.py   four truths unlike any physics of this project: saddle, cliff, valley, field
    kin.py      two truths of the twin's kind: kin (drawn from the twin's own priors, with smooth errors added)
                and cousin (constants 1.5 standard deviations off, no bubbles in the prior that is handed out)
    make.py     name and seed -> Lab, with specifications that 0.9 % of the allowed space meets; `python -m
                benchmarks.labs.make` writes frozen.csv: specifications, scatter and the best setting of every lab
"""
