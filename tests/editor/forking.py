"""The program in a process of its own, but forked from one that has it imported: most of a server's start is that.

Called as a script: `forking.py keep SOCKET` has the server's modules imported and forks until its own input ends;
`forking.py call SOCKET WORDS` has it fork a process which runs the program with these words, on the caller's own input,
output and errors, and in its folder, and ends with the exit code of that.
"""

from __future__ import annotations

import os
import socket
import sys

IMPORTED = ("circuitcheck.cli", "circuitcheck.commands.editor", "circuitcheck.editor.server")
STREAMS = (0, 1, 2)
GIVEN = 1 << 16
"""How many bytes of words are taken."""


def keep(path: str) -> None:
    """Forks for whoever calls, until nobody holds the other end of standard input."""
    import selectors
    from importlib import import_module

    for module in IMPORTED:
        import_module(module)
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
            _reap()


def _reap() -> None:
    """Lets go of those that have ended."""
    import contextlib

    with contextlib.suppress(ChildProcessError):
        while os.waitpid(-1, os.WNOHANG)[0]:
            pass


def _answer(caller: socket.socket) -> None:
    """Runs the program for a caller in a process that is waited for here, and tells how it ended."""
    given, streams, _, _ = socket.recv_fds(caller, GIVEN, len(STREAMS))
    folder, *words = given.decode().split("\0")
    running = os.fork()
    if running == 0:
        caller.close()
        for stream, own in zip(streams, STREAMS, strict=True):
            os.dup2(stream, own)
            os.close(stream)
        os.chdir(folder)
        _run(words)
    for stream in (*streams, *STREAMS):
        os.close(stream)
    _, status = os.waitpid(running, 0)
    caller.sendall(bytes([os.waitstatus_to_exitcode(status) % 256]))
    os._exit(0)


def _run(words: list[str]) -> None:
    import traceback

    from circuitcheck.cli import main

    code = 1
    try:
        main(words)
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else 0 if end.code is None else 1
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


def call(path: str, *words: str) -> int:
    """Has the program run, and gives its exit code."""
    with socket.socket(socket.AF_UNIX) as keeper:
        keeper.connect(path)
        socket.send_fds(keeper, ["\0".join((os.getcwd(), *words)).encode()], STREAMS)
        for stream in STREAMS:
            os.close(stream)
        return keeper.recv(1)[0]


if __name__ == "__main__":
    what, path, *words = sys.argv[1:]
    os._exit(call(path, *words)) if what == "call" else keep(path)
