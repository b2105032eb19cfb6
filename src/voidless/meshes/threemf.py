"""3MF: a model of objects made of triangles and components, with its unit, placed by transforms."""

from __future__ import annotations

from array import array
from dataclasses import dataclass, field
from xml.parsers import expat

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.meshes.limits import check_faces
from voidless.meshes.mesh import Mesh, joined
from voidless.meshes.package import Package

__all__ = ["MILLIMETRES", "read_3mf"]

Floats = NDArray[np.float64]

MILLIMETRES = {
    "micron": 0.001,
    "millimeter": 1.0,
    "centimeter": 10.0,
    "inch": 25.4,
    "foot": 304.8,
    "meter": 1000.0,
}
"""Units of the 3MF Core Specification. [mm]"""

_RELATIONS = "_rels/.rels"
_MODEL_TYPE = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
_PRODUCTION = "http://schemas.microsoft.com/3dmanufacturing/production/2015/06"
_DEPTH = 16
_SOLID = "model"

Key = tuple[str, str]
"""Member of the package and id of an object in it."""


@dataclass
class _Use:
    """An object at a place: `transform` is `(4, 3)`, for row vectors."""

    key: Key
    transform: Floats


@dataclass
class _Object:
    kind: str = _SOLID
    corners: array[float] = field(default_factory=lambda: array("d"))
    faces: array[int] = field(default_factory=lambda: array("q"))
    parts: list[_Use] = field(default_factory=list)


class _Model:
    """Collects one model file while it is parsed."""

    def __init__(self, name: str, member: str, objects: dict[Key, _Object]) -> None:
        self.name, self.member, self.objects = name, member, objects
        self.unit = "millimeter"
        self.items: list[_Use] = []
        self._open: _Object | None = None
        self._parser: expat.XMLParserType

    def parse(self, data: bytes) -> _Model:
        parser = expat.ParserCreate(namespace_separator=" ")
        parser.StartDoctypeDeclHandler = self._doctype
        parser.StartElementHandler = self._start
        self._parser = parser
        try:
            parser.Parse(data, True)
        except (expat.ExpatError, LookupError, UnicodeError) as fault:
            raise self._wrong(f"is no proper XML: {fault}") from fault
        return self

    def _wrong(self, what: str) -> InputError:
        line = self._parser.CurrentLineNumber
        return InputError(
            f"{self.name}:{self.member}:{line}", what, "a model as 3MF states", "Export it again."
        )

    def _doctype(self, *_: object) -> None:
        raise self._wrong("the model declares a document type")  # entities could grow without bound

    def _start(self, tag: str, given: dict[str, str]) -> None:
        step = _STEPS.get(tag.rpartition(" ")[2])
        if step is None:
            return
        try:
            step(self, given)
        except InputError:  # a ValueError too, but it says where already
            raise
        except (KeyError, ValueError, OverflowError) as fault:
            what = f"lacks {fault}" if isinstance(fault, KeyError) else f"{fault}"
            raise self._wrong(f"<{tag.rpartition(' ')[2]}> {what}") from fault

    def _model(self, given: dict[str, str]) -> None:
        self.unit = given.get("unit", "millimeter").lower()
        if self.unit not in MILLIMETRES:
            raise self._wrong(f"unit {self.unit!r} is not one of {', '.join(MILLIMETRES)}")

    def _object(self, given: dict[str, str]) -> None:
        self._open = _Object(given.get("type", _SOLID))
        self.objects[self.member, given["id"]] = self._open

    def _vertex(self, given: dict[str, str]) -> None:
        self._need().corners.extend((float(given["x"]), float(given["y"]), float(given["z"])))

    def _triangle(self, given: dict[str, str]) -> None:
        self._need().faces.extend((int(given["v1"]), int(given["v2"]), int(given["v3"])))

    def _component(self, given: dict[str, str]) -> None:
        self._need().parts.append(self._use(given))

    def _item(self, given: dict[str, str]) -> None:
        self.items.append(self._use(given))

    def _need(self) -> _Object:
        if self._open is None:
            raise self._wrong("mesh data stand outside of an object")
        return self._open

    def _use(self, given: dict[str, str]) -> _Use:
        member = given.get(f"{_PRODUCTION} path", self.member).lstrip("/")
        return _Use(
            (member, given["objectid"]), _transform(given.get("transform", "1 0 0 0 1 0 0 0 1 0 0 0"))
        )


_STEPS = {
    "model": _Model._model,
    "object": _Model._object,
    "vertex": _Model._vertex,
    "triangle": _Model._triangle,
    "component": _Model._component,
    "item": _Model._item,
}


def _transform(text: str) -> Floats:
    numbers = np.array([float(word) for word in text.split()])
    if numbers.shape != (12,) or not np.isfinite(numbers).all():
        raise ValueError(f"transform {text[:60]!r} is not twelve numbers")
    return numbers.reshape(4, 3)


