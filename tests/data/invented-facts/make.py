"""Writes facts.json: an invented campaign, every number from the formulas below and a seeded generator."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import numpy as np

rng = np.random.default_rng(20)
RANGES = {
    "flow_pct": (94.0, 110.0),
    "nozzle_c": (225.0, 265.0),
    "speed_mm_s": (15.0, 60.0),
    "layer_mm": (0.1, 0.24),
}
RECIPE = {"flow_pct": 102.5, "nozzle_c": 261.0, "speed_mm_s": 46.0, "layer_mm": 0.13}
FIXED = {
    "width_mm": 0.48,
    "contours": 2.0,
    "raster_deg": 0.0,
    "raster_step_deg": 90.0,
    "overlap_pct": 15.0,
    "bed_c": 75.0,
    "chamber_c": 0.0,
    "fan_pct": 0.0,
}


def unit(settings):
    return {k: (settings[k] - lo) / (hi - lo) * 2 - 1 for k, (lo, hi) in RANGES.items()}


def responses(settings):
    u = unit(settings)
    heat = 0.9 * u["nozzle_c"] - 0.6 * u["speed_mm_s"] - 0.3 * u["layer_mm"]
    return {
        "clarity": 0.66
        + 0.08 * heat
        + 0.05 * u["flow_pct"]
        - 0.05 * u["flow_pct"] ** 2
        - 0.06 * u["layer_mm"],
        "z_ratio": 0.84 + 0.09 * heat - 0.05 * heat**2,
        "size_error_mm": 0.02 + 0.09 * u["flow_pct"] + 0.02 * u["nozzle_c"],
    }


def minutes(settings):
    return 1.2e2 / (settings["layer_mm"] * settings["speed_mm_s"]) + 6.0


def probability(settings):
    y = responses(settings)
    z = [(y["clarity"] - 0.66) / 0.025, (y["z_ratio"] - 0.82) / 0.03, (0.15 - abs(y["size_error_mm"])) / 0.03]
    return float(np.prod([1 / (1 + np.exp(-1.7 * x)) for x in z]))


SD = {"clarity": (0.018, 0.009), "z_ratio": (0.022, 0.035), "size_error_mm": (0.02, 0.012)}
UNITS = {"clarity": "1", "z_ratio": "1", "size_error_mm": "mm"}


def r(x, n=4):
    return round(float(x), n)


runs, check = [], []
for i in range(18):
    settings = {k: r(rng.uniform(lo, hi), 2) for k, (lo, hi) in RANGES.items()}
    status = "measured" if i < 15 else "printed" if i < 16 else "planned"
    outcome = "ok" if i < 16 else None
    if i == 6:
        status, outcome = "failed", "fell_off"
    if i == 9:
        status = "withdrawn"
    build = f"B{i + 1:02d}"
    runs.append(
        {
            "run": f"R{i + 1:02d}",
            "build": build if i < 16 else None,
            "order": i + 1,
            "session": 1 + i // 5,
            "settings": settings,
            "outcome": outcome,
            "build_min": r(minutes(settings), 1),
            "grams": r(11 + rng.normal(0, 0.2), 1),
            "status": status,
        }
    )
    if status == "measured":
        for name, mean in responses(settings).items():
            sd = 1.2 * SD[name][0]
            seen = mean + rng.normal(0, sd)
            check.append(
                {
                    "response": name,
                    "build": build,
                    "observed": r(seen),
                    "predicted": r(mean),
                    "low": r(mean - 2 * sd),
                    "high": r(mean + 2 * sd),
                }
            )

predicted = {}
for name, mean in responses(RECIPE).items():
    b, w = SD[name]
    part = (b**2 + w**2) ** 0.5
    predicted[name] = {
        "mean": r(mean),
        "low": r(mean - 1.96 * b),
        "high": r(mean + 1.96 * b),
        "part_low": r(mean - 1.96 * part),
        "part_high": r(mean + 1.96 * part),
    }

profiles = []
for name, (lo, hi) in RANGES.items():
    x = np.linspace(lo, hi, 25)
    found = [responses({**RECIPE, name: v}) for v in x]
    profiles.append(
        {
            "factor": name,
            "x": [r(v, 3) for v in x],
            "responses": {
                q: {
                    "mean": [r(f[q]) for f in found],
                    "low": [r(f[q] - 1.96 * SD[q][0]) for f in found],
                    "high": [r(f[q] + 1.96 * SD[q][0]) for f in found],
                }
                for q in SD
            },
            "probability": [r(probability({**RECIPE, name: v}), 3) for v in x],
        }
    )

maps = []
keys = list(RANGES)
for i, a in enumerate(keys):
    for b in keys[i + 1 :]:
        xs, ys = (np.linspace(*RANGES[k], 15) for k in (a, b))
        maps.append(
            {
                "x": a,
                "y": b,
                "x_values": [r(v, 3) for v in xs],
                "y_values": [r(v, 3) for v in ys],
                "probability": [[r(probability({**RECIPE, a: x, b: y}), 3) for x in xs] for y in ys],
            }
        )

grid = [dict(zip(RANGES, p, strict=True)) for p in rng.uniform(*np.array(list(RANGES.values())).T, (4000, 4))]
best = sorted((minutes(s), probability(s)) for s in grid)
front, top = [], 0.0
for t, p in best:
    if p > top + 0.02:
        front.append({"build_min": r(t, 1), "probability": r(p, 3)})
        top = p
at = []
for c in (0.5, 0.8, 0.9, 0.95):
    good = [s for s in grid if probability(s) >= c]
    if good:
        s = min(good, key=minutes)
        at.append(
            {"confidence": c, "settings": {k: r(v, 2) for k, v in s.items()}, "build_min": r(minutes(s), 1)}
        )

chance = probability(RECIPE)


def tolerance(name):
    lo, hi = RANGES[name]
    x = np.linspace(lo, hi, 401)
    good = x[[probability({**RECIPE, name: v}) >= 0.9 for v in x]]
    ends = {"low": r(good[0], 3), "high": r(good[-1], 3)}
    why = {"flow_pct": ("clarity", "size_error_mm"), "nozzle_c": ("z_ratio", "size_error_mm")}.get(
        name, (None, "clarity")
    )
    limited = [
        w if inside else None for w, inside in zip(why, (ends["low"] > lo, ends["high"] < hi), strict=True)
    ]
    return {"factor": name, **ends, "limited_by_low": limited[0], "limited_by_high": limited[1]}


effects = {
    "clarity": {
        "nozzle_c": 0.144,
        "speed_mm_s": -0.096,
        "layer_mm": -0.168,
        "flow_pct": 0.1,
        "flow_pct^2": -0.05,
        "nozzle_c:speed_mm_s": 0.008,
    },
    "z_ratio": {
        "nozzle_c": 0.162,
        "speed_mm_s": -0.108,
        "layer_mm": -0.054,
        "flow_pct": 0.006,
        "nozzle_c:speed_mm_s": 0.054,
    },
    "size_error_mm": {"flow_pct": 0.18, "nozzle_c": 0.04, "speed_mm_s": 0.004, "layer_mm": -0.01},
}
learned = {
    q: {
        "unit": UNITS[q],
        "n": 60,
        "builds": 13,
        "between_build_sd": SD[q][0],
        "within_build_sd": SD[q][1],
        "effects": [
            {
                "term": t,
                "estimate": r(v),
                "low": r(v - 1.3 * SD[q][0]),
                "high": r(v + 1.3 * SD[q][0]),
                "p": 0.001 if abs(v) > 2 * SD[q][0] else 0.4,
                "claimed": bool(abs(v) > 1.6 * SD[q][0]),
            }
            for t, v in e.items()
        ],
        "shares": [
            {"source": "nozzle_c", "share": 0.46, "low": 0.38, "high": 0.53},
            {"source": "speed_mm_s", "share": 0.27, "low": 0.2, "high": 0.33},
            {"source": "flow_pct x nozzle_c", "share": 0.06, "low": 0.01, "high": 0.12},
        ],
        "shares_foretold": False,
        "classical_model": "main effects, interactions and squares",
        "drift": [
            {
                "variable": "exposure_h",
                "slope": -0.004 if q == "clarity" else 0.0006,
                "low": -0.0062 if q == "clarity" else -0.002,
                "high": -0.0018 if q == "clarity" else 0.0032,
                "p": 0.002 if q == "clarity" else 0.6,
            }
        ],
    }
    for q, e in effects.items()
}

files = [
    {
        "name": n,
        "sha256": hashlib.sha256(n.encode()).hexdigest(),
        "kind": k,
        "size": int(rng.integers(900, 90000)),
        "read_at": f"2026-0{1 + i // 6}-1{i % 9}T09:1{i % 6}:00Z",
    }
    for i, (n, k) in enumerate(
        [(f"bars session {j}.csv", "machine curves") for j in range(1, 6)]
        + [(f"weighings {j}.csv", "weighings") for j in range(1, 4)]
        + [
            ("clarity table.csv", "result table"),
            ("plaques ünter <b>light</b>.csv", "result table"),
            ("sizes.xlsx", "result table"),
        ]
    )
]

facts = {
    "schema_version": 1,
    "invented": True,
    "campaign": {
        "name": "Invented sight glass",
        "material": "petg",
        "machine": "bench-0.4",
        "probability": "next_build",
        "objective": {"response": "build_min", "sense": "minimise"},
        "factors": [
            {
                "name": k,
                "low": lo,
                "high": hi,
                "step": {"flow_pct": 0.5, "nozzle_c": 1.0}.get(k),
                "hard_to_change": False,
            }
            for k, (lo, hi) in RANGES.items()
        ],
        "specifications": [
            {"response": "clarity", "min": 0.66, "max": None},
            {"response": "z_ratio", "min": 0.82, "max": None},
            {"response": "size_error_mm", "min": -0.15, "max": 0.15},
        ],
        "limits": {"builds": 24},
        "settings": FIXED,
    },
    "runs": runs,
    "counts": {"builds": 14, "observations": 180, "files": len(files), "sessions": 3},
    "window": {
        "recipe": {
            "settings": RECIPE,
            "probability_pass": r(chance, 3),
            "build_min": r(minutes(RECIPE), 1),
            "predicted": predicted,
            "claim": chance >= 0.9,
            "blocked_by": [],
            "basis": "data",
        },
        "confidence": 0.9,
        "kind": "next_build",
        "tolerances": [tolerance(k) for k in RANGES],
        "certain_share": 0.061,
        "likely_share": 0.18,
        "at_confidence": at,
        "profiles": profiles,
        "maps": maps,
        "front": front,
    },
    "learn": {
        "responses": learned,
        "effects_note": (
            "Each dot is how far the response moves when the setting goes from the low to the high end "
            "of its range."
        ),
        "statements": [
            ("Clarity rises with nozzle temperature by 0.144 over its range (95 % interval 0.121 to 0.167)."),
            "Thicker layers cost clarity: −0.168 over their range.",
            "Size error follows flow; nothing else was told apart from zero.",
        ],
        "confounded": [
            {
                "factor": "order",
                "other": "exposure_h",
                "share": 0.93,
                "sentence": "Hours out of the dryer rose with run order in session 3: clarity's drift may be either.",
            }
        ],
        "check": check,
    },
    "strength": [
        {
            "group": "R02",
            "n_xy": 5,
            "xy_mean": 48.2,
            "n_z": 5,
            "z_mean": 40.9,
            "ratio": 0.8485,
            "low": 0.79,
            "high": 0.91,
            "note": "",
        },
        {
            "group": "R11",
            "n_xy": 5,
            "xy_mean": 49.1,
            "n_z": 4,
            "z_mean": 44.6,
            "ratio": 0.9084,
            "low": 0.85,
            "high": 0.97,
            "note": "one bar broke at the radius: lower bound, left out",
        },
    ],
    "next": {
        "runs": [
            {"run": "R19", "settings": RECIPE, "reason": "confirms the recipe"},
            {
                "run": "R20",
                "settings": {**RECIPE, "speed_mm_s": 36.0},
                "reason": "tells most about the edge in speed",
            },
        ],
        "stop": False,
        "reason": "Two more builds are expected to settle the edge in speed.",
    },
    "files": files,
    "provenance": {"code_version": "0.1.0", "made_at": "2026-04-01T10:00:00Z"},
}
if __name__ == "__main__":
    Path(__file__).with_name("facts.json").write_text(
        json.dumps(facts, ensure_ascii=False, indent=1) + "\n", encoding="utf-8"
    )
