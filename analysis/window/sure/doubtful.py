"""The values that nobody knows well: each with the range in which it may plausibly lie, and where that range is from.

One table for all who need it: how sure a pick is (`analysis.window.robustness`) tries every value at both ends.
A range is what is left in doubt where nobody has measured: about 9 of 10 fields or units like the file's should lie
within. Sources: "seen" and "memory" say how a published value is known; all else is assumed.
"""

from __future__ import annotations

from dataclasses import dataclass

Path = tuple[str | int, ...]  # from a Scenario to one number: names of fields, index of a point's coordinate

TIMES, PLUS = "times", "plus"


@dataclass(frozen=True)
class Doubtful:
    """One value in doubt, and the ends of its range: shares of what the file says (TIMES) or changes [SI] (PLUS)."""

    name: str  # in JSON
    words: str
    paths: tuple[Path, ...]  # the first is the value itself, the others go along by the same share
    low: float
    high: float
    source: str
    way: str = TIMES
    measured: str = ""  # with what its user can learn it; "": not easily
    ends: tuple[str, str] = ("", "")  # both ends in words, where "0.7 times the file's" would not read well

    @property
    def end_words(self) -> tuple[str, str]:
        """The two ends in words: "0.7 times the file's", "half the file's", "10 mm further ahead"."""
        low, high = (
            words or f"{by:g} times the file's" for words, by in zip(self.ends, (self.low, self.high), strict=True)
        )
        return low, high


SOIL, DISC, WHEEL = ("soil",), ("unit", "disc"), ("unit", "gauge_wheel")

