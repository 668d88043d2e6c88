"""The bench under load: from the change that is sent to the picture that is drawn, in a headless Chromium.

A drawing of 64 × 64 × 16 places, tiled with clocks of 2t to 4t, and with levers that nobody works. Measured: opening;
the layer in view and all layers in three dimensions, while time passes at some gt a second; and the memory of a run as
fast as it goes (`--hour`: 72,000 gt, an hour at 20 gt a second). `--short` takes a drawing of 16 × 16 × 4 and seconds.

A picture counts as drawn when the page is asked for the one after it: by then it has been laid out and painted.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import re
import resource
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

HERE = Path(__file__).resolve()
sys.path.insert(0, str(HERE.parents[1]))

LEGEND = """language 1
circuit field
legend
  .  air
  S  block
  -  dust
  a  lever
  /  torch on west starts on
  >  repeater facing east delay 2t
  2  repeater facing north delay 2t starts off
  3  repeater facing north delay 3t starts off
  4  repeater facing north delay 4t starts off
  O  lamp
end
"""
FLOOR = ("SSSSSSSS",) * 4
CLOCK = ("S/-.a>O.", "^.-.a>O.", "---.a>O.", "........")
AIR = ("........",) * 4
WATCH = """
window.benchSeen = [];
const Real = window.EventSource;
window.EventSource = class extends Real {
  constructor(address) {
    super(address);
    this.addEventListener('message', function (event) {
      const now = function () { return performance.timeOrigin + performance.now(); };
      const told = { at: Number(/"at":(\\d+)/.exec(event.data)[1]), size: event.data.length, received: now() };
      requestAnimationFrame(function (frame) {
        told.frame = frame;
        requestAnimationFrame(function () {
          told.drawn = now();
          window.benchSeen.push(told);
        });
      });
    });
  }
};
"""
"""What the page notes of each event; our own script is not touched."""


def field(layers: int, rows: int, columns: int) -> str:
    """A file that draws a field of clocks."""
    lines = [LEGEND, "drawing"]
    for layer in range(layers):
        tile = (FLOOR, CLOCK, AIR, AIR)[layer % 4]
        lines.append(f"  layer {layer + 1}")
        for row in range(rows):
            pieces = [
                tile[row % 4].replace("^", "234"[(across + row // 4 + layer) % 3]) for across in range(columns // 8)
            ]
            lines.append("    " + "".join(pieces))
        lines.append("  end")
    return "\n".join([*lines, "end", ""])


# The bench, with its clocks looked at.


def serve(path: str, notes: str) -> None:
    """Serves a bench that notes when it told what, and what its engine took."""
    from circuitcheck.bench import workbench
    from circuitcheck.cli import main

    told: list[list[float]] = []
    passed: list[list[float]] = []
    since, pass_time = workbench.Workbench.since, workbench.Workbench.pass_time

    def noted_since(self: Any, known: Any) -> Any:
        begun, used = time.time(), time.process_time()
        found = since(self, known)
        told.append([found[0]["at"], begun * 1000, (time.process_time() - used) * 1000])
        return found

    def noted_pass_time(self: Any, count: int) -> bool:
        before, used = self.worked.now, time.process_time()
        answer = pass_time(self, count)
        passed.append([self.worked.now - before, (time.process_time() - used) * 1000])
        return answer

    workbench.Workbench.since = noted_since  # type: ignore[method-assign]
    workbench.Workbench.pass_time = noted_pass_time  # type: ignore[method-assign]
    with contextlib.suppress(SystemExit):
        main(["bench", path, "--no-browser"])
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    Path(notes).write_text(json.dumps({"told": told, "passed": passed, "memory": memory}), encoding="utf-8")


class Served(NamedTuple):
    """A bench that is served, and where it writes its notes."""

    process: subprocess.Popen[str]
    address: str
    notes: Path

    def end(self) -> dict[str, Any]:
        """Ends it. Returns its notes."""
        self.process.send_signal(signal.SIGINT)
        self.process.communicate(timeout=60)
        found: dict[str, Any] = json.loads(self.notes.read_text(encoding="utf-8"))
        return found


@contextlib.contextmanager
def served(folder: Path, text: str) -> Iterator[Served]:
    """A bench on a drawing, in a process of its own."""
    path, notes = folder / "field.circuit", folder / "notes.json"
    path.write_text(text, encoding="utf-8")
    command = [sys.executable, "-u", str(HERE), "--serve", str(path), str(notes)]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    found = re.search(r"http://\S+", process.stdout.readline())
    assert found, "the bench was not opened"
    try:
        yield Served(process, found[0], notes)
    finally:
        process.kill()
        process.communicate()


# What is measured.


def measure(size: tuple[int, int, int], seconds: float, speeds: list[int]) -> None:
    """Prints what one size takes."""
    from browser.chromium import opened

    text = field(*size)
    with tempfile.TemporaryDirectory() as name, contextlib.ExitStack() as held:
        folder = Path(name)
        begun = time.monotonic()
        bench = held.enter_context(served(folder, text))
        ready = time.monotonic() - begun
        driver = held.enter_context(opened(folder))
        driver.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": WATCH})
        begun = time.monotonic()
        driver.get(bench.address)
        wait(lambda: driver.execute_script("return !!document.querySelector('#pictures [data-at]')"))
        shown = time.monotonic() - begun
        places = size[0] * size[1] * size[2]
        print(f"{places:,} places: the bench stands after {ready:.1f} s, the page {shown:.1f} s after that")
        spans: list[Span] = []
        for view, kind in (("the layer in view", ""), ("all layers in three dimensions", "d")):
            if kind:
                driver.find_element("tag name", "body").send_keys(kind)
                wait(lambda: driver.execute_script("return !!document.querySelector('#build [data-at]')"))
                count = driver.execute_script("return document.querySelectorAll('#build [data-at]').length")
                view += f" ({count:,} things seen)"
                time.sleep(1)
            for speed in speeds:
                spans.append(run(driver, view, speed, seconds))
        notes = bench.end()
        for span in spans:
            report(span, notes)
        print(f"memory of the bench at most: {notes['memory']:.0f} MB")


class Span(NamedTuple):
    """What the page noted while time passed at a speed, and the processor time that the browser took, in ms."""

    view: str
    speed: int
    seen: list[dict[str, float]]
    used: float


def run(driver: Any, view: str, speed: int, seconds: float) -> Span:
    """Lets time pass at a speed."""
    stands = "return document.getElementById('run').getAttribute('aria-pressed') === 'false'"
    wait(lambda: driver.execute_script(stands))
    before = used_by(driver.service.process.pid)
    driver.execute_script(
        "document.getElementById('speed').value = arguments[0]; window.benchSeen = [];"
        "document.getElementById('run').click();",
        speed,
    )
    time.sleep(seconds)
    driver.execute_script("document.getElementById('run').click();")
    used = used_by(driver.service.process.pid) - before
    wait(lambda: driver.execute_script(stands))
    time.sleep(0.5)
    return Span(view, speed, list(driver.execute_script("return window.benchSeen")), used)


def used_by(root: int) -> float:
    """The processor time of a process and of all that it began, in ms."""
    began: dict[int, list[int]] = {}
    used: dict[int, float] = {}
    for path in Path("/proc").glob("[0-9]*/stat"):
        with contextlib.suppress(OSError):
            fields = path.read_text(encoding="utf-8", errors="replace").rpartition(")")[2].split()
            number = int(path.parent.name)
            began.setdefault(int(fields[1]), []).append(number)
            used[number] = (int(fields[11]) + int(fields[12])) * 1000 / os.sysconf("SC_CLK_TCK")
    left, found = [root], 0.0
    while left:
        number = left.pop()
        found += used.get(number, 0.0)
        left += began.get(number, [])
    return found


def report(span: Span, notes: dict[str, Any]) -> None:
    """Prints one line about a span of time."""
    sent = {told[0]: told for told in notes["told"]}
    moved = [each for each in span.seen if each["at"] in sent]
    if len(moved) < 2:
        print(f"{span.view}, {span.speed} gt a second: nothing was drawn")
        return
    waits = sorted(each["drawn"] - sent[each["at"]][1] for each in moved)
    frames = len({each["frame"] for each in moved})
    lasted = (max(each["drawn"] for each in moved) - min(each["drawn"] for each in moved)) / 1000
    passed = moved[-1]["at"] - moved[0]["at"]
    telling = statistics.mean(sent[each["at"]][2] for each in moved)
    size = statistics.mean(each["size"] for each in moved)
    engine = sum(each[1] for each in notes["passed"]) / max(sum(each[0] for each in notes["passed"]), 1)
    within = waits[int(len(waits) * 0.95)]
    print(
        f"{span.view}, asked for {span.speed} gt a second: {passed / lasted:.1f} gt and {frames / lasted:.1f} "
        f"pictures a second; from sent to drawn {statistics.median(waits):.0f} ms, 95 of 100 within {within:.0f} ms; "
        f"a picture takes the browser {span.used / frames:.0f} ms of processor time, "
        f"a gt the engine {engine:.1f} ms, telling it {telling:.1f} ms and {size / 1000:.0f} kB"
    )


def hour(size: tuple[int, int, int], count: int) -> None:
    """Prints the memory of a run as fast as it goes, with a page's knowledge kept beside it."""
    from circuitcheck.bench.workbench import Known, Workbench

    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "field.circuit"
        path.write_text(field(*size), encoding="utf-8")
        bench = Workbench(str(path))
        known = Known()
        begun = time.process_time()
        print(f"{size[0] * size[1] * size[2]:,} places: {memory():.0f} MB before the run")
        for tenth in range(1, 11):
            for _ in range(count // 10):
                bench.pass_time(1)
                _, known = bench.since(known)
            used = time.process_time() - begun
            print(f"{bench.worked.now:>7,} gt: {memory():.0f} MB, {used:.0f} s of processor time", flush=True)
            assert bench.worked.now == count // 10 * tenth


def memory() -> float:
    """The memory of this process now, in MB."""
    with open("/proc/self/statm", encoding="ascii") as found:
        return int(found.read().split()[1]) * resource.getpagesize() / 1e6


def wait(holds: Any) -> None:
    """Waits for something."""
    end = time.monotonic() + 300
    while not holds():
        assert time.monotonic() < end, "it does not come"
        time.sleep(0.05)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--short", action="store_true")
    parser.add_argument("--hour", action="store_true")
    parser.add_argument("--serve", nargs=2, metavar=("FILE", "NOTES"))
    asked = parser.parse_args()
    if asked.serve:
        serve(*asked.serve)
    elif asked.short:
        measure((4, 16, 16), 1.0, [20])
        hour((4, 16, 16), 100)
    elif asked.hour:
        hour((4, 16, 16), 72_000)
    else:
        measure((16, 64, 64), 15.0, [20, 30])


if __name__ == "__main__":
    main()
