"""
Hand the G-code reader damaged, shuffled and invented files for some minutes: moves, or one clear error, and soon.

    python tests/nightly/fuzz_toolpath.py [MINUTES] [SEED]

Files of tests/data are cut, their bytes changed, their lines shuffled, doubled and glued to invented ones. Each is read
by words and by the compiled scanner, whole and as a stream, in pieces of several sizes; all four must agree, time and lag must come out finite,
and neither seconds nor memory may grow beyond what the size of the file explains.
"""

from __future__ import annotations

import sys
import tempfile
import time
import traceback
import tracemalloc
from collections import Counter
from pathlib import Path

import numpy as np

from voidless.errors import InputError
from voidless.toolpath import scan_ahead
from voidless.toolpath.lag import deposit_lagged
from voidless.toolpath.motion import profile_moves
from voidless.toolpath.part import part_summary, stated_limits
from voidless.toolpath.reader import read_gcode, stream_gcode

DATA = Path(__file__).parents[1] / "data"
LARGEST = 60_000
SECONDS_A_BYTE, SECONDS = 2e-4, 3.0
BYTES_A_BYTE, BYTES = 3000, 60_000_000
"""An arc of a few bytes may become hundreds of chords; beyond this the memory has run away."""
NASTY = (
    b"G1", b"g1x", b"G2 I1e9", b"G3 R-0", b"G2 X1 R1e-9", b"M106 S0.5", b"M204 P0", b"M205 J1e-9", b"M203 X0", b"M220 S1e-6", b"G92",
    b"G92 X-1e8", b"G20", b"G91", b"M83", b"M82", b"M200 D0.001", b"M200 D1e8", b"T63", b"T64", b"N1 G1 X1*31", b"(", b"(((((", b"; ", b"*", b"%",
    b"\0", b"\xff\xfe", b"\r", b"\r\n", b"\n\n\n", b"E", b"X.", b"X-", b"X+.5", b"X999999999", b"X1000000000", b"Y" + b"9" * 400, b"M" + b"9" * 30,
    b"G" + b"1" * 12, b"G1.5", b"g28 x", b"G10", b"G11", b"M207 S1e6 F1", b"M208 S-1", b"G4 P1e9", b"EXCLUDE_OBJECT NAME=x", b" " * 5000, b"G3 I0.0001 X1",
)  # fmt: skip


