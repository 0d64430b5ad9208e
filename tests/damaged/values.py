"""Values that nobody should write, and that somebody will."""

from __future__ import annotations

from typing import Any

DEEP = "[" * 3000 + "]" * 3000
TOML_VALUES = (
    "nan", "inf", "-inf", "-1", "0", "-0.0", "1e308", "-1e308", "1e-308", "5e-324", "9" * 400, "-" + "9" * 400,
    "1" + "0" * 5000, "0x" + "f" * 300, "1_0", "1e400", "true", '""', '"x"', '"' + "x" * 2000 + '"', "[]", "[1]",
    "[nan, 1]", "[1, 2, 3]", '["a"]', "[[1]]", "{}", "{a = 1}", "{base = 3}", DEEP, "2024-01-01", "12:00:00",
    '"٣"', '"\\u0000"', '"\\u001b[31mred"', '"<script>alert(1)</script>"', '"$x$ and $y$"', '"$"', '"a\\nb"',
    '"../../x"', '"/etc/passwd"', '"."', '".."', '"/"', '"/dev/zero"', '"no_such"', '"pipe"', '"folder"',
    "1:2:3", '"1:2:3"', '"5:1:3"',
    '"1:1e9:1000000000"', "[1, 1]", "[2, 1]", "[1e308, 1e308]", "", "=", "'", '"""', "40", "0.5", "3.7", "1e5",
)  # fmt: skip
NUMBERS = (
    "nan", "inf", "-inf", "-1", "0", "1e308", "-1e308", "1e-320", "9" * 400, "", " ", "x", "1,5", "1_0", "٣", "0x10",
    "1e400", "--", "-", "40", "8", "0.5", "1:2", "1:2:3", "5:1:3", "1:1:1", "1:1e9:9", "nan:1:2", "1:2:x", "1:2:-1",
    "1:2:1e3", "[1,2]", "6,8", "6,,8", ",", "true", "1e3", "\x1b[31m", "x" * 300, "½", "+5", " 8 ", "8\n", "12e",
)  # fmt: skip
NAMES = (
    "short.toml", "missing.toml", "", ".", "..", "/", "folder", "folder/", "/dev/null", "/dev/full", "/dev/zero",
    "/proc/self/mem", "/proc/1/environ", "pipe", "x" * 300, "x" * 300 + ".toml", "a/" * 2000, "bad\udcff.toml", "-",
    "--", "~", "~nobody/x", "hump", "humpp", "Rough", "short.toml/x", "short.toml ", "link", "\x1b[31mred.toml",
    "$x$.toml", "a\nb.toml", "short", "empty.toml", "binary.toml", "con", "result.h5", "binary.h5", "ground.csv",
)  # fmt: skip
OUTPUTS = (
    "out.png", "out.svg", "out.pdf", "out.h5", "out.csv", "out.html", "out.geojson", "out.gif", "out", "out.xyz",
    "no/such/out.png", "", ".", "..", "/", "folder", "/dev/full", "/dev/null", "/proc/out.png", "x" * 300 + ".png",
    "a\udcff.png", "short.toml", "link", "folder/out.png", "pipe", "/no_such_folder/out.h5", "-", "out.PNG", "out.",
    ".png", "$x$.png", "a\nb.png", "\x1b[31m.png",
)  # fmt: skip


def pick(rng: Any, things: Any) -> Any:
    """One of them."""
    return things[int(rng.integers(len(things)))]
