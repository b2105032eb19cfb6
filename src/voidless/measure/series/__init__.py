"""
Readings in a row: what is trend, what is noise, and how sure the trend is when noise hangs together.

    noise.py   spread, correlation and last digit of readings about a smooth course
    trend.py   a straight line whose uncertainty holds for correlated readings
    peak.py    the top of a noisy course
"""
