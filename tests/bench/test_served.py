"""How a bench is served: to this machine alone, to who knows the secret, and to pages that came from it.

That a page of another origin must not be obeyed though the browser is on this machine: WHATWG Fetch Standard, "Origin
header"; that a name which someone else makes lead here must be refused: RFC 9110, 7.2 "Host and :authority", and 7.4
"Rejecting Misdirected Requests". Server-sent events: WHATWG HTML, 9.2.
"""

from __future__ import annotations

import json
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from http.client import HTTPConnection, HTTPResponse
from pathlib import Path
from typing import Any, NamedTuple

import pytest

pytest.importorskip("starlette", reason="starlette is not installed")

from .test_worked import LINE


class Served(NamedTuple):
    """A bench that is served."""

    process: subprocess.Popen[str]
    port: int
    secret: str
    path: Path
    looking: list[HTTPConnection]
    """The pages that look at it."""

    def call(self, way: str, path: str, body: Any = None, **headers: str) -> tuple[int, str]:
        """Calls it. Returns the status and the answer."""
        connection = HTTPConnection("127.0.0.1", self.port, timeout=30)
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        try:
            connection.request(way, path, None if body is None else body, named)
            answer = connection.getresponse()
            return answer.status, answer.read().decode("utf-8")
        finally:
            connection.close()

    def do(self, **asked: Any) -> tuple[int, Any]:
        """Asks for something as a page of it does."""
        origin = f"http://127.0.0.1:{self.port}"
        status, answer = self.call("POST", f"/{self.secret}/do", json.dumps(asked), Origin=origin)
        return status, json.loads(answer)

    def news(self) -> HTTPResponse:
        """What a page that looks at it is told."""
        connection = HTTPConnection("127.0.0.1", self.port, timeout=30)
        self.looking.append(connection)
        connection.request("GET", f"/{self.secret}/news")
        return connection.getresponse()


@contextmanager
def opened(folder: Path) -> Iterator[Served]:
    """A bench on a circuit of two levers."""
    path = folder / "mill.circuit"
    path.write_text(LINE, encoding="utf-8")
    process = start(path)
    assert process.stdout is not None
    line = process.stdout.readline()
    found = re.search(r"http://127\.0\.0\.1:(\d+)/([\w-]{20,})/", line)
    assert found, line
    bench = Served(process, int(found[1]), found[2], path, [])
    yield bench
    for connection in bench.looking:
        connection.close()
    process.kill()
    process.communicate()


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """A bench for one test."""
    with opened(tmp_path) as bench:
        yield bench


