"""Settings as written to settings as resolved: defaults filled in, names and limits checked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.errors import InputError
from voidless.machines.types import Machine
from voidless.materials.types import Material
from voidless.quantities import Role, names, quantity
from voidless.settings.geometry import derived
from voidless.settings.rules import Ground, Rule, broken, kept

__all__ = ["default_settings", "derived", "explain", "feasible", "problems", "resolve"]


def default_settings(material: Material, machine: Machine) -> dict[str, float]:
    """
    Return the usual value of every setting, in table order.

    The material's usual settings go before the machine's. The chamber is only as warm as the machine can
    make it, and a machine without fan has none to run.

    Raises
    ------
    InputError
        Neither material nor machine says what is usual for a setting.
    """
    usual = {**machine.usual, **material.usual}
    missing = [name for name in names(Role.SETTING) if name not in usual]
    if missing:
        raise InputError(
            f"{material.name} on {machine.name}",
            f"no usual value of {', '.join(missing)}",
            "one in [usual] of material or machine",
            "Add it there, or to [settings].",
        )
    usual["chamber_c"] = min(usual["chamber_c"], machine.chamber_max_c)
    usual["fan_pct"] = usual["fan_pct"] if machine.fan else 0.0
    return {name: float(usual[name]) for name in names(Role.SETTING)}


def resolve(
    written: Mapping[str, float],
    material: Material,
    machine: Machine,
    where: str = "settings",
    rate_limit: float | None = None,
) -> dict[str, float]:
    """
    Return all settings: those written, the rest from material and machine.

    Parameters
    ----------
    written : mapping of str to float
        Settings that a person states. [unit of the setting]
    where : str
        Place that an error names.
    rate_limit : float or None
        A campaign's own limit of the volumetric rate. [mm3/s]

    Raises
    ------
    InputError
        A name is not a setting, or a limit is passed: value, limit and remedy are named.
    """
    for name in written:
        quantity(name, where, Role.SETTING)
    settings = {
        **default_settings(material, machine),
        **{name: float(value) for name, value in written.items()},
    }
    found = problems(settings, material, machine, where, rate_limit)
    if found:
        raise found[0]
    return settings


def problems(
    settings: Mapping[str, float],
    material: Material,
    machine: Machine,
    where: str = "settings",
    rate_limit: float | None = None,
) -> list[InputError]:
    """Return an error for every rule that the settings break; rules on settings not given are left out."""
    ground = Ground(material, machine, rate_limit)
    return [explain(rule, settings, where) for rule in broken(settings, ground)]


def explain(rule: Rule, settings: Mapping[str, float], where: str) -> InputError:
    """Return the error that says which value passes which limit, and what to do about it."""
    value = float(rule.value(settings))
    low, high = (float(bound) for bound in rule.bounds(settings))
    unit = f" {rule.unit}" if rule.unit else ""
    if value > high:
        relation, bound = "above", f"at most {high:g}{unit}"
    elif value < low:
        relation, bound = "below", f"at least {low:g}{unit}"
    else:
        relation, bound = "outside", f"{low:g} to {high:g}{unit}"
    return InputError(
        where, f"{rule.name} = {value:g}{unit} is {relation} the limit", f"{bound}: {rule.limit}", rule.remedy
    )


def feasible(
    columns: Mapping[str, Any], material: Material, machine: Machine, rate_limit: float | None = None
) -> NDArray[np.bool_]:
    """
    Return which rows of settings keep every rule.

    Parameters
    ----------
    columns : mapping of str to (n,) float array
        Settings; what is not given has its usual value. [unit of the setting]
    rate_limit : float or None
        A campaign's own limit of the volumetric rate. [mm3/s]

    Returns
    -------
    feasible : (n,) bool array
        True exactly where `problems` finds nothing.
    """
    whole = {**default_settings(material, machine), **{name: np.asarray(c) for name, c in columns.items()}}
    return kept(whole, Ground(material, machine, rate_limit))
