"""Has setuptools build in a folder of its own: nothing stays in the checkout, nothing old is picked up from it."""

import atexit
import shutil
import tempfile

from setuptools import setup
from setuptools.command.build import build


class BuildAside(build):
    """The usual build, in a temporary folder."""

    def initialize_options(self) -> None:
        super().initialize_options()
        self.build_base = tempfile.mkdtemp(prefix="circuitcheck-build-")
        atexit.register(shutil.rmtree, self.build_base, ignore_errors=True)


setup(cmdclass={"build": BuildAside})
