"""What to measure next, told as a job for an afternoon."""

from __future__ import annotations

from analysis.fit.following.candidates import WALK, Candidate
from analysis.fit.following.measure_next import Next, Suggestion
from analysis.present.edge import bar
from analysis.present.sentences import SCREEN, setting
from analysis.present.texts import plural
from analysis.window.pick import Pick

LARGE = 0.2  # share of the doubt from which one value is named
LITTLE = 0.05  # share of the doubt below which a job is not worth an afternoon


def next_sentences(found: Next) -> list[str]:
    """What the doubt is about, and the jobs that take most off it; the best first."""
    worth = [one for one in found.suggestions if share_of(one) >= LITTLE]
    rests = largest_sentence(found)
    if not worth:
        nothing = f"nothing that could be read in an afternoon takes a twentieth off the doubt about {aim(found)}"
        return [f"{nothing}{f'; {rests}' if rests else ''}"]
    return [lead_sentence(found), *(job_sentence(one) for one in worth), *([rests] if rests else [])]


def largest_sentence(found: Next) -> str:
    """What the doubt rests on most, where it is a good part of it, and with what it can be learned."""
    most = found.largest
    if most is None or most.share < LARGE:
        return ""
    how = most.doubtful.measured
    by = f": {how}" if how else ", which is not easily measured"
    given = ", given as --profile" if most.doubtful.name == "roughness" else ""
    return f"that doubt goes most of all with the {most.doubtful.words}{by}{given}"


def lead_sentence(found: Next) -> str:
    """What the jobs are for."""
    return f"what takes most off the doubt about {aim(found)}:"


def aim(found: Next) -> str:
    """What a reading is held against."""
    one = found.target.outcome
    where = setting(one.oil_pressure, one.speed, SCREEN)
    check = one.checks[0]
    what = check.limit.words
    if isinstance(one, Pick):
        return f"the room that {where} has to its nearest limit ({what})"
    return f"how far {where} is from its worst limit ({what})"


def share_of(one: Suggestion) -> float:
    """The share of the doubt that a job takes away."""
    return one.narrows


def job_sentence(one: Suggestion) -> str:
    """A job, and what it does to the doubt."""
    return f"{job(one.candidate)}: {less(share_of(one))}"


def less(share: float) -> str:
    """What is left of a doubt, in words.

    >>> less(0.52), less(0.34), less(0.12), less(0.01)
    ('the doubt halves', 'a third less doubt', '12 % less doubt', 'hardly less doubt')
    """
    if share >= 0.7:
        return f"{share * 100:.0f} % less doubt"
    if share >= 0.45:
        return "the doubt halves"
    if 0.29 <= share <= 0.38:
        return "a third less doubt"
    return f"{share * 100:.0f} % less doubt" if share >= 0.02 else "hardly less doubt"


def job(one: Candidate) -> str:
    """What to do."""
    if one.what == "penetrometer_MPa":
        return f"push a penetrometer to the depth of the disc at {one.n} places a metre apart"
    if one.what == "scale_kg":
        wheel = "press" if one.where == "press" else "gauge"
        at = "with no oil pressure" if bar(one.oil_pressure) == 0.0 else f"at {bar(one.oil_pressure):.4g} bar"
        return f"weigh the {wheel} wheel {one.n} times on a hard floor {at}, disc free, lifted in between"
    where = setting(one.oil_pressure, one.speed, SCREEN, " and ")
    if one.what == "depth_mm":
        first = f"dig {plural(one.n, 'place')} at {where}"
        if one.beside is not None:
            pressure, speed = one.beside
            other = setting(pressure, speed, SCREEN, " and ")
            return f"{first} and as many at {other}, the depth setting untouched in between"
        return f"{first}, the depth setting {_left(one)}"
    walk = f"over {WALK:.0f} m at {where}"
    if one.what == "wheel_off_share":
        return f"measure how far the gauge wheel left no track {walk}, the depth setting {_left(one)}"
    what = "gauge load" if one.what == "gauge_load_N" else "pull of the row"
    return f"measure the {what} {walk}, the depth setting {_left(one)}"


def _left(one: Candidate) -> str:
    return f"left as for {one.held}" if one.held else "untouched"
