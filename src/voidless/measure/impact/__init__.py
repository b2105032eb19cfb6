"""
Pendulum impact tests to impact strength (ISO 179-1, ISO 180, ASTM D256).

    reduce.py   one blow
    read.py     a table of blows
"""
