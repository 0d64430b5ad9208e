"""The compiled model readied once a process, never in silence.

The notice is a warning of the logger "rowbench": Python prints it on standard error unless a program has set up
logging of its own, which then gets it.
"""

from __future__ import annotations

import logging
from functools import cache

from analysis.first_run.beside import compile_at_once
from analysis.first_run.ready import time_to_compile, usual_time, warm_up, warm_up_pins, warm_up_rows
from analysis.present.compile_notice import CompileNotice
from sim.arithmetic.compiling import watch

LOGGER = logging.getLogger("rowbench")


def _warn(text: str, *, end: str = "") -> None:
    """A line of the notice; where it ends is the logger's affair."""
    LOGGER.warning("%s", text)


NOTICE = CompileNotice(_warn, usual_time)
watch(NOTICE)


@cache
def ready(rows: bool = False, of_any: bool = False) -> float:
    """Compile the march, or fetch it from the cache → time that took, the first time in this process [s].

    rows: the march of eight rows that windows and paddocks use, else that of one; of_any: that of any units and soils
    besides.
    """
    missing = time_to_compile(one=not rows, rows=rows, of_any=of_any)
    with NOTICE.spell(missing):
        taken = compile_at_once(one=not rows, rows=rows, of_any=of_any) if missing else 0.0
        taken += warm_up_rows() if rows else warm_up()
        return taken + (warm_up_rows(of_any=True) if of_any else 0.0)


@cache
def ready_pins() -> None:
    """Compile what wear of pins and bushes takes, or leave it to be fetched from the cache as it is called for."""
    missing = time_to_compile(one=False, rows=False, pins=True)
    if missing:
        with NOTICE.spell(missing):
            compile_at_once(one=False, rows=False, pins=True)
            warm_up_pins()
