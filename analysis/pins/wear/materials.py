"""What bushes are made of: limits of pressure and sliding, and wear factors, each a range with its source and status.

Limits: typical makers' values, common practice; the DIN designations are those of DIN 30910. Wear factors: specific
wear rates k in w = k·P·s (Archard 1953), from memory of the orders of magnitude that handbooks of tribology give;
nobody has measured them on a seeding machine; dust, water and what grease is left move them by a factor of ten and
more. They are not fitted to any life. A value from memory says so.
"""

from __future__ import annotations

from typing import NamedTuple

MEMORY = "order of magnitude, value from memory (low)"
Span = tuple[float, float]


class Material(NamedTuple):
    """A bush material; pressures [Pa], speed [m/s], P·V [W/m²], wear factors [m²/N] as lowest and highest."""

    words: str
    static: float | None  # pressure that may be met now and then
    dynamic: float | None  # pressure while it turns
    speed: float | None
    pressure_speed: float | None
    limits_from: str
    lubricated: Span  # greased or oiled, or run dry as it is made to; low: clean, high: with dust in it
    starved: Span  # without grease, dust let in
    wear_from: str
    dry_by_design: bool = False


def _factor(low: float, high: float) -> Span:
    """Wear factors given in mm³/(N m) → m²/N."""
    return low * 1e-9, high * 1e-9


MATERIALS: dict[str, Material] = {
    "cast_bronze": Material(
        "cast bronze", None, 25e6, 0.5, 1.5e6,
        "lower ends of 25–30 MPa, 0.5–2 m/s, 1.5–3 MPa m/s for greased, oscillating; value from memory (medium)",
        _factor(5e-8, 1e-5), _factor(5e-6, 1e-4), MEMORY,
    ),
    "steel": Material(
        "hardened steel", None, 20e6, 0.1, 1.0e6,
        "greased, oscillating; value from memory (low)",
        _factor(2e-8, 5e-6), _factor(3e-6, 1e-4), MEMORY,
    ),
    "lined": Material(
        "steel-backed sintered bronze with PTFE liner", 250e6, 140e6, 2.5, 1.8e6,
        "typical makers' values, common practice; P·V continuous", _factor(1e-7, 1e-5), _factor(1e-7, 1e-5),
        f"dry by design: grease changes nothing here; {MEMORY}", dry_by_design=True,
    ),
    "sintered_bronze": Material(
        "sintered bronze, oil-impregnated (DIN 30910 Sint A50)", 10e6, 5e6, 10.0, None,
        "typical for DIN 30910 Sint A50, common practice",
        _factor(1.2e-8, 5e-6), _factor(2e-6, 5e-5),
        f"low end: Shigley's worked example of a self-lubricating bush (value from memory, high); rest {MEMORY}",
        dry_by_design=True,
    ),
    "porous_bronze": Material(
        "porous bronze (SAE 841)", 13.8e6, None, 6.1, 1.75e6, "SAE 841, value from memory (high)",
        _factor(1.2e-8, 5e-6), _factor(2e-6, 5e-5),
        f"low end: Shigley's worked example of a self-lubricating bush (value from memory, high); rest {MEMORY}",
        dry_by_design=True,
    ),
    "sintered_steel": Material(
        "sintered steel, oil-impregnated (Sint A00)", 40e6, 10e6, 4.0, None, "typical for Sint A00, common practice",
        _factor(2e-8, 5e-6), _factor(3e-6, 1e-4), MEMORY, dry_by_design=True,
    ),
}  # fmt: skip
