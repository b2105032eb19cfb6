"""Compiled functions are kept wherever the user may write."""

import os
import re
import stat
import subprocess
import sys
from pathlib import Path

import numba
import pytest

from voidless import compiling
from voidless.compiling import place_for_compiled
from voidless.errors import InputError

NOWHERE = "UserProvidedCacheLocator"
"""numba's rule that keeps files in `CACHE_DIR` alone: as for a user who may write neither here nor at home."""

KERNEL = """
from voidless.toolpath.motion_kernel import run_compiled
print("started")
"""


@pytest.fixture
def homeless(monkeypatch, tmp_path):
    """Neither the package nor the home can be written; temporary files can."""
    monkeypatch.setattr(numba.config, "CACHE_LOCATOR_CLASSES", NOWHERE)
    monkeypatch.setattr(numba.config, "CACHE_DIR", "")
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    return tmp_path


def test_a_user_without_home_gets_a_folder_of_his_own(homeless):
    """The same folder for all processes, and nobody else may write the code that is kept there."""
    place_for_compiled()
    (folder,) = homeless.iterdir()
    assert str(folder) == numba.config.CACHE_DIR
    assert os.name == "nt" or stat.S_IMODE(folder.stat().st_mode) == 0o700
    numba.config.CACHE_DIR = ""
    place_for_compiled()
    assert list(homeless.iterdir()) == [folder]


@pytest.mark.skipif(os.name == "nt", reason="temporary files are each user's own there")
@pytest.mark.parametrize("taken", ["link", "open", "file"])
def test_a_folder_that_others_could_have_filled_is_not_used(homeless, taken):
    """A link, a folder that others may write and a file of that name: another folder is made."""
    place = homeless / f"voidless-compiled-{os.getuid()}"
    if taken == "link":
        (homeless / "elsewhere").mkdir(mode=0o700)
        place.symlink_to(homeless / "elsewhere")
    elif taken == "open":
        place.mkdir()
        place.chmod(0o777)
    else:
        place.touch()
    place_for_compiled()
    assert str(place) != numba.config.CACHE_DIR
    assert stat.S_IMODE(Path(numba.config.CACHE_DIR).stat().st_mode) == 0o700


def test_with_no_place_at_all_a_remedy_is_named(homeless, monkeypatch):
    """No folder for temporary files either."""
    monkeypatch.setattr("tempfile.gettempdir", lambda: str(homeless / "is" / "not" / "there"))
    with pytest.raises(InputError, match=r"can be kept nowhere \(No such file.* TMPDIR"):
        place_for_compiled()


def test_a_command_that_compiles_starts_without_a_home(tmp_path):
    """The whole way: a module of kernels is imported and compiled where numba alone would refuse."""
    environment = {
        **os.environ,
        "NUMBA_CACHE_LOCATOR_CLASSES": NOWHERE,
        "TMPDIR": str(tmp_path),
        "TEMP": str(tmp_path),
    }
    environment.pop("NUMBA_CACHE_DIR", None)
    run = subprocess.run(
        [sys.executable, "-c", KERNEL], env=environment, capture_output=True, text=True, check=False
    )
    assert run.stdout.strip() == "started", run.stderr
    assert list(tmp_path.rglob("*.nbc"))


def test_all_that_is_kept_goes_through_the_door():
    """No module keeps compiled functions by numba's own decorator, which would refuse to start."""
    sources = Path(compiling.__file__).parent.rglob("*.py")
    kept = [path for path in sources if re.search(r"cache.{1,3}True", path.read_text(encoding="utf-8"))]
    assert len(kept) > 5
    own = [
        path.name
        for path in kept
        if re.search(r"numba import .*njit|numba\.njit", path.read_text(encoding="utf-8"))
    ]
    assert own == ["compiling.py"]
