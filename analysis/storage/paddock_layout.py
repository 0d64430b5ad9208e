"""What a stored paddock consists of: every dataset over its dimensions, for the writing and for the reading of it.

Dimensions: `setting`, `pass`, `row`, `section`, `pin`, `cause`, `error_bin`, `load_bin`, `episode`, `breakout` and
`sample`.
"""

from __future__ import annotations

from analysis.crossing.episodes import CAUSES_IN_ORDER
from analysis.crossing.measures import Join, Measure, by_row, by_section, by_setting
from analysis.rows.reduced import ERROR_BINS, GAUGE_BINS
from analysis.storage.description import LONG, Data, Description, Mark
from sim.record import CAUSES, PINS

FORMAT, FORMAT_VERSION = "rowbench paddock", 2
SIZES = {"pin": len(PINS), "cause": len(CAUSES), "error_bin": ERROR_BINS.bins + 2, "load_bin": GAUGE_BINS.bins + 2}
PLACES = ("setting", "pass", "row", "section")
ROUND = 1e-5  # by which a share in single precision may lie beyond 0 or 1

# what a thinned series keeps: unit, meaning
SERIES = {"depth_error": ("m", "depth error at a place"), "gauge_load": ("N", "gauge load at a place")}

_WHOSE = (("setting", "1", "number of the setting"), ("row", "1", "number of the row, from the left"))
EPISODE = (
    *_WHOSE,
    ("start", "m", "travel of the disc at which it begins"),
    ("length", "m", "travel with no load on the gauge wheel, short contacts bridged"),
    ("rise", "m", "greatest set depth − depth"),
    ("gap", "m", "greatest clearance under the gauge wheel"),
    ("shallow", "m", "travel shallower than the tolerance"),
    ("cause", "1", f"cause: {', '.join(f'{i} {name}' for i, name in enumerate(CAUSES_IN_ORDER))}"),
)
BREAKOUT = (
    *_WHOSE,
    ("start", "m", "travel of the disc at the first contact"),
    ("rise", "m", "greatest height of the disc over set depth, from the ground without the stone"),
    ("regain", "m", "travel until depth is back within the tolerance; NaN: not in this pass"),
    ("disc_peak", "N", "largest force of the stone on the disc"),
    ("pin", "1", "number of the pin that bears most, in the order of `pin`"),
    ("pin_peak", "N", "its load"),
    ("pressure_max", "Pa", "highest oil pressure at the accumulator, gauge"),
)
EVENTS = {"episode": EPISODE, "breakout": BREAKOUT}


def section_kind(m: Measure) -> str:
    """Number type of a measure kept by section."""
    return m.kind or "f4"


def row_kind(m: Measure) -> str:
    """Number type of a measure kept by row."""
    return m.kind or ("i4" if m.join is Join.COUNT else "f8")


def _measured(m: Measure, dims: tuple[str, ...], kind: str) -> Data:
    low, high = -1e18, 1e18
    if m.unit == "1" and m.name.endswith("_share") and not m.dims:
        low, high = -ROUND, 1.0 + ROUND
    elif m.name == "pin_worst":
        low, high = 0, len(PINS) - 1
    elif kind.startswith("i"):
        low = 0
    return Data(dims, m.unit, m.doc, kind, low, high, gaps=True)


def over_passes(zones: str = "") -> dict[str, Data]:
    """Datasets that are filled pass by pass. zones: names of the zones by number, in words."""
    doc = f"zone of each section's middle, 0: none; {zones}"
    return {
        **{name: _measured(m, PLACES, section_kind(m)) for name, m in by_section().items()},
        **{name: _measured(m, (*PLACES[:3], *m.dims), row_kind(m)) for name, m in by_row().items()},
        "section_x": Data(("pass", "section"), "m", "place of each section's middle along the passes", gaps=True),
        "section_length": Data(("pass", "section"), "m", "length of row in each section", "f4", 0.0, 1e6, gaps=True),
        "row_y": Data(("pass", "row"), "m", "place of each row across the paddock", "f4", -1e8, 1e8),
        "zone": Data(PLACES[1:], "1", doc, "i1", 0, 127),
    }


def positions() -> dict[str, Data]:
    """Latitude and longitude, where they are known."""
    most = {"latitude": 90.0, "longitude": 360.0}
    way = {"latitude": "north", "longitude": "east"}
    return {
        name: Data(PLACES[1:], f"degrees_{way[name]}", f"{name} of each section's middle", "f8", -end, end, gaps=True)
        for name, end in most.items()
    }


def series() -> dict[str, Data]:
    """Thinned series, where they are kept."""
    return {f"series_{name}": Data((*PLACES[:3], "sample"), *said, gaps=True) for name, said in SERIES.items()}


def of_settings() -> dict[str, Data]:
    """What is known of each setting."""
    dims = ("setting",)
    return {
        "oil_pressure": Data(dims, "Pa", "oil pressure set, gauge", "f8", 0.0, 1e9),
        "speed": Data(dims, "m/s", "travel speed", "f8", 1e-3, 100.0),
        "downforce": Data(dims, "N", "downforce of one row", "f8", -1e7, 1e7),
        **{m.stored: Data(dims, m.unit, m.doc, "f8", gaps=True) for m in by_setting().values()},
    }


def events(kind: str) -> dict[str, Data]:
    """Columns of a list of events, one dataset each."""
    listed = (("pass", "1", "number of the pass"), *EVENTS[kind])
    return {
        f"{kind}_{name}": Data((kind,), unit, doc, "i4", 0, 2**31) if unit == "1" else
        Data((kind,), unit, doc, "f4", gaps=name == "regain")
        for name, unit, doc in listed
    }  # fmt: skip


def scales() -> dict[str, Data]:
    """The dimensions' own datasets."""
    numbered = {name: f"number of the {name}, from 0" for name in (*PLACES, *EVENTS)}
    return {
        **{name: Data((name,), "1", doc, "i4", 0, 2**31) for name, doc in numbered.items()},
        **{name: Data((name,), "1", f"name of the {name}", "text") for name in ("pin", "cause")},
        "error_bin": Data(("error_bin",), "m", "middle of a bin of depth error; the ends hold the rest", "f8"),
        "load_bin": Data(("load_bin",), "N", "middle of a bin of gauge load; the first holds 0", "f8"),
        "sample": Data(("sample",), "m", "travel from the start of the measured stretch", "f8", 0.0, 1e6),
    }


def description() -> Description:
    """The whole file, measures as they are now."""
    text = Data((), "", "text", "text")
    maybe = {**positions(), **series()}
    return Description(
        format=FORMAT,
        version=FORMAT_VERSION,
        command="paddock",
        again="delete it and compute it again",
        sizes=SIZES,
        data={
            **over_passes(), **of_settings(), **events("episode"), **events("breakout"), **scales(), **maybe,
            **{f"inputs/{name}": text
               for name in ("paddock_toml", "inputs_si", "limits_si", "warnings", "problems", "heeds", "doubt")},
        },
        marks={
            "@format": Mark("text"), "@format_version": Mark("i8"), "@fingerprint": Mark("text"),
            "@title": Mark("text", high=LONG), "inputs@paddock": Mark("text", high=LONG),
            "inputs@seed": Mark("i8", 0, 10**9),
        },
        optional=frozenset({*maybe, "sample", "inputs/doubt"}),
    )  # fmt: skip