DOUBTFUL = (
    Doubtful(
        "soil_strength", "soil strength", ((*SOIL, "strength"),), 0.7, 1.3,
        "assumed; ASABE D497 gives ±25 % for a tool's draught in one soil (memory)",
        measured="penetrometer at seeding depth",
    ),
    Doubtful(
        "sinkage_moduli", "soil stiffness under the wheels",
        ((*SOIL, "frictional_modulus"), (*SOIL, "cohesive_modulus")), 1.0 / 1.5, 1.5,
        "assumed; published soils differ by far more (Wong's table, seen in public code)",
        measured="depth of the gauge wheel's track at a known load",
        ends=("two thirds of the file's", "one and a half times the file's"),
    ),
    Doubtful(
        "sinkage_exponent", "sinkage exponent", ((*SOIL, "sinkage_exponent"),), -0.15, 0.15,
        "assumed, the same pressure at 10 mm; loams 0.4 to 0.9 (Wong's table, memory)", PLUS,
        ends=("0.15 lower", "0.15 higher"),
    ),
    Doubtful(
        "speed_term", "speed term of the disc force", ((*SOIL, "speed_factor"),), 0.0, 1.4,
        "none: a tilted disc's force hardly rose with speed (seen, abstract); 1.4: assumed",
        ends=("none", "1.4 times the file's"),
    ),
    Doubtful(
        "strength_scatter", "scatter of soil strength", (("variation", "variation_cv"),), 0.66, 1.83,
        "variation of cone index in fields 16.5 to 45.8 % (Bragantia, seen, abstract), about the default of 25 %",
        measured="penetrometer at 20 places along a row",
    ),
    Doubtful(
        "strength_length", "length over which soil strength changes", (("variation", "correlation_length"),), 0.5, 2.0,
        "assumed", measured="penetrometer at 20 places along a row",
        ends=("half the file's", "twice the file's"),
    ),
    Doubtful(
        "roughness", "roughness of the ground", (("ground", "roughness", "density"),), 0.25, 4.0,
        "assumed: a class of ISO 8608 chosen by eye may be the next one; a class is four times the one before (seen)",
        measured="level along a line", ends=("one class lower", "one class higher"),
    ),
    Doubtful(
        "edge_width", "width of the disc's edge", ((*DISC, "edge_width"),), 1.0 / 1.3, 1.3,
        "assumed: an edge wears", measured="caliper, disc held fast",
        ends=("0.77 times the file's", "1.3 times the file's"),
    ),
    Doubtful(
        "face_pressure", "soil pressure on the disc's faces", ((*DISC, "face_factor"),), 0.5, 2.0, "assumed",
        ends=("half the file's", "twice the file's"),
    ),
    Doubtful(
        "disc_friction", "friction of soil on the disc", ((*DISC, "face_friction"),), 2.0 / 3.0, 5.0 / 3.0,
        "assumed: 0.2 to 0.5 about the default of 0.3", ends=("two thirds of the file's", "five thirds of the file's"),
    ),
    Doubtful(
        "boot_force", "force of the soil on the boot", ((*DISC, "boot_vertical"), (*DISC, "boot_draught")), 0.5, 2.0,
        "assumed", ends=("half the file's", "twice the file's"),
    ),
    Doubtful(
        "tyre_stiffness", "gauge tyre stiffness", ((*WHEEL, "tyre_stiffness"),), 0.7, 1.4,
        "assumed; small tyres 100 to 400 kN/m (memory, low)",
        measured="scale under the wheel, rule beside the tyre",
    ),
    Doubtful(
        "tyre_damping", "gauge tyre damping", ((*WHEEL, "tyre_damping"),), 0.5, 2.0, "assumed",
        ends=("half the file's", "twice the file's"),
    ),
    Doubtful(
        "wheel_place", "place of the gauge wheel", ((*WHEEL, "arm_pivot", 0),), -0.010, 0.010,
        "assumed: read off a tape", PLUS, measured="tape, fore and aft of the disc",
        ends=("10 mm further back", "10 mm further ahead"),
    ),
    Doubtful(
        "unit_mass", "mass of the unit", (("unit", "carrier", "mass"),), 0.9, 1.1,
        "assumed: seed on board, parts left out", measured="scale under the lowered unit, no oil pressure",
    ),
    Doubtful(
        "downforce", "downforce at the same gauge pressure", (("unit", "cylinder", "bore"),), 0.975, 1.025,
        "assumed: ±5 % by bore, pins and gauge", measured="scale under the disc",
        ends=("5 % less", "5 % more"),
    ),
    Doubtful(
        "seal_friction", "friction of the cylinder's seals",
        (("unit", "cylinder", "seal_force"), ("unit", "cylinder", "seal_factor")), 0.5, 2.0, "assumed",
        ends=("half the file's", "twice the file's"),
    ),
    Doubtful(
        "gas_volume", "gas volume of the accumulator", (("unit", "accumulator", "volume"),), 0.9, 1.1, "assumed",
        ends=("10 % smaller", "10 % larger"),
    ),
    Doubtful(
        "precharge", "nitrogen precharge", (("settings", "precharge"),), 0.9, 1.1,
        "assumed: gauge, and nitrogen lost since it was checked", measured="gauge, by those licensed to",
        ends=("10 % lower", "10 % higher"),
    ),
    Doubtful(
        "gas_temperature", "nitrogen at work", (("settings", "gas_temperature"),), -20.0, 30.0,
        "assumed: a frosty morning to a hot afternoon", PLUS, ends=("20 °C colder", "30 °C hotter"),
    ),
    Doubtful(
        "press_spring", "preload of the press wheel's spring", (("unit", "press_wheel", "preload"),), 0.9, 1.1,
        "assumed", measured="scale under the press wheel", ends=("10 % less", "10 % more"),
    ),
    Doubtful(
        "toolbar_tyres", "toolbar tyre stiffness", (("unit", "toolbar", "stiffness"),), 0.7, 1.4,
        "assumed; rises with inflation (seen, abstract)",
    ),
    Doubtful(
        "stone_contact", "stiffness of a stone under the disc", (("stones", "contact", "stiffness"),), 0.5, 2.0,
        "assumed", ends=("half the file's", "twice the file's"),
    ),
)  # fmt: skip
"""In the order in which they are told where nothing else decides."""
