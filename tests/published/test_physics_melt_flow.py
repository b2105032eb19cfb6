"""
Flow and heat in hot end and nozzle: Graetz numbers, residence of laminar flow, plug heating, pressure.

Graetz: R. K. Shah and A. L. London, "Laminar Flow Forced Convection in Ducts", 1978 (from memory). Plug: exact.
"""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from voidless.errors import InputError
from voidless.physics.diffusion import cylinder_mean_residual
from voidless.physics.melt.heating import rate_for_residual
from voidless.physics.melt.limit import RateLimits, fourier_for_residual, rate_at_pressure, slip_share
from voidless.physics.melt.nozzle import (
    cross_power,
    pressure_drop,
    pressure_drop_cone,
    pressure_drop_nozzle,
    shear_rate_apparent,
    wall_stress_cross,
)
from voidless.physics.melt.shear import (
    residence_share,
    residence_shortest,
    sheared_mean_residual,
    sheared_modes,
)
from voidless.physics.melt.viscosity import viscosity_cross


def test_graetz_numbers():
    """Parabola: λ² 7.3136, 44.609, 113.92 (twice ours) with weights 0.8191, 0.0975, 0.0325; Nu 3.657."""
    decays, weights = sheared_modes(1.0)
    assert 2.0 * np.array(decays[:3]) == pytest.approx([7.3136, 44.609, 113.92], abs=6e-3)
    assert weights[:3] == pytest.approx([0.8191, 0.0975, 0.0325], abs=5.1e-5)
    assert decays[0] == pytest.approx(3.657, abs=5e-4)


@pytest.mark.parametrize(("index", "nusselt"), [(0.5, 3.95), (1.0 / 3.0, 4.18)])
def test_graetz_of_power_law_melts(index, nusselt):
    """Bird, Armstrong and Hassager, "Dynamics of Polymeric Liquids", 1987 (from memory)."""
    assert sheared_modes(index)[0][0] == pytest.approx(nusselt, abs=5.1e-3)


def test_sheared_heating_tends_to_the_plug():
    """n of 0.001 is a plug within 1 %, and shear always leaves more undone."""
    fourier = np.array([0.05, 0.2, 0.454261])
    plug = cylinder_mean_residual(fourier)
    assert sheared_mean_residual(fourier, 1e-3) == pytest.approx(plug, rel=0.01)
    assert np.all(sheared_mean_residual(fourier, 0.4) > plug)


def test_residence_of_laminar_flow():
    """n = 1: nothing before half the mean, half at 0.7071, F = 1 - 1/(4 θ²)."""
    assert residence_shortest(1.0) == 0.5
    assert residence_share([0.3, 0.5, np.sqrt(0.5), 1.0, 10.0], 1.0) == pytest.approx(
        [0, 0, 0.5, 0.75, 0.9975]
    )


@pytest.mark.parametrize("index", [0.2, 0.45, 1.0])
def test_mean_residence_is_one(index):
    """∫(1 - F) dθ = 1: volume over rate, whatever the law. The tail beyond 400 is 1/(4 × 400) at most."""
    first = residence_shortest(index)
    tail = quad(lambda t: 1.0 - float(residence_share(t, index)), first, 400.0, limit=500)[0]
    assert first + tail == pytest.approx(1.0, abs=1e-3)


def test_plug_heating_rate():
    """α 9e-8 m²/s, 12 mm, mean residual 5 %: Fo 0.454261 and 7.4691 mm³/s (exact series)."""
    fourier = fourier_for_residual(0.05)
    assert fourier == pytest.approx(0.454261, abs=5e-7)
    assert 1e9 * rate_for_residual(9e-8, 12e-3, fourier) == pytest.approx(7.4691, abs=5e-5)
    assert fourier_for_residual(0.10) == pytest.approx(0.334413, abs=5e-7)


