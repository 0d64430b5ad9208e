"""One case tried in this process: what the program said, and whether it was as it must be."""

from __future__ import annotations

import contextlib
import io
import json
import math
import os
import re
import tempfile
import traceback
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from analysis.cli.main import main
from analysis.storage import structure, trial

from .case import Case

NO_NUMBER = re.compile(r"(?<![\w.\"$-])-?(?:nan|inf)(?![\w.\"$-])")  # as a value in a text
NO_JSON = re.compile(r"[:,\[]\s*-?(?:NaN|Infinity)\s*[,\]}]")  # as a value in data of a page
STEERS = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]")  # what moves a terminal's cursor or does worse
FAULT = re.compile(r"(?:rowbench:|  \d+\.) ")
NO_FAULT = re.compile(r"rowbench: (\d+ faults:|machine code .*)")
FINE = ("answered", "refused")
QUICK = "/dev/shm"  # in memory, where the system has it: a paddock waits for the disk a dozen times


@dataclass(frozen=True)
class Outcome:
    """How it ended: one of FINE, or a fault of the program, with what shows it."""

    how: str
    shown: str = ""


def attempt(case: Case) -> Outcome:
    """Lay a case in a folder of its own, call the program there, and judge what came of it.

    Its folder for temporary files is one more of its own: what is left there is seen too.
    """
    here = Path.cwd()
    with tempfile.TemporaryDirectory(prefix="case-", dir=QUICK if os.access(QUICK, os.W_OK) else None) as name:
        folder, beside = Path(name) / "in", Path(name) / "beside"
        folder.mkdir()
        beside.mkdir()
        case.lay(folder)
        before = listing(folder)
        os.chdir(folder)
        try:
            with _temporary(beside), seen(case.seen_here):
                outcome = _judged(case, folder, before)
        finally:
            os.chdir(here)
        if outcome.how in FINE and (left := os.listdir(beside)):
            return Outcome("LEFT FILES", f"in the folder for temporary files: {left}")
        return outcome


@contextlib.contextmanager
def _temporary(folder: Path) -> Iterator[None]:
    """Temporary files go to a folder."""
    named, place = os.environ.get("TMPDIR"), tempfile.tempdir
    os.environ["TMPDIR"], tempfile.tempdir = str(folder), None
    try:
        yield
    finally:
        tempfile.tempdir = place
        if named is None:
            del os.environ["TMPDIR"]
        else:
            os.environ["TMPDIR"] = named


@contextlib.contextmanager
def seen(here: bool) -> Iterator[None]:
    """Stored results are looked at in this process, where no process apart is needed."""
    apart = trial._apart
    if here:
        trial._apart = lambda place: structure.unsound(str(place))
    try:
        yield
    finally:
        trial._apart = apart


def _judged(case: Case, folder: Path, before: dict[str, object]) -> Outcome:
    out = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", newline="", write_through=True)
    err = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", errors="backslashreplace", newline="", write_through=True)
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = main(list(case.words))
    except SystemExit as error:  # --help
        code = int(error.code or 0)
    except KeyboardInterrupt:
        raise
    except BaseException as error:
        return Outcome(f"TRACEBACK {type(error).__name__}", traceback.format_exc()[-3000:])
    said, complained = (stream.buffer.getvalue().decode("utf-8", "replace") for stream in (out, err))
    if "Traceback (most recent" in complained:
        return Outcome("TRACEBACK told", complained[-3000:])
    if found := STEERS.search(said + complained):
        text = said + complained
        return Outcome("STEERS", repr(text[max(found.start() - 200, 0) : found.end() + 50]))
    if code == 0 or (code == 1 and "verify" in case.words):
        outcome = _answer(case, said)
        return outcome if outcome.how not in FINE else _written(case, folder, before)
    if code != 2:
        return Outcome(f"EXIT {code}", complained[-2000:])
    return _refusal(folder, before, said, complained)


