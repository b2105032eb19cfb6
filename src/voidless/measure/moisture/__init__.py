"""
Weighings over time to how fast and how much a filament drinks.

    climate.py   where a piece has been: steps of humidity on a clock stretched by temperature
    model.py     mass of a round strand through any climate, linear in what it holds
    fit.py       diffusivity, saturation and dry mass with their uncertainty
    air.py       what a dryer fed with room air can reach; how deep air gets into a winding
    columns.py, read.py   a table to results
"""
