"""The walls of the house: import contracts, lazy imports, lock files, public names."""

import ast
import importlib
import os
import pkgutil
import re
import subprocess
import sys
from pathlib import Path

import pytest

import voidless

ROOT = Path(__file__).parents[2]
HEAVY = {
    "scipy",
    "matplotlib",
    "sqlalchemy",
    "alembic",
    "numba",
    "shapely",
    "trimesh",
    "manifold3d",
    "openpyxl",
    "fastapi",
    "jinja2",
}


def _modules():
    return sorted(
        info.name
        for info in pkgutil.walk_packages(voidless.__path__, "voidless.")
        if ".migrations" not in info.name and not info.name.endswith("__main__")
    )


CARD = "voidless.physics.heat.history.gpu."
"""What lies below is compiled for a graphics processor, by a package that is optional."""


def test_import_contracts_hold():
    """Every layer imports downwards only, and every package is placed."""
    done = subprocess.run(
        [sys.executable, "-c", "from importlinter.cli import lint_imports_command; lint_imports_command()"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_command_line_imports_nothing_heavy():
    """`voidless --help` starts without numerical, drawing or database libraries."""
    code = (
        "import sys; from voidless.cli.app import run; run(['--help'], sys.stderr, sys.stderr);"
        "print(','.join(sorted({name.split('.')[0] for name in sys.modules})))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(done.stdout.strip().splitlines()[-1].split(","))
    assert not loaded & HEAVY


@pytest.mark.parametrize("name", [name for name in _modules() if not name.startswith(CARD)])
def test_all_names_exist(name):
    """What a module lists in `__all__` is there, and modules import."""
    module = importlib.import_module(name)
    for public in getattr(module, "__all__", ()):
        assert hasattr(module, public), f"{name}.{public}"


def test_all_names_for_a_graphics_processor_exist():
    """The same in the simulator, where `places` and `walk` mean nothing."""
    names = [name for name in _modules() if name.startswith(CARD)]
    names = [name for name in names if name not in (f"{CARD}places", f"{CARD}walk")]
    assert len(names) > 10
    code = (
        "import importlib, sys\n"
        "for name in sys.argv[1:]:\n"
        "    module = importlib.import_module(name)\n"
        "    lacking = [each for each in getattr(module, '__all__', ()) if not hasattr(module, each)]\n"
        "    assert not lacking, (name, lacking)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *names],
        env={**os.environ, "NUMBA_ENABLE_CUDASIM": "1"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr


def test_lock_files_record_no_address():
    """Locks hold versions and hashes; an address would tie them to one index."""
    for lock in (ROOT / "requirements").glob("*.txt"):
        assert not re.search(r"https?://", lock.read_text(encoding="utf-8")), lock.name


def test_core_never_prints():
    """Only the command line writes to standard output."""
    for path in (ROOT / "src" / "voidless").rglob("*.py"):
        if "cli" in path.parts:
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        calls = [
            n
            for n in ast.walk(tree)
            if isinstance(n, ast.Call) and isinstance(n.func, ast.Name) and n.func.id == "print"
        ]
        assert not calls, f"{path}: print"


def test_python_api_has_a_function_per_command():
    """`import voidless` offers what the command line offers, but for serving pages."""
    from voidless.cli.app import COMMANDS

    for verb in set(COMMANDS) - {"serve"}:
        assert callable(getattr(voidless, verb)), verb
