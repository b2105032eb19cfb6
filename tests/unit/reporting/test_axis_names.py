"""Names of axes and powers of ten keep out of each other's way."""

import re

from voidless.reporting.draw import draw
from voidless.reporting.figures.check import check


def test_a_power_of_ten_stands_away_from_the_name_of_the_axis():
    rows = [
        {"response": "leak_rate_pa_m3_s", "build": f"B{n}", "observed": 1e-5 * n, "predicted": 1.1e-5 * n,
         "low": 5e-6 * n, "high": 2e-5 * n}
        for n in range(1, 5)
    ]  # fmt: skip
    svg = draw(check({"learn": {"check": rows}}).charts[0])
    places = {text: float(x) for x, text in re.findall(r'<text x="([\d.]+)"[^>]*>(1e[^<]+|predicted)<', svg)}
    powers = [float(x) for x in re.findall(r'<text x="([\d.]+)"[^>]*>1e[^<]+<', svg)]
    assert len(powers) == 2
    assert all(power > places["predicted"] + 150.0 for power in powers)
