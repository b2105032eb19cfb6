"""`predict`: what the screen and the page say, and what is refused."""

import pytest

from voidless.reporting.chain import _STAGES

GIVEN = ("predict", "--material", "petg", "--machine", "bench-0.4", "--set", "fan_pct=0")


def test_screen_and_page_say_the_same(voidless, tmp_path):
    """What to change first, and what the numbers rest on, stand on both; the page is named."""
    page = tmp_path / "pages/chain.html"
    found = voidless.json(*GIVEN, "--picture", page)
    status, out, err = voidless(*GIVEN, "--picture", page)
    said, text = " ".join(out.split()), page.read_text(encoding="utf-8")
    assert status == 0, err
    assert f"Written: {page}" in out
    assert found["advice"][0] in said
    assert found["advice"][0].startswith("Gaps between beads cost ")
    assert "flow_pct +2 alone helps most: clarity from " in found["advice"][0]
    assert said.index("What to change first:") < said.index(found["advice"][0])
    assert f"at most {found['rate_limits']['least_mm3_s']:.3g} mm3/s; beyond it" in said
    assert "flow +2 alone helps most" in text
    assert {stage for shares in found["chain"].values() for stage in shares} <= set(_STAGES)
    assert all(note.partition(" ")[2][:40] in text for note in found["notes"])
    assert all(
        f">{words}<" in text
        for words in ("gaps between beads", "rough top face", "welds that are not healed")
    )


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("flow_pct=1,02", "Decimals take a point; a comma parts settings."),
        ("flow_pct=100,02x", "Write it as flow_pct=102."),
        ("rate_mm3_s=3", "volumetric rate follows from the settings"),
        ("clarity=0.8", "clarity follows from the settings"),
        ("flow=102", "Did you mean flow_pct?"),
    ],
)
def test_settings_that_are_none_are_refused(voidless, given, said):
    status, out, err = voidless(*GIVEN[:-1], given)
    assert (status, out) == (2, "")
    assert said in err


def test_a_page_that_cannot_be_written_is_said(voidless, tmp_path):
    """A folder in its place is no fault of the program."""
    (tmp_path / "chain.html").mkdir()
    status, _, err = voidless(*GIVEN, "--picture", tmp_path / "chain.html")
    assert status == 1
    assert "chain.html: cannot be written: " in err
