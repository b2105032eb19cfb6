"""The application: every page, and its facts as JSON at the same address with `.json`."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from voidless.errors import InputError, VoidlessError
from voidless.web.faults import Fault, fault_of
from voidless.web.guard import headers, refusal
from voidless.web.pages import PAGES, Page
from voidless.web.seam import FactsOf, FactsReader, ResultOf, campaign_facts, one_result
from voidless.web.views import Views, add_views

if TYPE_CHECKING:
    from fastapi import FastAPI
    from starlette.requests import Request
    from starlette.responses import Response

__all__ = ["create_app"]

_TEMPLATES = "voidless.web"
_PATIENCE_S = 0.5
"""How long a page waits for facts before it says that they are being worked out. [s]"""
_AGAIN_S = 2
"""After how long that page asks again. [s]"""


def _style_hash() -> str:
    from voidless.reporting.page import style

    return "sha256-" + base64.b64encode(hashlib.sha256(style().encode("utf-8")).digest()).decode("ascii")


def _html(page: Page, given: Mapping[str, Any]) -> str:
    from voidless.reporting.facts import complete
    from voidless.reporting.page import render

    return render(
        "page.html.j2",
        _TEMPLATES,
        page=page,
        pages=PAGES,
        facts=complete(given),
        verdict=_verdict(page, given),
    )


def _verdict(page: Page, given: Mapping[str, Any]) -> dict[str, str] | None:
    """Return what a page says may be claimed: `state`, `heading`, `sentence`; None where it does not say it."""
    from voidless.reporting.facts import complete
    from voidless.reporting.verdict import verdict

    if not page.verdict:
        return None
    found = verdict(complete(given))
    return {"state": found.state, "heading": found.heading, "sentence": found.sentence}


def _json(page: Page, given: Mapping[str, Any]) -> dict[str, Any]:
    parts = ("schema_version", "campaign", *page.parts, "provenance")
    said = _verdict(page, given)
    return {name: given[name] for name in parts if name in given} | ({"verdict": said} if said else {})


def _answer(request: Request, fault: Fault) -> Response:
    from starlette.responses import HTMLResponse, JSONResponse

    from voidless.reporting.page import render

    wants_json = request.url.path.endswith(".json") or "text/html" not in request.headers.get("accept", "")
    allowed = {"Allow": "GET, HEAD"} if fault.status == 405 else None
    if wants_json:
        return JSONResponse(fault.to_dict(), status_code=fault.status, headers=allowed)
    body = render("fault.html.j2", _TEMPLATES, fault=fault, pages=PAGES)
    return HTMLResponse(body, status_code=fault.status, headers=allowed)


def _working(page: Page | None) -> Response:
    """Return the page that stands in until the facts are worked out; it asks again by itself, without any script."""
    from starlette.responses import HTMLResponse

    from voidless.reporting.page import render

    here = {"page": page} if page else {}
    body = render("working.html.j2", _TEMPLATES, pages=PAGES, seconds=_AGAIN_S, **here)
    again = {"Refresh": str(_AGAIN_S), "Retry-After": str(_AGAIN_S)}
    return HTMLResponse(body, status_code=202, headers=again)


def _add_pages(app: FastAPI, reader: FactsReader) -> None:
    from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse

    from voidless.reporting.document import report_html

    def shown(body: Callable[[Mapping[str, Any]], str], page: Page | None = None) -> Response:
        facts = reader.soon(_PATIENCE_S)
        return _working(page) if facts is None else HTMLResponse(body(facts))

    def add(page: Page) -> None:
        def html() -> Response:
            return shown(lambda facts: _html(page, facts), page)

        def json() -> Response:
            return JSONResponse(_json(page, reader.facts()))

        app.add_api_route(f"/{page.name}", html, methods=["GET", "HEAD"])
        app.add_api_route(f"/{page.name}.json", json, methods=["GET", "HEAD"])

    for page in PAGES:
        add(page)
    app.add_api_route("/", lambda: RedirectResponse("/overview"), methods=["GET", "HEAD"])
    app.add_api_route("/report", lambda: shown(report_html), methods=["GET", "HEAD"])
    app.add_api_route("/report.json", lambda: JSONResponse(dict(reader.facts())), methods=["GET", "HEAD"])


def _add_results(app: FastAPI, folder: Path, result: ResultOf) -> None:
    from fastapi.responses import HTMLResponse, JSONResponse

    from voidless.reporting.page import render

    def json(found: Mapping[str, Any]) -> Response:
        return JSONResponse(dict(found))

    def html(found: Mapping[str, Any]) -> Response:
        return HTMLResponse(render("result.html.j2", _TEMPLATES, pages=PAGES, facts=found))

    def add(path: str, show: Callable[[Mapping[str, Any]], Response]) -> None:
        def page(request: Request) -> Response:
            try:
                return show(result(folder, request.path_params["wanted"]))
            except InputError as error:
                return _lacking(request, error)

        app.add_route(path, page, methods=["GET", "HEAD"])

    add("/results/{wanted}.json", json)
    add("/results/{wanted}", html)


def _add_guard(app: FastAPI) -> None:
    from starlette.exceptions import HTTPException

    shown = headers(_style_hash())

    @app.middleware("http")
    async def guard(request: Request, call_next: Any) -> Response:
        refused = refusal(request.method, request.headers.get("host"), request.headers.get("origin"))
        if refused:
            status, what, expected = refused
            answer = _answer(request, Fault(status, request.url.path, what, expected))
        else:
            answer = await call_next(request)
        for name, value in shown.items():
            answer.headers.setdefault(name, value)  # a page with a script carries its own policy
        return answer

    @app.exception_handler(VoidlessError)
    def known(request: Request, error: VoidlessError) -> Response:
        return _answer(request, fault_of(error))

    @app.exception_handler(Exception)
    def unforeseen(request: Request, error: Exception) -> Response:
        # This one is answered outside the guard, so it carries the headers itself; the server logs the trace.
        what = f"an unforeseen fault ({type(error).__name__})"
        answer = _answer(
            request,
            Fault(500, request.url.path, what, "", "The server's messages say more; please report it."),
        )
        answer.headers.update(shown)
        return answer

    @app.exception_handler(HTTPException)
    def missing(request: Request, error: HTTPException) -> Response:
        expected = ", ".join(f"/{page.name}" for page in PAGES) + ", /toolpaths, /report"
        what = "there is no such page" if error.status_code == 404 else str(error.detail)
        return _answer(request, Fault(error.status_code, request.url.path, what, expected))


def _lacking(request: Request, error: VoidlessError) -> Response:
    return _answer(request, replace(fault_of(error), status=404))


def create_app(
    folder: Path,
    facts: FactsOf = campaign_facts,
    result: ResultOf = one_result,
    views: Views | None = None,
) -> FastAPI:
    """
    Return the application that shows the campaign in a folder.

    Parameters
    ----------
    folder : Path
        The campaign.
    facts : callable
        Folder to facts; the workflows' own unless a test brings another.
    result : callable
        Folder and id to one result, likewise.
    views : Views or None
        Where toolpaths come from, likewise.

    Raises
    ------
    InputError
        The extra `web` is not installed.
    """
    try:
        from fastapi import FastAPI
    except ModuleNotFoundError as error:
        raise InputError(
            "serve",
            f"the package {error.name} is not installed",
            "the extra `web`",
            "Install it: pip install 'voidless[web]'",
        ) from error
    app = FastAPI(title="Voidless", openapi_url=None)
    reader = app.state.reader = FactsReader(folder, facts)
    _add_pages(app, reader)
    _add_results(app, folder, result)
    add_views(app, folder, views or Views.of_workflows(), _style_hash(), _lacking)
    _add_guard(app)
    return app
