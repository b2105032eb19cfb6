"""
Physics of the process: pure functions on arrays, SI inside, one model a file.

    guards.py     checks that make NaN and impossible values fail
    diffusion.py  exact series of slab and cylinder, shared by heat and water
    fill/         void share and contact from flow, pitch and closure
    melt/         heating in the hot end, viscosity, nozzle pressure, melt density
    moisture/     water uptake of filament, steam pressure, bubbles
    heat/         contact, fresh layer, fin, moving source, temperature of the built column
    weld/         time-temperature shift, healing integrals, neck growth
    optics/       Fresnel, Mie, voids, surfaces, contrast, colour, refractive index
    strength/     net area, contact and healing to strength
    shape/        size error, coarse

Every function says its source and range in its docstring; a model asked outside its range raises or warns.
"""
