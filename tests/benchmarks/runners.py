"""Measures of the ways to run circuit files: pytest beside verify, what has not changed, a keystroke in an editor.

    python tests/benchmarks/runners.py           # all of it
    python tests/benchmarks/runners.py --short   # a few files, to see that it runs

Seconds are of this machine as it is now; what counts are the ratios, of two things measured in turns in one run.
"""

from __future__ import annotations

import argparse
import asyncio
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from lsprotocol import types
from pytest_lsp import LanguageClient, client_capabilities, make_test_lsp_client

ROOT = Path(__file__).resolve().parents[2]

FILE = """\
language 1
circuit sluice_{number} "The rope opens the sluice."
lever     rope
repeater  winch  from rope  delay 2t
lamp      open   from winch

check "pulling the rope opens the sluice"
  at 5t   rope on
  by 8t   expect open
  at 20t  rope off
  by 25t  expect open off
end

always "the lamp is quick"  when rope rises then open within 3t
"""
STAGE = """\
lever     pond_{number}
detector  rise_{number}  watches pond_{number}  delay 1t  pulse 1t
repeater  opening_{number}  from rise_{number}  delay 2t
torch     shut_{number}  from opening_{number}, held_{number}  starts on
torch     held_{number}  from shut_{number}  starts off
lamp      open_{number}  from held_{number}
check "a ripple opens the sluice {number}"
  at 5t           pond_{number} on
  by 12t          expect open_{number} on
  from 12t to 40t  expect held_{number} on
end

"""
CIRCUITCHECK = [sys.executable, "-m", "circuitcheck"]
# Only the plugin that is measured: others that happen to be installed cost what they cost.
PYTEST = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-p", "circuitcheck.pytest_plugin", "."]


def seconds(command: Sequence[str], folder: Path) -> float:
    """How long a process takes, from its start to its end. Raises CalledProcessError if it fails."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"}
    begun = time.perf_counter()
    subprocess.run(command, cwd=folder, env=environment, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - begun


def runners(files: int, rounds: int) -> None:
    """pytest and verify over many small files, in turns; then verify over the same files, unchanged."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for number in range(files):
            (folder / f"sluice_{number}.circuit").write_text(FILE.format(number=number), encoding="utf-8")
        pairs = []
        for _ in range(rounds):
            pairs.append((seconds(PYTEST, folder), seconds([*CIRCUITCHECK, "verify", "."], folder)))
        seconds([*CIRCUITCHECK, "verify", "--changed", "."], folder)
        skipped = [seconds([*CIRCUITCHECK, "verify", "--changed", "."], folder) for _ in range(rounds)]
        side_by_side = [seconds([*CIRCUITCHECK, "verify", "--jobs", "2", "."], folder) for _ in range(rounds)]
    ratio = statistics.median(one / other for one, other in pairs)
    print(f"{files} files: verify {min(other for _, other in pairs):.2f} s, pytest {ratio:.2f} times as long")
    print(f"{files} files, two processes: {min(side_by_side):.2f} s; unchanged: {min(skipped):.2f} s")


def keystrokes(lines: int, rounds: int) -> None:
    """From a letter typed to the mistakes of the file shown, and to a list of completions."""
    with tempfile.TemporaryDirectory() as name:
        shown, offered = asyncio.run(_typing(Path(name), lines, rounds))
    print(
        f"a keystroke in {lines} lines: completions after {statistics.median(offered) * 1000:.0f} ms "
        f"(at most {max(offered) * 1000:.0f}), mistakes shown after {statistics.median(shown) * 1000:.0f} ms "
        f"(at most {max(shown) * 1000:.0f}; 50 ms of it are the pause that is waited for)"
    )


async def _typing(folder: Path, lines: int, rounds: int) -> tuple[list[float], list[float]]:
    client = make_test_lsp_client()
    await client.start_io(*CIRCUITCHECK, "editor")
    try:
        await client.initialize_session(types.InitializeParams(client_capabilities("visual-studio-code")))
        text = "".join(STAGE.format(number=number) for number in range(lines // 12 + 1))
        uri = (folder / "sluice.circuit").as_uri()
        Path(folder / "sluice.circuit").write_text(text, encoding="utf-8")
        item = types.TextDocumentItem(uri, "circuit", 1, text)
        client.text_document_did_open(types.DidOpenTextDocumentParams(item))
        await asyncio.sleep(8 if rounds > 3 else 3)  # the first verdicts are worked out beside
        shown, offered = [], []
        for number in range(rounds):
            shown.append(await _typed(client, uri, 2 * number + 2, text, f"rop{number}"))
            offered.append(await _completed(client, uri, 2 * number + 3, text + f"lamp  bell_{number}  from "))
        await client.shutdown_session()
    finally:
        await client.stop()  # type: ignore[no-untyped-call]
    return shown, offered


def _change(client: LanguageClient, uri: str, version: int, text: str) -> None:
    change = types.TextDocumentContentChangeWholeDocument(text)
    document = types.VersionedTextDocumentIdentifier(version=version, uri=uri)
    client.text_document_did_change(types.DidChangeTextDocumentParams(document, [change]))


async def _typed(client: LanguageClient, uri: str, version: int, text: str, name: str) -> float:
    begun = time.perf_counter()
    _change(client, uri, version, f"{text}lamp  bell  from {name}")
    while not any(f"'{name}'" in each.message for each in client.diagnostics.get(uri, ())):
        await asyncio.sleep(0.001)
    return time.perf_counter() - begun


async def _completed(client: LanguageClient, uri: str, version: int, text: str) -> float:
    where = types.Position(text.count("\n"), len(text.rpartition("\n")[2]))
    begun = time.perf_counter()
    _change(client, uri, version, text)
    await client.text_document_completion_async(types.CompletionParams(types.TextDocumentIdentifier(uri), where))
    return time.perf_counter() - begun


def main() -> None:
    """Runs the measures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--short", action="store_true", help="a few files and keystrokes only")
    short = parser.parse_args().short
    runners(20 if short else 200, 1 if short else 5)
    keystrokes(100 if short else 1_000, 3 if short else 30)


if __name__ == "__main__":
    main()