def _answer(case: Case, said: str) -> Outcome:
    options = case.words[: case.words.index("--")] if "--" in case.words else case.words  # behind "--" all are names
    if "--json" in options and not said.startswith(("usage", "rowbench ")):
        try:
            document = json.loads(said, parse_constant=_constant)
        except ValueError as error:
            return Outcome("JSON", f"{error}: {said[-500:]}")
        if not _finite(document):
            return Outcome("JSON NaN", said[:500])
        return Outcome("answered")
    if found := NO_NUMBER.search(said):
        return Outcome("NAN", said[max(found.start() - 200, 0) : found.end() + 50])
    return Outcome("answered")


def _written(case: Case, folder: Path, before: dict[str, object]) -> Outcome:
    """What was written with an answer: nothing half done, no number that is none."""
    for path in map(Path, sorted(set(listing(folder)) - set(before))):
        name = path.name
        if name.startswith(".") and name not in case.words:
            return Outcome("LEFT FILES", str(path))
        if path.is_dir() and name.endswith(".parts"):
            return Outcome("LEFT FILES", str(path))
        if path.is_file() and (wrong := _inside(path)):
            return wrong
    wrong = case.fits(folder) if case.fits is not None else ""
    return Outcome("OTHER ANSWER", wrong) if wrong else Outcome("answered")


def _inside(path: Path) -> Outcome | None:
    """What is wrong in a file that was written."""
    if not path.stat().st_size:
        return Outcome("LEFT FILES", f"{path} is empty")
    if path.suffix in (".json", ".geojson"):
        try:
            json.loads(path.read_text(encoding="utf-8"), parse_constant=_constant)
        except ValueError as error:
            return Outcome("JSON", f"{path}: {error}")
    signs = {".html": NO_JSON, ".htm": NO_JSON, ".csv": NO_NUMBER}.get(path.suffix)
    found = signs.search(path.read_text(encoding="utf-8")) if signs is not None else None
    if found is not None:
        return Outcome("NAN", f"{path}: {found.string[max(found.start() - 100, 0) : found.end() + 30]}")
    return None


def _refusal(folder: Path, before: dict[str, object], said: str, complained: str) -> Outcome:
    if (after := listing(folder)) != before:
        unlike = sorted(name for name in {*after, *before} if after.get(name, 0) != before.get(name, 0))
        return Outcome("LEFT FILES", f"{unlike}: {complained[-500:]}")
    message = complained[complained.find("rowbench: ") :]
    if message.startswith("rowbench: "):
        faults = [line for line in message.splitlines() if FAULT.match(line) and not NO_FAULT.fullmatch(line)]
        lacking = [line for line in faults if not _whole(line, message)]
        if faults and not lacking:
            return Outcome("refused")
        return Outcome("MESSAGE", (lacking or [message])[0][:800])
    if not message and said.startswith("usage"):
        return Outcome("refused")
    return Outcome("MESSAGE", complained[-800:] or said[-300:])


def _whole(line: str, message: str) -> bool:
    """Whether a fault says where, what was given, what is allowed and what to try.

    The last two may stand on lines that follow it; faults beyond the first of a kind are only counted.
    """
    told = line if "try: " in line else message
    where = re.match(r"(?:rowbench:|  \d+\.) (?P<where>.+?): (?P<given>.+)", line)
    allowed = "allowed: " in told or "more lines with the same fault" in line
    return where is not None and allowed and re.search(r"try: \S", told) is not None


def _constant(text: str) -> float:
    raise ValueError(f"{text} is not JSON")


def _finite(thing: object) -> bool:
    if isinstance(thing, float):
        return math.isfinite(thing)
    if isinstance(thing, dict):
        return all(map(_finite, thing.values()))
    return not isinstance(thing, list) or all(map(_finite, thing))


def listing(folder: Path) -> dict[str, object]:
    """What lies in a folder, with sizes and times of change; of finished passes only these, not what holds them."""
    found: dict[str, object] = {}
    for place, folders, names in os.walk(folder):
        for name in [*folders, *names]:
            path = os.path.join(place, name)
            if place.endswith(".parts") and name in ("lock", "about.json"):
                continue
            state = os.lstat(path)
            found[path] = None if name in folders else (state.st_size, state.st_mtime_ns, state.st_mode)
    return found
