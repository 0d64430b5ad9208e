"""What is found of noise in measured heights, what is done about it, and what is told: for lines, grids and surfaces.

Nothing is taken out unless the file asks for it; what is found is told in any case.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from scenarios.format.errors import fault
from scenarios.ground.measured.record_spectrum import Spectrum
from scenarios.ground.measured.survey_noise import Noise, find_noise, noise_given
from scenarios.ground.spec_ground import AS_NOISE_SAYS, Survey

ROOM = 1.001  # a filter needs waves this much longer than two spacings


@dataclass(frozen=True)
class Treatment:
    """Shortest wave to keep [m], None: all; and sentences without a full stop."""

    shortest: float | None
    notes: tuple[str, ...]


def survey_faults(survey: Survey, where: str) -> Iterator[str]:
    """A filter asked for in two ways."""
    if survey.shortest_wave is not None and survey.noise_filter == AS_NOISE_SAYS:
        given = f"given {survey.shortest_wave:g} beside noise_filter = {AS_NOISE_SAYS!r}"
        yield fault(f"{where}.shortest_wave_m", given, "one of the two", "leave one of them out")


def treatment(name: str, found: Spectrum | None, spacing: float, survey: Survey, table: str) -> Treatment:
    """What to do with a record, by name; found: its spectrum, None where its points are too few or too uneven.

    spacing: of its points [m]; table: where its keys stand in a file.
    """
    seen = None if found is None else find_noise(found)
    noise, notes = seen, []
    if found is not None and survey.noise:
        noise = noise_given(found, survey.noise)
    asked = survey.shortest_wave
    if survey.noise_filter == AS_NOISE_SAYS and asked is None:
        asked = None if noise is None else noise.wave
    shortest = asked if asked is not None and asked > 2.0 * ROOM * spacing else None
    if noise is not None:
        notes.append(_found(name, noise, seen, survey, "" if shortest else _remedy(table)))
    if shortest is not None:
        notes.append(
            f"{name}: taken out of its heights: waves shorter than {shortest:.3g} m (half of such a wave stays); "
            "nothing moves along; what the ground itself has in them is gone, too"
        )
    elif survey.noise_filter == AS_NOISE_SAYS or survey.shortest_wave is not None:
        notes.append(f"{name}: nothing is taken out of its heights: {_why_not(found, noise, spacing, survey)}")
    return Treatment(shortest, tuple(notes))


def _found(name: str, noise: Noise, seen: Noise | None, survey: Survey, remedy: str) -> str:
    """What the noise is, in a sentence."""
    wave = f"waves shorter than {noise.wave:.2g} m"
    if not survey.noise:
        return (
            f"{name}: {wave} look like noise of the survey, heights {1e3 * noise.sd:.2g} mm (SD) out from point to "
            f"point (clods finer than the points look the same){remedy}"
        )
    shown = "no noise to be told from ground" if seen is None else f"{1e3 * seen.sd:.2g} mm"
    mostly = f"{wave} are mostly that" if noise.wave > 0.0 else "the ground is stronger in every wave"
    return (
        f"{name}: noise of the survey {1e3 * noise.sd:.3g} mm (survey_noise_mm; its own short waves show {shown}): "
        f"{mostly}{remedy if noise.wave > 0.0 else ''}"
    )


def _remedy(table: str) -> str:
    return (
        f': they count as ground and shake the unit. To take them out: noise_filter = "{AS_NOISE_SAYS}" or '
        f"shortest_wave_m in [{table}]"
    )


def _why_not(found: Spectrum | None, noise: Noise | None, spacing: float, survey: Survey) -> str:
    if survey.shortest_wave is not None or noise is not None:
        return f"its points hold no shorter waves than {2.0 * spacing:.3g} m"
    if found is None:
        return "too few points stand evenly to tell noise from ground; shortest_wave_m takes out what you say"
    return "no noise was found"
