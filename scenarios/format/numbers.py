"""Numbers as a user writes them: western figures with a decimal point, nothing that only looks like one."""

from __future__ import annotations

import re

_NUMBER = re.compile(r"\s*[+-]?(?:(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?|nan|inf)\s*", re.IGNORECASE)
_WHOLE = re.compile(r"\s*[+-]?[0-9]{1,18}\s*")


def plain_number(text: str) -> float | None:
    """A text as a number (nan and inf are some too), None where it is none.

    >>> plain_number("6.5"), plain_number("1e3"), plain_number("1_0"), plain_number("6,5"), plain_number("٣")
    (6.5, 1000.0, None, None, None)
    """
    return float(text) if _NUMBER.fullmatch(text) else None


def plain_whole(text: str) -> int | None:
    """A text as a whole number of up to 18 figures, None where it is none.

    >>> plain_whole("12"), plain_whole("-3"), plain_whole("3.0"), plain_whole("1_0"), plain_whole("9" * 400)
    (12, -3, None, None, None)
    """
    return int(text) if _WHOLE.fullmatch(text) else None
