"""The example in examples/ runs, and its headline holds in the invented truth."""

import importlib.util
from pathlib import Path

EXAMPLE = Path(__file__).parents[2] / "examples" / "sight_glass.py"


def test_sight_glass_finds_a_recipe_that_truly_passes(tmp_path):
    spec = importlib.util.spec_from_file_location("sight_glass", EXAMPLE)
    example = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(example)
    recipe = example.run(tmp_path)["recipe"]
    flow, speed = recipe["settings"]["flow_pct"], recipe["settings"]["speed_mm_s"]
    # the example's own truth, without scatter
    assert 0.78 - ((flow - 104.0) / 18.0) ** 2 - 0.003 * (speed - 15.0) >= 0.62
    assert 0.01 * (flow - 99.0) <= 0.12
    assert recipe["basis"] == "data"
