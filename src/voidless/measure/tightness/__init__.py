"""
Tightness: leak rate in Pa m³/s with its reference temperature.

    leak.py      units, gases, capillaries, permeation
    bubble.py    what a bubble test can see
    decay.py     pressure over time to a leak rate
    volume.py    volume from an expansion, which a decay needs
    vessel.py    stored energy and wall stress of a vessel under test, and the caution
    read.py      tables of pressure and of bubbles
"""
