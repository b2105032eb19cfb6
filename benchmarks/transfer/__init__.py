"""How many builds a calibrated campaign saves the next one; see README.md."""
