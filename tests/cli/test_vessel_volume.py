"""The volume of a vessel from expansions, used for its leak rates: in one go, later, and never against a person."""

import pytest

EXPANSIONS = "before_known_kpa,before_object_kpa,after_kpa\n" + "".join(
    f"{p:.3f},100.000,{(100 * 50 + 250 * 100 + (p - 100) * 50) / 300:.3f}\n" for p in (300.0, 400.0, 500.0)
)
DECAY = "time_s,pressure_pa,temperature_c\n" + "".join(
    f"{t},{201325 - 0.5 * t + 3 * (-1) ** t:.1f},23\n" for t in range(0, 600, 10)
)
KNOWN = ("--fact", "known_volume_cm3=50", "--fact", "known_volume_uncertainty_cm3=0.1")


def _write(folder, name, text):
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def _leak(found, name):
    (row,) = (file for file in found["files"] if file["file"].endswith(name))
    assert row["status"] == "stored", row
    return row["results"][0]["value"], row["results"][0]["uncertainty"]


def test_a_volume_by_expansion_counts_for_the_vessels_of_its_name(voidless, planned, tmp_path):
    """50 cm3 at 200 kPa over the vessel's pressure, opened to 250 cm3: it rises by a sixth of that (Boyle)."""
    files = [
        _write(tmp_path, "tank_a_expansion.csv", EXPANSIONS),
        _write(tmp_path, "tank_a.csv", DECAY),
    ]
    found = voidless.json("read", planned, *files, *KNOWN)
    assert found["files"][0]["findings"][0]["words"].startswith("vessel tank_a: 250 ")
    drawn = found["files"][0]["reduced"][0]["picture"]["curves"][0]["y"]
    assert drawn == pytest.approx([250.0] * 3, rel=1e-4)
    rate, unsure = _leak(found, "tank_a.csv")
    assert rate == pytest.approx(0.5 * 250e-6, rel=0.02)
    assert unsure > 0.5 * 250e-6 * 0.002  # the volume's doubt is in it
    later = _write(tmp_path, "tank_a_later.csv", DECAY + "600,201025,23\n")
    assert _leak(voidless.json("read", planned, later), "tank_a_later.csv")[0] == pytest.approx(
        rate, rel=0.01
    )


def test_a_person_stands_before_it_and_other_vessels_are_asked_for(voidless, planned, tmp_path):
    voidless.json("read", planned, _write(tmp_path, "tank_a_expansion.csv", EXPANSIONS), *KNOWN)
    own = _write(tmp_path, "tank_a.csv", DECAY)
    rate, _ = _leak(voidless.json("read", planned, own, "--fact", "volume_cm3=100"), "tank_a.csv")
    assert rate == pytest.approx(0.5 * 100e-6, rel=0.02)
    other = voidless.json(
        "read", planned, _write(tmp_path, "tank_b.csv", DECAY + "600,201025,23\n"), status=2
    )
    assert other["files"][0]["questions"][0]["expected"].startswith("--fact volume_cm3")


def test_the_known_volume_is_asked_for_and_pressures_must_fit(voidless, planned, tmp_path):
    path = _write(tmp_path, "tank_a_expansion.csv", EXPANSIONS)
    asked = voidless.json("read", planned, path, status=2)
    assert asked["files"][0]["questions"][0]["expected"].startswith("--fact known_volume_cm3")
    wrong = _write(tmp_path, "tank_b_expansion.csv", EXPANSIONS.replace("300.000,100", "120.000,100"))
    refused = voidless.json("read", planned, wrong, *KNOWN, status=2)
    assert "no expansion" in refused["error"]["what"]