def sources() -> list[bytes]:
    """Return pieces of the printed files."""
    found = []
    for path in sorted(DATA.glob("toolpaths-*/*.gcode")):
        data = path.read_bytes()
        found += [data[:LARGEST], data[len(data) // 2 :][:LARGEST]]
    return found


def damaged(data: bytes, rng: np.random.Generator) -> bytes:
    """Return a file damaged in some ways at once."""
    size = int(rng.integers(1, len(data) + 1)) if rng.random() < 0.3 else min(len(data), 4000)
    start = int(rng.integers(0, len(data) - size + 1))
    data = data[start : start + size]
    for _ in range(rng.integers(1, 4)):
        how = rng.integers(0, 6)
        if how == 0 and data:
            raw = np.frombuffer(data, dtype=np.uint8).copy()
            raw[rng.integers(0, len(raw), rng.integers(1, 6))] = rng.integers(0, 256)
            data = raw.tobytes()
        elif how == 1:
            lines = data.split(b"\n")
            rng.shuffle(lines)
            data = b"\n".join(lines)
        elif how == 2:
            lines = data.split(b"\n")
            for _ in range(rng.integers(1, 8)):
                lines.insert(int(rng.integers(0, len(lines) + 1)), NASTY[rng.integers(len(NASTY))])
            data = b"\n".join(lines)
        elif how == 3:
            place = int(rng.integers(0, len(data) + 1))
            data = data[:place] + NASTY[rng.integers(len(NASTY))] + data[place:]
        elif how == 4:
            data = data.replace(b"\n", (b"\r", b"\r\n", b" ", b"\n;\n")[rng.integers(4)])
        else:
            letters = b"GMXYZEFIJRNST0123456789.-+ *;()\n"
            data += bytes(letters[i] for i in rng.integers(0, len(letters), 200))
    return data


def outcome(path: Path, compiled: bool, stream: bool):
    """Return moves or the text of the error."""
    try:
        if not stream:
            return read_gcode(path, compiled=compiled)
        parts = list(stream_gcode(path, compiled=compiled))
        return sum(len(part.moves) for part in parts), parts[-1].unknown
    except InputError as fault:
        return str(fault)


def check(path: Path) -> str:
    """Read one file in every way; return how it ended."""
    words, fast = outcome(path, False, False), outcome(path, True, False)
    for stream in (outcome(path, False, True), outcome(path, True, True)):
        if isinstance(words, str):
            assert stream == words, (stream, words)
        else:
            assert stream == (len(words.moves), words.unknown), "a stream differs"
    if isinstance(words, str):
        assert fast == words, (fast, words)
        return words.split(": ", 1)[1][:40]
    assert (fast.stated, fast.unknown, fast.problems) == (words.stated, words.unknown, words.problems)
    for name, value in vars(words.moves).items():
        if isinstance(value, np.ndarray):
            np.testing.assert_allclose(getattr(fast.moves, name), value, rtol=1e-9, atol=1e-9, err_msg=name)
    summary = part_summary(words)
    assert np.isfinite(summary["time_s"])
    assert np.isfinite(summary["applied_time_s"])
    limits, _ = stated_limits(words.stated)
    one, other = (profile_moves(words.moves, limits, compiled=compiled) for compiled in (False, True))
    np.testing.assert_allclose(one.time_s, other.time_s, rtol=1e-6, atol=1e-9)
    laid = deposit_lagged(words.moves, one, 0.05, compiled=True)
    assert np.isfinite(laid.volume_mm3).all()
    return "read"


def main() -> None:
    """Fuzz until the time is over; print what happened and keep every file that failed."""
    minutes = float(sys.argv[1]) if len(sys.argv) > 1 else 10.0
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    rng, files = np.random.default_rng(seed), sources()
    ends: Counter[str] = Counter()
    worst_seconds, worst_bytes, failed = 0.0, 0, 0
    folder = Path(tempfile.mkdtemp(prefix="voidless-fuzz-"))
    path = folder / "f.gcode"
    path.write_bytes(files[0])
    check(path)
    until = time.monotonic() + 60.0 * minutes
    while time.monotonic() < until:
        data = damaged(files[rng.integers(len(files))], rng)
        path.write_bytes(data)
        scan_ahead.PIECE_BYTES = int(rng.choice([37, 1000, 1 << 20]))  # pieces meet anywhere, tables grow
        watch = rng.random() < 0.1
        if watch:
            tracemalloc.start()
        began = time.process_time()
        try:
            ends[check(path)] += 1
            spent = time.process_time() - began
            peak = tracemalloc.get_traced_memory()[1] if watch else 0
            worst_seconds, worst_bytes = max(worst_seconds, spent), max(worst_bytes, peak)
            assert watch or spent < SECONDS + SECONDS_A_BYTE * len(data), (
                f"{spent:.1f} s for {len(data)} bytes"
            )
            assert peak < BYTES + BYTES_A_BYTE * len(data), f"{peak / 1e6:.0f} MB for {len(data)} bytes"
        except Exception:  # noqa: BLE001 - whatever fails is a finding
            failed += 1
            kept = folder / f"failed-{failed}.gcode"
            kept.write_bytes(data)
            print(f"FAILED: {kept}\n{traceback.format_exc(limit=4)}")
        finally:
            if watch:
                tracemalloc.stop()
    print(f"{sum(ends.values())} files, seed {seed}; {failed} failed")
    print(f"longest {worst_seconds:.2f} s CPU, largest {worst_bytes / 1e6:.1f} MB")
    for text, count in ends.most_common(12):
        print(f"  {count:7d}  {text}")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