def _root(package: Package, name: str) -> str:
    """Return the member that holds the model."""
    found: list[str] = []

    def start(_: str, given: dict[str, str]) -> None:
        if given.get("Type") == _MODEL_TYPE and "Target" in given:
            found.append(given["Target"].lstrip("/"))

    parser = expat.ParserCreate(namespace_separator=" ")
    parser.StartElementHandler = start
    try:
        parser.Parse(package.read(_RELATIONS), True)
    except (expat.ExpatError, LookupError, UnicodeError) as fault:
        raise InputError(
            name, f"{_RELATIONS} is no proper XML", "a whole 3MF file", "Export it again."
        ) from fault
    if not found:
        raise InputError(name, "the package names no model", "a 3MF file", "Export it again as 3MF.")
    return found[0]


class _Scene:
    """All objects of a package; model files are parsed when they are first asked for."""

    def __init__(self, package: Package, name: str) -> None:
        self._package, self._name = package, name
        self._models: dict[str, _Model] = {}
        self._objects: dict[Key, _Object] = {}
        self._meshes: dict[Key, Mesh] = {}
        self._counts: dict[Key, int] = {}

    def model(self, member: str) -> _Model:
        if member not in self._models:
            self._models[member] = _Model(self._name, member, self._objects).parse(self._package.read(member))
        return self._models[member]

    def object(self, key: Key) -> _Object:
        self.model(key[0])
        found = self._objects.get(key)
        if found is None:
            raise InputError(
                self._name, f"object {key[1]} is used and not there", "a whole model", "Export it again."
            )
        return found

    def faces(self, key: Key, depth: int = 0) -> int:
        """Return how many faces an object has, components multiplied out, without building any."""
        if depth > _DEPTH:
            raise InputError(
                self._name,
                f"components are nested over {_DEPTH} deep or in a circle",
                "a tree",
                "Export anew.",
            )
        if key not in self._counts:
            item = self.object(key)
            self._counts[key] = len(item.faces) // 3 + sum(self.faces(p.key, depth + 1) for p in item.parts)
        return self._counts[key]

    def pieces(self, use: _Use, outer: Floats) -> list[Mesh]:
        """Return the meshes of an object at its place, in the model's unit."""
        placed = _after(use.transform, outer)
        item = self.object(use.key)
        found = [piece for part in item.parts for piece in self.pieces(part, placed)]
        if item.faces:
            mesh = self._mesh(use.key)
            vertices = mesh.vertices @ placed[:3] + placed[3]
            turned = np.linalg.det(placed[:3]) < 0.0  # a mirror image: its faces would look inwards
            found.append(Mesh(vertices, mesh.faces[:, ::-1] if turned else mesh.faces))
        return found

    def _mesh(self, key: Key) -> Mesh:
        if key not in self._meshes:
            item = self.object(key)
            corners = np.array(item.corners, dtype=float).reshape(-1, 3)
            faces = np.array(item.faces, dtype=np.int64).reshape(-1, 3)
            if not np.isfinite(corners).all():
                bad = int(np.argmax(~np.isfinite(corners).all(axis=1)))
                raise InputError(
                    self._name, f"vertex {bad} is not a finite number", "finite numbers", "Export anew."
                )
            if len(faces) and not (faces.min() >= 0 and faces.max() < len(corners)):
                raise InputError(
                    self._name,
                    "a triangle names a vertex that is not there",
                    "a whole model",
                    "Export it again.",
                )
            self._meshes[key] = Mesh(corners, faces)
        return self._meshes[key]


def _after(inner: Floats, outer: Floats) -> Floats:
    """Return the transform that does first the inner, then the outer one."""
    return np.vstack([inner[:3] @ outer[:3], inner[3] @ outer[:3] + outer[3]])


def read_3mf(data: bytes, name: str) -> tuple[Mesh, tuple[str, ...]]:
    """
    Return the solids of a 3MF file's build as one mesh, and what was left out.

    Parameters
    ----------
    data : bytes
        Content of the file.
    name : str
        Its name, for faults.

    Returns
    -------
    mesh : Mesh
        All objects that the build lists, at their places, corners of one place joined. [mm]
    notes : tuple of str
        Objects that are no solid (supports, surfaces) and were left out, in words.

    Raises
    ------
    InputError
        The package is damaged or too large, the model is not as the standard states, or nothing in its
        build is a solid.

    Notes
    -----
    3MF Core Specification 1: units, components, transforms for row vectors; paths to other model files
    are those of its Production Extension. What other extensions state (beams, slices, colours) is not read.
    """
    package = Package(data, name)
    scene = _Scene(package, name)
    model = scene.model(_root(package, name))
    solids = [use for use in model.items if scene.object(use.key).kind == _SOLID]
    left = len(model.items) - len(solids)
    check_faces(name, sum(scene.faces(use.key) for use in solids))
    unit = MILLIMETRES[model.unit]
    pieces = [piece for use in solids for piece in scene.pieces(use, np.eye(4, 3))]
    starts = np.cumsum([0, *(len(piece.vertices) for piece in pieces)])
    faces = np.vstack([piece.faces + start for piece, start in zip(pieces, starts[:-1], strict=True)])
    mesh = joined(Mesh(unit * np.vstack([piece.vertices for piece in pieces]), faces))
    return mesh, (_left_out(left),) if left else ()


def _left_out(count: int) -> str:
    what = (
        "1 object of the build is no solid and was"
        if count == 1
        else f"{count} objects of the build are no solids and were"
    )
    return f"{what} left out"
