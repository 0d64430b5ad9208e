"""Damaged CSV files: profiles, digs, measured passes."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from .case import Case
from .texts import SHORT, _bytes
from .values import NUMBERS, pick

Rng = np.random.Generator


def _profile(rng: Rng) -> list[list[str]]:
    x = np.arange(0.0, 14.0, 0.25)
    return [["distance_m", "height_m"], *([f"{a:.3f}", f"{0.02 * np.sin(a):.4f}"] for a in x)]


def _digs(rng: Rng) -> list[list[str]]:
    return [["row", "depth_mm"], *([str(row), str(38 + int(rng.integers(5)))] for row in range(1, 5) for _ in range(6))]


def _cells(rng: Rng, rows: list[list[str]]) -> list[list[str]]:
    for _ in range(int(rng.integers(1, 5))):
        row = rows[int(rng.integers(len(rows)))]
        row[int(rng.integers(len(row)))] = pick(rng, NUMBERS)
    return rows


def _rows(rng: Rng, rows: list[list[str]]) -> list[list[str]]:
    how, i, j = int(rng.integers(6)), *(int(rng.integers(len(rows))) for _ in range(2))
    if how == 0:
        return rows[: int(rng.integers(6))]
    if how == 1:
        rows.insert(j, rows[i])
    elif how == 2:
        rows[i], rows[j] = rows[j], rows[i]
    elif how == 3:
        rows[i] = rows[i] + ["1"]
    elif how == 4:
        rows[i] = rows[i][:1]
    else:
        rows.insert(i, [])
    return rows


def _heads(rng: Rng, rows: list[list[str]]) -> list[list[str]]:
    rows[0][int(rng.integers(2))] = pick(rng, (
        "", "distance", "height_mm", "Distance_m", "x", "distance_m", "height_m", "row", "depth_mm", "latitude",
        "x" * 140000, "distance_m ", "\ufeffdistance_m", "<b>", "\x1b[31m", "depth", "row,row",
    ))  # fmt: skip
    return rows


def _scaled(rng: Rng, rows: list[list[str]]) -> list[list[str]]:
    """All distances or heights in another unit, shifted, backwards, or nearly alike."""
    column, factor = int(rng.integers(2)), pick(rng, (1e-9, 1e-3, 1e3, 1e9, -1.0, 0.0, 1e300))
    shift = pick(rng, (0.0, 0.0, 1e6, -1e12))
    for row in rows[1:]:
        row[column] = repr(float(row[column]) * factor + shift)
    return rows


DAMAGE: dict[str, Callable[[Rng, list[list[str]]], list[list[str]]]] = {
    "cells": _cells, "rows": _rows, "heads": _heads, "scaled": _scaled, "bytes": lambda rng, rows: rows,
}  # fmt: skip


def sheet_case(rng: Rng) -> Case:
    """A damaged CSV file and a command that reads it."""
    digs = rng.random() < 0.4
    name = pick(rng, tuple(DAMAGE))
    rows = DAMAGE[name](rng, _digs(rng) if digs else _profile(rng))
    split, end = pick(rng, (",", ",", ",", ";", "\t")), pick(rng, ("\n", "\n", "\r\n", "\r"))
    data = end.join(split.join(row) for row in rows).encode("utf-8", "surrogatepass")
    if name == "bytes" and data:
        data = _bytes(rng, data)
    if digs:
        words: tuple[str, ...] = ("level", "g.csv")
    else:
        words = ("run", "a.toml", "--profile", "g.csv")
    if rng.random() < 0.5:
        words += ("--json",)
    return Case(f"{'digs' if digs else 'profile'}, {name}", words, {"a.toml": SHORT.encode(), "g.csv": data})
