# %% [markdown]
# # A campaign from Python
#
# The functions of `import voidless` do what the commands do and return the same objects. The bench below is invented:
# three smooth functions with scatter stand in for prints and measurements.

# %%
from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np

import voidless

CAMPAIGN = """
[campaign]
name = "sight glass (invented)"
material = "petg"
machine = "bench-0.4"
[factors.flow_pct]
low = 92.0
high = 110.0
[factors.speed_mm_s]
low = 15.0
high = 60.0
[specifications.clarity]
min = 0.62
[specifications.size_error_mm]
max = 0.12
[objective]
minimise = "build_min"
[limits]
builds = 16
[specimens]
plaque = 1
block = 1
"""


# %% [markdown]
# An invented bench: clarity peaks a little above full flow and falls with speed; size grows with flow.


# %%
def invented_results(row: dict, rng: np.random.Generator) -> list[str]:
    """Return the lines of a result table for one build."""
    flow, speed = row["settings"]["flow_pct"], row["settings"]["speed_mm_s"]
    clarity = 0.78 - ((flow - 104.0) / 18.0) ** 2 - 0.003 * (speed - 15.0) + rng.normal(0.0, 0.008)
    size = 0.01 * (flow - 99.0) + rng.normal(0.0, 0.01)
    head = f"{row['run']},{row['build']},"
    return [f"{head}plaque_1,clarity,{clarity:.4f},", f"{head}block_1,size_error_mm,{size:.4f},mm"]


def run(folder: Path, rounds: int = 3) -> dict:
    """Return the window after a plan and some rounds of proposals."""
    rng = np.random.default_rng(4)
    source = folder / "sight-glass.toml"
    source.write_text(CAMPAIGN, encoding="utf-8")
    campaign = folder / "campaign"
    voidless.new(campaign, source)
    rows = voidless.plan(campaign, seed=7)["runs"]
    for number in range(rounds):
        table = folder / f"results-{number}.csv"
        lines = ["run,build,specimen,response,value,unit"]
        lines += [line for row in rows for line in invented_results(row, rng)]
        table.write_text("\n".join(lines) + "\n", encoding="utf-8")
        voidless.read(campaign, [table])
        if number + 1 < rounds:
            rows = voidless.next(campaign, count=2)["runs"]
    return voidless.window(campaign, confidence=0.8)


# %% [markdown]
# The recipe, how probable it is that the next build passes, and what limits it.

# %%
if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as place:
        found = run(Path(place))
    recipe = found["recipe"]
    print(recipe["settings"], f"{recipe['build_min']:.1f} min, passes with {recipe['probability_pass']:.2f}")
    print(found["verdict"])
