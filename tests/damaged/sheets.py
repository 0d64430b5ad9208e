"""Damaged CSV files: profiles, digs, a paddock's measured passes and strengths."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from .case import Case
from .texts import SHORT, _bytes, paddock_words
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
    rows[0][int(rng.integers(len(rows[0])))] = pick(rng, (
        "", "distance", "height_mm", "Distance_m", "x", "distance_m", "height_m", "row", "depth_mm", "latitude",
        "x" * 140000, "strength_MPa",
        "latitude_deg", "elevation_m", "distance_m ", "\ufeffdistance_m", "<b>", "\x1b[31m", "depth", "row,row",
    ))  # fmt: skip
    return rows


def _scaled(rng: Rng, rows: list[list[str]]) -> list[list[str]]:
    """All distances or heights in another unit, shifted, backwards, or nearly alike."""
    columns = [k for k in range(len(rows[0])) if all(_is_number(row[k]) for row in rows[1:])]
    column, factor = pick(rng, columns), pick(rng, (1e-9, 1e-3, 1e3, 1e9, -1.0, 0.0, 1e300))
    shift = pick(rng, (0.0, 0.0, 1e6, -1e12))
    for row in rows[1:]:
        row[column] = repr(float(row[column]) * factor + shift)
    return rows


def _is_number(text: str) -> bool:
    return text.replace(".", "", 1).lstrip("-").isdigit()


DAMAGE: dict[str, Callable[[Rng, list[list[str]]], list[list[str]]]] = {
    "cells": _cells, "rows": _rows, "heads": _heads, "scaled": _scaled, "bytes": lambda rng, rows: rows,
}  # fmt: skip


def sheet_case(rng: Rng) -> Case:
    """A damaged profile or table of digs, and a command that reads it."""
    digs = rng.random() < 0.4
    name, data = _harmed(rng, _digs(rng) if digs else _profile(rng))
    if digs:
        words: tuple[str, ...] = ("level", "g.csv")
    else:
        words = (pick(rng, ("run", "run", "run", "explain")), "a.toml", "--profile", "g.csv")
    if rng.random() < 0.5:
        words += ("--json",)
    return Case(f"{'digs' if digs else 'profile'}, {name}", words, {"a.toml": SHORT.encode(), "g.csv": data})


def plan_case(rng: Rng) -> Case:
    """A damaged CSV of a paddock: a measured pass in metres or by fixes, or strengths at points."""
    what = pick(rng, tuple(PLANS))
    rows, paddock = PLANS[what]
    name, data = _harmed(rng, [list(row) for row in rows])
    return Case(f"{what}, {name}", paddock_words(rng), {"a.toml": paddock.encode(), "g.csv": data})


def _harmed(rng: Rng, rows: list[list[str]]) -> tuple[str, bytes]:
    """One kind of damage done to lines of cells → its name, and the file."""
    name = pick(rng, tuple(DAMAGE))
    rows = DAMAGE[name](rng, rows)
    split, end = pick(rng, (",", ",", ",", ";", "\t")), pick(rng, ("\n", "\n", "\r\n", "\r"))
    data = end.join(split.join(row) for row in rows).encode("utf-8", "surrogatepass")
    return name, _bytes(rng, data) if name == "bytes" and data else data


LINE = """\
title = "Measured"
[machine]
rows = 2
[[measured.lines]]
file = "g.csv"
"""
POINTS = """\
title = "Strengths"
[machine]
rows = 2
[passes]
length_m = 12
count = 1
latitude = -33.1
longitude = 148.2
[measured]
strength_file = "g.csv"
"""
_FAR = [(f"{0.5 * k:.2f}", f"{0.02 * np.sin(k):.4f}", f"{1.0 + 0.01 * k:.2f}") for k in range(30)]
_FIXES = [(f"{-33.1 + 5e-6 * k:.7f}", f"{148.2 + 2e-6 * k:.7f}", f"{300 + 0.02 * np.sin(k):.3f}") for k in range(30)]
_SPREAD = [(f"{3.0 * (k % 5):.1f}", f"{0.3 * (k // 5):.1f}", f"{1.0 + 0.05 * k:.2f}") for k in range(15)]
_PLACES = [(f"{-33.1 + 2e-5 * (k % 5):.6f}", f"{148.2 + 2e-5 * (k // 5):.6f}", "1.4") for k in range(15)]
PLANS: dict[str, tuple[list[tuple[str, ...]], str]] = {
    "measured pass": ([("distance_m", "height_m", "strength_MPa"), *_FAR], LINE),
    "fixes": ([("latitude_deg", "longitude_deg", "elevation_m"), *_FIXES], LINE),
    "strengths": ([("x_m", "y_m", "strength_MPa"), *_SPREAD], POINTS),
    "strengths by fixes": ([("latitude_deg", "longitude_deg", "strength_MPa"), *_PLACES], POINTS),
}
"""What a CSV of a paddock holds, and the paddock that reads it."""
