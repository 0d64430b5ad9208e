"""The recorder of published values: what it asserts, what it keeps, where it writes."""

from __future__ import annotations

import math

import pytest
from every import every
from published_table import BEGIN, END, Recorder, difference, number, table, write

WHERE = {"source": "a standard", "status": "seen"}


def test_a_value_within_tolerance_makes_a_row():
    rows = []
    Recorder("some_topic", rows)("a length", value=2.0, ours=2.01, unit="m", rel=0.01, **WHERE)
    assert rows[0].line() == "| some topic | a length | a standard | seen | check | 2 m | 2.01 m | +0.5 % |"


def test_a_value_beyond_tolerance_fails_with_both_numbers():
    with pytest.raises(AssertionError, match=r"a length: published 2\.0 m, ours 2\.1, allowed ±0\.02"):
        Recorder("t", [])("a length", value=2.0, ours=2.1, unit="m", rel=0.01, **WHERE)
    with pytest.raises(AssertionError):
        Recorder("t", [])("a length", value=2.0, ours=math.nan, unit="m", rel=0.01, **WHERE)


def test_the_worst_of_a_series_is_kept_and_all_are_asserted():
    rows = []
    worst = Recorder("t", rows).worst("x", values=[1.0, 2.0, 4.0], ours=[1.0, 2.1, 4.1], rel=0.06, **WHERE)
    assert worst == pytest.approx(0.05)
    assert "x (worst of 3)" in rows[0].line()
    with pytest.raises(AssertionError):
        Recorder("t", []).worst("x", values=[1.0, 2.0], ours=[1.2, 2.0], rel=0.06, **WHERE)


def test_a_miss_is_kept_with_its_size_and_must_be_known():
    rows = []
    record = Recorder("t", rows)
    record.band("share", low=0.9, high=1.0, ours=0.85, hit=False, **WHERE)
    record.band("share", low=0.9, high=1.0, ours=0.95, **WHERE)
    assert "**misses by 0.05**" in rows[0].line()
    assert rows[0].kind == rows[1].kind == "prediction"
    assert rows[1].difference == "within"
    with pytest.raises(AssertionError, match="noted as hit=True"):
        record.band("share", low=0.9, high=1.0, ours=0.85, **WHERE)
    with pytest.raises(AssertionError, match="noted as hit=False"):
        record.band("share", low=0.9, high=1.0, ours=0.95, hit=False, **WHERE)


def test_an_unknown_kind_is_refused():
    with pytest.raises(AssertionError):
        Recorder("t", [])("x", value=1.0, ours=1.0, kind="guess", **WHERE)


@every(("x", "text"), [(0.0, "0"), (1e-16, "0"), (1234567.0, "1.235e+06"), (12345.6, "12346"), (0.012344, "0.01234")])
def test_numbers_keep_four_figures(x, text):
    assert number(x) == text


def test_noise_of_rounding_does_not_reach_the_table():
    assert difference(1.0 + 1e-12, 1.0, "m") == "< 0.0001 %"
    assert difference(3e-9, 0.0, "m") == "< 1e-6"
    assert difference(0.02, 0.0, "m") == "+0.02 m"


def test_rows_are_sorted_by_topic_and_keep_their_order(tmp_path):
    rows = []
    for topic, name in (("b", "second"), ("a", "first"), ("b", "third")):
        Recorder(topic, rows)(name, value=1.0, ours=1.0, rel=0.1, **WHERE)
    lines = table(rows).splitlines()[2:]
    assert [line.split(" | ")[1] for line in lines] == ["first", "second", "third"]
    page = tmp_path / "page.md"
    page.write_text(f"before\n{BEGIN}\nold\n{END}\nafter\n", encoding="utf-8")
    write(rows, page)
    once = page.read_text(encoding="utf-8")
    write(rows, page)
    assert page.read_text(encoding="utf-8") == once
    assert once.startswith(f"before\n{BEGIN}\n| topic")
    assert once.endswith(f"{END}\nafter\n")
    assert "old" not in once


def test_a_file_without_markers_is_left_alone(tmp_path):
    page = tmp_path / "page.md"
    page.write_text("nothing here\n", encoding="utf-8")
    with pytest.raises(ValueError, match="needs one line"):
        write([], page)
    assert page.read_text(encoding="utf-8") == "nothing here\n"
