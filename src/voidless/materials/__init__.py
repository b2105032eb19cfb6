"""
Ground facts of filament polymers.

    types.py       Property, Material: frozen values
    properties.py  the table of property names: unit, possible range, words
    evidence.py    properties from tables: the library's, and what a user states over them
    library.py     load_material, material_names: data files, a user's overrides put over them
    data/          one TOML file a polymer, and sources.toml with the full citations
"""

from voidless.materials.library import load_material, material_names
from voidless.materials.types import Material, Property

__all__ = ["Material", "Property", "load_material", "material_names"]
