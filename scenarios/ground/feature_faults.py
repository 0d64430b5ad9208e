"""Checks of single features of the ground that need several of their keys, or the stretch they lie on."""

from __future__ import annotations

import math
from collections.abc import Iterator

from scenarios.format.edge_units import number_text, to_edge
from scenarios.format.errors import fault
from scenarios.ground.stones import HEIGHT_SHARE
from scenarios.spec import (
    Bank,
    Drop,
    Edge,
    Feature,
    Hollow,
    Hump,
    Patch,
    Patches,
    Ramp,
    Ridges,
    Rut,
    Sine,
    StoneField,
)

Stretch = tuple[float, float]
_PLACED = Hump | Hollow | Drop | Bank | Ramp | Edge | Rut


def feature_faults(feature: Feature, where: str, stretch: Stretch) -> Iterator[str]:
    """All faults of a feature; `where` names it in its file, `stretch` is what is measured [m]."""
    if isinstance(feature, _PLACED) and not stretch[0] <= feature.at <= stretch[1]:
        yield fault(f"{where}.at_m", f"given {feature.at:g}", on_stretch(stretch), f"{sum(stretch) / 2:g}")
    if isinstance(feature, Sine | Ridges):
        yield from _waves_faults(feature, where, stretch)
    if isinstance(feature, Bank) and feature.slope > 0.5 * feature.base * (1.0 + 1e-9):
        most = feature.base / (3.0 * feature.height)
        yield fault(
            f"{where}.batter",
            f"given {number_text(feature.batter or 0.0)}, so slopes of {feature.slope:.3g} m each",
            f"up to {most:.3g}: both slopes within base_m, {feature.base:g} m",
            "a wider base_m, or leave batter out",
        )
    if isinstance(feature, Patch | Patches):
        yield from _patch_faults(feature, where, stretch)
    if isinstance(feature, StoneField):
        yield from _ends_faults(feature, where, stretch)
        if feature.stones_per_ha > 0.0:
            yield from top_faults(where, feature.length, feature.top)


def _waves_faults(waves: Sine | Ridges, where: str, stretch: Stretch) -> Iterator[str]:
    start = stretch[0] if waves.start is None else waves.start
    end = stretch[1] if waves.end is None else waves.end
    if end - start < waves.wavelength:
        yield fault(
            f"{where}.end_m",
            f"waves from {start:g} to {end:g} m",
            f"room for one wave, {waves.wavelength:.4g} m",
            "a later end_m or an earlier start_m",
        )


def _patch_faults(patch: Patch | Patches, where: str, stretch: Stretch) -> Iterator[str]:
    """A patch that ends before it starts or lies off the stretch; a change of strength too long for its patch."""
    if isinstance(patch, Patch):
        faults = list(_ends_faults(patch, where, stretch))
        yield from faults
        if faults:
            return
    shortest = patch.end - patch.start if isinstance(patch, Patch) else 0.5 * patch.size
    if patch.fade > shortest * (1.0 + 1e-9):
        what = "the patch" if isinstance(patch, Patch) else "the shortest patch"
        yield fault(f"{where}.fade_m", f"given {patch.fade:g}", f"up to {what}, {shortest:g} m", f"{shortest / 2:g}")


def _ends_faults(feature: Patch | StoneField, where: str, stretch: Stretch) -> Iterator[str]:
    """A patch or field that ends before it starts, or of which nothing lies on the stretch."""
    start = -math.inf if feature.start is None else feature.start
    end = math.inf if feature.end is None else feature.end
    middle = f"{sum(stretch) / 2:g}"
    if start >= end:
        hint = "a later end_m or an earlier start_m"
        yield fault(f"{where}.end_m", f"given {end:g}", f"beyond start_m, {start:g} m", hint)
    elif start > stretch[1]:
        yield fault(f"{where}.start_m", f"given {start:g}", f"some of it {on_stretch(stretch)}", middle)
    elif end < stretch[0]:
        yield fault(f"{where}.end_m", f"given {end:g}", f"some of it {on_stretch(stretch)}", middle)


def top_faults(where: str, length: tuple[float, float], top: tuple[float, float]) -> Iterator[str]:
    """Tops of strewn stones so high that the stones would hang over the ground."""
    tallest = HEIGHT_SHARE * length[0]
    if top[1] > tallest + 1e-9:
        yield fault(
            f"{where}.top_mm",
            f"tops up to {edge_text(top[1], 'mm')} on stones of {length[0]:g} m",
            f"up to {HEIGHT_SHARE:g} of the shortest stone, {edge_text(tallest, 'mm')} mm",
            "longer stones or lower tops",
        )


def edge_text(value: float, edge: str) -> str:
    """A value [SI] in its edge unit, six figures."""
    return number_text(float(f"{to_edge(value, edge):.6g}"))


def on_stretch(stretch: Stretch) -> str:
    """Where a feature may lie, in words."""
    return f"on the measured stretch, {stretch[0]:g} to {stretch[1]:g} m"
