"""
What light loses on its way through a printed plate.

    index.py     refractive index against wavelength, where measured
    fresnel.py   faces, plates, piles of plates, thin gaps
    mie.py       scattering by a sphere, exact
    voids.py     voids and bubbles: attenuation, haze and trapped shares by size
    surface.py   roughness much finer than the wavelength, and slopes
    contrast.py  contrast carried through a scattering plate at a distance
    colour.py    yellowness, browning
"""
