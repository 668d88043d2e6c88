"""The program in a process of its own, but forked from one that has all imported: most of a short call is its start.

Called as a script: `forking.py keep SOCKET` imports the program and forks until its own input ends; `forking.py call
SOCKET WORDS` has it fork a process which runs the program with these words, on the caller's own input, output and
errors, in its folder and with its variables, and ends with the exit code of that.
"""

from __future__ import annotations

import os
import socket
import sys

STREAMS = (0, 1, 2)
GIVEN = 1 << 17
"""How many bytes of words and variables are taken."""
LEFT_OUT = ("circuitcheck.build_aside", "circuitcheck.__main__", "circuitcheck.sweeps.executors")
"""What is for installing, runs as it is imported, or takes long to import and is seldom asked for."""


def keep(path: str) -> None:
    """Forks for whoever calls, until nobody holds the other end of standard input."""
    import gc
    import selectors

    _import_all()
    gc.freeze()
    with socket.socket(socket.AF_UNIX) as listening, selectors.DefaultSelector() as waiting:
        listening.bind(path)
        listening.listen()
        os.write(1, b"ready\n")
        waiting.register(0, selectors.EVENT_READ)
        waiting.register(listening, selectors.EVENT_READ)
        while all(key.fileobj == listening for key, _ in waiting.select()):
            caller, _ = listening.accept()
            with caller:
                if os.fork() == 0:
                    listening.close()
                    _answer(caller)
            _let_go()


def _import_all() -> None:
    import pkgutil
    from importlib import import_module

    import circuitcheck

    for module in pkgutil.walk_packages(circuitcheck.__path__, "circuitcheck."):
        if module.name not in LEFT_OUT:
            import_module(module.name)


def _let_go() -> None:
    """Of those that have ended."""
    import contextlib

    with contextlib.suppress(ChildProcessError):
        while os.waitpid(-1, os.WNOHANG)[0]:
            pass


def _answer(caller: socket.socket) -> None:
    """Runs the program for a caller in a process that is waited for here, and tells how it ended."""
    given, streams, _, _ = socket.recv_fds(caller, GIVEN, len(STREAMS))
    while not given.endswith(b"\0\0"):
        given += caller.recv(GIVEN)
    folder, count, *more = os.fsdecode(given[:-2]).split("\0")
    running = os.fork()
    if running == 0:
        caller.close()
        for stream, own in zip(streams, STREAMS, strict=True):
            os.dup2(stream, own)
            os.close(stream)
        os.chdir(folder)
        os.environ.clear()
        for each in more[int(count) :]:
            name, _, value = each.partition("=")
            os.environ[name] = value
        _run(more[: int(count)])
    for stream in (*streams, *STREAMS):
        os.close(stream)
    _, status = os.waitpid(running, 0)
    caller.sendall(bytes([os.waitstatus_to_exitcode(status) % 256]))
    os._exit(0)


def _run(words: list[str]) -> None:
    """Runs the program, and ends the process as Python ends one."""
    import atexit
    import threading
    import traceback

    from circuitcheck.cli import main

    encoding, _, errors = os.environ.get("PYTHONIOENCODING", "utf-8").partition(":")
    sys.stdin = open(0, encoding=encoding, errors=errors or "strict", closefd=False)  # noqa: SIM115
    sys.stdout = open(1, "w", encoding=encoding, errors=errors or "strict", closefd=False)  # noqa: SIM115
    sys.stderr = open(2, "w", encoding=encoding, errors="backslashreplace", buffering=1, closefd=False)  # noqa: SIM115
    code = 1
    try:
        main(words)
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else int(end.code is not None)
    except BaseException:
        traceback.print_exc()
    try:
        threading._shutdown()  # type: ignore[attr-defined]
        atexit._run_exitfuncs()
        sys.stdout.flush()
        sys.stderr.flush()
    except Exception:
        code = 120
    os._exit(code)


def call(path: str, *words: str) -> int:
    """Has the program run, and gives its exit code."""
    variables = (f"{name}={value}" for name, value in os.environ.items())
    given = "\0".join((os.getcwd(), str(len(words)), *words, *variables, "", ""))
    with socket.socket(socket.AF_UNIX) as keeper:
        keeper.connect(path)
        encoded = os.fsencode(given)
        sent = socket.send_fds(keeper, [encoded], STREAMS)
        keeper.sendall(encoded[sent:])
        for stream in STREAMS:
            os.close(stream)
        return keeper.recv(1)[0]


if __name__ == "__main__":
    what, path, *words = sys.argv[1:]
    if what == "keep":
        del sys.path[0]  # folders of tests have names of packages, and stand here
        keep(path)
    else:
        os._exit(call(path, *words))
