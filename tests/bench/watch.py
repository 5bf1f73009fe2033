"""How long a saved change takes to be seen: ``python -m tests.bench.watch``.

A real ``bedmodel watch`` and a headless Chromium with software 3D; the clock runs from the
save to the new bed's first drawing. Needs a Chromium, and a machine with nothing else to do.
"""

from __future__ import annotations

import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import psutil

from bedmodel.sheets import shared_folder
from tests.browser import Page, browser

CHANGES = (
    ("headboard board width", 'width = "7 1/4 in"', 'width = "{} in"', ("7", "7 1/8", "7 1/2")),
    ("side rail width", 'width = "5 7/8 in"', 'width = "{} in"', ("6", "5 3/4", "6 1/8")),
    (
        "slat width",
        '[slat]\nwidth = "2 1/4 in"',
        '[slat]\nwidth = "{} in"',
        ("2 3/8", "2 1/2", "2 5/8"),
    ),
)
SHOWN = (
    "document.documentElement?.dataset.version == '{}' && "
    "document.getElementById('stage')?.dataset.ready"
)


def main() -> None:
    with tempfile.TemporaryDirectory() as folder, browser() as page:
        sheet = Path(folder) / "own.toml"
        shutil.copy(shared_folder() / "campion.toml", sheet)
        watch = subprocess.Popen(
            [sys.executable, "-m", "bedmodel", "watch", str(sheet), "--timing",
             "--out", str(Path(folder) / "out")],
            stdout=subprocess.PIPE, text=True,
        )  # fmt: skip
        try:
            _measure(page, sheet, watch)
        finally:
            watch.terminate()
            watch.wait()


def _measure(page: Page, sheet: Path, watch: subprocess.Popen[str]) -> None:
    assert watch.stdout is not None
    address = re.findall(r"http://\S+/", watch.stdout.readline())[0]
    print(watch.stdout.readline().strip())
    page.send("Page.navigate", url=address)
    _until(page, SHOWN.format(1))
    version, plain = 1, sheet.read_text("utf-8")
    for name, old, new, values in CHANGES:
        waits, worked = list[float](), list[float]()
        for value in values:
            assert old in plain
            _until(page, "document.documentElement?.dataset.checked == 'true'")
            time.sleep(1.0)  # the report is written meanwhile
            version += 1
            start, before = time.perf_counter(), _work()
            sheet.write_text(plain.replace(old, new.format(value), 1), "utf-8")
            _until(page, SHOWN.format(version))
            waits.append(time.perf_counter() - start)
            worked.append(_work() - before)
        told = ", ".join(f"{wait:.2f}" for wait in waits)
        print(
            f"{name}: {statistics.median(waits):.2f} s by the clock (of {told}); "
            f"{statistics.median(worked):.2f} s of processor time, watch and browser together"
        )
    time.sleep(1.5)
    watch.terminate()
    for line in watch.stdout:
        if "processor time" in line or "shown" in line:
            print(line.strip())


def _work() -> float:
    """Processor time so far of all that this run has started (s)."""
    whole = 0.0
    for process in psutil.Process().children(recursive=True):
        try:
            used = process.cpu_times()
        except psutil.Error:
            continue
        whole += used.user + used.system
    return whole


def _until(page: Page, script: str, timeout_s: float = 60.0) -> None:
    """Wait until it is so, through reloads, in which the page cannot be asked."""
    end = time.monotonic() + timeout_s
    while time.monotonic() < end:
        try:
            if page.run(script):
                return
        except AssertionError:
            pass
        time.sleep(0.03)
    raise TimeoutError(script)


if __name__ == "__main__":
    main()
