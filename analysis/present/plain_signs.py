"""Signs that a console lacks, written with those it has: a minus must not become a question mark.

Python writes to a Windows console whatever it can show, but into a pipe or a file in the desk's own encoding, which
often has no "−", "→" or "≤".
"""

from __future__ import annotations

import codecs
import unicodedata

HANDLER = "rowbench.plain_signs"
_PLAIN = {
    "−": "-", "–": "-", "‑": "-", "⁻": "-", "→": "->", "←": "<-", "↑": "^", "↓": "v", "▾": "v", "≤": "<=", "≥": ">=",
    "±": "+-", "×": "x", "·": "*", "√": "sqrt ", "π": "pi", "Δ": "d", "′": "'", "″": '"', "“": '"', "”": '"', "’": "'",
    "█": "#", "▒": "=", "░": "-",
}  # fmt: skip


def as_plain(text: str) -> str:
    """Text with plain signs for those that an old console may lack; "?" for what has no like.

    >>> as_plain("−0.7 mm → 24 °, 3 m³ at ≤ 5")
    '-0.7 mm -> 24 ?, 3 m3 at <= 5'
    """
    return "".join(_PLAIN.get(sign) or _plainest(sign) for sign in text)


def _plainest(sign: str) -> str:
    return unicodedata.normalize("NFKD", sign).encode("ascii", "ignore").decode("ascii") or "?"


def _handle(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return as_plain(error.object[error.start : error.end]), error.end


def register() -> str:
    """Make it known to Python → its name, as `errors` of a stream takes it."""
    codecs.register_error(HANDLER, _handle)
    return HANDLER
