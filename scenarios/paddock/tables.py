"""The tables that a paddock file may hold."""

from __future__ import annotations

from scenarios.format.tables import ROOT, FileKind, Table, Variants, table_of
from scenarios.paddock.spec import Keep, Measured, PaddockMachine, Passes, PlanGround, PlanStones, Tried, Zone

PADDOCK = Table(
    "A paddock.",
    {name: ROOT.keys[name] for name in ("title", "shows")},
    {
        "machine": table_of(PaddockMachine),
        "passes": table_of(Passes),
        "ground": table_of(PlanGround),
        "stones": table_of(PlanStones),
        "measured": table_of(Measured),
        "search": table_of(Tried),
        "keep": table_of(Keep),
        **{name: ROOT.tables[name] for name in ("settings", "soil", "limits", "unit")},
    },
    {"zones": Variants("", {"": table_of(Zone)})},
)
PADDOCK_FILE = FileKind(PADDOCK, top="the top of a paddock file", kind_in_full=True)
