"""Faces of a closed mesh turned so that neighbours agree and shells look outwards."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.meshes.mesh import Mesh
from voidless.meshes.topology import Topology, winding_number

__all__ = ["turned_outwards"]

Integers = NDArray[np.int64]


def turned_outwards(mesh: Mesh, name: str) -> tuple[Mesh, int]:
    """
    Return a mesh whose neighbouring faces look to the same side, and how many faces were turned.

    Parameters
    ----------
    mesh : Mesh
        With joined corners; exactly two faces at every edge. [mm]
    name : str
        Name of the file, for faults.

    Returns
    -------
    mesh : Mesh
        Outermost shells look outwards; a shell inside of another one looks inwards and bounds a cavity, one inside of
        that looks outwards again.
    turned : int
        How many faces changed.

    Raises
    ------
    InputError
        Some edge has one face, or more than two, or a surface has but one side: nothing says which way is out.
    """
    topology = Topology(mesh)
    if np.any(topology.uses != 2):
        raise InputError(
            name,
            "faces can be turned only where two of them meet at every edge",
            "a closed surface",
            "Close it.",
        )
    flip = _agreeing(topology, name)
    faces = mesh.faces.copy()
    _turn(faces, topology, flip)
    agreed = Topology(Mesh(mesh.vertices, faces))
    shells = agreed.shells
    _turn(faces, agreed, agreed.shell_volumes_mm3[shells] < 0.0)
    corners = mesh.vertices[faces[agreed.kept]]
    depth = np.array([_depth(corners, shells, number) for number in range(int(shells.max(initial=-1)) + 1)])
    _turn(faces, agreed, depth[shells] % 2 == 1)
    return Mesh(mesh.vertices, faces), int(np.any(faces != mesh.faces, axis=1).sum())


def _turn(faces: Integers, topology: Topology, chosen: NDArray[np.bool_]) -> None:
    """Turn the chosen ones of the kept faces in place."""
    which = topology.kept[chosen]
    faces[which] = faces[which, ::-1]


def _agreeing(topology: Topology, name: str) -> NDArray[np.bool_]:
    """Return which kept faces to turn so that every edge is run both ways, the fewest of each shell."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import breadth_first_order

    sides = topology.side_edges.ravel()
    order = np.argsort(sides, kind="stable")
    first, second = order[0::2] // 3, order[1::2] // 3
    same = np.abs(topology.surplus[sides[order[0::2]]]) == 2  # both faces run the edge the same way
    size = len(topology.kept)
    weight = np.where(same, 2, 1)
    graph = coo_array(
        (np.r_[weight, weight], (np.r_[first, second], np.r_[second, first])), (size, size)
    ).tocsr()
    flip, seen = np.zeros(size, dtype=bool), np.zeros(size, dtype=bool)
    disagree = dict.fromkeys(zip(first[same].tolist(), second[same].tolist(), strict=True))
    for root in range(size):
        if seen[root]:
            continue
        nodes, before = breadth_first_order(graph, root)
        for node in nodes[1:].tolist():
            parent = int(before[node])
            pair = (parent, node) in disagree or (node, parent) in disagree
            flip[node] = flip[parent] != pair
        if 2 * int(flip[nodes].sum()) > len(nodes):
            flip[nodes] = ~flip[nodes]
        seen[nodes] = True
    if np.any((flip[first] != flip[second]) != same):
        raise InputError(name, "the surface has but one side", "a surface with an inside", "Draw it anew.")
    return flip


def _depth(corners: NDArray[np.float64], shells: Integers, number: int) -> int:
    """Return how many other shells a shell lies in; all of them look outwards."""
    own = shells == number
    if own.all():
        return 0
    point = corners[own].mean(axis=1)[np.argmax(corners[own].max(axis=(1, 2)))]
    return round(winding_number(corners[~own], point))
