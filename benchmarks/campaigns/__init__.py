"""
Whole campaigns on the invented laboratories of benchmarks/labs, by several ways of choosing builds.

    history.py    what a campaign has seen, as builds and as a plain table
    rules.py      the one rule by which every way with a model recommends, and the common start
    own.py        this project's `next`, with the twin (`twin`) and without (`plain`)
    generic.py    a general Bayesian optimiser under constraints, by BoTorch (`generic`; benchmark-only)
    composite.py  central composite design, quadratic surface, confirmation (`composite`)
    ladder.py     one factor at a time as practised (`ladder`)
    run.py        runs campaigns in processes, one CSV row per step, resumable
    report.py     the table of benchmarks/README.md from those rows
"""
