"""One test over many cases: it checks all of them and then lists every one that fails.

A case here is a key, a channel, a library name or a row of a table, for which the same thing has to hold. Cases that
are scenarios of their own, or take seconds, stay `pytest.mark.parametrize`.
"""

from __future__ import annotations

import functools
import inspect
import traceback
from collections.abc import Callable, Iterable, Sequence
from typing import Any

import pytest

_SHOWN = 100  # signs of a case's name


class CasesFailed(AssertionError):
    """Holds one text for each case that fails."""

    def __init__(self, wrong: list[str], total: int) -> None:
        super().__init__(f"{len(wrong)} of {total} cases fail:\n" + "\n".join(wrong))
        self.wrong = wrong


def every(
    names: str | Sequence[str], cases: Iterable[Any], ids: Sequence[str] | Callable[[Any], str] | None = None
) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Mark a test to be run over all cases as one test; arguments as those of `pytest.mark.parametrize`.

    The fixtures of the test are made once and shared by its cases. Several marks above each other give all
    combinations. Raises ValueError where there are no cases: a test of nothing cannot fail.
    """
    words = [names] if isinstance(names, str) else list(names)
    each = [_values(case, len(words)) for case in cases]
    if not each:
        raise ValueError(f"no cases for {', '.join(words)}")
    known = list(ids) if ids is not None and not callable(ids) else None

    def mark(test: Callable[..., None]) -> Callable[..., None]:
        signature = inspect.signature(test)
        left = [parameter for name, parameter in signature.parameters.items() if name not in words]
        assert len(left) == len(signature.parameters) - len(words), f"{test.__name__} does not take {words}"

        @functools.wraps(test)
        def over_all(**fixtures: Any) -> None:
            wrong = []
            for i, values in enumerate(each):
                name = known[i] if known else _name(values, ids)
                try:
                    test(**fixtures, **dict(zip(words, values, strict=True)))
                except CasesFailed as error:
                    wrong += [f"{name}, {one}" for one in error.wrong]
                except (Exception, pytest.fail.Exception) as error:
                    wrong.append(f"{name}: {_told(error, test.__code__.co_filename)}")
            if wrong:
                raise CasesFailed(wrong, len(each))

        over_all.__signature__ = signature.replace(parameters=left)  # type: ignore[attr-defined]
        return over_all

    return mark


def _values(case: Any, n: int) -> tuple[Any, ...]:
    return (case,) if n == 1 else tuple(case)


def _name(values: tuple[Any, ...], ids: Any) -> str:
    text = ", ".join(ids(value) if ids else _short(value) for value in values)
    return text if len(text) <= _SHOWN else text[: _SHOWN - 3] + "..."


def _short(value: Any) -> str:
    return value if isinstance(value, str) else getattr(value, "__name__", None) or repr(value)


def _told(error: BaseException, path: str) -> str:
    """Line of the test and the first line of what went wrong."""
    lines = [frame.lineno for frame in traceback.extract_tb(error.__traceback__) if frame.filename == path]
    first = (str(error).splitlines() or [""])[0]
    return f"line {lines[-1] if lines else '?'}: {type(error).__name__}: {first}"
