"""
What light loses on its way through a printed plate.

    index.py     refractive index against wavelength, where measured
    fresnel.py   faces, plates, piles of plates, thin gaps
    bulk.py      absorption of the void-free bulk
    mie.py       scattering by a sphere, exact
    cylinder.py  scattering by a long cylinder across the beam, exact
    voids.py     round voids and bubbles: attenuation, haze and trapped shares by size
    channels.py  the same for voids that run along the beads
    surface.py   roughness much finer than the wavelength, and slopes
    contrast.py  contrast carried through a scattering plate at a distance
    colour.py    yellowness, browning
"""
