"""Start the workroom on this machine: the loopback only, on a port that is free."""

from __future__ import annotations

import os
import signal
import socket
import sys
import threading
import webbrowser
from pathlib import Path

import uvicorn

from squab.keep import open_keep
from squab.web.app import create_app

HOST = "127.0.0.1"


def serve(folder: Path | None, port: int, *, browser: bool, workers: int) -> None:
    """Serve until Ctrl-C.

    Parameters
    ----------
    folder
        Where the jobs are kept; None for the user's own folder.
    port
        The port to take; the next that is free where it is taken.
    browser
        Open the browser once the workroom answers.
    workers
        Processes for searches and sheets.

    Raises
    ------
    KeepError
        If the keep cannot be opened.
    """
    keep = open_keep(folder)
    listening = _free_socket(port)
    address = f"http://{HOST}:{listening.getsockname()[1]}/"
    app = create_app(keep, workers=workers, warm=True)
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning", server_header=False, timeout_graceful_shutdown=3))
    print(f"The workroom is open at {address}\nJobs are kept in {keep.folder}\nCtrl-C closes it.", flush=True)
    if browser:
        threading.Timer(0.8, webbrowser.open, (address,)).start()
    # A signal is heard again once the server has closed: then one leaves in order.
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: sys.exit(0))
    server.run(sockets=[listening])


def _free_socket(port: int) -> socket.socket:
    """A socket on the port, or on the next that is free."""
    for offered in (*range(port, min(port + 20, 65536)), 0):
        listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        if os.name != "nt":  # there it would share the port of another program
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listening.bind((HOST, offered))
            listening.listen(128)  # from now on a browser that asks waits for its answer
        except OSError:
            listening.close()
            continue
        listening.set_inheritable(True)
        return listening
    raise OSError(f"no port is free on {HOST}")
