"""`rowbench paddock FILE --out RESULT.h5` and what can be drawn and written from RESULT.h5.

Registered by the command line: `add_parser` adds the command, `run` does it. Bad input raises ScenarioError.
"""

from __future__ import annotations

import argparse
import json
import shlex
import sys
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any

from analysis.storage.formats import FIGURES, RESULTS
from scenarios.format.errors import ScenarioError, closest, fault, shown

if TYPE_CHECKING:
    from analysis.paddock.summary import Summary
    from analysis.paddock.table import PaddockTable
    from scenarios.paddock.paddock import Paddock

NAME = "paddock"
WHERE = f"rowbench {NAME}"
SUMMARY = "a machine over a paddock: settings × passes × rows, kept pass by pass, and what to set"
SHADES = ("on-depth", "wheel-off", "worst-pin")
INTERRUPTED = 130


def add_parser(commands: Any) -> argparse.ArgumentParser:
    """Add the command to the subparsers of the command line → its parser."""
    made: argparse.ArgumentParser = commands.add_parser(
        NAME, help=SUMMARY, description=SUMMARY[0].upper() + SUMMARY[1:] + ".", allow_abbrev=False
    )
    made.add_argument("--json", action="store_true", help="one JSON document on standard output")
    made.add_argument("file", nargs="?", metavar="FILE", help="paddock file, name of the library, or a RESULT.h5")
    made.add_argument("--new", action="store_true", help="write FILE, a commented paddock file to start from")
    made.add_argument("--out", metavar="RESULT.h5", help="where to; the same command again goes on where it stopped")
    made.add_argument("--workers", metavar="N", help="how many processor cores to use (default: all)")
    made.add_argument("--cluster", metavar="ADDRESS", help="a running Dask scheduler that does the work instead")
    made.add_argument("--summary", action="store_true", help="print what a RESULT.h5 says (also without this option)")
    made.add_argument("--map", metavar="PNG", help="map of all sections (.png, .svg or .pdf)")
    made.add_argument("--shade", metavar="WHAT", default=SHADES[0], help=f"what the map shows: {', '.join(SHADES)}")
    made.add_argument("--rows", metavar="PNG", help="mean depth error of each row with its interval")
    made.add_argument("--settings", metavar="PNG", help="area on depth by setting")
    made.add_argument("--csv", metavar="CSV", help="all sections at all settings as a table")
    made.add_argument("--geojson", metavar="FILE", help="all sections at one setting as places on a map")
    made.add_argument("--pressure", metavar="BAR", help="setting for map, rows and GeoJSON (default: the chosen one)")
    made.add_argument("--speed", metavar="KMH", help="setting for map, rows and GeoJSON (default: the chosen one)")
    return made


def run(args: argparse.Namespace) -> int:
    """Compute what is missing, then print, draw and write → exit code. Raises ScenarioError with all faults."""
    if args.new and args.file:
        return _new(args)
    faults: list[str] = []
    source = str(args.file or "")
    if not source:
        faults.append(fault(WHERE, "no FILE", "a paddock file, a name of the library, or a result",
                            f"{WHERE} two_soils --out two_soils.h5"))  # fmt: skip
    if args.shade not in SHADES:
        near = closest(args.shade, SHADES) or SHADES[0]
        faults.append(fault("--shade", f"given {shown(args.shade)}", " or ".join(SHADES), near))
    workers = _whole("--workers", args.workers, faults)
    pressure, speed = _number("--pressure", args.pressure, faults), _number("--speed", args.speed, faults)
    targets = _targets(args, faults)
    stored = source.lower().endswith(RESULTS)
    paddock = None
    if stored:
        if args.out or args.cluster or args.workers:
            faults.append(fault(WHERE, "--out, --workers or --cluster with a result", "those with a paddock file",
                                f"{WHERE} {source} --summary"))  # fmt: skip
    elif source:
        paddock = _paddock(source, args, faults)
    if faults:
        raise ScenarioError(faults)
    result = Path(source) if stored else Path(args.out)
    if paddock is not None:
        code = _compute(paddock, result, workers, args)
        if code:
            return code
    elif not result.exists():
        _tell_unfinished(result)
    return _show(result, paddock, args, targets, (pressure, speed))


