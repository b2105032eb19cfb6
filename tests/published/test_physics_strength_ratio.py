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


# Makers' data sheets and a shop's page at second hand; Perez et al., 3D Print. Addit. Manuf. 8 (2021) 23 (abstract:
# 22.8 MPa across the layers, 47.8 % below the filament). Bars, settings and numbers of specimens are hardly stated.
SHEETS = (
    *(("abs", 16.97, 42.23, 0.402), ("abs", 28.0, 33.0, 0.848), ("pla", 32.34, 64.27, 0.503)),
    *(("pla", 31.0, 35.0, 0.886), ("petg", 28.65, 34.77, 0.824), ("petg", 20.7, 36.1, 0.573)),
    *(("petg", 1.0, 1.19, 0.84), ("pla", 22.8, 22.8 / (1.0 - 0.478), 0.522)),
)


@pytest.mark.parametrize(("material", "through", "along", "ratio"), SHEETS)
def test_ratios_of_data_sheets_lie_in_the_band(material, through, along, ratio):
    """0.40 to 0.89, as wide as the band: no proof that it is right, but that it is not too narrow."""
    assert through / along == pytest.approx(ratio, abs=5e-4 if ratio != 0.84 else 5e-3)
    band = _band(material)["z_ratio"]
    assert band.low[0] <= through / along <= band.high[0]


def test_band_is_no_excuse():
    """A band that holds everything says nothing: it stays narrower than 0.2 to 1.1."""
    band = _band("petg")["z_ratio"]
    assert band.low[0] > 0.2
    assert band.high[0] < 1.1
