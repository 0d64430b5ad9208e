"""The loop over cases: all are checked, all that fail are listed, fixtures come as usual, and nothing is a fault."""

from __future__ import annotations

import pytest
from every import CasesFailed, every


def test_all_cases_are_checked_and_all_that_fail_are_listed():
    seen = []

    @every("n", range(6))
    def odd(n):
        seen.append(n)
        assert n % 2 == 0, f"{n} is odd"

    with pytest.raises(CasesFailed, match="3 of 6 cases fail") as caught:
        odd()
    assert seen == [0, 1, 2, 3, 4, 5]
    assert [one.split(":")[0] for one in caught.value.wrong] == ["1", "3", "5"]
    assert all(f"{n} is odd" in one for n, one in zip((1, 3, 5), caught.value.wrong, strict=True))


def test_an_error_and_what_did_not_raise_are_failures_too():
    @every("n", [0, 1])
    def refuses(n):
        with pytest.raises(ZeroDivisionError):
            print(1 / n)  # noqa: T201

    @every("n", [0, 1])
    def divides(n):
        assert 1 / n

    with pytest.raises(CasesFailed, match=r"1: line .*DID NOT RAISE"):
        refuses()
    with pytest.raises(CasesFailed, match=r"0: line .*ZeroDivisionError"):
        divides()


def test_marks_above_each_other_give_all_combinations():
    @every("a", [1, 2])
    @every(("b", "c"), [(3, 4), (5, 6)], ids=["low", "high"])
    def fails(a, b, c):
        assert a + b + c == 8

    with pytest.raises(CasesFailed) as caught:
        fails()
    assert [one.split(":")[0] for one in caught.value.wrong] == ["1, high", "2, low", "2, high"]


@every("name", ["one", "two"])
def test_fixtures_come_as_usual(name, tmp_path):
    (tmp_path / name).write_text(name, encoding="utf-8")
    assert len(list(tmp_path.iterdir())) == 1 + (name == "two")


def test_a_test_of_nothing_is_refused():
    with pytest.raises(ValueError, match="no cases for a, b"):
        every(("a", "b"), [])
    with pytest.raises(AssertionError, match="does not take"):
        every("key", [1])(lambda other: None)