def _new(args: argparse.Namespace) -> int:
    """Write a starter file where there is none yet."""
    from analysis.storage.safe_write import output_fault, replacing  # noqa: PLC0415
    from scenarios.paddock.starter import paddock_starter  # noqa: PLC0415

    given = Path(args.file)
    path = given if given.suffix == ".toml" else given.with_name(f"{given.name}.toml")
    wrong = output_fault(path, f"{WHERE} --new", (".toml",))
    if wrong is None and path.exists():
        wrong = fault(f"{WHERE} --new", f"given {shown(str(path))}, which is there already", "a name that is free",
                      f"{WHERE} --new {path.stem}_2")  # fmt: skip
    if wrong:
        raise ScenarioError([wrong])
    with replacing(path, keep_existing=True) as place:
        place.write_text(paddock_starter(path.stem.replace("_", " ")), encoding="utf-8")
    if args.json:
        print(json.dumps({"written": str(path)}))
    else:
        print(f"{path} written: every key with its meaning. Try: {WHERE} {path} --out {path.stem}.h5")
    return 0


def _paddock(source: str, args: argparse.Namespace, faults: list[str]) -> Paddock | None:
    from analysis.storage.safe_write import output_fault  # noqa: PLC0415
    from scenarios.paddock.load import load_paddock  # noqa: PLC0415

    if args.summary:
        faults.append(fault("--summary", f"given with {shown(source)}", "with a result (RESULT.h5)", "leave it out"))
    if not args.out:
        name = Path(source).stem
        faults.append(fault(WHERE, "no --out", "a file for the result", f"--out {name}.h5"))
    else:
        wrong = output_fault(Path(args.out), "--out", RESULTS)
        faults += [wrong] if wrong else []
    try:
        return load_paddock(source)
    except ScenarioError as error:
        faults += error.faults
        return None


def _compute(paddock: Paddock, out: Path, workers: int | None, args: argparse.Namespace) -> int:
    """Compute the passes that are missing → 0, or 130 where the user stopped it."""
    from analysis.cli.paddock_progress import RateMeter  # noqa: PLC0415
    from analysis.cli.warmup import USUAL_COMPILE_TIME_ROWS, is_compiled  # noqa: PLC0415
    from analysis.paddock.batch import run_batch  # noqa: PLC0415
    from analysis.paddock.store_parts import parts_folder  # noqa: PLC0415

    if not is_compiled(rows=True):
        _say(f"compiling the model (once per installation, about {USUAL_COMPILE_TIME_ROWS} s)…")
    meter = RateMeter(_say, 0.2 if sys.stderr.isatty() else 10.0, overwrite=sys.stderr.isatty())
    try:
        run_batch(paddock, out, workers, args.cluster, meter)
    except KeyboardInterrupt:
        again = f"{WHERE} {shlex.quote(str(args.file))} --out {shlex.quote(str(out))}"
        kept = len(list(parts_folder(out).glob("pass-*.npz")))
        _say(f"\nrowbench: stopped; {kept} of {paddock.count} passes are finished and kept. To go on: {again}")
        return INTERRUPTED
    return 0


def _tell_unfinished(result: Path) -> None:
    """A result that is not there yet, but whose passes are: say how far it is."""
    from analysis.paddock.store_parts import parts_folder, read_about  # noqa: PLC0415

    folder = parts_folder(result)
    if folder.is_dir():
        about = read_about(result)
        kept = len(list(folder.glob("pass-*.npz")))
        raise ScenarioError(
            [fault(str(result), f"not finished: {kept} of {about['passes']} passes of {about['name']}",
                   "a finished result", f"{WHERE} FILE --out {result} again: it goes on")]
        )  # fmt: skip


