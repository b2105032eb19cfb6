"""Steps of the schema; `env.py` and `versions/` are read by the migration library."""
