"""A fit as a document: units in the keys, values of a scenario file under the file's own keys and in its units."""

from __future__ import annotations

from typing import Any

from analysis.fit.fitted import Fit, Residual
from analysis.fit.following.measure_next import Next, Suggestion
from analysis.fit.following.next_words import job_sentence
from analysis.fit.words import check_sentence, together_sentences
from analysis.present.edge import bar, finite, kmh, mm
from scenarios.doubt.keys import edge_of, key_of
from scenarios.format.edge_units import to_edge


def fit_document(found: Fit, following: Next | None) -> dict[str, Any]:
    """Everything that a fit found."""
    names = [key_of(one.doubtful) for one in found.values]
    return {
        "scenario": found.scenario.name,
        "measured": str(found.measured.path),
        "readings": found.measured.count,
        "fitted": {key_of(one.doubtful): _value(one) for one in found.values},
        "correlation": {
            a: {b: round(float(found.correlation[i, j]), 6) for j, b in enumerate(names)} for i, a in enumerate(names)
        },
        "together": together_sentences(found),
        "settings": {name: mm(place.length) for name, place in found.settings.items()},
        "settings_low_95": {name: mm(place.low) for name, place in found.settings.items()},
        "settings_high_95": {name: mm(place.high) for name, place in found.settings.items()},
        "cone_factor": None
        if found.cone is None
        else dict(zip(("value", "low_95", "high_95"), found.cone, strict=True)),
        "residuals": [_residual(one) for one in found.residuals],
        "fit_check": {
            "statistic": found.check.statistic,
            "degrees_of_freedom": found.check.freedom,
            "p": found.check.p,
            "says": check_sentence(found),
        },
        "posterior": "normal" if found.posterior.normal else "drawn",
        "next": next_document(following),
        "doubt_rests_on": largest_document(following),
        "notes": list(found.measured.notes),
    }


def _value(one) -> dict[str, Any]:
    edge = edge_of(one.doubtful)
    return {
        "value": to_edge(one.value, edge),
        "low_95": to_edge(one.low, edge),
        "high_95": to_edge(one.high, edge),
        "before": to_edge(one.before, edge),
        "prior_low_95": to_edge(one.prior_low, edge),
        "prior_high_95": to_edge(one.prior_high, edge),
        "learned": one.learned,
    }


def _residual(one: Residual) -> dict[str, Any]:
    group = one.statistic.group
    cell = group.cell
    standing = group.kind.name == "scale_kg"
    pressure = cell.oil_pressure if cell is not None else group.oil_pressure if standing else float("nan")
    return {
        "what": group.kind.name,
        "part": one.statistic.part,
        "setting": None if cell is None else cell.held,
        "oil_pressure_bar": None if finite(pressure) is None else bar(pressure),
        "speed_kmh": None if cell is None else kmh(cell.speed),
        "where": group.where or None,
        "n": group.n,
        "lines": [reading.line for reading in group.readings],
        "reading": one.reading,
        "predicted": one.predicted,
        "predicted_before": finite(one.before),
        "sd": one.sd,
        "standardised": one.standardised,
    }


def next_document(following: Next | None) -> list[dict[str, Any]]:
    """JSON form of what to measure next, the best first; empty where nothing could be crossed to find out."""
    return [] if following is None else [_next(one) for one in following.suggestions]


def largest_document(following: Next | None) -> dict[str, Any] | None:
    """JSON form of the value that the doubt about the pick rests on most; None where nothing is in doubt."""
    most = None if following is None else following.largest
    return None if most is None else {"key": key_of(most.doubtful), "share": most.share}


def _next(one: Suggestion) -> dict[str, Any]:
    job = one.candidate
    return {
        "what": job.what,
        "oil_pressure_bar": None if finite(job.oil_pressure) is None else bar(job.oil_pressure),
        "speed_kmh": None if finite(job.speed) is None else kmh(job.speed),
        "setting": job.held or None,
        "where": job.where or None,
        "n": job.n,
        "narrows": one.narrows,
        "narrows_reckoned": one.reckoned,
        "says": job_sentence(one),
    }
