"""From a document to dataclasses: checked against its kind of file, unit and soil taken over, built part by part.

One path for every kind of file: `Assembly` finds the faults of the schema, goes on past them with the defaults of the
tables that are at fault, takes the faults of later checks, and raises all of them at once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any, TypeVar

from scenarios.format.build import build, build_item, build_soil
from scenarios.format.errors import ScenarioError, fault
from scenarios.format.read import Chain
from scenarios.format.tables import FileKind
from scenarios.spec import Variation
from sim.unit import Soil

Read = TypeVar("Read")


class Assembly:
    """A document on its way to dataclasses in SI.

    given: the document as its file has it; lenders: the files that lent it values, by table, the nearest first; chains:
    the texts of unit and soil that it takes over (handed in: those of an earlier time, in place of files); lower: the
    documents of files that it names, by the table that they lend; files: all that was read, its own first.
    texts: faults so far, in words; broken: top-level tables that have some; notes: what a user should know besides.
    """

    def __init__(
        self, path: Path, document: dict[str, Any], kind: FileKind, kept: Mapping[str, Chain] | None = None
    ) -> None:
        # The schema brings pydantic along: import it only when a file is read.
        from scenarios.format.inherit import taken_over  # noqa: PLC0415
        from scenarios.format.schema import check  # noqa: PLC0415

        faults = check(document, str(path), kind)
        taken = taken_over(document, path, kind, faults, kept)
        self.path, self.kind, self.document = path, kind, {**document, **taken.tables}
        self.given, self.lenders, self.chains, self.lower = document, taken.lenders, taken.chains, taken.lower
        self.files = (path, *taken.files)
        self.texts = [item.text for item in faults]
        self.broken = {item.path[0] for item in faults if item.path}
        self.notes: list[str] = []

    def part(self, name: str) -> Any:
        """A top-level table as its dataclass; its defaults where the table is at fault (nothing is returned then)."""
        return build(self.kind.root.tables[name], self._given(name, {}))

    def items(self, name: str) -> tuple[Any, ...]:
        """A top-level list of tables as dataclasses; none where it is at fault."""
        return tuple(build_item(self.kind.root.lists[name], item) for item in self._given(name, []))

    def soil(self) -> tuple[Soil, Variation]:
        """The table [soil] as its two dataclasses; defaults where it is at fault."""
        return build_soil(self._given("soil", {}))

    def said(self, key: str) -> str:
        """A text at the top of the file, "" where there is none."""
        return str(self.document.get(key, ""))

    def add(self, key: str, given: str, allowed: str, hint: str) -> None:
        """Note a fault of a key, by its dotted name."""
        self.texts.append(fault(f"{self.path}: {key}", given, allowed, hint))

    def check(self, tables: Iterable[str], faults: Callable[[], Iterable[str]]) -> None:
        """Note the faults that a check finds, if the tables that it looks at have none of their own."""
        if not self.broken.intersection(tables):
            self.texts += faults()

    def read(self, reader: Callable[[], Read], asked: str = "") -> Read | None:
        """What `reader` gives; None where it raises ScenarioError, whose faults are noted, with `asked` in front."""
        try:
            return reader()
        except ScenarioError as error:
            self.texts += [asked + text for text in error.faults]
            return None

    def finish(self) -> None:
        """Raises ScenarioError with all faults noted, if there are any."""
        if self.texts:
            raise ScenarioError(self.texts)

    def _given(self, name: str, nothing: Any) -> Any:
        return nothing if name in self.broken else self.document.get(name, nothing)
