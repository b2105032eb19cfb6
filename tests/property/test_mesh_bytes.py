"""Damaged mesh files: a mesh, or one InputError, never another exception."""

import contextlib
from functools import cache

import numpy as np
from hypothesis import example, given, settings
from hypothesis import strategies as st

from voidless.errors import InputError
from voidless.meshes.faults import find_faults
from voidless.meshes.reading import read_mesh
from voidless.meshes.sections import mesh_sections
from voidless.specimens.catalogue import specimen
from voidless.specimens.mesh import mesh_3mf, mesh_stl, specimen_mesh


@cache
def whole():
    """Return a binary STL, an STL of text and a 3MF of one solid."""
    kind = specimen("impact_bar_notch_b")
    corners = specimen_mesh(kind).corners.tolist()
    lines = [f"facet\nvertex {a}\nvertex {b}\nvertex {c}" for a, b, c in corners]
    text = "solid x\n" + "\n".join(lines).replace("[", "").replace("]", "").replace(",", "") + "\nendsolid\n"
    return mesh_stl(kind), text.encode(), mesh_3mf(kind)


@settings(max_examples=200, deadline=None)
@example(which=0, changes=[(0.2132984238562705, b"\x7f")], keep=1.0)  # a signalling NaN
@given(
    which=st.integers(0, 2),
    changes=st.lists(st.tuples(st.floats(0.0, 0.999), st.binary(min_size=1, max_size=6)), max_size=5),
    keep=st.floats(0.3, 1.0),
)
def test_damaged_files(which, changes, keep):
    """Bytes overwritten anywhere, ends cut off: read, judged and cut, or refused."""
    data = bytearray(whole()[which])
    for place, new in changes:
        start = int(place * len(data))
        data[start : start + len(new)] = new
    if keep < 0.9:
        data = data[: int(keep * len(data))]
    with contextlib.suppress(InputError):
        mesh = read_mesh(bytes(data), "damaged").mesh
        find_faults(mesh)
        low, high = mesh.box_mm[0][2], mesh.box_mm[1][2]
        for section in mesh_sections(mesh, np.linspace(low, high, 3)):
            assert section.area >= 0.0


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=400))
def test_any_bytes(data):
    """Bytes of no meaning are refused."""
    for head in (b"", b"solid ", b"PK\x03\x04"):
        with contextlib.suppress(InputError):
            read_mesh(head + data, "noise")
