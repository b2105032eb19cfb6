"""
Every formula of the physics over its whole range: finite, not negative, one row as many, in the right direction.

Ranges run from what no machine reaches to what no machine passes. A sign tells how the result must move with each
argument: `+` up, `-` down, `.` either way.
"""

import numpy as np
import pytest

from voidless.physics import diffusion
from voidless.physics.fill import closure, contact, voids
from voidless.physics.heat import column, fin, layer, source
from voidless.physics.heat import contact as touch
from voidless.physics.melt import heating, limit, nozzle, shear, viscosity
from voidless.physics.moisture import bubbles, sorption, spool, steam
from voidless.physics.optics import bulk, channels, contrast, fresnel, surface
from voidless.physics.optics import voids as scatter
from voidless.physics.shape import size, span
from voidless.physics.strength import impact, porosity, weld
from voidless.physics.strength import scatter as links
from voidless.physics.weld import healing, neck, reptation, shift

SHARE, KELVIN, LENGTH, TIME = (0.0, 1.0), (290.0, 640.0), (1e-5, 1e-2), (1e-4, 1e5)
VISCOUS, RATE, DIFFUSIVE, FILM = (10.0, 1e6), (1e-11, 1e-7), (1e-8, 1e-6), (1.0, 500.0)
# name: function, direction of the result by argument, ranges; a range that starts above 0 is drawn by its logarithm
FORMULAS = {
    "cylinder_mean_residual": (diffusion.cylinder_mean_residual, "-", [(1e-7, 1e3)]),
    "cylinder_centre_residual": (diffusion.cylinder_centre_residual, "-", [(1e-7, 1e3)]),
    "slab_mean_residual": (diffusion.slab_mean_residual, "-", [(1e-7, 1e3)]),
    "closing_time": (closure.closing_time, "++", [TIME, TIME]),
    "cusp_share": (closure.cusp_share, "+-", [LENGTH, LENGTH]),
    "open_share": (closure.open_share, "--+", [(1.0, 1e8), TIME, VISCOUS]),
    "soft_time": (closure.soft_time, "+-", [LENGTH, DIFFUSIVE]),
    "contact_in_layer": (contact.contact_in_layer, "-+", [(0.0, 0.5), (1e-3, 0.21)]),
    "contact_between_layers": (contact.contact_between_layers, "-+.", [(0.0, 0.5), (1e-3, 0.21), SHARE]),
    "mean_shortfall": (voids.mean_shortfall, "++", [(-0.5, 0.5), (1e-6, 1.0)]),
    "mean_excess": (voids.mean_excess, "-+", [(-0.5, 0.5), (1e-6, 1.0)]),
    "shortfall_probability": (voids.shortfall_probability, "+.", [(-0.5, 0.5), (1e-6, 1.0)]),
    "layer_ripple": (column.layer_ripple, "-", [(1e-6, 1e9)]),
    "effusivity": (touch.effusivity, "+++", [(0.05, 1.0), (500.0, 2000.0), (500.0, 4000.0)]),
    "ellipse_perimeter": (fin.ellipse_perimeter, "++", [LENGTH, LENGTH]),
    "fin_decay": (fin.fin_decay, "---", [DIFFUSIVE, (1e-6, 10.0), (1e-3, 1e3)]),
    "excess_at_depth": (layer.excess_at_depth, ".-", [(1e-4, 1e6), (0.0, 50.0)]),
    "excess_mean_of_layer": (layer.excess_mean_of_layer, "-", [(1e-6, 1e6)]),
    "excess_under_hot_face": (layer.excess_under_hot_face, "+", [(1e-6, 1e6)]),
    "heat_from_hot_face": (layer.heat_from_hot_face, "+", [(1e-3, 1e6)]),
    "melt_fourier": (heating.melt_fourier, "++-", [DIFFUSIVE, LENGTH, RATE]),
    "residence_time": (heating.residence_time, "+-", [(1e-10, 1e-5), RATE]),
    "shear_rate_apparent": (nozzle.shear_rate_apparent, "+-", [RATE, (1e-4, 2e-3)]),
    "wall_stress_cross": (
        nozzle.wall_stress_cross,
        "++.+-",
        [VISCOUS, (1e3, 1e6), (0.2, 0.99), RATE, (1e-4, 2e-3)],
    ),
    "viscosity_cross": (
        viscosity.viscosity_cross,
        "+-+.",
        [VISCOUS, (0.0, 1e6), (1e3, 1e6), (0.1, 0.99)],
    ),
    "arrhenius_factor": (viscosity.arrhenius_factor, "-+.", [KELVIN, KELVIN, (1.0, 2e5)]),
    "saturation_pressure": (steam.saturation_pressure, "+", [(273.16, 647.0)]),
    "flash_share": (bubbles.flash_share, "+++-", [(0.0, 0.05), KELVIN, (500.0, 2000.0), (1e4, 1e8)]),
    "hydrolysed_molar_mass": (bubbles.hydrolysed_molar_mass, "+-", [(1.0, 500.0), (0.0, 0.05)]),
    "water_after_exposure": (
        lambda t, w, s, h, d: sorption.water_after_exposure(t, w, s, h, d, 0.875e-3),
        ".+++.",
        [(0.0, 1e9), (0.0, 0.05), (0.0, 0.1), SHARE, (1e-14, 1e-10)],
    ),
    "dryer_humidity": (spool.dryer_humidity, "++-", [(275.0, 310.0), SHARE, (310.0, 400.0)]),
    "pack_diffusivity": (spool.pack_diffusivity, "+-", [(275.0, 400.0), (0.1, 200.0)]),
    "internal_transmittance": (bulk.internal_transmittance, "--", [(0.0, 1e4), (0.0, 0.1)]),
    "channel_depth": (
        channels.channel_depth,
        "+++-+",
        [SHARE, (0.0, 1e-4), (0.0, 4.0), LENGTH, (1.0, 500.0)],
    ),
    "contrast_through_plate": (
        contrast.contrast_through_plate,
        "+---",
        [SHARE, (0.0, 1.0), (0.0, 0.1), (0.0, 1e4)],
    ),
    "plate_transmittance": (fresnel.plate_transmittance, "-+", [(1.3, 1.8), SHARE]),
    "plate_reflectance": (fresnel.plate_reflectance, "++", [(1.3, 1.8), SHARE]),
    "pile_transmittance": (fresnel.pile_transmittance, "--", [(0.0, 0.5), (1.0, 100.0)]),
    "scatter_from_roughness": (
        lambda h, n: surface.scatter_from_roughness(h, n, 550e-9),
        "++",
        [(0.0, 1e-6), (1.01, 1.8)],
    ),
    "haze_from_slopes": (surface.haze_from_slopes, "++", [(0.0, 1.5), (1.01, 1.8)]),
    "ridge_slope": (surface.ridge_slope, "+", [(1e-9, np.pi / 2)]),
    "bubble_number": (scatter.bubble_number, "+-", [SHARE, (1e-7, 1e-3)]),
    "bubble_depth": (
        scatter.bubble_depth,
        "+-++",
        [SHARE, (1e-7, 1e-3), (0.0, 4.0), (1e-4, 0.1)],
    ),
    "softness": (lambda t, s: size.softness(t, s, 8.0), "+-", [KELVIN, KELVIN]),
    "bridge_sag": (span.bridge_sag, "+++", [(1e-3, 0.1), (500.0, 2000.0), (0.0, 1e-1)]),
    "overhang_limit": (span.overhang_limit, "-+-", [LENGTH, LENGTH, (0.0, 1e-2)]),
    "relative_strength_power": (porosity.relative_strength_power, "--", [SHARE, (0.5, 4.0)]),
    "relative_strength_ryshkewitch": (
        porosity.relative_strength_ryshkewitch_duckworth,
        "--",
        [SHARE, (1.0, 8.0)],
    ),
    "weld_efficiency": (weld.weld_efficiency, "+-", [SHARE, (0.1, 1.0)]),
    "weld_strength": (weld.weld_strength, "++++", [(1e3, 1e8), SHARE, SHARE, SHARE]),
    "off_axis_strength": (
        weld.off_axis_strength,
        "....",
        [(5e7, 6e7), (0.0, 5e7), (0.0, 3e7), (0.0, np.pi)],
    ),
    "impact_through_layers": (impact.impact_through_layers, "+++", [SHARE, SHARE, SHARE]),
    "scatter_weibull_1939": (links.scatter_weibull_1939, "-", [(0.5, 1e4)]),
    "size_effect_weibull_1939": (links.size_effect_weibull_1939, "-+", [(1.0, 1e6), (1.0, 1e3)]),
    "capped_healing": (healing.capped_healing, "+", [(0.0, 1e12)]),
    "rounded_healing": (healing.rounded_healing, "+", [(0.0, 1e12)]),
    "neck_angle_pokluda_1997": (neck.neck_angle_pokluda_1997, "+", [(0.0, 5.0)]),
    "neck_angle_cylinders": (neck.neck_angle_cylinders, "+", [(0.0, 5.0)]),
    "reptation_time_doi_edwards": (reptation.reptation_time_doi_edwards, "+-", [VISCOUS, (1e4, 1e7)]),
    "weld_rate_wlf": (
        lambda t, w: shift.weld_rate_wlf(t, w, 453.15, 8.0, 150.0, 353.15),
        "+-",
        [KELVIN, (1e-4, 1e4)],
    ),
    "rise_point_rosenthal": (
        lambda a, r: source.rise_point_rosenthal(0.1, 0.2, 1e-7, 0.05, a, r),
        "-.",
        [(-1e-2, 1e-2), (1e-2, 0.1)],
    ),
    "slip_share": (lambda p: limit.slip_share(p, 2e7, 0.05), "+", [(0.0, 1e10)]),
    "sheared_mean_residual": (lambda fo: shear.sheared_mean_residual(fo, 0.4), "-", [(1e-7, 1e3)]),
    "residence_share": (lambda t: shear.residence_share(t, 0.4), "+", [(0.0, 1e6)]),
}
COUNT = 60


