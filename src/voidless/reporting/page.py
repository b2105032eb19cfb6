"""Templates and style shared by every document and page."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from voidless.reporting import words
from voidless.reporting.charts import Plate
from voidless.reporting.tables import tables

if TYPE_CHECKING:
    from jinja2 import Environment

__all__ = ["environment", "render", "style"]


@lru_cache(maxsize=1)
def style() -> str:
    """Return the style sheet of documents and pages."""
    return files("voidless.reporting").joinpath("static", "voidless.css").read_text(encoding="utf-8")


def _beads() -> str:
    """Return the one ornament: beads that grow from left to right until nothing is left between them."""
    count, pitch = 60, 16
    sizes = (min(5.0 + 12.0 * place / (0.8 * count), pitch + 0.2) for place in range(count))
    path = "".join(f"M{place * pitch} 0h{size:.2f}v8h-{size:.2f}z" for place, size in enumerate(sizes))
    return (
        f'<svg class="beads" viewBox="0 0 {count * pitch} 8" preserveAspectRatio="none" aria-hidden="true">'
        f'<path d="{path}"/></svg>'
    )


def drawings(plate: Plate) -> list[tuple[str, Any]]:
    """Return title and drawing of every chart of a plate, ready for a template."""
    from markupsafe import Markup

    from voidless.reporting.draw import draw

    # The drawing is made by us from data; names in it were escaped when it was written as XML.
    return [(chart.title, Markup(draw(chart))) for chart in plate.charts]  # noqa: S704


@lru_cache(maxsize=8)
def environment(*packages: str) -> Environment:
    """Return a template environment that escapes everything and stops at a name nobody set."""
    from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup

    from voidless.reporting import figures

    found = Environment(
        loader=ChoiceLoader([PackageLoader(name) for name in (*packages, "voidless.reporting")]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    for name in words.__all__:
        found.filters[name] = getattr(words, name)
    beads = Markup(_beads())  # noqa: S704 - ours
    found.globals.update(zip=zip, drawings=drawings, tables=tables, figures=figures, bead_strip=beads)
    return found


def render(template: str, *packages: str, **context: Any) -> str:
    """
    Return a template filled with its context.

    Parameters
    ----------
    template : str
        File name in a `templates` folder.
    packages : str
        Packages whose templates come before those of the report.
    """
    from markupsafe import Markup

    sheet = Markup(style())  # noqa: S704 - our own file
    return environment(*packages).get_template(template).render(style=sheet, **context)
