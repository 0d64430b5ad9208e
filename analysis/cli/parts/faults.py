"""Faults gathered over options and files, so that all are told in one message."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from scenarios.format.errors import ScenarioError


@contextmanager
def gathered(faults: list[str]) -> Iterator[None]:
    """Faults that the block raises are added to `faults`, and the block ends there."""
    try:
        yield
    except ScenarioError as error:
        faults += error.faults


def refuse(faults: Sequence[str]) -> None:
    """Raise ScenarioError where there are faults."""
    if faults:
        raise ScenarioError(faults)
