"""What all tests share."""

import signal

pytest_plugins = ["pytester"]

# A shell that starts a run in the background has it, and all that it starts, pass over Ctrl-C; tests of Ctrl-C need it.
signal.signal(signal.SIGINT, signal.default_int_handler)
