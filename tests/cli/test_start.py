"""What a command loads before it works: a person who logs a fact does not wait for statistics."""

import json
import os
import subprocess
import sys

import pytest

SLOW = {"scipy.stats", "matplotlib", "shapely", "trimesh", "manifold3d", "openpyxl", "numba", "uvicorn"}


@pytest.mark.parametrize("module", ["workflows.log", "workflows.read", "workflows.new", "cli.commands.log"])
def test_slow_modules_are_loaded_when_they_are_needed(module):
    code = f"import sys, voidless.{module}; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert not SLOW & set(done.stdout.split())


def test_help_does_not_load_what_draws_markup():
    """Markup in help doubled the time that help takes."""
    code = (
        "import sys\nfrom voidless.cli.app import run\nstatus = run(['--help'])\n"
        "assert status == 0\nprint('LOADED', *sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(done.stdout.split("LOADED")[1].split())
    assert not {"rich.markdown", "numpy", "sqlalchemy"} & loaded


@pytest.mark.parametrize("coding", ["cp1252", "ascii"])
def test_names_outside_the_code_page_do_not_end_the_program(tmp_path, coding):
    """Pipes on Windows take the old code page; the JSON is UTF-8 all the same."""
    lines = [
        "[campaign]", 'name = "méthode 測定"', 'material = "petg"', 'machine = "bench-0.4"',
        "[factors.nozzle_c]", "low = 220", "high = 250",
    ]  # fmt: skip
    source = tmp_path / "c.toml"
    source.write_text("\n".join(lines), encoding="utf-8")

    def new(folder, *more):
        command = [sys.executable, "-m", "voidless", "new", str(folder), "--from", str(source), *more]
        environment = {**os.environ, "PYTHONIOENCODING": coding}
        done = subprocess.run(command, capture_output=True, env=environment, check=False)
        assert done.returncode == 0, done.stderr
        return done.stdout

    assert json.loads(new(tmp_path / "a", "--json").decode("utf-8"))["name"] == "méthode 測定"
    assert b"thode ??" in new(tmp_path / "b")


def test_a_stop_by_hand_says_that_nothing_is_broken(voidless, tmp_path, monkeypatch):
    """Whoever stops a long command learns that what was stored is whole, and sees no trace of calls."""

    def stop(*_, **__):
        raise KeyboardInterrupt

    path = tmp_path / "a.gcode"
    path.write_text("G1 X1 E1 F600\n", encoding="utf-8")
    monkeypatch.setattr("voidless.workflows.part.read_gcode", stop)
    status, out, err = voidless("part", path)
    assert (status, out) == (130, "")
    assert err.startswith("Stopped. What had been stored is whole;")
