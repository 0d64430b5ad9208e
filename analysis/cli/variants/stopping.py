"""A job that was stopped and keeps something: told as such, with the exit code of what stopped it."""

from __future__ import annotations

from analysis.cli.parts.answer import Stopped


def stopped_by(said: str, error: BaseException) -> Stopped:
    """What to raise, outside of any handler, for an error that came of Ctrl-C or of being ended."""
    found: BaseException | None = error
    while found is not None and not isinstance(found, KeyboardInterrupt):
        found = found.__cause__ or found.__context__
    told = Stopped(said)
    told.__context__ = found  # what `analysis.cli.main` reads the exit code from
    return told
