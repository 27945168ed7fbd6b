"""Start the workbench: on this machine alone, behind a secret that lives as long as the start."""

from __future__ import annotations

import secrets
import socket
import webbrowser
from collections.abc import Callable
from pathlib import Path

from embellish.errors import EmbellishError
from embellish.formats.extras import extra
from embellish.workbench.bench import Bench
from embellish.workbench.guards import Guards
from embellish.workbench.routes import MOST_BYTES, bench_app

HOST = "127.0.0.1"


def serve(
    shelf: Path, job: Path | None, port: int, *, opens: bool, told: Callable[[str], None]
) -> None:
    """Serve the workbench until it is stopped.

    Parameters
    ----------
    shelf
        The folder it works in.
    job
        The job to begin with, if any.
    port
        Where it is served; 0 takes a free one.
    opens
        Whether to open the page in the browser.
    told
        Called with the address, once it can be opened.

    Raises
    ------
    EmbellishError
        Where the job cannot be opened, or the port is taken.
    """
    uvicorn = extra("uvicorn")
    bench = Bench(shelf, job)
    try:
        listener = _listener(port)
    except EmbellishError:
        bench.close()
        raise
    port = listener.getsockname()[1]
    token = secrets.token_urlsafe(24)
    address = f"http://{HOST}:{port}/?token={token}"
    app = Guards(bench_app(bench), port=port, token=token, most_bytes=MOST_BYTES)
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=1,
    )
    told(address)
    if opens:
        webbrowser.open(address)
    with listener:
        uvicorn.Server(config).run(sockets=[listener])


def _listener(port: int) -> socket.socket:
    # The protocol is named, or the server does not see that it is TCP and lets each short answer
    # wait some 40 ms for the other side to confirm its head.
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind((HOST, port))
        listener.listen(64)  # whoever opens the address at once waits, and is answered
    except OSError as wrong:
        listener.close()
        raise EmbellishError(
            f"port {port} cannot be used ({wrong.strerror})",
            item="--port",
            mend="Give another with --port, or leave it out and a free one is taken.",
        ) from wrong
    return listener
