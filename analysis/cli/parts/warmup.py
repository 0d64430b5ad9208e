"""Says that the model has to be compiled first, where that takes long, and readies it."""

from __future__ import annotations

from analysis.cli.request import Request
from analysis.rows.ready import compile_notice, is_compiled, warm_up, warm_up_rows


def ready(request: Request, *, rows: bool = False) -> float:
    """Compile the model or fetch it from the cache, saying so where it takes long → time taken [s].

    rows: the march of eight rows, else that of one.
    """
    tell_of_compiling(request, rows=rows)
    return warm_up_rows() if rows else warm_up()


def tell_of_compiling(request: Request, *, rows: bool = False) -> None:
    """Say that the model has to be compiled, where it has."""
    if not is_compiled(rows=rows):
        request.say(compile_notice(rows))
