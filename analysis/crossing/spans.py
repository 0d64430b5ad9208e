"""How much of the row a run's steps stand for."""

from __future__ import annotations

from sim.record import Run

ROUNDING = 1e-9  # lengths that differ by less are the same [m]


def spacing(run: Run) -> float:
    """Travel per step [m]: every step stands for this much of the row."""
    return run.settings.speed * run.step


def travelled(run: Run) -> float:
    """Measured length of row [m]: number of steps × travel per step."""
    return run.series["depth"].size * spacing(run)
