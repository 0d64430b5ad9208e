"""The bench as a WSGI application: one page, and questions in JSON that it asks."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from threading import Event
from typing import Any

from analysis.bench.desk import Desk
from analysis.bench.document import crossing, place_told
from analysis.bench.doors import CLOSED, HEADERS, refusal
from analysis.bench.field_map import map_part
from analysis.bench.keys import keys_told, kinds_told
from analysis.bench.opening import first_scene
from analysis.bench.page import bench_page
from analysis.bench.saving import Exists, save_scene
from analysis.bench.scene import scene_of
from scenarios.format.errors import ScenarioError, fault, plain
from scenarios.format.library import library
from sim.errors import SimulationError

LARGEST = 2_000_000  # bytes of a question
Start = Callable[[str, list[tuple[str, str]]], Any]


class Application:
    """Answers requests. ready: set once the model is compiled; close: called when the page asks to end the bench."""

    def __init__(self, desk: Desk, token: str, ready: Event, close: Callable[[], None]) -> None:
        self.desk, self.token, self.ready, self.close = desk, token, ready, close
        self.port = 0
        self.saved: list[str] = []
        self._asked: Mapping[str, Callable[[dict[str, Any]], dict[str, Any]]] = {
            "open": self._open, "cross": self._cross, "place": self._place, "map": self._map, "keys": self._keys,
            "save": self._save, "files": self._files, "close": self._close,
        }  # fmt: skip

    @property
    def address(self) -> str:
        """Where the page is."""
        return f"http://127.0.0.1:{self.port}/{self.token}/"

    def __call__(self, environ: dict[str, Any], start: Start) -> Iterable[bytes]:
        """One request."""
        if refusal(environ, self.token, self.port):
            return _send(start, "403 Forbidden", "text/plain", f"{CLOSED}\n")
        word = environ["PATH_INFO"].split("/", 2)[2]
        if environ["REQUEST_METHOD"] == "GET" and word == "":
            return _send(start, "200 OK", "text/html", bench_page(self.desk))
        if environ["REQUEST_METHOD"] != "POST" or word not in self._asked:
            return _send(start, "404 Not Found", "text/plain", "There is no such page on the bench.\n")
        return self._answered(word, environ, start)

    def _answered(self, word: str, environ: dict[str, Any], start: Start) -> Iterable[bytes]:
        try:
            found, status = self._asked[word](_sent(environ)), "200 OK"
        except ScenarioError as error:
            found, status = {"faults": [self._local(text) for text in error.faults]}, "422 Unprocessable Content"
        except SimulationError as error:
            found, status = {"faults": [f"this could not be crossed: {error}"]}, "422 Unprocessable Content"
        except Exists as error:
            found, status = {"exists": error.names}, "409 Conflict"
        return _send(start, status, "application/json", json.dumps(found, allow_nan=False, default=lambda v: v.item()))

    def _local(self, text: str) -> str:
        """A fault without the path of the file that everything on the bench belongs to."""
        for opened in self.desk.files():
            text = text.replace(f"{opened.path}: ", "").replace(f"{opened.path}:", "")
        return plain(text)

    def _open(self, sent: dict[str, Any]) -> dict[str, Any]:
        opened = self.desk.opened(str(sent.get("file", "")), anew=True)
        scene, told = first_scene(opened)
        return {
            "scene": {"file": scene.file, "changes": dict(scene.changes), "features": list(scene.features or ()),
                      "stones": list(scene.stones or ()), "roughness": scene.roughness},
            "told": list(told),
        }  # fmt: skip

    def _cross(self, sent: dict[str, Any]) -> dict[str, Any]:
        self.ready.wait()
        return crossing(self.desk, scene_of(sent.get("scene")))

    def _place(self, sent: dict[str, Any]) -> dict[str, Any]:
        self.ready.wait()
        return place_told(self.desk, scene_of(sent.get("scene")), _number(sent, "at"))

    def _map(self, sent: dict[str, Any]) -> dict[str, Any]:
        self.ready.wait()
        return map_part(self.desk, scene_of(sent.get("scene")), int(_number(sent, "part")))

    def _keys(self, sent: dict[str, Any]) -> dict[str, Any]:
        return {"keys": keys_told(self.desk.scenario(scene_of(sent.get("scene")))), "kinds": kinds_told()}

    def _files(self, sent: dict[str, Any]) -> dict[str, Any]:
        del sent
        return {
            "own": sorted(path.name for path in self.desk.folder.glob("*.toml") if path.is_file())[:200],
            "library": [{"name": one.name, "title": one.title} for one in library()],
        }

    def _save(self, sent: dict[str, Any]) -> dict[str, Any]:
        name, scene = sent.get("name"), scene_of(sent.get("scene"))
        if not isinstance(name, str):
            raise ScenarioError([fault("name", "none given", "a name for a file", "my field")])
        if sent.get("page"):
            self.ready.wait()
        found = save_scene(self.desk, scene, name, page=bool(sent.get("page")), over=sent.get("over") is True)
        self.saved += [one for one in found["written"] if one not in self.saved]
        return found

    def _close(self, sent: dict[str, Any]) -> dict[str, Any]:
        del sent
        self.close()
        return {"closed": True}


def _sent(environ: Mapping[str, Any]) -> dict[str, Any]:
    """The JSON document of a question. Raises ScenarioError where it is none."""
    wrong = ScenarioError([fault("question", "no JSON document", f"one, up to {LARGEST} bytes", "load the page again")])
    try:
        length = int(environ.get("CONTENT_LENGTH") or 0)
    except ValueError:
        raise wrong from None
    if not 0 < length <= LARGEST or not environ.get("CONTENT_TYPE", "").startswith("application/json"):
        raise wrong
    try:
        found = json.loads(environ["wsgi.input"].read(length))
    except (ValueError, RecursionError):
        raise wrong from None
    if not isinstance(found, dict):
        raise wrong
    return found


def _number(sent: Mapping[str, Any], name: str) -> float:
    value = sent.get(name)
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) < 1e9:
        raise ScenarioError([fault(name, "no number", "a number", "0")])
    return float(value)


def _send(start: Start, status: str, kind: str, text: str) -> Iterable[bytes]:
    body = text.encode("utf-8")
    start(status, [("Content-Type", f"{kind}; charset=utf-8"), ("Content-Length", str(len(body))), *HEADERS])
    return [body]
