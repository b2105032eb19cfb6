"""A response that two methods measured: neither merged in silence nor lost."""

import numpy as np
import pytest

HEAD = "run,build,specimen,response,value,unit,method\n"


@pytest.fixture
def measured(voidless, campaign, tmp_path):
    """Clarity of six builds by two methods, the second 0.2 lower."""
    rows = voidless.json("plan", campaign, "--seed", 1)["runs"][:6]
    rng = np.random.default_rng(5)
    for method, shift in (("contrast_bars", 0.0), ("contrast_edge", -0.2)):
        lines = [
            f"{row['run']},{row['build']},p{k},clarity,{0.6 + shift + 0.01 * rng.normal():.4f},,{method}"
            for row in rows
            for k in (1, 2)
        ]
        file = tmp_path / f"{method}.csv"
        file.write_text(HEAD + "\n".join(lines) + "\n", encoding="utf-8")
        voidless.json("read", campaign, file)
    return campaign


def test_a_contradiction_is_told_where_it_counts(voidless, measured):
    learned = voidless.json("learn", measured)
    notes = voidless.json("window", measured)["notes"]
    for said in (learned["statements"], notes):
        (words,) = [each for each in said if "contradict each other, and" in each]
        assert words.startswith("clarity: contrast_bars less contrast_edge is +0.2")
    assert learned["responses"]["clarity"]["n"] == 24


def test_the_method_that_the_campaign_states_counts_alone_and_the_other_stays_on_record(voidless, measured):
    file = measured / "campaign.toml"
    file.write_text(
        file.read_text("utf-8") + '[responses.clarity]\nmethod = "contrast_edge"\n', encoding="utf-8"
    )
    learned = voidless.json("learn", measured)
    window = voidless.json("window", measured)
    for said in (learned["statements"], window["notes"]):
        (words,) = [each for each in said if "do not count" in each]
        assert words.startswith(
            "12 value(s) of clarity by contrast_bars do not count: campaign.toml states 'contrast_edge'"
        )
        assert not any("contradict" in each for each in said)
    assert learned["responses"]["clarity"]["n"] == 12
    assert learned["responses"]["clarity"]["between_build_sd"] < 0.05
