"""`rowbench paddock FILE --pass N --row N --out ROW.toml`: one row alone, and its ground as a scenario."""

from __future__ import annotations

import shlex
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from analysis.cli.parts.answer import Answer, text_file
from analysis.cli.parts.output_files import read_output
from analysis.cli.parts.request import Request
from analysis.cli.parts.warmup import ready
from analysis.paddock.rows.alone import RowAlone, row_alone
from analysis.present.texts import number, paragraph, percent, short, signed, table
from scenarios.format.errors import fault, shown
from scenarios.paddock.paddock import Paddock
from scenarios.paddock.row_file import RowFiles, row_files

WHERE = "rowbench paddock"
MAY_FAIL = 'It may fail there as it stands, or with toolbar = "level" in its [settings], or only in the paddock.'


def asks_row(given: Mapping[str, Any]) -> bool:
    """Whether one row is asked for."""
    return given["pass"] is not None or given["row"] is not None


def read_row(given: Mapping[str, Any], paddock: Paddock | None, faults: list[str]) -> tuple[int, int]:
    """Pass and row, from 0; faults are added. Other options than pressure, speed and out do not go with them."""
    counts = (100_000, 200) if paddock is None else (paddock.count, paddock.machine.rows)
    most = dict(zip(("pass", "row"), counts, strict=True))
    found = []
    for name, top in most.items():
        text = given[name]
        value = int(text) if isinstance(text, str) and text.isascii() and text.isdecimal() and len(text) < 9 else 0
        if not 1 <= value <= top:
            said = "missing" if text is None else f"given {shown(text)}"
            faults.append(fault(f"--{name}", said, f"a whole number, 1 to {top}", f"--{name} 1"))
        found.append(value - 1)
    spare = [name for name in ("map", "rows", "settings", "csv", "geojson", "cluster") if given[name]]
    if spare:
        faults.append(fault(f"--{spare[0]}", "given with --pass and --row", "with a whole paddock", "leave it out"))
    target = read_output(given, "out", (".toml",), faults)
    if target is not None:
        read_output({"out": str(target.with_suffix(".csv"))}, "out", (".csv",), faults)
    return found[0], found[1]


def row_answer(request: Request, paddock: Paddock, number: int, row: int) -> Answer:
    """March the row, tell what it gives, and write its scenario and profile."""
    ready(request, paddock.unit, one=False, rows=True)
    found = row_alone(paddock, number, row)
    out = Path(request.given["out"])
    profile = out.with_suffix(".csv")
    failed = [i for i, one in enumerate(found.settings) if one["failed"]]
    texts = row_files(paddock, number, row, paddock.tried[failed[0] if failed else 0], profile.name)
    document = {"paddock": paddock.name, "pass": number + 1, "row": row + 1, "settings": list(found.settings),
                "written": [str(out), str(profile)]}  # fmt: skip
    return Answer(
        _text(found, texts, out, profile),
        document,
        files=((out, text_file(texts.scenario)), (profile, text_file(texts.profile))),
    )


def _text(found: RowAlone, texts: RowFiles, out: Path, profile: Path) -> str:
    rows = [
        (short(one["oil_pressure_bar"]), short(one["speed_kmh"]), "failed", "", "", "")
        if one["failed"]
        else (
            short(one["oil_pressure_bar"]), short(one["speed_kmh"]), percent(one["on_depth_share"]),
            signed(one["error_mean_mm"]), percent(one["wheel_off_share"]), number(one["pin_peak_N"] / 1e3),
        )
        for one in found.settings
    ]  # fmt: skip
    why = dict.fromkeys(one["failed"] for one in found.settings if one["failed"])
    word = shlex.quote(str(out))
    lines = [
        *paragraph(f"{found.paddock.title}: pass {found.number + 1}, row {found.row + 1} alone"),
        "",
        *table(("bar", "km/h", "on depth", "error mm", "wheel off", "pin kN"), rows),
        *(line for text in why for line in ("", *paragraph(f"Failed: {text}."))),
        "",
        *paragraph(
            f"Its ground, strength and stones: {out} with {profile.name}. There the toolbar rides over this row's "
            f"ground, in the paddock over that under its own wheels{texts.unlike}: numbers differ."
        ),
        *(paragraph(MAY_FAIL) if why else ()),
        *paragraph(f"Go on with: rowbench explain {word}, rowbench window {word}"),
    ]
    return "\n".join(lines)
