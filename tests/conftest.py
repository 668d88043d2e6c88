"""What all tests share."""

import os
import signal

pytest_plugins = ["pytester"]

# A shell that starts a run in the background has it, and all that it starts, pass over Ctrl-C; tests of Ctrl-C need it.
signal.signal(signal.SIGINT, signal.default_int_handler)

# The readline library, which pytest imports, sets it for all that is started from here, behind Python's back; what is
# written to no terminal is 100 columns wide.
os.unsetenv("COLUMNS")
