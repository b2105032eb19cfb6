"""
Steps of the heat history, compiled.

    compiled.py  how it is compiled; what differs between processors: teams, waiting, adding; scratch
    cpu.py       the kept function
    rates.py     healing over a step between two temperatures
    rows.py      which row of a column a layer is
    exchange.py  what a column exchanges with its sides, ground and air
    ground.py    what lies below a column: bed or body
    bend.py      temperature within a thick row
    sides.py     rows of a column beside those of another
    weights.py   of the implicit step
    solve.py     implicit step of several columns side by side
    settle.py    what a column lost in a step
    hot.py       where a column is hot enough to heal
    heal.py      healing of the welds of a column
    step.py      step of all columns or blocks that are due
    rest.py      blocks that fall asleep and wake
    body.py      the coarse body below
    schedule.py  when a column steps next
    advance.py   ticks: who is due, what is laid

The body is cut into columns of cells. Each column steps in time by itself, with steps that grow with the time
since a bead last came near; heat goes up and down implicitly (TR-BDF2) and sideways by what a face has
exchanged since either side last stepped, so that nothing is lost. Columns where nothing happened for a while
sleep in blocks that step as one; deep layers first share rows, then become rows of a coarse body.

Units: temperature [K] against the air; everything else per density, heat capacity and area of one cell, so
that energy is temperature × thickness [K m] and a conductance is a speed [m/s]. A column holds a share of a cell
in plan (`area`): what goes on within it is per its own area, what it gives to others counts by the share.
"""
