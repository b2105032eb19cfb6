"""
What is kept of a campaign: one folder with a database, raw files by content hash, and the campaign file.

    store.py          Store: create, open, raw files; `store.writing(now)` opens the one way to write
    reads.py          what the store reads
    writer.py         Writer: everything that can be recorded, inside one transaction
    facts.py          the frozen values that are written and read (no database needed)
    labels.py         labels of runs and builds: R01, B01, never reused
    canonical.py      JSON and hashes that are the same on every machine
    clock.py          times of a campaign that can be compared
    content.py        raw files by SHA-256: written whole, never changed
    creation.py       a new campaign folder: whole, or nothing
    database.py       connections, transactions, and database errors said in plain words
    migrating.py      brings a database to the newest schema
    ledger.py         the open transaction, and the campaign that reads are limited to
    schema/           the tables
    migrations/       the steps of the schema, from the first version
    write_plan.py     runs, builds, sessions, bed layouts: written
    write_facts.py    what was logged about builds, realised settings, the end of a plan: written
    write_results.py  specimens, instruments, observations: written
    read_plan.py      runs, builds and what is still open: read
    read_results.py   observations, specimens, instruments: read
    spools.py         lots, spools, exposure: written and read
    history.py        files, events, derived records, campaign versions: written and read
    inspecting.py     campaigns, counts, the hash of all inputs, problems of a store

Importing this package loads nothing; importing `store` loads SQLAlchemy.
"""