@pytest.fixture(scope="module")
def untouched(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A bench for all tests that must change nothing of it."""
    with opened(tmp_path_factory.mktemp("untouched")) as bench:
        yield bench


def start(path: Path, *options: str) -> subprocess.Popen[str]:
    """Starts a bench."""
    command = [sys.executable, "-u", "-m", "circuitcheck", "bench", str(path), "--no-browser", *options]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)


def told(stream: HTTPResponse) -> dict[str, Any]:
    """The next event of a stream."""
    while True:
        line = stream.readline().decode("utf-8")
        assert line, "the stream has ended"
        if line.startswith("data: ") and line != "data: {}\n":
            found: dict[str, Any] = json.loads(line.removeprefix("data: "))
            return found


def test_a_page_sees_what_another_does_and_a_saved_file_is_followed(served: Served) -> None:
    looking = served.news()
    assert told(looking)["at"] == 0
    assert served.do(do="act", name="rope", verb="on") == (200, {})
    assert served.do(do="step", number=5) == (200, {})
    found = told(looking)
    while found["at"] < 5:
        found = told(looking)
    assert found["parts"]["open"] == 15
    served.path.write_text(LINE.replace("lamp open", "lamp wide"), encoding="utf-8")
    while found["revision"] < 2:
        found = told(looking)
    assert (found["at"], found["parts"]["wide"]) == (5, 15)
    assert served.do(do="dance")[0] == 409


def test_two_pages_that_act_at_once_see_the_same(served: Served) -> None:
    both = [served.news(), served.news()]
    for name in ("rope", "brake"):
        assert served.do(do="act", name=name, verb="on") == (200, {})
    assert served.do(do="act", name="rope", verb="off")[0] == 409
    served.do(do="step", number=3)
    seen = []
    for looking in both:
        parts: dict[str, int] = {}
        found = told(looking)
        parts |= found["parts"]
        while found["at"] < 3:
            found = told(looking)
            parts |= found["parts"]
        seen.append(parts)
    assert seen[0] == seen[1]
    assert (seen[0]["rope"], seen[0]["brake"]) == (15, 15)


@pytest.mark.parametrize("wrong", ["secret", "host", "origin", "no origin", "way", "body", "long"])
def test_who_does_not_belong_here_is_turned_away(untouched: Served, wrong: str) -> None:
    ours = {"Origin": f"http://127.0.0.1:{untouched.port}"}
    body, path, way = '{"do": "step", "number": 1}', f"/{untouched.secret}/do", "POST"
    if wrong == "secret":
        path = f"/{untouched.secret[:-1]}x/do"
    elif wrong == "host":
        ours["Host"] = f"mill.example:{untouched.port}"
    elif wrong == "origin":
        ours["Origin"] = "http://mill.example"
    elif wrong == "no origin":
        ours = {}
    elif wrong == "way":
        way = "GET"
    elif wrong == "body":
        body = "[" * 5_000
    else:
        body = json.dumps({"do": "step", "number": 1, "name": "x" * 20_000})
    status, _ = untouched.call(way, path, body, **ours)
    assert status in {400, 403, 404, 405}
    plan = json.loads(untouched.call("GET", f"/{untouched.secret}/plan")[1])
    assert plan["revision"] == 1
    first = told(untouched.news())
    assert first["at"] == 0


def test_the_page_may_load_nothing_from_elsewhere(untouched: Served) -> None:
    with closing(HTTPConnection("127.0.0.1", untouched.port, timeout=30)) as connection:
        connection.request("GET", f"/{untouched.secret}/")
        answer = connection.getresponse()
        policy, page = answer.headers["Content-Security-Policy"], answer.read().decode("utf-8")
    assert "default-src 'none'" in policy
    assert "connect-src 'self'" in policy
    assert "http" not in page


@pytest.mark.skipif(sys.platform == "win32", reason="it is ended by a signal")
def test_it_ends_with_an_interrupt_though_a_page_looks(served: Served) -> None:
    looking = served.news()
    told(looking)
    served.process.send_signal(signal.SIGINT)
    words, _ = served.process.communicate(timeout=30)
    assert served.process.returncode == 0
    assert "Traceback" not in words


def test_a_port_that_is_taken_and_a_file_with_mistakes_are_told(tmp_path: Path) -> None:
    path = tmp_path / "mill.circuit"
    path.write_text(LINE, encoding="utf-8")
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        process = start(path, "--port", str(taken.getsockname()[1]))
        words, _ = process.communicate(timeout=60)
    assert (process.returncode, "Traceback" in words, "--port" in words) == (2, False, True)
    path.write_text("lamp open from rop\n", encoding="utf-8")
    process = start(path)
    words, _ = process.communicate(timeout=60)
    assert (process.returncode, "mill.circuit:1:16" in words) == (2, True)


def test_without_the_extra_it_is_said_how_to_get_it(tmp_path: Path) -> None:
    (tmp_path / "mill.circuit").write_text(LINE, encoding="utf-8")
    blocked = "import sys\nsys.modules['uvicorn'] = None\n"
    script = f"{blocked}from circuitcheck.cli import main\nmain(['bench', 'mill.circuit'])\n"
    run = subprocess.run([sys.executable, "-c", script], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert (run.returncode, "circuitcheck[bench]" in run.stderr, "Traceback" in run.stderr) == (2, True, False)


def test_it_keeps_the_speed_that_it_is_asked_for(served: Served) -> None:
    looking = served.news()
    told(looking)
    served.do(do="speed", number=200)
    found = told(looking)
    end = time.monotonic() + 30
    while found["at"] < 40 and time.monotonic() < end:
        found = told(looking)
    assert found["at"] >= 40
    served.do(do="speed", number=0)
