"""Whatever a table of text holds, a reader gives what it reads or a ScenarioError that names the file."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

from scenarios.format.errors import ScenarioError

Read = TypeVar("Read")


def read_or_told(path: Path, read: Callable[[Path], Read], header: str, lines: Sequence[str]) -> Read | None:
    """What `read` makes of the lines (under the header, if it is not empty); None where it told their faults."""
    path.write_text("\n".join([*([header] if header else []), *lines]), encoding="utf-8", errors="surrogatepass",
                    newline="")  # fmt: skip
    try:
        return read(path)
    except ScenarioError as error:
        told = error.faults
    assert [fault for fault in told if str(path) not in fault] == []
    return None
