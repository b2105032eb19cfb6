"""A campaign's file that is edited while a program runs, as under `serve`: answers follow it."""

import numpy as np


def test_an_edited_specification_counts_at_once(voidless, campaign, bench, tmp_path):
    rows = voidless.json("plan", campaign, "--seed", 1)["runs"][:4]
    results = tmp_path / "results.csv"
    results.write_text(bench(rows, np.random.default_rng(2)), encoding="utf-8")
    voidless.json("read", campaign, results)
    before = voidless.json("window", campaign)["recipe"]
    file = campaign / "campaign.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("min = 0.66", "min = 0.999"), encoding="utf-8")
    after = voidless.json("window", campaign)["recipe"]
    assert "clarity" not in before["blocked_by"]
    assert "clarity" in after["blocked_by"]