def _show(
    result: Path, paddock: Paddock | None, args: argparse.Namespace, targets: dict[str, Path],
    wanted: tuple[float | None, float | None],
) -> int:  # fmt: skip
    from analysis.paddock.summary import summarise, to_dict  # noqa: PLC0415
    from analysis.paddock.table import load_table  # noqa: PLC0415
    from analysis.paddock.words import paddock_text  # noqa: PLC0415

    table = load_table(result)
    summary = summarise(table, None if paddock is None else paddock.limits)
    setting = _setting(table, summary.setting, wanted)
    with ExitStack() as files:
        for kind, path in targets.items():
            _write(files, kind, path, summary, setting, args.shade)
    if args.json:
        print(json.dumps({**to_dict(summary), "result": str(result)}, indent=1, allow_nan=False, ensure_ascii=False))
    else:
        print(paddock_text(summary))
        print(f"\nResult: {result}")
    return 0


def _write(files: ExitStack, kind: str, path: Path, summary: Summary, setting: int, shade: str) -> None:
    from analysis.storage.safe_write import replacing  # noqa: PLC0415

    place = files.enter_context(replacing(path))
    if kind == "csv":
        from analysis.paddock.export import write_csv  # noqa: PLC0415

        write_csv(place, summary.table, range(len(summary.table.settings)))
    elif kind == "geojson":
        from analysis.paddock.export import write_geojson  # noqa: PLC0415

        write_geojson(place, summary.table, setting)
    else:
        from analysis.present.figure_style import save  # noqa: PLC0415

        save(_figure(kind, summary, setting, shade), place)


def _figure(kind: str, summary: Summary, setting: int, shade: str) -> Any:
    if kind == "map":
        from analysis.paddock.figure_map import map_figure  # noqa: PLC0415

        return map_figure(summary.table, setting, shade)
    if kind == "rows":
        from analysis.paddock.figure_rows import rows_figure  # noqa: PLC0415

        return rows_figure(summary, setting)
    from analysis.paddock.figure_settings import settings_figure  # noqa: PLC0415

    return settings_figure(summary)


def _targets(args: argparse.Namespace, faults: list[str]) -> dict[str, Path]:
    """Files to write, checked to be writable before anything is computed."""
    from analysis.storage.safe_write import output_fault  # noqa: PLC0415

    endings = {"map": FIGURES, "rows": FIGURES, "settings": FIGURES, "csv": (".csv",), "geojson": (".geojson", ".json")}
    found = {}
    for kind, allowed in endings.items():
        given = getattr(args, kind)
        if given is None:
            continue
        found[kind] = Path(given)
        wrong = output_fault(found[kind], f"--{kind}", allowed)
        faults += [wrong] if wrong else []
    return found


def _setting(table: PaddockTable, chosen: int, wanted: tuple[float | None, float | None]) -> int:
    """Number of the setting that is asked for. Raises ScenarioError where it was not tried."""
    pressure, speed = table.settings[chosen]
    for k, (name, value, tried, factor) in enumerate((
        ("--pressure", wanted[0], table.pressures, 1e-5), ("--speed", wanted[1], table.speeds, 3.6),
    )):  # fmt: skip
        if value is None:
            continue
        near = tried[abs(tried * factor - value).argmin()]
        if abs(near * factor - value) > 1e-6:
            listed = ", ".join(f"{v * factor:.6g}" for v in tried)
            raise ScenarioError([fault(name, f"given {value:g}", f"what was tried: {listed}", f"{near * factor:.6g}")])
        pressure, speed = (float(near), speed) if k == 0 else (pressure, float(near))
    return table.settings.index((pressure, speed))


def _whole(option: str, text: str | None, faults: list[str]) -> int | None:
    if text is None:
        return None
    if not text.isdigit() or not 1 <= int(text) <= 256:
        faults.append(fault(option, f"given {shown(text)}", "a whole number, 1 to 256", "leave it out: all cores"))
        return None
    return int(text)


def _number(option: str, text: str | None, faults: list[str]) -> float | None:
    if text is None:
        return None
    try:
        return float(text)
    except ValueError:
        faults.append(fault(option, f"given {shown(text)}", "a number", "one of the settings that were tried"))
        return None


def _say(text: str, *, end: str = "\n") -> None:
    """A word to the user beside the result."""
    print(text, file=sys.stderr, end=end, flush=True)
