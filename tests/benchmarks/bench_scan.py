"""How long a scan of ten million points takes beside nothing but decompressing it.

Run `PYTHONPATH=.:tests python tests/benchmarks/bench_scan.py`; read the ratios, which one machine
in one run makes comparable, and the peaks of memory, each that of a process of its own. Nothing
is asserted. Point formats 6 to 10 can be decoded in part, 0 to 5 cannot: one of each is tried.
`--count` for fewer points.
"""

from __future__ import annotations

import argparse
import resource
import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median
from time import perf_counter

import laspy
import numpy as np
from scans import Yard

from grading.survey.sources.las import open_las
from grading.survey.sources.scan import scanned_ground

FORMATS = (6, 3)


def write(path: Path, format_: int, count: int) -> None:
    """Write a LAZ file of a yard, with what a scanner tells of each point besides."""
    header = laspy.LasHeader(point_format=format_, version="1.4" if format_ > 5 else "1.2")
    header.scales, header.offsets = [0.001] * 3, [0.0] * 3
    rng = np.random.default_rng(3)
    with laspy.open(path, "w", header=header, laz_backend=laspy.LazBackend.LazrsParallel) as file:
        for seed in range(-(-count // 1_000_000)):
            size = min(1_000_000, count - seed * 1_000_000)
            xyz = Yard().scan(size, seed)
            points = laspy.ScaleAwarePointRecord.zeros(size, header=header)
            points.x, points.y, points.z = xyz.T
            points.intensity = rng.integers(0, 4096, size)
            points.gps_time = np.sort(rng.uniform(seed, seed + 1, size))
            file.write_points(points)


def decompressed(path: Path) -> float:
    """Return the seconds that decoding all of every point takes, on every processor."""
    start = perf_counter()
    with laspy.open(path, laz_backend=laspy.LazBackend.LazrsParallel) as file:
        for _ in file.chunk_iterator(1_000_000):
            pass
    return perf_counter() - start


def imported(path: Path) -> float:
    """Return the seconds that finding the ground takes, reading included."""
    start = perf_counter()
    scan = open_las(path, path.name)
    ground = scanned_ground([(scan, (1.0, 1.0))], "m")
    seconds = perf_counter() - start
    off = Yard().off(ground.xyz)
    print(
        f"    {len(ground.xyz)} nodes, bias {1e3 * off.mean():+.2f} mm, "
        f"rms {1e3 * np.sqrt((off**2).mean()):.2f} mm",
        file=sys.stderr,
    )
    return seconds


def peak(path: Path) -> float:
    """Return the most memory that a process which only imports takes. [MB]"""
    words = [sys.executable, __file__, "--only", str(path)]
    told = subprocess.run(words, capture_output=True, text=True, check=True)
    return float(told.stdout)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--count", type=int, default=10_000_000)
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--only", type=Path)
    arguments = parser.parse_args()
    if arguments.only:
        imported(arguments.only)
        print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
        return
    from scipy import ndimage  # noqa: F401 (loaded once, outside what is timed)

    with tempfile.TemporaryDirectory() as folder:
        for format_ in FORMATS:
            path = Path(folder) / f"format{format_}.laz"
            write(path, format_, arguments.count)
            runs = [(imported(path), decompressed(path)) for _ in range(arguments.runs)]
            ratios = [ours / theirs for ours, theirs in runs]
            size = path.stat().st_size / 1e6
            print(
                f"format {format_}, {arguments.count:,} points, {size:.0f} MB: "
                f"{median(each for each, _ in runs):.2f} s, "
                f"{median(ratios):.2f} times decompression, peak {peak(path):.0f} MB"
            )
            path.unlink()


if __name__ == "__main__":
    main()
