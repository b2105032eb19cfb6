"""
Who may ask: this machine alone; what a page may load: nothing from elsewhere.

A page of another site that a person has open could send requests to a local server, or make its own name
point here. So the name in `Host` must be this machine's, `Origin` (where a browser sends one) must agree
with it, and only reading is allowed.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response

__all__ = ["LOCAL_NAMES", "headers", "local", "refusal"]

LOCAL_NAMES = frozenset({"127.0.0.1", "localhost", "::1"})

Next = Callable[["Request"], Awaitable["Response"]]


def _name(address: str) -> str | None:
    try:
        parts = urlsplit(address)
        _ = parts.port  # a port that is no number raises here
    except ValueError:
        return None
    return parts.hostname


def local(host: str | None) -> bool:
    """Return whether a `Host` header names this machine."""
    return bool(host) and _name(f"//{host}") in LOCAL_NAMES


def refusal(method: str, host: str | None, origin: str | None) -> tuple[int, str, str] | None:
    """
    Return status, fault and expectation for a request that is refused; None for one that may pass.

    Parameters
    ----------
    method : str
        Of the request.
    host, origin : str or None
        Headers of the request.
    """
    if not local(host):
        return 403, f"Host {host!r} is not this machine", "127.0.0.1 or localhost"
    if origin is not None and origin != f"http://{host}":
        return 403, f"Origin {origin!r} is another site", f"http://{host}, or none"
    if method not in {"GET", "HEAD"}:
        return 405, f"{method} is not allowed: pages are for reading", "GET or HEAD"
    return None


def headers(style_hash: str, script_hash: str | None = None) -> dict[str, str]:
    """
    Return the headers of every answer.

    Parameters
    ----------
    style_hash : str
        Checksum of the one style sheet that pages carry, as the policy writes it (`sha256-...`).
    script_hash : str or None
        Checksum of the one script of a page that has one; it may ask this server for data.
    """
    scripted = f"script-src '{script_hash}'; connect-src 'self'; " if script_hash else ""
    return {
        "Content-Security-Policy": (
            f"default-src 'none'; style-src '{style_hash}'; img-src 'self' data:; {scripted}base-uri 'none'; "
            "form-action 'none'; frame-ancestors 'none'"
        ),
        "Cross-Origin-Opener-Policy": "same-origin",
        "Cross-Origin-Resource-Policy": "same-origin",
        "Cache-Control": "no-store",
        "Referrer-Policy": "no-referrer",
        "X-Content-Type-Options": "nosniff",
    }
