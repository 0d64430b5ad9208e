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
from dataclasses import dataclass
from pathlib import Path

from analysis.cli.main import main

from .case import Case

NO_NUMBER = re.compile(r"(?<![\w.\"])-?(?:nan|inf)(?![\w.\"])")  # as a value in a text
FINE = ("answered", "refused")


@dataclass(frozen=True)
class Outcome:
    """How it ended: one of FINE, or a fault of the program, with what shows it."""

    how: str
    shown: str = ""


def attempt(case: Case) -> Outcome:
    """Lay a case in a folder of its own, call the program there, and judge what came of it."""
    here = Path.cwd()
    with tempfile.TemporaryDirectory(prefix="case-") as name:
        folder = Path(name)
        case.lay(folder)
        before = _listing(folder)
        os.chdir(folder)
        try:
            return _judged(case, folder, before)
        finally:
            os.chdir(here)


def _judged(case: Case, folder: Path, before: dict[str, object]) -> Outcome:
    out, err = io.StringIO(), io.StringIO()
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = main(list(case.words))
    except SystemExit as error:  # --help
        code = int(error.code or 0)
    except BaseException as error:
        if isinstance(error, KeyboardInterrupt):
            raise
        return Outcome(f"TRACEBACK {type(error).__name__}", traceback.format_exc()[-3000:])
    said, complained = out.getvalue(), err.getvalue()
    if "Traceback (most recent" in complained:
        return Outcome("TRACEBACK told", complained[-3000:])
    if code == 0 or (code == 1 and "verify" in case.words):
        return _answer(case, said, complained)
    if code != 2:
        return Outcome(f"EXIT {code}", complained[-2000:])
    return _refusal(folder, before, said, complained)


def _answer(case: Case, said: str, complained: str) -> Outcome:
    if "--json" in case.words and "--help" not in case.words and "--version" not in case.words:
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


def _refusal(folder: Path, before: dict[str, object], said: str, complained: str) -> Outcome:
    if _listing(folder) != before:
        return Outcome("LEFT FILES", f"{sorted(set(_listing(folder)) ^ set(before))}: {complained[-500:]}")
    message = complained[complained.find("rowbench: ") :]
    if message.startswith("rowbench: "):
        faults = [line for line in message.splitlines() if re.match(r"(rowbench:|  \d+\.) ", line)]
        faults = [line for line in faults if not re.fullmatch(r"rowbench: \d+ faults:", line)]
        lacking = [line for line in faults if not _whole(line, message)]
        if faults and not lacking:
            return Outcome("refused")
        return Outcome("MESSAGE", (lacking or [message])[0][:800])
    if not message and said.startswith("usage"):
        return Outcome("refused")
    return Outcome("MESSAGE", complained[-800:] or said[-300:])


def _whole(line: str, message: str) -> bool:
    """Whether a fault names what is allowed and what to try (perhaps on lines that follow it)."""
    told = line if "try: " in line else message
    return "try: " in told and ("allowed: " in told or "more lines with the same fault" in line)


def _constant(text: str) -> float:
    raise ValueError(f"{text} is not JSON")


def _finite(thing: object) -> bool:
    if isinstance(thing, float):
        return math.isfinite(thing)
    if isinstance(thing, dict):
        return all(map(_finite, thing.values()))
    return not isinstance(thing, list) or all(map(_finite, thing))


def _listing(folder: Path) -> dict[str, object]:
    """What lies in a folder, with sizes and times of change."""
    found: dict[str, object] = {}
    for place, folders, names in os.walk(folder):
        for name in [*folders, *names]:
            path = os.path.join(place, name)
            state = os.lstat(path)
            found[path] = None if name in folders else (state.st_size, state.st_mtime_ns, state.st_mode)
    return found
