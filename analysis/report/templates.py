"""Templates of the pages turned into text: the one place that knows where they are and how they are filled."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined


def rendered(name: str, words: Mapping[str, Any]) -> str:
    """A template of `static/` filled in (HTML); markup in words is shown as text. A missing word is an error."""
    room = Environment(
        loader=PackageLoader("analysis.report", "static"), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True, keep_trailing_newline=True,
    )  # fmt: skip
    return room.get_template(name).render(**words)
