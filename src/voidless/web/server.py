"""Starts the local server."""

from __future__ import annotations

import socket
from collections.abc import Callable
from pathlib import Path

from voidless.errors import InputError
from voidless.web.app import create_app

__all__ = ["serve"]

_HOST = "127.0.0.1"


def _listen(port: int) -> socket.socket:
    """Return a socket that listens on this machine alone: a taken port is told before anything starts."""
    if not 0 <= port <= 65535:
        raise InputError("serve", f"port {port}", "0 to 65535", "Choose another port with --port.")
    try:
        return socket.create_server((_HOST, port))
    except OSError as error:
        raise InputError(
            "serve",
            f"port {port} of {_HOST} cannot be used ({error.strerror})",
            "a free port",
            "Choose another with --port.",
        ) from error


def serve(folder: Path, port: int = 0, ready: Callable[[str], None] = lambda _: None) -> None:
    """
    Serve the pages of a campaign to this machine until it is interrupted.

    Parameters
    ----------
    folder : Path
        The campaign.
    port : int
        Where to listen on 127.0.0.1; 0 takes a free one.
    ready : callable
        Called once with the address, as soon as it is taken.

    Raises
    ------
    InputError
        The extra `web` is not installed, the folder holds no campaign, or the port is taken.
    """
    app = create_app(folder)
    from voidless.workflows.opening import open_campaign

    try:
        import uvicorn
    except ModuleNotFoundError as error:
        remedy = "Install it: pip install 'voidless[web]'"
        raise InputError("serve", "uvicorn is not installed", "the extra `web`", remedy) from error
    with _listen(port) as listening:
        with open_campaign(folder):
            pass  # a folder without a campaign is told before the address is
        app.state.reader.begin()  # the first page is then sooner there
        ready(f"http://{_HOST}:{listening.getsockname()[1]}")
        uvicorn.Server(uvicorn.Config(app, log_level="warning", server_header=False)).run(sockets=[listening])
