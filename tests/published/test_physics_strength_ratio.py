"""
Strength through the layers over strength in plane of ten plain PETG and PLA filaments, from a hand rig.

Data under BSD-3-Clause in tests/data/strength-xy-z. Only bead width and layer thickness are stated; nozzle,
speed, fan and the number of bars are not: the twin is asked for usual settings and five bars at once.
The means are no target, for they differ by what is not stated. What must hold is the width of the bands.
"""

import re
from pathlib import Path

import pytest

from voidless.machines import load_machine
from voidless.materials import load_material
from voidless.settings import default_settings
from voidless.twin.fast import predict

FOLDER = Path(__file__).parents[1] / "data" / "strength-xy-z"
PLAIN = sorted(path for path in FOLDER.glob("filament-*") if path.name.split("_")[1] in ("PETG", "PLA"))
FIVE_BARS = {"upright_area_mm2": 250.0, "upright_slenderness_1_mm": 0.6}


def _last_strengths(folder):
    """Return the printed mean strength of the last session per axis. [MPa]"""
    text = (folder / "summary.txt").read_text(encoding="utf-8", errors="replace")
    found = {}
    for block in text.split("=== Test Summary ===")[1:]:
        axis = re.search(r"Axis:\s*(xy|z)", block, re.IGNORECASE)[1].lower()
        found[axis] = float(re.search(r"Tensile strength[^:]*:\s*([\d.]+)", block)[1])
    return found


def _band(material):
    polymer, machine = load_material(material), load_machine("bench-0.4")
    usual = default_settings(polymer, machine) | {"layer_mm": 0.2, "width_mm": 0.42}
    return predict(usual, polymer, machine, FIVE_BARS).responses


def test_ten_plain_filaments_are_there():
    """Six PETG and four PLA."""
    names = [path.name.split("_")[1] for path in PLAIN]
    assert (names.count("PETG"), names.count("PLA")) == (6, 4)


@pytest.mark.parametrize("folder", PLAIN, ids=lambda path: path.name)
def test_measured_ratio_lies_in_the_band(folder):
    """Each ratio lies within the 95 % band before any data."""
    measured = _last_strengths(folder)
    band = _band(folder.name.split("_")[1].lower())["z_ratio"]
    assert band.low[0] <= measured["z"] / measured["xy"] <= band.high[0]


def test_strength_in_plane_lies_in_the_band():
    """All six PETG; two PLA (33 and 35 MPa) are weaker grades than the library's and fall below."""
    found = {}
    for folder in PLAIN:
        band = _band(folder.name.split("_")[1].lower())["strength_xy_mpa"]
        found[folder.name] = bool(band.low[0] <= _last_strengths(folder)["xy"] <= band.high[0])
    assert {name for name, inside in found.items() if not inside} == {"filament-11_PLA", "filament-12_PLA"}


def test_band_is_no_excuse():
    """A band that holds everything says nothing: it stays narrower than 0.2 to 1.1."""
    band = _band("petg")["z_ratio"]
    assert band.low[0] > 0.2
    assert band.high[0] < 1.1
