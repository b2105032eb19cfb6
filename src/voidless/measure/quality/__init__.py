"""
How good a measurement is: scatter within and between, outliers, rounding, and instruments that proved wrong.

    repeat.py     repeatability and reproducibility (ISO 5725-2)
    gauge.py      share of the variance that is the gauge's
    outlier.py    Grubbs: flagged, never dropped
    rounding.py   a value with as many digits as its uncertainty allows
    powers.py     how results go with the readings of an instrument
    register.py   what a check of an instrument means for the results that rest on it
"""
