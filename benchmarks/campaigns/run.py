"""
Drive blind campaigns on invented laboratories and report how good and how honest the recipes are.

    python benchmarks/campaigns/run.py --labs saddle cliff --seeds 6 --builds 28

Simulation only: it finds faults of the loop, it proves nothing about real prints.
"""

from __future__ import annotations

import argparse
import json
import time

import numpy as np
from labs import SETTING_SD, SPACE, build_minutes, feasible, make_lab

from voidless.campaign.types import Build, Objective, Observation, ResponseKey
from voidless.infer.model import TrainingData, fit_model
from voidless.infer.propose import propose
from voidless.infer.search import candidates
from voidless.infer.window import find_window

USUAL = np.array([0.2, 0.46, 100.0, 235.0, 50.0, 45.0])


def start(rng, count=8):
    """Usual settings twice, the rest even over the allowed space: what a plan without physics does."""
    usual = SPACE.snap(USUAL[None, :])[0]
    return [usual, *candidates(SPACE, feasible, count - 2, rng), usual]


def observe(lab, points, first, session, rng):
    builds, observations = [], []
    for number, point in enumerate(points, start=first):
        label = f"{number:02d}"
        builds.append(Build(f"B{label}", f"R{label}", number, session, SPACE.settings(point)))
        for name, value in lab.build(point, rng).items():
            observations.append(Observation(f"R{label}", f"B{label}", "", ResponseKey(name), value))
    return builds, observations


def campaign(lab, total, batch, seed, noise_only=False):
    rng = np.random.default_rng(seed)
    builds, observations = observe(lab, start(rng), 1, 1, rng)
    trail = []
    while True:
        data = TrainingData(
            SPACE,
            builds,
            _shuffled(observations, rng) if noise_only else observations,
            known={"build_min": build_minutes},
        )
        began = time.process_time()
        model = fit_model(data, rng)
        made = SPACE.points([b.settings for b in builds])
        window = find_window(
            model,
            lab.specifications,
            Objective(),
            SPACE,
            feasible,
            setting_sd=SETTING_SD,
            rng=rng,
            seeds=made,
        )
        truth = lab.true_probability(window.recipe.point, np.random.default_rng(1))
        trail.append(
            {
                "builds": len(builds),
                "p": window.recipe.probability,
                "claim": window.claim,
                "true_p": truth,
                "mean_passes": bool(lab.mean_passes(window.recipe.point[None, :])[0]),
                "gap": window.recipe.objective / lab.best - 1.0,
                "blocked": list(window.blocked_by),
                "cpu": time.process_time() - began,
            }
        )
        if len(builds) >= total:
            return trail
        proposals = propose(
            model,
            lab.specifications,
            Objective(),
            SPACE,
            feasible,
            min(batch, total - len(builds)),
            rng,
            window=window,
            setting_sd=SETTING_SD,
            builds=made,
        )
        points = [SPACE.point(p.settings) for p in proposals]
        more, seen = observe(lab, points, len(builds) + 1, 1 + len(trail), rng)
        builds, observations = builds + more, observations + seen


def _shuffled(observations, rng):
    """Values of each response dealt out at random: a table without any signal."""
    from dataclasses import replace

    found = []
    for name in {o.key.quantity for o in observations}:
        own = [o for o in observations if o.key.quantity == name]
        values = rng.permutation([o.value for o in own])
        found += [replace(o, value=float(v)) for o, v in zip(own, values, strict=True)]
    return found


def _step(t):
    star = "*" if t["claim"] else ""
    return f"{t['builds']}:{t['p']:.2f}{star}/{t['true_p']:.2f}/{100 * t['gap']:+.0f}%"


def _mean(rows, key):
    return float(np.mean([row[key] for row in rows])) if rows else float("nan")


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--labs", nargs="+", default=["saddle", "cliff"])
    parser.add_argument("--seeds", type=int, default=6)
    parser.add_argument("--first-seed", type=int, default=0)
    parser.add_argument("--builds", type=int, default=28)
    parser.add_argument("--batch", type=int, default=4)
    parser.add_argument("--out", default="")
    given = parser.parse_args()
    rows = []
    for name in given.labs:
        for seed in range(given.first_seed, given.first_seed + given.seeds):
            lab = make_lab(name, seed)
            trail = campaign(lab, given.builds, given.batch, seed)
            rows.append({"lab": name, "seed": seed, "trail": trail})
            print(
                name,
                seed,
                " ".join(map(_step, trail)),
                f"cpu {sum(t['cpu'] for t in trail):.0f}s",
                flush=True,
            )
    claims = [t for row in rows for t in row["trail"] if t["claim"]]
    last = [row["trail"][-1] for row in rows]
    print(f"claims {len(claims)}: true p {_mean(claims, 'true_p'):.3f}")
    print(f"claims that truly pass {_mean(claims, 'mean_passes'):.3f}")
    print(f"at the end: claims {_mean(last, 'claim'):.2f}, truly pass {_mean(last, 'mean_passes'):.2f}")
    print(f"true p {_mean(last, 'true_p'):.2f} against stated {_mean(last, 'p'):.2f}")
    print(f"median gap {100 * np.median([t['gap'] for t in last]):.0f} %")
    if given.out:
        with open(given.out, "w", encoding="utf-8") as file:  # noqa: PTH123
            json.dump(rows, file)


if __name__ == "__main__":
    main()
