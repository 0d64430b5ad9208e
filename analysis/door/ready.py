"""The compiled model readied once a process, never in silence.

The notice is a warning of the logger "rowbench": Python prints it on standard error unless a program has set up
logging of its own, which then gets it.
"""

from __future__ import annotations

import logging
from functools import cache

from analysis.rows.ready import compile_notice, is_compiled, warm_up, warm_up_rows

LOGGER = logging.getLogger("rowbench")


@cache
def ready(rows: bool = False) -> float:
    """Compile the march, or fetch it from the cache → time that took, the first time in this process [s].

    rows: the march of eight rows that windows and paddocks use, else that of one.
    """
    if not is_compiled(rows):
        LOGGER.warning("%s", compile_notice(rows))
    return warm_up_rows() if rows else warm_up()
