"""
Hand every reader damaged, shuffled and invented files for some minutes; each must end in results, a question or one clear error.

    python -m tests.nightly.fuzz_read --all --minutes 10 --processes 8
    python -m tests.nightly.fuzz_read --reader haze stack --minutes 1 --seed 7
    python -m tests.nightly.fuzz_read --reader haze --seed 7 --case 1234          one case again, with its traceback
    python -m tests.nightly.fuzz_read --all --minutes 1 --campaign                through `voidless read` of a campaign

Each reader runs in a process of its own. Without --campaign, files go to the readers and reductions alone, for which numpy,
scipy, Pillow, tifffile and openpyxl are enough. With it, they go through the command line, and a refused file must leave
the campaign exactly as it was. Exit 1 where something escaped, hung, died, was unclear, took over ten seconds of a core
(`longest s` is such time too, so that a busy machine makes nothing slow) or made its process hold over 4 GB.
"""

from __future__ import annotations

import argparse
import json
import math
import multiprocessing
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parents[1] / "src")]

from fuzz_seeds import Given, readers  # noqa: E402
from fuzz_ways import damaged  # noqa: E402

from voidless.measure.results import FileResult, RawFile, Status  # noqa: E402
from voidless.measure.take import take_files  # noqa: E402

SLOW_S = 10.0
HUGE_MB = 4000.0
PATIENCE_S = 60.0
"""How long after its time a reader may still be at one case before it counts as hung."""
Judge = Callable[[Given], str]
GOOD = ("stored", "asked", "refused")


@dataclass
class Tally:
    """How the cases of a reader ended, and which showed a fault."""

    reader: str
    ended: Counter[str] = field(default_factory=Counter)
    longest_s: float = 0.0
    peak_mb: float = math.nan
    escapes: list[tuple[int, str]] = field(default_factory=list)


def case(givens: Sequence[Given], seed: int, reader: str, number: int) -> Given:
    """Return the files of one case, one or two of them damaged: the same for the same seed, reader and number."""
    rng = np.random.default_rng([seed, sum(reader.encode()), number])
    given = givens[int(rng.integers(len(givens)))]
    files = list(given.files)
    for place in {int(rng.integers(len(files))) for _ in range(1 if rng.random() < 0.8 else 2)}:
        files[place] = RawFile(files[place].name, damaged(files[place].data, rng))
    return Given(tuple(files), given.answers)


def fault_of(found: FileResult) -> str:
    """Return what is wrong with a result as an answer to a person; empty where nothing is."""
    if found.status is Status.OK:
        numbers = [seen.value for seen in found.observations]
        numbers += [seen.uncertainty for seen in found.observations if seen.uncertainty is not None]
        if found.error is not None or found.questions or not all(map(math.isfinite, numbers)):
            return f"NOT WHOLE {numbers}"
        return ""
    if found.observations or found.build_facts or found.settings:
        return "RESULTS OF A REFUSED FILE"
    said = found.questions if found.status is Status.QUESTION else [found.error]
    if not said or not all(each is not None and each.where and each.what and each.expected for each in said):
        return f"UNCLEAR {found.error!r} {found.questions!r}"
    return ""


def judge_readers(given: Given) -> str:
    """Return how files ended that go to the readers alone."""
    results = take_files(given.files, given.answers)
    faults = [fault for found in results if (fault := fault_of(found))]
    if faults:
        return faults[0][:300]
    status = {found.status for found in results}
    return "refused" if Status.REFUSED in status else "asked" if Status.QUESTION in status else "stored"


def work(reader: str, seconds: float, seed: int, campaign: bool, at, pipe) -> None:
    """Try cases until the time is over; `at` always holds the number of the present one."""
    warnings.simplefilter("error")
    tally, givens = Tally(reader), readers()[reader]
    with tempfile.TemporaryDirectory() as place:
        judge: Judge = judge_readers
        if campaign:
            from fuzz_campaign import judge_in

            judge = judge_in(Path(place))
        until, number = time.monotonic() + seconds, 0
        while time.monotonic() < until:
            at.value = number
            given, started = case(givens, seed, reader, number), time.process_time()
            try:
                end = judge(given)
            except Exception:  # noqa: BLE001 - whatever escapes is what this script looks for
                end = "ESCAPED " + " | ".join(traceback.format_exc().strip().splitlines()[-3:])[:300]
            took = time.process_time() - started
            tally.longest_s = max(tally.longest_s, took)
            before, tally.peak_mb = tally.peak_mb, peak_mb()
            if took > SLOW_S and end in GOOD:
                end = f"SLOW {took:.0f} s"
            if tally.peak_mb > HUGE_MB and not before > HUGE_MB and end in GOOD:
                end = f"HUGE {tally.peak_mb:.0f} MB"
            if end not in GOOD:
                tally.escapes.append((number, end))
            tally.ended[end if end in GOOD else "escaped"] += 1
            number += 1
    pipe.send(tally)


