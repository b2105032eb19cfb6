"""What can hurt, said where it matters."""

from __future__ import annotations

from voidless.toolpath.cautions import BUILD_CAUTIONS as PRINTING

__all__ = ["IN_USE", "PRINTING", "TESTING", "WHOLE_JOB"]

TESTING = (
    "Tensile and impact rigs throw fragments: guards closed, eye protection on.",
    (
        "Never test an unproven printed vessel with gas: it stores hundreds of times the energy of water. "
        "Proof-test with water, shielded."
    ),
)

IN_USE = (
    (
        "Parts that carry load, hold pressure, insulate, or touch food or patients need qualified "
        "engineering, the local code and licensed practice."
    ),
)

WHOLE_JOB = (*PRINTING, *TESTING, *IN_USE)
