"""
Stream a G-code file of one gigabyte and see that its memory stays bounded.

    python tests/nightly/stream_large.py [GIGABYTES]

The file is made by repeating a print; filament and number of moves must be the multiple of the print's own. The largest
resident memory of the process that streams is read from the system: under 500 MB.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path

from voidless.toolpath.reader import read_gcode, stream_gcode

SOURCE = Path(__file__).parents[1] / "data" / "toolpaths-dialects" / "v0_absolute_E.gcode"
TAIL = b"\nG92 E0\n"
MOST_MB = 500.0


def largest_mb() -> float:
    """Return the largest resident memory of this process so far. [MB]"""
    status = Path("/proc/self/status")
    if status.exists():
        line = next(
            text for text in status.read_text(encoding="utf-8").splitlines() if text.startswith("VmHWM")
        )
        return int(line.split()[1]) / 1024.0
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2.0**20  # macOS counts bytes


def stream(path: Path) -> None:
    """Stream a file; print moves, filament, seconds and memory."""
    began, moves, filament = time.perf_counter(), 0, 0.0
    for part in stream_gcode(path):
        moves += len(part.moves)
        filament += float(part.moves.filament_mm[part.moves.deposits].sum())
    print(moves, filament, time.perf_counter() - began, largest_mb())


def main() -> None:
    """Make the file, stream it in a fresh process, check."""
    if sys.argv[1:2] == ["--stream"]:
        stream(Path(sys.argv[2]))
        return
    size = int(float(sys.argv[1]) * 1e9) if len(sys.argv) > 1 else 1_000_000_000
    once = SOURCE.read_bytes() + TAIL
    copies = -(-size // len(once))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "large.gcode"
        with path.open("wb") as file:
            for _ in range(copies):
                file.write(once)
        run = subprocess.run(
            [sys.executable, __file__, "--stream", str(path)], capture_output=True, text=True, check=True
        )
    moves, filament, seconds, memory = (float(word) for word in run.stdout.split())
    single = read_gcode(SOURCE).moves
    expected = copies * float(single.filament_mm[single.deposits].sum())
    print(
        f"{copies * len(once) / 1e9:.2f} GB, {moves:.0f} moves in {seconds:.1f} s, at most {memory:.0f} MB resident"
    )
    print(f"moving filament {filament:.3f} mm, expected {expected:.3f} mm")
    if abs(filament - expected) > 1e-6 * expected or memory > MOST_MB:
        sys.exit("failed")


if __name__ == "__main__":
    main()