def peak_mb() -> float:
    """Return the most memory that this process had, where the system says it. [MB]"""
    try:
        import resource
    except ImportError:
        return math.nan
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (
        1024.0 if sys.platform != "darwin" else 1024.0**2
    )


class Run:
    """A reader's process and what it tells."""

    def __init__(self, reader: str, args: argparse.Namespace) -> None:
        context = multiprocessing.get_context("spawn")
        self.reader, self.at = reader, context.Value("q", -1, lock=False)
        self.pipe, theirs = context.Pipe(duplex=False)
        seconds = 60.0 * args.minutes
        self.until = time.monotonic() + seconds + PATIENCE_S
        self.process = context.Process(
            target=work, args=(reader, seconds, args.seed, args.campaign, self.at, theirs), daemon=True
        )
        self.process.start()
        theirs.close()

    def tally(self) -> Tally | None:
        """Return the reader's tally once it is over; a process that hangs or died is a fault of its present case."""
        try:
            if self.pipe.poll():
                return self.pipe.recv()
        except EOFError:
            self.process.join()
            return self._lost(f"DIED with exit status {self.process.exitcode}")
        if time.monotonic() > self.until:
            self.process.kill()
            return self._lost("HANGS")
        return None

    def _lost(self, words: str) -> Tally:
        number = int(self.at.value)
        return Tally(self.reader, Counter({"escaped": 1}), escapes=[(number, words)])


def fuzz(names: Sequence[str], args: argparse.Namespace) -> list[Tally]:
    """Return the tallies of readers, so many at a time, each printed when it is over."""
    waiting, running, found = list(names), [], []
    print(f"seed {args.seed}, {args.minutes:g} min a reader, {len(names)} readers")
    print(
        f"{'reader':20} {'files':>8} {'errors':>8} {'asked':>7} {'stored':>7} {'longest s':>9} {'MB':>6} escapes"
    )
    while waiting or running:
        while waiting and len(running) < args.processes:
            running.append(Run(waiting.pop(0), args))
        for run in list(running):
            if (tally := run.tally()) is not None:
                running.remove(run)
                found.append(tally)
                show(tally, args.seed)
        time.sleep(0.05)
    return found


def show(tally: Tally, seed: int) -> None:
    """Print a reader's line, and how to see its faults again."""
    end = tally.ended
    print(
        f"{tally.reader:20} {sum(end.values()):8d} {end['refused']:8d} {end['asked']:7d} {end['stored']:7d} "
        f"{tally.longest_s:9.2f} {tally.peak_mb:6.0f} {len(tally.escapes)}",
        flush=True,
    )
    seen: set[str] = set()
    for number, words in tally.escapes:
        if words not in seen and len(seen) < 10:
            print(f"    --reader {tally.reader} --seed {seed} --case {number}: {words}", flush=True)
            seen.add(words)


def again(reader: str, seed: int, number: int) -> int:
    """Write the files of one case into a folder and read them once more, faults with their traceback."""
    given = case(readers()[reader], seed, reader, number)
    folder = Path(tempfile.mkdtemp(prefix="voidless-fuzz-"))
    for file in given.files:
        path = folder / file.name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(file.data)
    print(f"files in {folder}; answers {given.answers}")
    warnings.simplefilter("error")
    for found in take_files(given.files, given.answers):
        words = found.error or "; ".join(map(str, found.questions))
        print(found.file, found.taken_for, found.status, words, fault_of(found))
    return 0


def arguments() -> argparse.Namespace:
    """Return what the command line says."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--all", action="store_true", help="every reader")
    parser.add_argument("--reader", nargs="+", default=[], metavar="NAME", help="these readers alone")
    parser.add_argument("--minutes", type=float, default=10.0, help="time of each reader")
    parser.add_argument("--processes", type=int, default=2, help="readers at a time")
    parser.add_argument("--seed", type=int, default=int(time.time()), help="another seed, other files")
    parser.add_argument("--case", type=int, help="one case of one reader again")
    parser.add_argument("--campaign", action="store_true", help="through `voidless read` of a campaign")
    parser.add_argument("--json", type=Path, help="file to write the tallies to")
    args = parser.parse_args()
    known = list(readers())
    unknown = [name for name in args.reader if name not in known]
    if unknown or args.all == bool(args.reader):
        parser.error(f"--all, or --reader with some of: {' '.join(known)}")
    return args


def main() -> int:
    """Run, and return 1 where a fault was found."""
    args = arguments()
    if args.case is not None:
        return again(args.reader[0], args.seed, args.case)
    found = fuzz(list(readers()) if args.all else args.reader, args)
    faults = sum(len(tally.escapes) for tally in found)
    files = sum(sum(tally.ended.values()) for tally in found)
    print(f"{len(found)} readers, {files} files, {faults} escapes")
    if args.json:
        told = [
            {"reader": t.reader, **t.ended, "longest_s": t.longest_s, "escapes": t.escapes} for t in found
        ]
        args.json.write_text(json.dumps({"seed": args.seed, "readers": told}, indent=1), encoding="utf-8")
    return int(faults > 0)


if __name__ == "__main__":
    sys.exit(main())
