"""Which of the doubtful values of soil and unit someone stated, and which are the library's, made up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scenarios.doubt.doubtful import DOUBTFUL, Doubtful
from scenarios.doubt.keys import default_of, key_of, value_at
from scenarios.doubt.varied import without_effect
from scenarios.scenario import Scenario


@dataclass(frozen=True)
class Assumed:
    """What a pick rests on."""

    made_up: bool  # a scenario of the library
    stated: tuple[Doubtful, ...]  # given by the file's user, other than the program's default
    left: tuple[Doubtful, ...]  # the library's or the program's, the first to be measured in front
    keys: tuple[str, ...]  # of the file, of those left

    @property
    def first(self) -> tuple[Doubtful, str] | None:
        """What to measure first of those left, with its key in a file; None where none can be."""
        pairs = zip(self.left, self.keys, strict=True)
        return next(((value, key) for value, key in pairs if value.measured), None)


def assumed(scenario: Scenario, ranked: Sequence[Doubtful] = DOUBTFUL) -> Assumed:
    """Which values of soil and unit were stated and which were left; `ranked`: in the order to tell them in.

    A starter file states every key with its default: what equals it is not taken for stated. A measured profile states
    the strength that it has a column for.
    """
    matter = [one for one in ranked if one.paths[0][0] in ("soil", "variation", "unit")]
    measured = scenario.profile is not None and scenario.profile.mean_strength is not None

    def stated(one: Doubtful) -> bool:
        if measured and one.name in ("soil_strength", "strength_scatter", "strength_length"):
            return True
        path = one.paths[0]
        return key_of(one) in scenario.stated and value_at(scenario, path) != default_of(path)

    left = tuple(one for one in matter if not stated(one) and not without_effect(scenario, one))
    given = tuple(one for one in matter if stated(one))
    return Assumed(scenario.made_up, given, left, tuple(key_of(one) for one in left))
