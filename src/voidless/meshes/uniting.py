"""The volume of what overlapping shells of a mesh enclose together, room that they share counted once."""

from __future__ import annotations

from typing import Any

import numpy as np

from voidless.errors import ComputationError
from voidless.meshes.mesh import Mesh
from voidless.meshes.topology import Floats, Topology, winding_number

__all__ = ["united_volume"]


def united_volume(mesh: Mesh) -> float:
    """
    Return the volume of the union of a mesh's bodies, each less its own cavities. [mm³]

    Parameters
    ----------
    mesh : Mesh
        With joined corners, bounding a solid (`faults.require_solid`). [mm]

    Raises
    ------
    ComputationError
        Exact solid geometry takes a shell for none that bounds a body.

    Notes
    -----
    Exact solid geometry of the manifold3d library. A shell that looks inwards is a cavity of the smallest body around
    it; another body may fill it. A shell that crosses itself counts as it is written.
    """
    topology = Topology(mesh)
    volumes, shells = topology.shell_volumes_mm3, topology.shells
    if np.count_nonzero(volumes > 0.0) == 1:
        return mesh.volume_mm3
    import manifold3d as solids  # needed for such files alone

    faces = mesh.faces[topology.kept]
    bodies = {int(n): _solid(mesh.vertices, faces[shells == n]) for n in np.flatnonzero(volumes > 0.0)}
    corners = mesh.corners[topology.kept]
    for number in np.flatnonzero(volumes < 0.0).tolist():
        own = shells == number
        point = corners[own].mean(axis=1)[np.argmax(corners[own].max(axis=(1, 2)))]
        around = [n for n in bodies if _within(corners[shells == n], point)]
        holder = min(around, key=lambda n: float(volumes[n]))
        bodies[holder] = bodies[holder] - _solid(mesh.vertices, faces[own][:, ::-1])
    return float(solids.Manifold.batch_boolean(list(bodies.values()), solids.OpType.Add).volume())


def _within(corners: Floats, point: Floats) -> bool:
    near = (corners.min(axis=(0, 1)) <= point).all() and (point <= corners.max(axis=(0, 1))).all()
    return bool(near) and round(winding_number(corners, point)) > 0


def _solid(vertices: Floats, faces: Any) -> Any:
    import manifold3d as solids

    used, number = np.unique(faces, return_inverse=True)
    found = solids.Manifold(solids.Mesh64(vertices[used], number.reshape(-1, 3).astype(np.uint64)))
    if found.status() != solids.Error.NoError:
        raise ComputationError(
            "volume",
            "a shell of the mesh bounds no body",
            "closed shells",
            "Unite the bodies where they were drawn.",
        )
    return found
