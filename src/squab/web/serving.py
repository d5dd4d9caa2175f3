"""Start the workroom on this machine: on the loopback, and in one's own network only where that is asked for."""

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
from squab.web.door import Door, NetworkError, network_address, spaced

HOST = "127.0.0.1"


def serve(folder: Path | None, port: int, *, browser: bool, workers: int, network: str | None = None) -> None:
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
    network
        Address in the workroom's own network by which telephones may come in, "" to find it; None: none may.

    Raises
    ------
    KeepError
        If the keep cannot be opened.
    NetworkError
        If the address is none that may be opened to a network, or not this machine's.
    """
    outside = None if network is None else network_address(network)
    keep = open_keep(folder)
    listening = _free_sockets(port, outside)
    port = listening[0].getsockname()[1]
    address = f"http://{HOST}:{port}/"
    door = None if outside is None else Door(keep, f"{outside}:{port}")
    app = create_app(keep, workers=workers, warm=True, door=door)
    config = uvicorn.Config(
        app, log_level="warning", server_header=False, proxy_headers=False, timeout_graceful_shutdown=3
    )
    server = uvicorn.Server(config)
    app.state.room.closing = lambda: server.should_exit
    print(f"The workroom is open at {address}\nJobs are kept in {keep.folder}", flush=True)
    if door is not None:
        print(_of_the_network(door), flush=True)
    print("Ctrl-C closes it.", flush=True)
    if browser:
        threading.Timer(0.8, webbrowser.open, (address,)).start()
    # A signal is heard again once the server has closed: then one leaves in order.
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: sys.exit(0))
    server.run(sockets=listening)


def _of_the_network(door: Door) -> str:
    return f"""
Telephones in this network reach it at {door.address}
Code for the first of them: {spaced(door.new_code())} (good once, for ten minutes; others are made under Keep)
Mind: what goes over the network is not enciphered. Whoever can listen in this network can read it, so
open the workroom in a network of your own only, never in one that guests or strangers share.
"""


def _free_sockets(port: int, outside: str | None) -> list[socket.socket]:
    """Sockets of the loopback, and of the network where it is asked for, on one port that is free on both."""
    for offered in (*range(port, min(port + 20, 65536)), 0, 0, 0):
        first = _listening(HOST, offered)
        if first is None or outside is None:
            if first is not None:
                return [first]
            continue
        second = _listening(outside, first.getsockname()[1])
        if second is not None:
            return [first, second]
        first.close()
    if outside is None:
        raise OSError(f"no port is free on {HOST}")
    raise NetworkError(
        f"{outside} is not an address of this machine, or none of its ports is free",
        "leave --address out to have it found, or give what the system's network settings show",
    )


def _listening(host: str, port: int) -> socket.socket | None:
    """A socket that listens; None where the port is taken or the address is not this machine's."""
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if os.name != "nt":  # there it would share the port of another program
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, port))
        listening.listen(128)  # from now on a browser that asks waits for its answer
    except OSError:
        listening.close()
        return None
    listening.set_inheritable(True)
    return listening
