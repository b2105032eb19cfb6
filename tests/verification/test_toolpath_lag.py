"""The lag integrated exactly against a general solver of ordinary differential equations."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from voidless.beads.stadium import filament_area
from voidless.toolpath.lag import deposit_lagged
from voidless.toolpath.motion import MotionLimits, profile_moves
from voidless.toolpath.reader import read_gcode_lines

LIMITS = MotionLimits((200.0, 200.0, 12.0, 60.0), (1000.0, 1000.0, 200.0, 5000.0), 1000.0, 1000.0, 0.02)
LINES = (
    *("M83", "G1 X0 Y0 Z0.2 F6000", "G1 X20 E0.8 F1200", "G1 X60 E1.6 F6000", "G1 X60 Y1 E0.04"),
    *("G1 X20 E1.6 F1200", "G4 P60", "G1 E-0.8 F2100", "G1 X50 Y40 F9000", "G1 E0.8 F2100"),
    *("G1 X80 E1.2 F3000", "G3 X80 Y50 J5 E0.6", "G1 E-0.05 F2100", "G1 X0"),
)


@pytest.mark.parametrize("lag", [0.02, 0.1])
def test_lag_against_a_general_solver(lag):
    """Stored volume after every move of a small program with steps, corners, a pause, retractions and an arc."""
    moves = read_gcode_lines(LINES, "f").moves
    run = profile_moves(moves, LIMITS)
    found = deposit_lagged(moves, run, lag)
    way = np.where(moves.length_mm > 0.0, moves.length_mm, np.abs(moves.filament_mm))
    stored = 0.0
    for number in range(len(moves)):
        seconds = run.time_s[number] - moves.dwell_s[number]
        a, v0, v1, top = (
            column[number]
            for column in (run.acceleration_mm_s2, run.entry_mm_s, run.exit_mm_s, run.peak_mm_s)
        )
        area = moves.filament_mm[number] * filament_area(1.75) / way[number] if way[number] else 0.0

        def flow(time, held, *, a=a, v0=v0, v1=v1, top=top, area=area, seconds=seconds):
            speed = min(v0 + a * time, top, v1 + a * max(seconds - time, 0.0))
            return area * speed - max(held[0], 0.0) / lag

        for span, rate in (
            (seconds, flow),
            (moves.dwell_s[number], lambda _, held: -max(held[0], 0.0) / lag),
        ):
            if span > 0.0:
                solved = solve_ivp(rate, (0.0, span), [stored], rtol=1e-9, atol=1e-12, max_step=span / 50.0)
                stored = float(solved.y[0, -1])
        # the solver passes over kinks of the speed: 2e-5 mm³ of up to 5 mm³ fed
        assert stored == pytest.approx(found.stored_mm3[number + 1], abs=2e-5)
    assert found.stored_mm3.min() < -1.0
    assert found.stored_mm3.max() > 0.09
