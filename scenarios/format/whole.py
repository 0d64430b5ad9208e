"""A document with all that its tables take over: what holds before any default."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from scenarios.format.read import Chain
from scenarios.format.tables import FileKind


def whole_document(
    document: dict[str, Any], path: Path, kind: FileKind, chains: Mapping[str, Chain] | None = None
) -> dict[str, Any]:
    """The document with the values of its unit's and soil's bases filled in; faults of these are not told here.

    chains: texts in place of the files that unit and soil take over.
    """
    from scenarios.format.inherit import DEFAULTS, taken_over  # noqa: PLC0415 (the schema brings pydantic along)

    tables = taken_over(document, path, kind, [], chains).tables
    for name, usual in DEFAULTS.items():
        own = document.get(name, {})
        if isinstance(own, dict):
            tables[name] = {**tables.get(name, {}), "base": own.get("base", usual)}
    return {**document, **tables}
