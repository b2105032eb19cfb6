"""The box in which all settings may move at once and what other limits would cost, in the report's window section."""

import pytest

from voidless.reporting.document import report_html


@pytest.fixture
def drawn(facts):
    """The invented facts with a box half as wide as each single tolerance, and a front of one specification."""
    rows = facts["window"]["tolerances"]
    recipe = facts["window"]["recipe"]["settings"]
    half = {
        row["factor"]: {end: 0.5 * (row[end] + recipe[row["factor"]]) for end in ("low", "high")}
        for row in rows
    }
    facts["window"]["tolerance_box"] = {"factors": half, "lowest_probability": 0.91}
    facts["window"]["trade_off"] = {
        "clarity": [
            {"limit": 0.5 + 0.05 * step, "objective": 20.0 + 3.0 * step**2, "settings": recipe}
            for step in range(6)
        ],
        "z_ratio": [],
    }
    return facts


def test_box_and_trade_off_are_drawn_and_told(drawn, marks):
    page = marks(report_html(drawn))
    assert {"figure-trade", "figure-tolerances"} <= set(page.ids)
    assert "Two ticks: how far it may drift while all the others drift as well." in page.text
    assert "low, all at once" in page.text
    assert "the lowest probability seen in that box is 91 %" in page.text
    assert "What another limit would cost" in page.text


def test_a_claim_without_a_box_says_so(drawn, marks):
    drawn["window"]["tolerance_box"] = None
    page = marks(report_html(drawn))
    assert "No box was found in which all settings may move at once" in page.text
    assert "all at once</th>" not in page.text


def test_empty_fronts_are_said_not_drawn(drawn, marks):
    drawn["window"]["trade_off"] = {"clarity": [], "z_ratio": []}
    page = marks(report_html(drawn))
    assert "figure-trade" not in page.ids
    assert "no trade-off is drawn" in page.text


def test_numbers_of_the_box_stand_in_the_table(drawn):
    half = drawn["window"]["tolerance_box"]["factors"]["flow_pct"]
    half["low"], half["high"] = 98.765, 104.321
    html = report_html(drawn)
    assert "98.77" in html or "98.8" in html
    assert "104.3" in html
