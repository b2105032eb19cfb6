"""
Kapusuzoglu & Mahadevan, JOM 72 (2020) 4695, doi 10.1007/s11837-020-04438-4, companion data.

File data/labeled_data.dat (MIT licence) gives an initial porosity of 0.18777660702723 for layers of 0.7 mm
and a width of 0.8 mm at a pitch of 0.8 mm. Seen in the file; the tolerance is half its last printed digit.
"""

import pytest

from voidless.beads.stadium import void_share


def test_initial_porosity():
    """The rigid stadium has the porosity that the companion data start from."""
    assert float(void_share(0.7, 0.8, 0.8)) == pytest.approx(0.18777660702723, abs=5e-15)
