"""Small solids that tests build meshes from."""

import numpy as np
import pytest

from voidless.meshes.mesh import Mesh
from voidless.specimens.mesh import stack_mesh
from voidless.specimens.stack import box


@pytest.fixture
def cube():
    """A cube of 10 mm about the Z axis, standing on the plane 0."""
    return stack_mesh(box((-5.0, 5.0), (-5.0, 5.0), (0.0, 10.0)))


@pytest.fixture
def together():
    """Return meshes side by side in one."""

    def merge(*meshes):
        starts = np.cumsum([0, *(len(m.vertices) for m in meshes)])
        faces = [m.faces + start for m, start in zip(meshes, starts, strict=False)]
        return Mesh(np.vstack([m.vertices for m in meshes]), np.vstack(faces))

    return merge


@pytest.fixture
def block():
    """Return the mesh of a box between positions along X, Y and Z."""
    return lambda x, y, z: stack_mesh(box(x, y, z))
