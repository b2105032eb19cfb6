"""
The tables: every row has an opaque id and the id of its campaign, so that several can share one store.

    base.py     names of constraints, types, common columns
    plan.py     campaign, session, bed layout, run, build, facts and realised settings of a build
    spools.py   lot, spool, exposure
    results.py  specimen, instrument and its checks, observation, retraction
    history.py  file, derived record, event

Nothing but the row counter of `campaign` is ever updated, and nothing is deleted: triggers of the
first migration refuse it.
"""
