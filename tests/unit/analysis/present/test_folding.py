"""Texts fit the screen they are shown on: 34 to 100 columns, no word and no number with its unit broken."""

import pytest

from analysis.present.texts import labelled, paragraph, screen_width, table

TEXT = "Higher: 40 bar meets every limit too, at 8 km/h with 1076 N on the wheel, 0.5 % of the limit in hand, 3 m on."


@pytest.mark.parametrize(("given", "taken"), [("20", 34), ("34", 34), ("80", 80), ("100", 100), ("240", 100)])
def test_a_line_takes_the_terminals_columns_within_bounds(given, taken, monkeypatch):
    monkeypatch.setenv("COLUMNS", given)
    assert screen_width() == taken


def test_where_nothing_is_known_of_the_screen_it_is_80(monkeypatch):
    monkeypatch.delenv("COLUMNS")
    monkeypatch.setattr("os.get_terminal_size", lambda *_: (_ for _ in ()).throw(OSError))
    assert screen_width() == 80


@pytest.mark.parametrize("columns", range(34, 101, 3))
def test_every_line_fits_and_no_number_loses_its_unit(columns, monkeypatch):
    monkeypatch.setenv("COLUMNS", str(columns))
    lines = [*paragraph(TEXT, first="  ", indent=4), *labelled("  speed", TEXT)]
    assert max(map(len, lines)) <= columns
    words = [line.split() for line in lines]
    assert not {"bar", "km/h", "N", "%", "m"} & {of[0] for of in words if of}
    assert " ".join(" ".join(of) for of in words) == f"{TEXT} speed {TEXT}"


def test_a_table_too_wide_for_the_screen_is_told_row_by_row(monkeypatch):
    head = ("What it costs", "the pick", "present: 40 bar, 8 km/h")
    rows = [("  on depth", "91.3 %", "89.8 %"), ("  hectares an hour", "0.98", "")]
    monkeypatch.setenv("COLUMNS", "80")
    wide = table(head, rows, indent=0)
    assert [len(line.split("   ")) > 1 for line in wide] == [True] * 3
    monkeypatch.setenv("COLUMNS", "38")
    assert table(head, rows, indent=0) == [
        "What it costs",
        "on depth",
        "  the pick  91.3 %",
        "  present: 40 bar, 8 km/h",
        "    89.8 %",
        "hectares an hour",
        "  the pick  0.98",
    ]
