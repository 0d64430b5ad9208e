"""Templates of the pages turned into text: the one place that knows where they are and how they are filled."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined

FOLDER = Path(__file__).resolve().parent / "page"


def rendered(name: str, words: Mapping[str, Any]) -> str:
    """A template of `page/` filled in (HTML); markup in words is shown as text. A word that is missing is an error."""
    room = Environment(
        loader=FileSystemLoader(FOLDER), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True, keep_trailing_newline=True,
    )  # fmt: skip
    return room.get_template(name).render(**words)
