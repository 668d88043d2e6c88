"""How setuptools builds the project: in a folder of its own, so that nothing stays in the checkout or comes from it.

It stands here because the source archive must hold it, and because nothing of the program imports it.
"""

import atexit
import shutil
import tempfile

from setuptools.command.build import build


class BuildAside(build):
    """The usual build, in a temporary folder."""

    def initialize_options(self) -> None:
        """Chooses the folder."""
        super().initialize_options()
        self.build_base = tempfile.mkdtemp(prefix="circuitcheck-build-")
        atexit.register(shutil.rmtree, self.build_base, ignore_errors=True)
