"""One case: files in a folder of its own, and the command line that is called there."""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from pathlib import Path


@dataclass(frozen=True)
class Case:
    """What a user hands the program. Names ending in "/" are folders, in "|" pipes that nobody writes to."""

    kind: str
    words: tuple[str, ...]
    files: dict[str, bytes] = field(default_factory=dict)

    def lay(self, folder: Path) -> None:
        """Write the files."""
        for name, data in self.files.items():
            if name.endswith("/"):
                (folder / name).mkdir()
            elif name.endswith("|"):
                os.mkfifo(folder / name[:-1])
            else:
                (folder / name).write_bytes(data)
