"""STL and 3MF: what is read, in which unit, and what is refused with one error."""

import io
import struct
import zipfile
from pathlib import Path

import numpy as np
import pytest

from voidless.errors import InputError, QuestionError
from voidless.meshes import limits
from voidless.meshes.mesh import joined, moved
from voidless.meshes.reading import read_mesh
from voidless.meshes.stl import write_stl
from voidless.meshes.threemf import MILLIMETRES
from voidless.meshes.writing import write_3mf

DATA = Path(__file__).parents[2] / "data"
PARTS = sorted((DATA / "part-meshes").glob("*.stl")) + sorted((DATA / "bar-meshes").glob("*.stl"))
CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
PRODUCTION = "http://schemas.microsoft.com/3dmanufacturing/production/2015/06"
TETRAHEDRON = (
    '<mesh><vertices><vertex x="0" y="0" z="0"/><vertex x="6" y="0" z="0"/><vertex x="0" y="6" z="0"/>'
    '<vertex x="0" y="0" z="6"/></vertices><triangles><triangle v1="0" v2="2" v3="1"/>'
    '<triangle v1="0" v2="1" v3="3"/><triangle v1="0" v2="3" v3="2"/><triangle v1="1" v2="2" v3="3"/>'
    "</triangles></mesh>"
)
SOLID = f'<object id="1">{TETRAHEDRON}</object>'
ITEM = '<item objectid="1"/>'


def package(resources=SOLID, items=ITEM, unit="millimeter", head="", others=()):
    """Return a 3MF file around a model."""
    model = (
        f'<?xml version="1.0"?>{head}<model unit="{unit}" xmlns="{CORE}" xmlns:p="{PRODUCTION}"><resources>{resources}'
        f"</resources><build>{items}</build></model>"
    )
    relations = (
        '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship '
        'Target="/3D/m.model" Id="r" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>'
        "</Relationships>"
    )
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("_rels/.rels", relations)
        archive.writestr("3D/m.model", model)
        for name, text in others:
            archive.writestr(name, text)
    return file.getvalue()


def text_stl(mesh):
    """Return an STL of text."""
    lines = ["solid cube of text"]
    for a, b, c in mesh.corners.tolist():
        lines += [" facet normal 0 0 0", "  outer loop"]
        lines += [f"   vertex {x!r} {y!r} {z!r}" for x, y, z in (a, b, c)]
        lines += ["  endloop", " endfacet"]
    return "\r\n".join([*lines, "endsolid"]).encode()


@pytest.mark.parametrize("path", PARTS, ids=lambda p: p.stem)
def test_parts_are_read_as_another_library_reads_them(path):
    """Faces and box of real parts are those that trimesh finds; corners at one place are one vertex."""
    trimesh = pytest.importorskip("trimesh")
    mine = read_mesh(path.read_bytes(), path.name).mesh
    other = trimesh.load(path, process=False)
    assert len(mine.faces) == len(other.faces)
    np.testing.assert_array_equal(mine.corners, other.triangles)
    assert len(mine.vertices) == len(np.unique(other.vertices, axis=0))


def test_text_and_binary_stl_agree(cube):
    """One solid, written three ways, is one mesh; text with any line end and any case."""
    text = text_stl(cube)
    for data in (text, text.replace(b"\r\n", b"\n"), text.upper(), write_stl(cube, "solid facet")):
        read = read_mesh(data, "cube.stl")
        assert read.mesh.volume_mm3 == pytest.approx(1000.0)
        assert (len(read.mesh.vertices), len(read.mesh.faces)) == (8, 12)
        assert read.notes == ("STL states no unit; millimetres are taken",)


def test_minus_zero_is_zero(cube):
    """Corners that differ in the sign of zero alone are one vertex."""
    shifted = moved(cube, (5.0, 5.0, 0.0))
    apart = type(cube)(shifted.corners.reshape(-1, 3).copy(), np.arange(36).reshape(-1, 3))
    apart.vertices[::2] *= np.where(apart.vertices[::2] == 0.0, -1.0, 1.0)
    assert len(joined(apart).vertices) == 8


@pytest.mark.parametrize(("unit", "factor"), MILLIMETRES.items())
def test_units_of_3mf(unit, factor):
    """A tetrahedron of 6 units encloses 36 cubic units, whatever they are."""
    scale = 1.0 if 0.5 <= 6.0 * factor <= 2000.0 else (0.1 if factor > 1.0 else 1000.0)
    resized = SOLID.replace('"6"', f'"{6.0 * scale:g}"')
    mesh = read_mesh(package(resized, unit=unit), "t.3mf").mesh
    assert mesh.volume_mm3 == pytest.approx(36.0 * (scale * factor) ** 3)


