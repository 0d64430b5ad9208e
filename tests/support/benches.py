"""A bench as a test meets it: asked without a server, or served on a thread until the test is done with it."""

from __future__ import annotations

import io
import json
import threading
from contextlib import contextmanager, suppress
from types import SimpleNamespace

from analysis.bench.application import Application
from analysis.bench.desk import Desk
from analysis.bench.serve import serve

TOKEN, PORT = "a-token-of-the-test", 8417


def bench_in(folder, given="hump"):
    """An application of a folder, ready to be asked."""
    ready, closed = threading.Event(), threading.Event()
    ready.set()
    made = Application(Desk(folder, given), TOKEN, ready, closed.set)
    made.port = PORT
    return made


def asked(application, word, question=None, *, method="POST", token=TOKEN, body=None, **headers):
    """(status, answer, headers) of one request; headers by their names in WSGI, None: without."""
    sent = json.dumps(question).encode() if body is None else body
    environ = {
        "REQUEST_METHOD": method, "PATH_INFO": f"/{token}/{word}", "CONTENT_LENGTH": str(len(sent)),
        "CONTENT_TYPE": "application/json", "wsgi.input": io.BytesIO(sent), "HTTP_HOST": f"127.0.0.1:{PORT}",
        "HTTP_ORIGIN": f"http://127.0.0.1:{PORT}", **headers,
    }  # fmt: skip
    environ = {name: value for name, value in environ.items() if value is not None}
    told = []
    found = b"".join(application(environ, lambda status, listed: told.append((status, dict(listed)))))
    status, listed = told[0]
    text = found.decode()
    return int(status[:3]), json.loads(text) if "json" in listed["Content-Type"] else text, listed


def opened(application, name="hump"):
    """The scene of a file just opened."""
    return asked(application, "open", {"file": name})[1]["scene"]


@contextmanager
def served(folder, given="hump", port=0):
    """A bench on a thread → its address and application-like ways to end it; closed at the end."""
    began, found = threading.Event(), SimpleNamespace(address="", saved=None, desk=Desk(folder, given))

    def told(address):
        found.address = address
        began.set()

    def run():
        found.saved = serve(found.desk, port, lambda: None, told)

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    assert began.wait(10.0)

    def close():
        import urllib.request  # noqa: PLC0415

        origin = found.address.rsplit("/", 2)[0]
        request = urllib.request.Request(
            f"{found.address}close", b"{}", {"Content-Type": "application/json", "Origin": origin}
        )
        if thread.is_alive():
            with suppress(OSError):  # its page has closed it meanwhile
                urllib.request.urlopen(request, timeout=10.0).read()
        thread.join(10.0)
        assert not thread.is_alive()

    found.close = close
    try:
        yield found
    finally:
        close()
