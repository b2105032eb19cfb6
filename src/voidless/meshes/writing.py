"""A mesh as the bytes of a 3MF file."""

from __future__ import annotations

import io
import zipfile
from xml.sax.saxutils import quoteattr

from voidless.meshes.mesh import Mesh

__all__ = ["write_3mf"]

_ZIP_DATE = (1980, 1, 1, 0, 0, 0)
_CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_MODEL = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
_RELATIONS = "application/vnd.openxmlformats-package.relationships+xml"
_CONTENT = "application/vnd.ms-package.3dmanufacturing-3dmodel+xml"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006"


def write_3mf(mesh: Mesh, name: str) -> bytes:
    """
    Return a mesh as a 3MF file, in millimetres; the same mesh gives the same bytes.

    Parameters
    ----------
    mesh : Mesh
        A closed surface. [mm]
    name : str
        Name of the object in the file.

    Returns
    -------
    data : bytes
        3MF Core Specification: a ZIP package with content types, one relationship and one model.
    """
    corners = "".join(f'<vertex x="{x:.9g}" y="{y:.9g}" z="{z:.9g}"/>' for x, y, z in mesh.vertices.tolist())
    faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.faces.tolist())
    model = (
        f'<model unit="millimeter" xml:lang="en-US" xmlns="{_CORE}"><resources>'
        f'<object id="1" type="model" name={quoteattr(name)}><mesh><vertices>{corners}</vertices>'
        f"<triangles>{faces}</triangles></mesh></object></resources>"
        f'<build><item objectid="1"/></build></model>'
    )
    types = (
        f'<Types xmlns="{_PACKAGE}/content-types">'
        f'<Default Extension="rels" ContentType="{_RELATIONS}"/>'
        f'<Default Extension="model" ContentType="{_CONTENT}"/></Types>'
    )
    relations = (
        f'<Relationships xmlns="{_PACKAGE}/relationships"><Relationship Target="/3D/3dmodel.model" Id="rel0" '
        f'Type="{_MODEL}"/></Relationships>'
    )
    parts = {"[Content_Types].xml": types, "_rels/.rels": relations, "3D/3dmodel.model": model}
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as package:
        for member, text in parts.items():
            entry = zipfile.ZipInfo(member, _ZIP_DATE)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = 0  # the same bytes on every system
            package.writestr(entry, '<?xml version="1.0" encoding="UTF-8"?>\n' + text)
    return file.getvalue()