def along(ends):
    """Return the range from end to end, finer where it is small; a range that starts above 0 by its logarithm."""
    low, high = ends
    return np.geomspace(low, high, COUNT) if low > 0.0 else np.linspace(low, high, COUNT)


@pytest.mark.parametrize("name", FORMULAS)
def test_finite_and_not_negative_in_every_corner(name):
    """All combinations of ends and 60 random places: finite, not below zero; the same one by one as together."""
    function, _, ranges = FORMULAS[name]
    rng = np.random.default_rng(1)
    corners = np.array(np.meshgrid(*ranges)).reshape(len(ranges), -1)
    within = np.array([rng.permutation(along(ends)) for ends in ranges])
    places = np.concatenate([corners, within], axis=1)
    together = np.asarray(function(*places))
    assert together.shape == (places.shape[1],)
    assert np.all(np.isfinite(together))
    assert np.all(together >= -1e-12)
    alone = [float(function(*(float(value) for value in place))) for place in places.T]
    assert together == pytest.approx(alone, rel=1e-9, abs=1e-300)


@pytest.mark.parametrize("name", FORMULAS)
def test_moves_in_one_direction(name):
    """Along each argument from end to end, the others at five places: never back by more than rounding."""
    function, directions, ranges = FORMULAS[name]
    rng = np.random.default_rng(2)
    for which, direction in enumerate(directions):
        if direction == ".":
            continue
        for _ in range(5):
            fixed = [float(rng.choice(along(ends))) for ends in ranges]
            arguments = [np.full(COUNT, value) for value in fixed]
            arguments[which] = along(ranges[which])
            steps = np.diff(np.asarray(function(*arguments)))
            size = np.abs(function(*arguments)).max()
            back = steps if direction == "-" else -steps
            assert back.max() <= 1e-9 * size, (which, fixed)