@pytest.mark.parametrize(("unit", "factor"), [("mm", 1.0), ("cm", 10.0), ("m", 1000.0), ("inch", 25.4)])
def test_units_of_stl(block, unit, factor):
    """An STL is scaled by the unit that is named for it."""
    data = write_stl(block((0.0, 1.0), (0.0, 1.0), (0.0, 1.0)), "one")
    assert read_mesh(data, "one.stl", unit).mesh.volume_mm3 == pytest.approx(factor**3)
    assert read_mesh(data, "one.stl", unit).notes == ()


def test_odd_sizes_ask_for_the_unit(block):
    """A part of 0.04 mm, or of 5 m, is a question of the unit."""
    for side in (0.04, 5000.0):
        data = write_stl(block((0.0, side), (0.0, side), (0.0, side)), "odd")
        with pytest.raises(QuestionError, match="the part measures") as caught:
            read_mesh(data, "odd.stl")
        assert caught.value.option == "--unit mm, cm, m or inch"
    with pytest.raises(InputError, match="3MF states its own unit"):
        read_mesh(package(), "t.3mf", "mm")
    with pytest.raises(InputError, match="unit 'ell'"):
        read_mesh(data, "odd.stl", "ell")


def test_3mf_round_trip(cube):
    """What is written is read back as the same solid."""
    read = read_mesh(write_3mf(cube, 'a "cube" & more'), "cube.3mf")
    assert read.mesh.volume_mm3 == pytest.approx(1000.0)
    assert read.notes == ()


def test_transforms_and_components():
    """Components at places of their own: shifted, scaled, mirrored; volumes by hand."""
    twice = (
        SOLID + '<object id="2"><components><component objectid="1" transform="2 0 0 0 1 0 0 0 1 10 0 0"/>'
        '<component objectid="1" transform="-1 0 0 0 1 0 0 0 1 -10 0 0"/></components></object>'
    )
    items = '<item objectid="2"/><item objectid="2" transform="0 1 0 -1 0 0 0 0 1 0 0 50"/>'
    mesh = read_mesh(package(twice, items), "t.3mf").mesh
    assert mesh.volume_mm3 == pytest.approx(2 * (72.0 + 36.0))
    low, high = mesh.box_mm
    # the first item spans x -16 to 22, y and z 0 to 6; the second is turned: (x, y, z) -> (-y, x, z + 50)
    np.testing.assert_allclose(low, (-16.0, -16.0, 0.0))
    np.testing.assert_allclose(high, (22.0, 22.0, 56.0))


def test_models_in_other_files():
    """Components may name another model file by the path of the Production Extension."""
    other = f'<model xmlns="{CORE}"><resources>{SOLID}</resources><build/></model>'
    outer = '<object id="9"><components><component objectid="1" p:path="/3D/o.model"/></components></object>'
    mesh = read_mesh(package(outer, '<item objectid="9"/>', others=[("3D/o.model", other)]), "t.3mf").mesh
    assert mesh.volume_mm3 == pytest.approx(36.0)


def test_what_is_no_solid_is_left_out_and_said():
    """Supports in the build are not printed, and the file says so."""
    both = SOLID + f'<object id="2" type="support">{TETRAHEDRON}</object>'
    read = read_mesh(package(both, ITEM + '<item objectid="2"/>'), "t.3mf")
    assert read.mesh.volume_mm3 == pytest.approx(36.0)
    assert read.notes == ("1 object of the build is no solid and was left out",)


CIRCLE = (
    '<object id="1"><components><component objectid="2"/></components></object>'
    '<object id="2"><components><component objectid="1"/></components></object>'
)
LAUGHS = SOLID + "".join(
    f'<object id="{n}"><components>{f"""<component objectid="{n - 1}"/>""" * 60}</components></object>'
    for n in range(2, 10)
)
BAD_3MF = {
    "circle": (package(CIRCLE), "nested over 16 deep or in a circle"),
    "multiplied": (package(LAUGHS, '<item objectid="9"/>'), "faces .expected at most 3000000"),
    "no item": (package(items=""), "holds no faces"),
    "unknown object": (package(items='<item objectid="7"/>'), "object 7 is used and not there"),
    "unknown unit": (package(unit="ell"), "unit 'ell' is not one of"),
    "vertex": (package(SOLID.replace('v3="3"', 'v3="4"')), "names a vertex that is not there"),
    "negative": (package(SOLID.replace('v3="3"', 'v3="-1"')), "names a vertex that is not there"),
    "nan": (package(SOLID.replace('x="6"', 'x="nan"')), "vertex 1 is not a finite number"),
    "word": (package(SOLID.replace('x="6"', 'x="six"')), "<vertex> could not convert"),
    "lacks": (package(SOLID.replace('x="6"', "")), "<vertex> lacks 'x'"),
    "huge index": (package(SOLID.replace('v3="3"', 'v3="99999999999999999999"')), "<triangle>"),
    "transform": (package(items='<item objectid="1" transform="1 0 0"/>'), "is not twelve numbers"),
    "entities": (package(head="<!DOCTYPE m [<!ENTITY a 'aaaa'>]>"), "declares a document type"),
    "cut short": (package()[:300], "damaged or cut short"),
    "not xml": (package("<object id='1'>"), "no proper XML"),
    "only zip": (b"PK\x03\x04" + bytes(200), "damaged or cut short"),
}


