"""This project's own loop, with the twin as prior or without."""

from __future__ import annotations

import numpy as np
from benchmarks.campaigns.history import JUDGED, History
from benchmarks.campaigns.rules import CONFIDENCE, Step, levels_of
from benchmarks.labs.bench import SETTING_SD, SPACE, build_minutes, feasible, load
from benchmarks.labs.kin import prior_for

from voidless.campaign.types import Objective
from voidless.infer.model import CampaignModel, TrainingData, fit_model
from voidless.infer.prior import Prior
from voidless.infer.propose import propose
from voidless.infer.window import find_window


class Own:
    """`fit_model`, `find_window` and `propose` as a campaign calls them."""

    def __init__(self, twin: bool, prior: Prior | None = None) -> None:
        self.twin = twin
        self.prior = prior
        """Physics to start from; None: as the laboratory's campaign is given it."""

    def learned(self, history: History, rng: np.random.Generator) -> tuple[CampaignModel, TrainingData]:
        """Return the model after the builds so far, and what it was fitted to."""
        data = TrainingData(
            SPACE,
            history.builds,
            history.observations,
            prior=(self.prior or prior_for(history.lab.name)) if self.twin else None,
            known={"build_min": build_minutes},
            responses=JUDGED,
            setting_sd=SETTING_SD,
            load=load,
        )
        return fit_model(data, rng), data

    def step(self, history: History, rng: np.random.Generator) -> Step:
        """Return recipe and next build."""
        model, _ = self.learned(history, rng)
        asked = (model, history.lab.specifications, Objective(), SPACE, feasible)
        window = find_window(
            *asked, confidence=CONFIDENCE, setting_sd=SETTING_SD, rng=rng, seeds=history.points, brief=True
        )
        proposal = propose(
            *asked, 1, rng, window=window, confidence=CONFIDENCE, setting_sd=SETTING_SD, builds=history.points
        )[0]
        levels = levels_of(window.points, window.probabilities)
        levels |= {level: (item.point, item.probability) for level, item in window.at_levels.items()}
        if not window.claim:
            levels.pop(CONFIDENCE, None)
        return Step(window.recipe.point, window.recipe.probability, SPACE.point(proposal.settings), levels)
