"""
From filament to melt at the nozzle.

    heating.py    how cold the core of the strand still is, heater power, residence
    shear.py      the same for a melt that flows by a power law; spread of residence
    viscosity.py  Cross-WLF, Cross with exponential, Arrhenius
    nozzle.py     shear rate and pressure drop of bore and cone
    limit.py      the highest honest rate: core, heater, drive; slip of the drive
    density.py    melt density by the Tait equation
"""
