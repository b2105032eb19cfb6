"""
Set up and run Voidless from a clean clone, with nothing but Python 3.11+, pip and venv.

    python3 dev.py demo     set up, then run the main job on the embedded demo
    python3 dev.py test     set up, then run the tests (arguments after `test` go to pytest)
    python3 dev.py check    set up, then lint, types and import contracts
    python3 dev.py lock     renew requirements/*.txt (needs a package index)
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def run(*arguments: str | Path) -> None:
    """Run the environment's Python with these arguments; stop with its status when it fails."""
    status = subprocess.call([str(PYTHON), *map(str, arguments)], cwd=ROOT)
    if status:
        sys.exit(status)


def set_up(kind: str) -> None:
    """Create or renew `.venv` so that it holds exactly the locked packages of `kind` (run or dev)."""
    if sys.version_info < (3, 11):
        sys.exit(f"Voidless needs Python 3.11 or newer; this is {sys.version.split()[0]}.")
    lock = ROOT / "requirements" / f"{kind}.txt"
    wanted = hashlib.sha256(lock.read_bytes() + (ROOT / "pyproject.toml").read_bytes()).hexdigest()
    stamp = VENV / f".{kind}-{wanted[:16]}"
    if stamp.exists():
        return
    if not PYTHON.exists():
        print("Creating .venv ...", flush=True)
        venv.create(VENV, with_pip=True)
    print("Installing the locked packages (once; about a minute) ...", flush=True)
    quiet = ("-m", "pip", "install", "--quiet", "--disable-pip-version-check")
    run(*quiet, "--require-hashes", "--only-binary", ":all:", "-r", lock)
    run(*quiet, "--no-deps", "--no-build-isolation", "-e", ROOT)
    stamp.touch()


def demo() -> None:
    """Run the invented campaign through every stage in a folder of its own."""
    set_up("run")
    number, folder = 1, ROOT / "demo"
    while folder.exists():
        number += 1
        folder = ROOT / f"demo-{number}"
    run("-m", "voidless", "demo", folder)


def test() -> None:
    """Run the tests; pytest's summary comes last."""
    set_up("dev")
    workers = (
        "-n",
        str(min(os.cpu_count() or 1, 4)),
        "--dist",
        "loadfile",
    )  # what a file prepares, it prepares once
    run("-m", "pytest", *workers, *sys.argv[2:])


def check() -> None:
    """Run the linter, the formatter's check, the type checker and the import contracts."""
    set_up("dev")
    run("-m", "ruff", "check", ".")
    run("-m", "ruff", "format", "--check", ".")
    run("-m", "mypy")
    run("-c", "from importlinter.cli import lint_imports_command; lint_imports_command()")


def lock() -> None:
    """Renew both lock files; they hold versions and hashes, no address."""
    set_up("dev")
    run("-m", "pip", "install", "--quiet", "uv")
    options = ("--universal", "--generate-hashes", "--no-header", "--no-annotate", "--quiet", "--upgrade")
    for kind, extra in (("run", ("--group", "build")), ("dev", ("--group", "build", "--group", "dev"))):
        target = ROOT / "requirements" / f"{kind}.txt"
        run("-m", "uv", "pip", "compile", *options, "--extra", "web", *extra, "pyproject.toml", "-o", target)


COMMANDS = {"demo": demo, "test": test, "check": check, "lock": lock}

if __name__ == "__main__":
    command = COMMANDS.get(sys.argv[1]) if len(sys.argv) > 1 else None
    if command is None:
        sys.exit(__doc__)
    command()
