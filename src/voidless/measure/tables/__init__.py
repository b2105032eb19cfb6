"""
Result tables: one row a value.

    columns.py   which columns there are and what they may hold
    cells.py     one cell to a value, or a fault
    read.py      read_result_table: a file to observations, facts of builds and settings
"""
