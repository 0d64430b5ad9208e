"""Templates of the pages turned into text: the one place that knows where they are and how they are filled."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any

from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined

UNITS = "mm|cm|m|km|km/h|bar|kgf|kN|N|MPa|ha|kg|h|s|°C|years|year|in|points"
_APART = re.compile(rf"(?<=\d) (?=(?:%|(?:{UNITS})(?![\w/])))")
WHOLE = ("data", "command")  # words that scripts or a shell read: left as they are


def together(words: Any) -> Any:
    """Texts, also in lists and mappings, in which no line can end between a number and its unit.

    >>> together("35 bar (122 kgf a row), 91 %") == "35\xa0bar (122\xa0kgf a row), 91\xa0%"
    True
    """
    if isinstance(words, str):
        return _APART.sub("\xa0", words)
    if isinstance(words, Mapping):
        return {key: value if key in WHOLE else together(value) for key, value in words.items()}
    if isinstance(words, list | tuple):
        return [together(each) for each in words]
    return words


def rendered(package: str, name: str, words: Mapping[str, Any]) -> str:
    """A template of a package's `static/` filled in (HTML); markup in words is shown as text.

    Scripts and style that pages share are found beside it. A missing word is an error.
    """
    room = Environment(
        loader=ChoiceLoader([PackageLoader(one, "static") for one in (package, "analysis.drawn")]),
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True, keep_trailing_newline=True,
    )  # fmt: skip
    return room.get_template(name).render(**together(words))


def script_data(document: Mapping[str, Any]) -> str:
    """A document for a page's block of JSON, in which nothing ends the block; NaN is refused."""
    data = json.dumps(document, separators=(",", ":"), allow_nan=False, sort_keys=True)
    return data.replace("</", "<\\/").replace("<!--", "<\\!--")