@pytest.mark.parametrize("name", BAD_3MF)
def test_bad_3mf_gives_one_clear_error(name):
    """Every fault of a package is one InputError that says what and where."""
    data, words = BAD_3MF[name]
    with pytest.raises(InputError, match=words) as told:
        read_mesh(data, "bad.3mf")
    assert str(told.value).count("(expected ") == 1


def test_a_zip_bomb_is_not_unpacked(monkeypatch):
    """A member that unpacks to over 200 times its size, or over the limit, is refused by its head alone."""
    bomb = package(head="<!--" + " " * 3_000_000 + "-->")
    with pytest.raises(InputError, match=r"3D/m\.model unpacks from .* to [0-9.]+ MB"):
        read_mesh(bomb, "bomb.3mf")
    monkeypatch.setattr("voidless.meshes.package.MAX_UNPACKED_BYTES", 100)
    with pytest.raises(InputError, match=r"unpacks from .* to [0-9.]+ MB"):
        read_mesh(package(), "large.3mf")


NAN = struct.pack("<12f", *([0.0] * 8), float("nan"), 0.0, 0.0, 0.0) + b"\0\0"
BAD_STL = {
    "empty": (b"", "the file is empty"),
    "short": (b"solid", "5 bytes are no STL"),
    "no faces": (bytes(84), "holds no faces"),
    "cut": (bytes(80) + (5).to_bytes(4, "little") + bytes(120), "states 5 faces and holds 2"),
    "huge": (bytes(80) + (2**32 - 1).to_bytes(4, "little") + bytes(50), "states 4294967295 faces"),
    "nan": (bytes(80) + (1).to_bytes(4, "little") + NAN, "a corner of face 1 is not a finite number"),
    "words": (
        b"solid x\nfacet normal 0 0 1\nouter loop\nvertex 0 0 zero\nvertex 1 0 0\nvertex 0 1 0\n",
        "corner 1 is",
    ),
    "two": (b"solid x\nfacet normal 0 0 1\nvertex 0 0 0\nvertex 1 0 0\n", "2 corners"),
    "text inf": (b"solid x\nfacet\nvertex 0 0 inf\nvertex 1 0 0\nvertex 0 1 0\n", "not a finite number"),
    "none": (b"solid x\nfacet normal 0 0 0\nendsolid\n", "holds no faces"),
}


@pytest.mark.parametrize("name", BAD_STL)
def test_bad_stl_gives_one_clear_error(name):
    """Empty, cut short, lying about its count, or with corners that are no numbers."""
    data, words = BAD_STL[name]
    with pytest.raises(InputError, match=words):
        read_mesh(data, "bad.stl")


def test_limits_of_size(monkeypatch, cube):
    """Files and meshes above the limits are refused."""
    monkeypatch.setattr(limits, "MAX_FACES", 11)
    with pytest.raises(InputError, match="12 faces"):
        read_mesh(write_stl(cube, "cube"), "cube.stl")
    monkeypatch.setattr(limits, "MAX_BYTES", 100)
    with pytest.raises(InputError, match="0 MB"):
        read_mesh(write_stl(cube, "cube"), "cube.stl")


def test_a_part_of_a_few_inches_is_not_taken_for_one_of_a_few_millimetres(block):
    """A cube of 4 is asked about unless a unit is stated; one of 6 is read with a note."""
    for size, unit, comes in ((4.0, None, False), (4.0, "mm", True), (4.0, "inch", True), (6.0, None, True)):
        data = write_stl(block((0.0, size), (0.0, size), (0.0, size)), "b")
        if comes:
            assert max(read_mesh(data, "b.stl", unit).mesh.size_mm) == pytest.approx(
                size * (25.4 if unit == "inch" else 1.0), rel=1e-6
            )
        else:
            with pytest.raises(QuestionError, match="sizes from 5 mm"):
                read_mesh(data, "b.stl", unit)
