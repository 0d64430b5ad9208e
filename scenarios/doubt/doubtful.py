"""The values that nobody knows well, and where it comes from that they are in doubt.

One table for all who need it: the ranges of a file's [prior] (`scenarios.doubt.prior`), the sets that are drawn
(`scenarios.doubt.belief`), what a pick rests on (`analysis.window.robustness`). Sources: "seen" and "memory" say how a
published value is known; all else is assumed.
"""

from __future__ import annotations

from dataclasses import dataclass

Path = tuple[str | int, ...]  # from a Scenario to one number: names of fields, index of a point's coordinate

TIMES, PLUS = "times", "plus"
SMALL = 1.15  # a range of so many times and less is told in %


@dataclass(frozen=True)
class Doubtful:
    """One value in doubt. TIMES: by a factor, up and down alike; PLUS: by an amount [SI], up and down alike."""

    name: str  # in JSON; with the way behind it the field of `scenarios.doubt.prior.Prior`
    words: str
    paths: tuple[Path, ...]  # the first is the value itself, the others go along by the same share
    source: str  # of its usual range
    way: str = TIMES
    measured: str = ""  # with what its user can learn it; "": not easily
    sides: tuple[str, str] = ("lower", "higher")  # how its two ends are named
    power: float = 1.0  # what its range is told of goes with this power of the value
    whole: tuple[float, str, str] | None = None  # a certain range, and its ends in words of their own

    @property
    def field(self) -> str:
        """Its field in `scenarios.doubt.prior.Prior`: "soil_strength_times"."""
        return f"{self.name}_{self.way}"

    @property
    def table(self) -> str:
        """The table of a file that it stands in."""
        top = str(self.paths[0][0])
        return "soil" if top == "variation" else top

    def end_words(self, by: float, amount: str) -> tuple[str, str]:
        """The two ends in words: "half the file's", "5 % more", "10 mm further ahead".

        by: the range, as the file's [prior] tells it (TIMES); amount: the same in its unit (PLUS): "10 mm".
        """
        low, high = self.sides
        if self.way == PLUS:
            return f"{amount} {low}", f"{amount} {high}"
        if self.whole and by == self.whole[0]:
            return self.whole[1:]
        if by <= SMALL:
            return f"{(by - 1.0) * 100.0:.3g} % {low}", f"{(by - 1.0) * 100.0:.3g} % {high}"
        return _WORDS.get(by, (f"{1.0 / by:.2g} times the file's", f"{by:g} times the file's"))


_WORDS = {
    1.5: ("two thirds of the file's", "one and a half times the file's"),
    2.0: ("half the file's", "twice the file's"),
}
SOIL, DISC, WHEEL = ("soil",), ("unit", "disc"), ("unit", "gauge_wheel")

