"""One case: files in a folder of its own, and the command line that is called there."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path


@dataclass(frozen=True)
class Case:
    """What a user hands the program.

    files: names ending in "/" are folders, in "|" pipes that nobody writes to. fits: called in the folder after an
    answer, says what is wrong with it, "" for nothing. seen_here: a stored result is looked at in this process, not in
    one apart; for damage that cannot crash the HDF5 library.
    """

    kind: str
    words: tuple[str, ...]
    files: dict[str, bytes] = field(default_factory=dict)
    fits: Callable[[Path], str] | None = None
    seen_here: bool = False

    def lay(self, folder: Path) -> None:
        """Write the files."""
        for name, data in self.files.items():
            if name.endswith("/"):
                (folder / name).mkdir()
            elif name.endswith("|"):
                os.mkfifo(folder / name[:-1])
            else:
                (folder / name).write_bytes(data)
