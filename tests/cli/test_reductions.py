"""Pictures of reductions are kept with results, chosen by kind and flag, and gone with a corrected file."""

import pytest

from voidless.workflows.opening import open_campaign
from voidless.workflows.reductions import MOST, reductions_dict

HEAD = "Time [s],Force [N],Travel [mm]\n"


def _curve(slip=False, top=800.0):
    forces = [min(20.0 * n, top) - (300.0 if slip and 20 <= n < 24 else 0.0) for n in range(1, 61)]
    return HEAD + "".join(
        f"{0.1 * n:.1f},{f:.2f},{0.02 * n:.3f}\n" for n, f in enumerate([*forces, 2.0, 1.0], 1)
    )


def _of(folder):
    with open_campaign(folder) as opened:
        return reductions_dict(opened)


@pytest.fixture
def curves(tmp_path, voidless, planned):
    """A campaign with more curves than are shown, one table of impact blows among them."""
    folder = tmp_path / "bars"
    folder.mkdir()
    for place in range(MOST + 5):
        (folder / f"R01_B01_z_{place}.csv").write_text(
            _curve(slip=place > MOST, top=800.0 + place), encoding="utf-8"
        )
    rows = "".join(f"{60 * n},{120000 - 40 * n}\n" for n in range(60))
    (folder / "R01_B01_leak.csv").write_text("time_s,pressure_pa\n" + rows, encoding="utf-8")
    facts = ("--section", "z=40", "--fact", "span_mm=60", "--fact", "volume_cm3=50")
    facts += ("--fact", "temperature_drift_k=0.3")
    answer = voidless.json("read", planned, folder, *facts)
    assert {entry["status"] for entry in answer["files"]} == {"stored"}, answer["files"][0]
    return folder


def test_every_kind_gets_its_turn_within_the_bound(curves, planned):
    found = _of(planned)
    assert found["count"] == MOST + 6
    assert len(found["pictures"]) == MOST
    kinds = [item["kind"] for item in found["pictures"]]
    assert kinds.count("pressure") == 1
    assert kinds == sorted(kinds, key=lambda kind: kinds.index(kind))
    shown = [item for item in found["pictures"] if item["kind"] == "curve"]
    slipped = [f"bars/R01_B01_z_{place}.csv" for place in range(MOST + 1, MOST + 5)]
    assert [item["file"] for item in shown[:5]] == [*slipped, "bars/R01_B01_z_0.csv"]
    assert any("a slip in the grips" in flag for flag in shown[0]["flags"])


def test_a_corrected_file_takes_its_picture_along(curves, planned, voidless, tmp_path):
    again = tmp_path / "again" / "R01_B01_leak.csv"
    again.parent.mkdir()
    rows = "".join(f"{60 * n},{119000 - 40 * n}\n" for n in range(60))
    again.write_text("time_s,pressure_pa\n" + rows, encoding="utf-8")
    facts = ("--fact", "volume_cm3=50", "--fact", "temperature_drift_k=0.3")
    answer = voidless.json("read", planned, again, "--replaces", "R01_B01_leak.csv", *facts)
    assert answer["files"][0]["status"] == "stored"
    files = [item["file"] for item in _of(planned)["pictures"] if item["kind"] == "pressure"]
    assert files == ["again/R01_B01_leak.csv"]
    assert _of(planned)["count"] == MOST + 6
