"""
Ground facts of printers.

    types.py    Machine: frozen values, and the table of its fields with their possible ranges
    library.py  load_machine, machine_names: data files, a user's overrides put over them
    data/       one TOML file a generic machine
"""

from voidless.machines.library import load_machine, machine_names
from voidless.machines.types import Machine

__all__ = ["Machine", "load_machine", "machine_names"]
