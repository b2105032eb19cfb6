"""Pages of toolpaths: what was given out, and one of them to look at from all sides."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from voidless.errors import VoidlessError
from voidless.web.guard import headers
from voidless.web.pages import PAGES

if TYPE_CHECKING:
    from fastapi import FastAPI
    from starlette.requests import Request
    from starlette.responses import Response

__all__ = ["Views", "add_views", "script"]

_TEMPLATES = "voidless.web"


@dataclass(frozen=True)
class Views:
    """
    Where toolpaths come from; the workflows' own unless a test brings others.

    Attributes
    ----------
    listed : callable
        Folder to the list of toolpaths.
    one : callable
        Folder, name, whether welds and whether fill are wanted to one toolpath.
    """

    listed: Callable[[Path], Mapping[str, Any]]
    one: Callable[[Path, str, bool, bool], Mapping[str, Any]]

    @classmethod
    def of_workflows(cls) -> Views:
        """Return those of the workflows."""

        def listed(folder: Path) -> Mapping[str, Any]:
            from voidless.workflows.viewing import toolpath_list

            return toolpath_list(folder)

        def one(folder: Path, name: str, welds: bool, fill: bool) -> Mapping[str, Any]:
            from voidless.workflows.viewing import one_toolpath

            return one_toolpath(folder, name, welds, fill)

        return cls(listed, one)


@lru_cache(maxsize=1)
def script() -> str:
    """Return the one script of the pages: it draws beads."""
    return files("voidless.web").joinpath("static", "view.js").read_text(encoding="utf-8")


def _checksum(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")


def add_views(
    app: FastAPI,
    folder: Path,
    views: Views,
    style_hash: str,
    lacking: Callable[[Request, VoidlessError], Response],
) -> None:
    """
    Add the list of toolpaths and the page of each, with their data beside them.

    Parameters
    ----------
    app : FastAPI
        The application.
    folder : Path
        The campaign.
    views : Views
        Where toolpaths come from.
    style_hash : str
        Checksum of the style sheet, as the policy writes it.
    lacking : callable
        Answers a request for what is not there.
    """
    from fastapi.responses import HTMLResponse, JSONResponse
    from markupsafe import Markup

    from voidless.errors import InputError
    from voidless.reporting.page import render

    policy = headers(style_hash, _checksum(script()))

    def list_page() -> Response:
        return HTMLResponse(render("toolpaths.html.j2", _TEMPLATES, pages=PAGES, facts=views.listed(folder)))

    def list_data() -> Response:
        return JSONResponse(dict(views.listed(folder)))

    def page(request: Request) -> Response:
        wanted, facts = request.path_params["wanted"], views.listed(folder)
        asked = [name for name in ("welds", "fill") if name in request.query_params]
        if wanted not in {row["name"] for row in facts["toolpaths"]}:
            return lacking(
                request, InputError("toolpath", f"no file {wanted!r}", "one that `voidless make` wrote")
            )
        drawn = Markup(script())  # noqa: S704 - our own file
        body = render(
            "toolpath.html.j2", _TEMPLATES, pages=PAGES, facts=facts, name=wanted, asked=asked, script=drawn
        )
        return HTMLResponse(body, headers=policy)

    def data(request: Request) -> Response:
        try:
            asked = request.query_params
            found = views.one(folder, request.path_params["wanted"], "welds" in asked, "fill" in asked)
        except InputError as error:
            return lacking(request, error)
        return JSONResponse(dict(found))

    app.add_api_route("/toolpaths", list_page, methods=["GET", "HEAD"])
    app.add_api_route("/toolpaths.json", list_data, methods=["GET", "HEAD"])
    app.add_route("/toolpaths/{wanted}.json", data, methods=["GET", "HEAD"])
    app.add_route("/toolpaths/{wanted}", page, methods=["GET", "HEAD"])
