"""
From filament to melt at the nozzle.

    heating.py    how cold the core of the strand still is, heater power, residence
    viscosity.py  Cross-WLF, Cross with exponential, Arrhenius
    nozzle.py     shear rate and pressure drop
    density.py    melt density by the Tait equation
"""
