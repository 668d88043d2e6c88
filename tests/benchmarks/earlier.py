"""The program as it was at an earlier commit, and as it is now, each installed in an environment of its own.

The environments take all other packages from the one that this runs in, so that nothing is fetched and both have the
same.
"""

from __future__ import annotations

import importlib.util
import io
import subprocess
import sys
import tarfile
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
COMMIT = "69ec9fabe984a5e0b3291fda224933ec27fd7d6e"
"""The last commit before the engine that `tests/oracle` keeps was replaced."""


class NotThere(Exception):
    """The commit can't be had; the text says why, and what to do."""


def sources(folder: Path, commit: str = COMMIT) -> Path:
    """Puts all files of a commit into a folder. Raises NotThere."""
    try:
        packed = subprocess.run(["git", "-C", str(ROOT), "archive", "--format=tar", commit], capture_output=True)
    except FileNotFoundError:
        raise NotThere("there is no git here, which has the earlier commit") from None
    if packed.returncode:
        shallow = f"commit {commit[:10]} is not in this clone: get the whole history with 'git fetch --unshallow'"
        raise NotThere(shallow)
    with tarfile.open(fileobj=io.BytesIO(packed.stdout)) as files:
        files.extractall(folder, filter="data")
    return folder


def installed(folder: Path, source: Path) -> str:
    """Installs the program from a folder in an environment of its own. Returns that environment's Python."""
    venv.create(folder, with_pip=True)
    python = str(folder / "bin" / "python")
    shared = [path for path in sys.path if path.endswith("site-packages")]
    for packages in folder.glob("lib/python*/site-packages"):
        (packages / "shared.pth").write_text("\n".join(shared), encoding="utf-8")
    # A build of its own environment would have to fetch setuptools.
    near = ["--no-build-isolation", "--no-index"] if importlib.util.find_spec("setuptools") else []
    subprocess.run([python, "-m", "pip", "install", "--quiet", "--no-deps", *near, str(source)], check=True)
    return python


def both(folder: Path, commit: str = COMMIT) -> tuple[str, str]:
    """The Pythons of the program as it is and as it was, whose sources are in `folder/earlier`. Raises NotThere."""
    earlier = sources(folder / "earlier", commit)
    return installed(folder / "now", ROOT), installed(folder / "before", earlier)
