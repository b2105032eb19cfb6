"""A mesh file of either kind -> mesh in millimetres, checked for size."""

from __future__ import annotations

from dataclasses import dataclass

from voidless.errors import InputError, QuestionError
from voidless.meshes.mesh import Mesh
from voidless.meshes.stl import read_stl
from voidless.meshes.threemf import read_3mf

__all__ = ["MeshFile", "read_mesh"]

_LEAST_MM, _MOST_MM = 0.5, 2000.0
"""Sizes of a part outside of which the unit is asked for again. [mm] This project's own choice."""
_LEAST_UNSTATED_MM = 5.0
"""Where no unit is stated: below, inches are likelier than millimetres. [mm] This project's own choice."""
_UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "inch": 25.4}


@dataclass(frozen=True, eq=False)
class MeshFile:
    """
    What a mesh file holds.

    Attributes
    ----------
    name : str
        Name of the file.
    mesh : Mesh
        All its solids. [mm]
    unit : str
        Unit of the file's numbers.
    notes : tuple of str
        What was assumed or left out, in words.
    """

    name: str
    mesh: Mesh
    unit: str
    notes: tuple[str, ...] = ()


def read_mesh(data: bytes, name: str, unit: str | None = None) -> MeshFile:
    """
    Return the mesh of an STL or 3MF file.

    Parameters
    ----------
    data : bytes
        Content of the file.
    name : str
        Its name, for faults.
    unit : str or None
        Unit of an STL, which states none: `mm`, `cm`, `m` or `inch`; None takes millimetres. A 3MF file
        states its own.

    Returns
    -------
    file : MeshFile
        The mesh in millimetres, and what was assumed.

    Raises
    ------
    InputError
        The file is neither, damaged, empty or too large.
    QuestionError
        A size between 0.5 mm (5 mm where no unit is stated) and 2 m does not come out: somebody has to decide.
    """
    if unit is not None and unit not in _UNITS:
        raise InputError(name, f"unit {unit!r}", "one of " + ", ".join(_UNITS), "Name one of them.")
    if data[:2] == b"PK":
        if unit is not None:
            raise InputError(name, "3MF states its own unit", "no unit", "Leave the unit away.")
        mesh, notes = read_3mf(data, name)
        return _sized(MeshFile(name, mesh, "stated in the file", notes))
    mesh = read_stl(data, name)
    note = () if unit else ("STL states no unit; millimetres are taken",)
    factor = _UNITS[unit or "mm"]
    scaled = Mesh(mesh.vertices * factor, mesh.faces) if factor != 1.0 else mesh
    return _sized(MeshFile(name, scaled, unit or "mm", note), _LEAST_MM if unit else _LEAST_UNSTATED_MM)


def _sized(file: MeshFile, least_mm: float = _LEAST_MM) -> MeshFile:
    size = file.mesh.size_mm
    if not least_mm <= max(size) <= _MOST_MM:
        text = " x ".join(f"{side:.4g}" for side in size)
        raise QuestionError(
            file.name,
            f"the part measures {text} mm",
            "--unit mm, cm, m or inch",
            f"Say in which unit the file is written; sizes from {least_mm:g} mm to {_MOST_MM:g} mm are read.",
        )
    return file
