"""
Voidless: find, prove and publish filament-printing settings for fully fused, void-free parts.

The house, from the roof down (imports point down only):

    cli | web          parse, call one workflow, render
    demonstration      the invented campaign and its virtual bench
    workflows          one file a use case: what the command line, the pages and this API call
    reporting | records
    infer | proof      learning model, effects, window, next builds | what confirmation builds show
    twin | measure | design
    physics | toolpath
    beads
    campaign           frozen types everyone shares
    settings | specimens
    materials | machines
    quantities, units, errors

The functions below do what the commands of the same name do and return the same object as
``voidless VERB --json``.

Examples
--------
>>> import voidless
>>> sorted(name for name in voidless.__all__ if name != "VoidlessError")[:4]
['demo', 'learn', 'log', 'make']
"""

from __future__ import annotations

import importlib
from typing import Any

from voidless.errors import VoidlessError

__version__ = "0.1.0"

_VERBS = {
    "new": "voidless.workflows.new:new_campaign",
    "plan": "voidless.workflows.plan:plan_builds",
    "make": "voidless.workflows.make:make_files",
    "log": "voidless.workflows.log:log_fact",
    "read": "voidless.workflows.read:read_files",
    "learn": "voidless.workflows.learn:learn_effects",
    "next": "voidless.workflows.propose:next_builds",
    "window": "voidless.workflows.window:find_recipe",
    "prove": "voidless.workflows.prove:prove_recipe",
    "sheet": "voidless.workflows.sheet:write_sheet",
    "report": "voidless.workflows.document:write_report",
    "predict": "voidless.workflows.predict:predict_settings",
    "part": "voidless.workflows.part:judge_part",
    "demo": "voidless.demonstration.run:run_demo",
}

__all__ = [
    "VoidlessError",
    "demo",
    "learn",
    "log",
    "make",
    "new",
    "next",
    "part",
    "plan",
    "predict",
    "prove",
    "read",
    "report",
    "sheet",
    "window",
]


def __getattr__(name: str) -> Any:
    """Import a workflow when it is first asked for, so that importing the package stays cheap."""
    if name not in _VERBS:
        raise AttributeError(f"module 'voidless' has no attribute {name!r}")
    module, function = _VERBS[name].split(":")
    return getattr(importlib.import_module(module), function)