DOUBTFUL = (
    Doubtful(
        "soil_strength", "soil strength", ((*SOIL, "strength"),),
        "assumed; ASABE D497 gives ±25 % for a tool's draught in one soil (memory), a field by eye is known less well",
        measured="penetrometer at seeding depth",
    ),
    Doubtful(
        "sinkage_moduli", "soil stiffness under the wheels",
        ((*SOIL, "frictional_modulus"), (*SOIL, "cohesive_modulus")),
        "assumed; published soils differ by far more (Wong's table, seen in public code)",
        measured="depth of the gauge wheel's track at a known load",
    ),
    Doubtful(
        "sinkage_exponent", "sinkage exponent", ((*SOIL, "sinkage_exponent"),),
        "assumed, the same pressure at 10 mm; loams 0.4 to 0.9 (Wong's table, memory)", PLUS,
    ),
    Doubtful(
        "speed_term", "speed term of the disc force", ((*SOIL, "speed_factor"),),
        "assumed; a tilted disc's force hardly rose with speed (seen, abstract)", PLUS,
    ),
    Doubtful(
        "strength_scatter", "scatter of soil strength", (("variation", "variation_cv"),),
        "variation of cone index in fields 16.5 to 45.8 % (Bragantia, seen, abstract), about the default of 25 %",
        measured="penetrometer at 20 places along a row",
    ),
    Doubtful(
        "strength_length", "length over which soil strength changes", (("variation", "correlation_length"),),
        "assumed", measured="penetrometer at 20 places along a row",
    ),
    Doubtful(
        "roughness", "roughness of the ground", (("ground", "roughness", "density"),),
        "assumed: a class of ISO 8608 chosen by eye may be the next one; a class is four times the one before (seen)",
        measured="level along a line", whole=(4.0, "one class lower", "one class higher"),
    ),
    Doubtful(
        "edge_width", "width of the disc's edge", ((*DISC, "edge_width"),),
        "assumed: an edge wears", measured="caliper, disc held fast",
    ),
    Doubtful("face_pressure", "soil pressure on the disc's faces", ((*DISC, "face_factor"),), "assumed"),
    Doubtful(
        "disc_friction", "friction of soil on the disc", ((*DISC, "face_friction"),),
        "assumed: 0.2 to 0.5 about the default of 0.3",
    ),
    Doubtful(
        "boot_force", "force of the soil on the boot", ((*DISC, "boot_vertical"), (*DISC, "boot_draught")), "assumed",
    ),
    Doubtful(
        "tyre_stiffness", "gauge tyre stiffness", ((*WHEEL, "tyre_stiffness"),),
        "assumed; small tyres 100 to 400 kN/m (memory, low)",
        measured="scale under the wheel, rule beside the tyre",
    ),
    Doubtful("tyre_damping", "gauge tyre damping", ((*WHEEL, "tyre_damping"),), "assumed"),
    Doubtful(
        "wheel_place", "place of the gauge wheel", ((*WHEEL, "arm_pivot", 0),),
        "assumed: read off a tape", PLUS, measured="tape, fore and aft of the disc",
        sides=("further back", "further ahead"),
    ),
    Doubtful(
        "unit_mass", "mass of the unit", (("unit", "carrier", "mass"),),
        "assumed: seed on board, parts left out", measured="scale under the lowered unit, no oil pressure",
        sides=("less", "more"),
    ),
    Doubtful(
        "downforce", "downforce at the same gauge pressure", (("unit", "cylinder", "bore"),),
        "assumed: bore, pins and gauge", measured="scale under the disc", sides=("less", "more"), power=2.0,
    ),
    Doubtful(
        "seal_friction", "friction of the cylinder's seals",
        (("unit", "cylinder", "seal_force"), ("unit", "cylinder", "seal_factor")), "assumed",
    ),
    Doubtful(
        "gas_volume", "gas volume of the accumulator", (("unit", "accumulator", "volume"),), "assumed",
        sides=("smaller", "larger"),
    ),
    Doubtful(
        "precharge", "nitrogen precharge", (("settings", "precharge"),),
        "assumed: gauge, and nitrogen lost since it was checked", measured="gauge, by those licensed to",
    ),
    Doubtful(
        "gas_temperature", "nitrogen at work", (("settings", "gas_temperature"),),
        "assumed: a frosty morning to a hot afternoon", PLUS, sides=("colder", "hotter"),
    ),
    Doubtful(
        "press_spring", "preload of the press wheel's spring", (("unit", "press_wheel", "preload"),),
        "assumed", measured="scale under the press wheel", sides=("less", "more"),
    ),
    Doubtful(
        "toolbar_tyres", "toolbar tyre stiffness", (("unit", "toolbar", "stiffness"),),
        "assumed; rises with inflation (seen, abstract)",
    ),
    Doubtful(
        "stone_contact", "stiffness of a stone under the disc", (("stones", "contact", "stiffness"),), "assumed",
    ),
)  # fmt: skip
"""In the order in which they are told where nothing else decides."""

BY_NAME = {one.name: one for one in DOUBTFUL}
