"""A setting that goes along with the hours out of the dryer is said in the report, from files to the page."""

from pathlib import Path

import numpy as np
import pytest

CAMPAIGN = Path(__file__).parents[1] / "data/clear-by-flow/campaign.toml"


@pytest.mark.slow
def test_a_confounded_setting_stands_in_the_report(tmp_path, voidless):
    """The page took the pair for a sentence and failed: no report and no results page of such a campaign."""
    rng, folder = np.random.default_rng(5), tmp_path / "campaign"
    (tmp_path / "c.toml").write_text(CAMPAIGN.read_text(encoding="utf-8"), encoding="utf-8")
    voidless.json("new", folder, "--from", tmp_path / "c.toml")
    rows = voidless.json("plan", folder, "--design", "space-filling", "--runs", 8, "--seed", 1)["runs"]
    lines = ["run,build,specimen,response,value,unit,exposure_h"]
    for row in rows:
        flow = row["settings"]["flow_pct"]
        value = 0.7 - ((flow - 102.0) / 20.0) ** 2 + rng.normal(0, 0.004)
        lines.append(f"{row['run']},{row['build']},1,clarity,{value:.4f},,{0.3 * (flow - 80.0):.2f}")
    (tmp_path / "t.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    voidless.json("read", folder, tmp_path / "t.csv")
    (found,) = voidless.json("learn", folder)["confounded"]
    assert (found["factor"], found["other"]) == ("flow_pct", "exposure_h")
    (file,) = voidless.json("report", folder)["files"]
    page = Path(file["path"]).read_text(encoding="utf-8")
    assert "Confounded: the data cannot tell these apart" in page
    assert "flow is confounded with hours out of the dryer" in page
