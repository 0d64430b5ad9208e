"""What a scenario says about ground and the strength of its soil: frozen dataclasses in SI."""

from __future__ import annotations

from dataclasses import MISSING, dataclass, replace
from typing import Any

from scenarios.format.described import choice, kinds, optional, span, text, whole
from scenarios.ground.feature import Feature
from scenarios.ground.features import FEATURES
from sim.unit import quantity

ROUGHNESS_CLASSES = "ABCDEFGH"
NO_ROUGHNESS = "none"  # said in place of a class: flat ground is meant
CLASS_A_MEAN = 16e-6  # Gd(0.1 c/m) of class A, geometric mean [m³], ISO 8608 (one-sided; seen in public code)


@dataclass(frozen=True, kw_only=True)
class Roughness:
    """Random roughness, by class or by Gd(n0); a ground without this table is perfectly flat between its features.

    Gd(n) = Gd(n0)·(n/n0)^−w, one-sided, n0 = 0.1 c/m (ISO 8608). A file's class "none" becomes no `Roughness` at all.
    """

    letter: str | None = choice(
        None, (*ROUGHNESS_CLASSES, NO_ROUGHNESS),
        'roughness class of ISO 8608, at its geometric mean; "none": flat ground is meant', key="class", example="D",
    )  # fmt: skip
    gd_n0: float | None = optional(
        "m3", 1e-9, 1.0, "displacement density at 0.1 c/m, in place of a class", example=1024e-6
    )
    waviness: float = quantity(2.0, "1", 0.5, 4.0, "exponent w", source="ISO 8608; seen in public code")
    band: tuple[float, float] = span(
        (0.05, 10.0), "c/m", 0.01, 40.0, "spatial frequencies held",
        source="ISO 8608:2016 notes on range: off-road from 0.05, up to 10 c/m; seen",
    )  # fmt: skip

    @property
    def density(self) -> float:
        """Gd(0.1 c/m), one-sided [m³]; a class counts by its geometric mean, four times the class before."""
        if self.letter is None:
            return float(self.gd_n0 or 0.0)
        return CLASS_A_MEAN * 4.0 ** ROUGHNESS_CLASSES.index(self.letter)

    def scaled(self, factor: float) -> Roughness:
        """The same shape with Gd(n0) times `factor` (4 is one class up)."""
        return replace(self, letter=None, gd_n0=self.density * factor)


AS_NOISE_SAYS = "as_noise_says"


@dataclass(frozen=True)
class Survey:
    """How well heights were measured, and what is to be taken out of them."""

    noise: float | None = None  # [m]
    shortest_wave: float | None = None  # [m]
    noise_filter: str = "off"


def survey_noise() -> Any:
    """The key for the noise of a survey [m]."""
    doc = "noise of the survey: standard deviation of single heights; left out: found from the short waves"
    return optional("m", 0.0, 0.5, doc, edge="mm", example=0.005)


def shortest_wave() -> Any:
    """The key for the shortest wave of measured ground that is kept [m]."""
    return optional("m", 0.02, 100.0, "shortest wave to keep in the heights; left out: all", example=0.5)


def noise_filter() -> Any:
    """The key for the filter that follows the noise."""
    doc = "takes out waves in which noise is stronger than ground; off: nothing is taken out"
    return choice("off", ("off", AS_NOISE_SAYS), doc)


@dataclass(frozen=True, kw_only=True)
class ProfileFile:
    """Measured ground in place of (and added to) made-up ground."""

    file: str = text(
        MISSING,
        "CSV with distance_m, height_m or latitude_deg, longitude_deg, elevation_m; perhaps strength_MPa; path from "
        "this file's folder",
        example="profile.csv",
    )
    roughness_class: str | None = choice(
        None,
        tuple(ROUGHNESS_CLASSES),
        "random roughness of this class of ISO 8608 in waves shorter than the profile's points can hold",
        example="C",
    )
    survey_noise: float | None = survey_noise()
    shortest_wave: float | None = shortest_wave()
    noise_filter: str = noise_filter()

    @property
    def survey(self) -> Survey:
        """What is said of the survey."""
        return Survey(self.survey_noise, self.shortest_wave, self.noise_filter)


@dataclass(frozen=True, kw_only=True)
class Ground:
    """The ground: everything named here is added together."""

    length: float | None = optional(
        "m", 5.0, 20000.0, "measured length, after the lead-in; needed unless a profile gives it", example=300.0
    )
    seed: int = whole(1, 0, 10**9, "number that all random ground, stones and strength start from")
    features: tuple[Feature, ...] = kinds(FEATURES)
    roughness: Roughness | None = None
    profile: ProfileFile | None = None


@dataclass(frozen=True, kw_only=True)
class Variation:
    """Random strength along the track: exponential correlation, one-sided S = 4ℓσ²/(1 + (2πnℓ)²)."""

    variation_cv: float = quantity(
        0.25, "1", 0.0, 0.6, "coefficient of variation of the strength along the track; 0: constant"
    )
    correlation_length: float = quantity(
        1.0, "m", 0.1, 100.0, "distance over which the strength's correlation falls to 1/e"
    )
