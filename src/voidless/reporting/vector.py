"""
A plotted SVG made fit for a page: themed colours, no styles of its own, no ids that clash, a description.

Colours of the drawing are exchanged for page variables, so one drawing serves light, dark and print. Style
attributes become presentation attributes, so that a page may forbid inline styles.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET

__all__ = ["PALETTE", "fit_for_page"]

PALETTE = {
    "ink": "#1f2a31",
    "muted": "#5a6770",
    "grid": "#dfdcd4",
    "paper": "#fffefb",
    "accent": "#1f6f78",
    "soft": "#cfe2e2",
    "second": "#9a5a12",
}
"""Colours of a drawing by the page variable that replaces them; the value serves where the page has none."""

_FONT = "system-ui, -apple-system, 'Segoe UI', Roboto, 'Noto Sans', 'DejaVu Sans', sans-serif"
_DROPPED = {"font-family", "font"}


def _local(name: str) -> str:
    return name.rsplit("}", 1)[-1]


def _spread_styles(element: ET.Element) -> None:
    for part in element.attrib.pop("style", "").split(";"):
        key, _, content = part.partition(":")
        if content and key.strip() not in _DROPPED:
            element.set(key.strip(), content.strip())


def _theme(element: ET.Element, variables: dict[str, str]) -> None:
    for key in ("fill", "stroke"):
        found = variables.get(element.get(key, "").lower())
        if found:
            element.set(key, found)


def _references(root: ET.Element) -> set[str]:
    found = set()
    for element in root.iter():
        for key, content in element.attrib.items():
            if key == "href" and content.startswith("#"):
                found.add(content[1:])
            elif content.startswith("url(#"):
                found.add(content[5:-1])
    return found


def _prefix_ids(root: ET.Element, key: str) -> None:
    used = _references(root)
    for element in root.iter():
        own = element.attrib.pop("id", None)
        if own in used:
            element.set("id", f"{key}-{own}")
        for name, content in element.attrib.items():
            if name == "href" and content.startswith("#"):
                element.set(name, f"#{key}-{content[1:]}")
            elif content.startswith("url(#"):
                element.set(name, f"url(#{key}-{content[5:-1]})")


def fit_for_page(svg: str, key: str, title: str, alt: str) -> str:
    """
    Return a plotted SVG as an element that can stand in an HTML page.

    Parameters
    ----------
    svg : str
        The drawing, as the plotting library wrote it.
    key : str
        Prefix of every id that is kept.
    title, alt : str
        Name and description for people who cannot see it.
    """
    variables = {colour: f"var(--chart-{name}, {colour})" for name, colour in PALETTE.items()}
    root = ET.fromstring(svg)  # noqa: S314 - our own drawing, not somebody's file
    for parent in list(root.iter()):
        parent.tag = _local(parent.tag)
        for name in list(parent.attrib):
            if name != _local(name):
                parent.set(_local(name), parent.attrib.pop(name))
        for child in list(parent):
            if _local(child.tag) in {"metadata", "style"}:
                parent.remove(child)
        _spread_styles(parent)
        _theme(parent, variables)
        parent.text = parent.text.strip() or None if parent.text else None
        parent.tail = None
    _prefix_ids(root, key)
    _, _, width, height = root.attrib["viewBox"].split()
    root.attrib = {
        "xmlns": "http://www.w3.org/2000/svg",
        "viewBox": root.attrib["viewBox"],
        "width": f"{float(width):g}",
        "height": f"{float(height):g}",
        "role": "img",
        "aria-labelledby": f"{key}-title {key}-alt",
        "font-family": _FONT,
        "stroke-linejoin": "round",
    }
    for position, (tag, text) in enumerate((("title", title), ("desc", alt))):
        element = ET.Element(tag, {"id": f"{key}-{'title' if tag == 'title' else 'alt'}"})
        element.text = text
        root.insert(position, element)
    return ET.tostring(root, encoding="unicode")
