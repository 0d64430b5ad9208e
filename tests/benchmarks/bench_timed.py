"""How fast the bench is in Chromium: `python -m tests.benchmarks.bench_timed [FILE] [--figure PNG]`.

From the start of the command to the first picture; from a change to the picture of it while a hump is dragged, with the
server's part and the browser's apart; from the last change to a whole map. Medians and 95th percentiles. Needs the
Chromium that the tests use, and machine code from the cache.
"""

from __future__ import annotations

import argparse
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).resolve().parents[2]
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"]
STARTS, SECONDS, MAPS = 5, 6.0, 5
CROSSED = "Boolean(window.rowbench && window.rowbench.app.state.now)"
GRIP = """() => { const b = document.querySelector('.grip[data-grip=move]').getBoundingClientRect();
    return [b.x + b.width / 2, b.y + b.height / 2]; }"""
# the pointer moved once a frame of the screen, inside the page: a driver that moves it takes half of a core
MOVED = """([x, y, long]) => new Promise((settle) => {
    const strip = document.getElementById("strip"), begin = performance.now();
    let n = 0;
    const move = (now) => {
        if (now - begin > long) { settle(n); return; }
        n += 1;
        strip.dispatchEvent(new PointerEvent("pointermove", {
            clientX: x + 1.5 * (n % 80), clientY: y - 0.8 * (n % 37), bubbles: true }));
        requestAnimationFrame(move);
    };
    requestAnimationFrame(move);
})"""


def started(file: str) -> tuple[subprocess.Popen[str], str]:
    """A bench of its own process, and its address."""
    process = subprocess.Popen(
        [sys.executable, "-u", "-m", "analysis.cli.main", "bench", file, "--no-browser"], stdout=subprocess.PIPE,
        text=True, cwd=tempfile.gettempdir(), env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert process.stdout is not None
    return process, process.stdout.readline().split()[-1]


def until(page: Page, what: str) -> None:
    """Wait for a script to be true."""
    while not page.evaluate(what):
        page.wait_for_timeout(4)


def spread(values: list[float]) -> str:
    """Median and 95th percentile [ms]."""
    ordered = sorted(values)
    return f"{statistics.median(ordered):.0f} ms (95 %: {ordered[int(0.95 * (len(ordered) - 1))]:.0f})"


def dragged(page: Page) -> str:
    """A hump dragged about for some seconds."""
    page.select_option("#rough", "none")
    page.click("button[data-kind=hump]")
    page.wait_for_timeout(1500)
    page.locator("#strip").scroll_into_view_if_needed()
    x, y = page.evaluate(GRIP)
    page.evaluate("rowbench.desk.times.length = 0")
    page.mouse.move(x, y)
    page.mouse.down()
    moves = page.evaluate(MOVED, [x, y, 1e3 * SECONDS])
    page.mouse.up()
    taken = page.evaluate("rowbench.desk.times")
    parts = {name: spread([one[name] for one in taken]) for name in ("all", "waited", "asked", "server", "draw")}
    return (
        f"{len(taken) / SECONDS:.0f} pictures a second, the pointer moved {moves / SECONDS:.0f} times; from change to "
        f"picture {parts['all']}: sent after {parts['waited']}, answer {parts['asked']}, of which the server computes "
        f"{parts['server']}, drawing {parts['draw']}"
    )


def mapped(page: Page) -> list[float]:
    """From the last change to a whole map [ms]."""
    found = []
    for number in range(MAPS):
        page.fill("#depth", str(41 + number))
        page.wait_for_timeout(50)
        until(page, "rowbench.fields.ended")
        found.append(page.evaluate("rowbench.fields.took"))
    return found


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.bench_timed")
    parser.add_argument("file", nargs="?", default="rough")
    parser.add_argument("--figure", type=Path)
    given = parser.parse_args()
    found = next(place for name in ("chromium", "chromium-browser") if (place := shutil.which(name)))
    first = []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, args=FLAGS)
        for number in range(STARTS):
            begin = time.monotonic()
            process, address = started(given.file)
            page = browser.new_context(viewport={"width": 1280, "height": 900}).new_page()
            page.goto(address)
            until(page, CROSSED)
            first.append(1e3 * (time.monotonic() - begin))
            if number == STARTS - 1:
                print(f"start to first picture: {spread(first)}")
                until(page, "rowbench.fields.ended")
                print(dragged(page))
                print(f"map whole after the last change: {spread(mapped(page))}")
                if given.figure:
                    picture(page, given.figure)
            process.terminate()
            process.wait()
        browser.close()


def picture(page: Page, path: Path) -> None:
    """The bench with a hump and a stone, and the slower state kept as before."""
    page.reload()
    until(page, CROSSED)
    page.select_option("#rough", "B")
    page.evaluate("rowbench.app.move(220)")
    page.click("button[data-kind=stone]")
    page.fill("#depth", "40")
    page.click("#keep")
    page.fill("#speed", "11")
    page.click("#worst")
    page.evaluate("rowbench.strip.choose(null); document.activeElement.blur(); scrollTo(0, 0)")
    page.wait_for_timeout(2500)
    page.screenshot(path=str(path))


if __name__ == "__main__":
    main()
