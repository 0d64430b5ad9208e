"""The bench served on the loopback address until it is closed."""

from __future__ import annotations

import logging
import socket
import sys
import threading
from collections.abc import Callable

from waitress import create_server, wasyncore

from analysis.bench.application import Application
from analysis.bench.desk import Desk
from analysis.bench.doors import new_token
from scenarios.format.errors import ScenarioError, fault

SPELL = 0.5  # how long is waited at once for a request [s]
THREADS = 4
SWITCH = 1e-3  # a thread that computes gives way to one that answers after so long, 5 ms as a rule [s]
USUAL_PORT = 8417  # always the same where it is free: what a browser keeps of the bench it keeps by port


def serve(desk: Desk, port: int, make_ready: Callable[[], object], told: Callable[[str], None]) -> list[str]:
    """Serve a desk until the page closes it → names of the files that were saved.

    port: 0: the usual one, or any that is free; make_ready: compiles the model, on a thread of its own; told: is given
    the address once the page can be opened. KeyboardInterrupt ends it as the page's button does. Raises ScenarioError
    where the port is taken, and what `make_ready` raises.
    """
    closed, ready = threading.Event(), threading.Event()
    logging.getLogger("waitress").setLevel(logging.ERROR)  # that a question is dropped at the end is nobody's worry
    application = Application(desk, new_token(), ready, closed.set)
    sockets: dict[int, object] = {}
    listening = _listening(port)
    application.port = listening.getsockname()[1]
    server = create_server(application, map=sockets, sockets=[listening], threads=THREADS, ident=None)
    broken: list[BaseException] = []

    def warm() -> None:
        try:
            make_ready()
        except BaseException as error:
            broken.append(error)
            closed.set()
        ready.set()

    threading.Thread(target=warm, daemon=True).start()
    patience = sys.getswitchinterval()
    sys.setswitchinterval(SWITCH)
    try:
        told(application.address)
        while not closed.is_set():
            wasyncore.loop(timeout=SPELL, map=sockets, count=1)
        for _ in range(3):  # the answer to the button
            wasyncore.loop(timeout=0.1, map=sockets, count=1)
    except KeyboardInterrupt as stopped:  # Ctrl-C is the ordinary way to close it; ended from outside is another
        if type(stopped) is not KeyboardInterrupt:
            raise
    finally:
        sys.setswitchinterval(patience)
        server.task_dispatcher.shutdown(timeout=1)
        wasyncore.close_all(sockets, ignore_all=True)
        listening.close()
    if broken:
        raise broken[0]
    return application.saved


def _listening(port: int) -> socket.socket:
    """A socket of this machine alone that listens at a port; 0: the usual one, or any that is free."""
    reason = ""
    for one in [port] if port else [USUAL_PORT, 0]:
        try:
            return socket.create_server(("127.0.0.1", one))
        except OSError as error:
            reason = error.strerror or str(error)
    given = f"given {port}, which cannot be listened on ({reason})"
    hint = "leave --port out: a free one is found"
    raise ScenarioError([fault("--port", given, "a port that nothing else uses", hint)])
