"""What is wrong with a mesh: how often, where, and what to do about it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.meshes.crossing import crossing_faces
from voidless.meshes.mesh import Mesh, joined
from voidless.meshes.topology import Topology, winding_number

__all__ = ["Fault", "faults_in_words", "find_faults", "require_solid"]

Integers = NDArray[np.int64]

_SHOWN = 3
_CROSSING_FACES = 500_000
"""Larger meshes are not searched for faces that pass through one another. [1]"""
_JOIN_MM = 0.001
_FLAT_MM = 1e-6
_MOST_SHELLS = 200
_NOTHING = "Nothing has to be done"
"""How the remedy of a fault begins that harms nothing."""


@dataclass(frozen=True)
class Fault:
    """
    One kind of fault in a mesh.

    Attributes
    ----------
    name : str
        `open_edges`, `inverted_faces`, `inverted_shell`, `unpaired_edges`, `duplicate_faces`,
        `crossing_faces`, `degenerate_faces`, `shared_edges`, `nested_shells` or `not_searched`.
    count : int
        How many.
    places_mm : tuple of (float, float, float)
        The first of them. [mm]
    what, remedy : str
        In words: what it is, and what to do.
    blocks : bool
        Whether the mesh bounds no solid because of it.
    """

    name: str
    count: int
    places_mm: tuple[tuple[float, float, float], ...]
    what: str
    remedy: str
    blocks: bool

    def __str__(self) -> str:
        at = "; ".join(f"({x:.2f}, {y:.2f}, {z:.2f})" for x, y, z in self.places_mm)
        return f"{self.count} {self.what}" + (f", the first at {at} mm" if at else "")


def _fault(name: str, points: NDArray[np.float64], what: str, remedy: str, blocks: bool) -> list[Fault]:
    """Return a fault of this kind, if there is one, with the first of its places `(n, 3)`; `{s}` marks the plural."""
    if not len(points):
        return []
    shown = tuple((float(x), float(y), float(z)) for x, y, z in points[:_SHOWN])
    return [Fault(name, len(points), shown, what.format(s="s" * (len(points) > 1)), remedy, blocks)]


def _edge_faults(topology: Topology) -> list[Fault]:
    mesh, uses, surplus = topology.mesh, topology.uses, topology.surplus
    middles = mesh.vertices[topology.edges].mean(axis=1)
    disagree = (uses == 2) & (surplus != 0)
    unpaired = (uses > 2) & (surplus != 0)
    edge = [
        ("open_edges", uses == 1, "edge{s} with a face on one side only: the surface has holes", True),
        (
            "inverted_faces",
            disagree,
            "edge{s} at which neighbouring faces look to opposite sides: some are inverted",
            True,
        ),
        ("unpaired_edges", unpaired, "edge{s} at which three or more faces meet and do not pair", True),
        (
            "shared_edges",
            (uses > 2) & (surplus == 0),
            "edge{s} at which four or more faces meet in pairs: bodies touch along a line",
            False,
        ),
    ]
    remedies = {
        "open_edges": _closing(mesh),
        "inverted_faces": "Make the normals agree where it was drawn, or let the faces be turned (--turn-faces).",
        "unpaired_edges": "Delete inner and doubled faces where it was drawn, and export again.",
        "shared_edges": f"{_NOTHING}; keep bodies apart, or let them overlap, to be clear.",
    }
    found: list[Fault] = []
    for name, chosen, what, blocks in edge:
        found += _fault(name, middles[chosen], what, remedies[name], blocks)
    return found


def _closing(mesh: Mesh) -> str:
    """Return the remedy for open edges: whether joining corners that nearly meet closes them."""
    near = Topology(joined(mesh, _JOIN_MM))
    if len(near.edges) and bool((near.uses > 1).all()):
        return f"Corners miss one another by less than {_JOIN_MM:g} mm: export with more digits, or as 3MF."
    return "Close the surface where it was drawn: fill the holes, give thin shells a thickness; export again."


def _face_faults(topology: Topology) -> list[Fault]:
    mesh = topology.mesh
    centres = mesh.corners.mean(axis=1)
    sides = np.linalg.norm(np.roll(mesh.corners, -1, axis=1) - mesh.corners, axis=2).max(axis=1)
    flat = topology.collapsed | (2.0 * mesh.areas_mm2 <= _FLAT_MM * sides)
    _, first, counts = np.unique(
        np.sort(mesh.faces[topology.kept], axis=1), axis=0, return_index=True, return_counts=True
    )
    doubled = topology.kept[first[counts > 1]]
    remedy = f"{_NOTHING}: they enclose nothing."
    return [
        *_fault("degenerate_faces", centres[flat], "face{s} without area", remedy, False),
        *_fault(
            "duplicate_faces",
            centres[doubled],
            "face{s} found more than once",
            "Delete doubled faces or bodies where it was drawn.",
            False,
        ),
    ]


def _shell_faults(topology: Topology, crossing: Integers) -> list[Fault]:
    """
    Return inverted and nested shells; a shell that looks inwards inside of another bounds a cavity.

    Shells of `crossing` faces lie neither in nor outside of another.
    """
    number_of = np.full(len(topology.mesh.faces), -1)
    number_of[topology.kept] = topology.shells
    across = set(number_of[crossing.ravel()].tolist())
    corners = topology.mesh.corners[topology.kept]
    shells, volumes = topology.shells, topology.shell_volumes_mm3
    if len(volumes) > _MOST_SHELLS:
        return [
            Fault(
                "not_searched",
                len(volumes),
                (),
                "shells, too many to look for inverted ones",
                f"Look at the picture of the sections; up to {_MOST_SHELLS} shells are searched.",
                False,
            )
        ]
    inverted, nested = [], []
    for number, volume in enumerate(volumes):
        own = shells == number
        if volume >= 0.0 and len(volumes) == 1:
            continue
        point = corners[own].mean(axis=1)[np.argmax(corners[own].max(axis=(1, 2)))]
        around = round(winding_number(corners[~own], point)) if len(volumes) > 1 else 0
        if volume < 0.0 and around < 1:
            inverted.append(point)
        if volume > 0.0 and around > 0 and number not in across:
            nested.append(point)
    return [
        *_fault(
            "inverted_shell",
            np.array(inverted),
            "closed shell{s} with all faces looking inwards",
            "Turn the normals outwards where it was drawn, or let the faces be turned (--turn-faces).",
            True,
        ),
        *_fault(
            "nested_shells",
            np.array(nested),
            "solid shell{s} inside of another: taken as one solid, not as a cavity",
            "Invert the inner shell where it was drawn if it is meant as a cavity.",
            False,
        ),
    ]


def _crossing_faults(topology: Topology, pairs: Integers) -> list[Fault]:
    if len(topology.kept) > _CROSSING_FACES:
        words = f"faces, more than the {_CROSSING_FACES} up to which crossing ones are searched"
        return [Fault("not_searched", len(topology.kept), (), words, "Export a coarser mesh.", False)]
    return _fault(
        "crossing_faces",
        topology.mesh.corners[pairs[:, 0]].mean(axis=1),
        "pair{s} of faces that pass through one another",
        "Bodies that overlap are united; unite them where it was drawn if a section looks wrong.",
        False,
    )


def find_faults(mesh: Mesh) -> tuple[Fault, ...]:
    """
    Return what is wrong with a mesh, the worst first.

    Parameters
    ----------
    mesh : Mesh
        With joined corners, as the readers give it. [mm]

    Returns
    -------
    faults : tuple of Fault
        Those that block first; empty for a clean solid.

    Notes
    -----
    A mesh bounds a solid if along every edge as many faces run one way as the other: then every plane cuts
    it in closed rings. Bodies may overlap and touch. Whether shells are nested or inverted is only looked
    at where all edges pair.
    """
    topology = Topology(mesh)
    found = [*_edge_faults(topology), *_face_faults(topology)]
    searched = len(topology.kept) <= _CROSSING_FACES
    pairs = crossing_faces(mesh, topology.kept) if searched else np.empty((0, 2), dtype=np.int64)
    if not any(fault.blocks for fault in found):
        found += _shell_faults(topology, pairs)
    found += _crossing_faults(topology, pairs)
    return tuple(sorted(found, key=lambda fault: not fault.blocks))


def faults_in_words(faults: tuple[Fault, ...]) -> tuple[str, ...]:
    """Return one sentence for each fault with its remedy."""
    return tuple(f"{fault}. {fault.remedy}" for fault in faults)


def require_solid(mesh: Mesh, name: str) -> tuple[Fault, ...]:
    """
    Return the harmless faults of a mesh that bounds a solid.

    Parameters
    ----------
    mesh : Mesh
        With joined corners. [mm]
    name : str
        Name of the file, for the error.

    Raises
    ------
    InputError
        It bounds no solid: the error names every fault that stands in the way, and what to do.
    """
    faults = find_faults(mesh)
    bad = [fault for fault in faults if fault.blocks]
    if bad or not mesh.volume_mm3 > 0.0:
        told = bad + [
            fault for fault in faults if not fault.blocks
        ]  # what is harmless alone may be the cause
        remedies = [fault.remedy for fault in told if not fault.remedy.startswith(_NOTHING)]
        what = f"bounds no solid: {told[0]}" if bad else f"encloses {mesh.volume_mm3:g} mm3"
        raise InputError(
            name,
            "; ".join([f"the mesh {what}", *(str(fault) for fault in (told[1:] if bad else told))]),
            "a closed surface whose faces look outwards, around a volume above 0",
            " ".join(dict.fromkeys(remedies)) or "Export it again.",
        )
    return faults