def _exact_wall_stress(zero, stress, index, rate, diameter):
    """Solve Rabinowitsch's integral Q = π R³/τ³ ∫ s² γ(s) ds for the wall stress, by parts over γ."""
    radius = diameter / 2.0

    def shear(g):
        return float(viscosity_cross(zero, g, stress, index)) * g

    def flow(g_wall):
        grid = np.concatenate([[0.0], np.geomspace(1e-6 * g_wall, g_wall, 4000)])
        tau = viscosity_cross(zero, grid, stress, index) * grid
        return np.pi * radius**3 / tau[-1] ** 3 * np.trapezoid(tau**2 * grid, tau)

    wall = brentq(lambda lg: flow(np.exp(lg)) - rate, np.log(1e-3), np.log(1e6))
    return shear(np.exp(wall))


@pytest.mark.parametrize("index", [0.25, 0.45, 0.7, 1.0])
@pytest.mark.parametrize("rate", [0.1e-9, 1e-9, 10e-9])
def test_representative_viscosity_against_the_exact_integral(index, rate):
    """Wall stress within 3 %, as its docstring says."""
    found = wall_stress_cross(2000.0, 1e5, index, rate, 0.4e-3)
    assert found == pytest.approx(_exact_wall_stress(2000.0, 1e5, index, rate, 0.4e-3), rel=0.03)


def test_newtonian_nozzle_is_poiseuille_and_a_cone():
    """n = 1, half the viscosity by the Cross law's form: bore 8 η L Q/π R⁴; cone by integrating that over z."""
    eta, rate, bore, wide, angle = 250.0, 5e-9, 0.4e-3, 1.75e-3, np.deg2rad(30.0)
    slope = np.tan(angle)
    cone = quad(
        lambda z: 8 * eta * rate / (np.pi * (bore / 2 + slope * z) ** 4), 0, (wide - bore) / 2 / slope
    )[0]
    wall = eta * shear_rate_apparent(rate, bore)
    assert pressure_drop_cone(wall, 1.0, angle, bore / wide) == pytest.approx(cone, rel=1e-9)
    whole = pressure_drop_nozzle(2 * eta, 1e5, 1.0, rate, bore, 1e-3, angle, wide)
    assert whole == pytest.approx(float(pressure_drop(eta, 1e-3, rate, bore)) + cone, rel=1e-9)


def test_local_power_is_the_slope():
    """d ln τ/d ln γ by differences, from 1 at rest to n when fast."""
    rates = np.array([1e-6, 10.0, 300.0, 1e9])
    up, down = (viscosity_cross(2000.0, rates * k, 1e5, 0.3) * rates * k for k in (1.001, 1 / 1.001))
    slope = np.log(up / down) / (2 * np.log(1.001))
    assert cross_power(2000.0, rates, 1e5, 0.3) == pytest.approx(slope, abs=1e-4)
    assert slope[[0, -1]] == pytest.approx([1.0, 0.3], abs=1e-3)


def test_highest_rate_names_its_cause():
    """The least of three; a pressure that is never reached is no limit."""
    limits = RateLimits(8e-9, 5e-8, rate_at_pressure(lambda q: 1e15 * q, 2e7))
    assert limits.pressure == pytest.approx(2e-8)
    assert (limits.least, limits.cause) == (8e-9, "core")
    assert rate_at_pressure(lambda q: q, 2e7) == float("inf")


def test_slip_grows_with_pressure():
    """None at rest, the stated share (over one plus it) at the drive's pressure, at most all."""
    assert slip_share(np.array([0.0, 2e7, 1e12]), 2e7, 0.05) == pytest.approx(
        [0.0, 0.05 / 1.05, 1.0], abs=1e-7
    )


@pytest.mark.parametrize("wrong", [0.0, 1.2, float("nan")])
def test_impossible_indices_are_refused(wrong):
    """The power-law index lies above 0, up to 1."""
    for call in (sheared_modes, residence_shortest):
        with pytest.raises(InputError, match="index"):
            call(wrong)
