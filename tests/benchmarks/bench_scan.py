"""How long a scan of ten million points takes beside nothing but decompressing it.

Nothing is asserted. Point formats 6 to 10 can be decoded in part, 0 to 5 cannot: one of each is
tried.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from collections.abc import Iterable
from pathlib import Path

import laspy
import numpy as np
from make.sites.scans import Yard
from measuring import Row, peak, spent

from grading.survey.sources.readers.las import open_las
from grading.survey.sources.scans.streamed import scanned_ground

FORMATS = (6, 3)
SIZES = (1_000_000, 10_000_000)  # of fewer there is hardly any ground


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


def decompressed(path: Path) -> None:
    """Decode all of every point, on every processor."""
    with laspy.open(path, laz_backend=laspy.LazBackend.LazrsParallel) as file:
        for _ in file.chunk_iterator(1_000_000):
            pass


def imported(path: Path) -> None:
    """Find the ground, reading included, and say how well it was found."""
    scan = open_las(path, path.name)
    ground = scanned_ground([(scan, (1.0, 1.0))], "m")
    off = Yard().off(ground.xyz)
    print(
        f"{len(ground.xyz)} nodes, bias {1e3 * off.mean():+.2f} mm, "
        f"rms {1e3 * np.sqrt((off**2).mean()):.2f} mm",
        file=sys.stderr,
    )


def measure(count: int) -> Iterable[Row]:
    """Give the rows of one size: point formats 6 to 10 can be decoded in part, 0 to 5 cannot."""
    from scipy import ndimage  # noqa: F401 (loaded once, outside what is timed)

    with tempfile.TemporaryDirectory() as folder:
        for format_ in FORMATS:
            path = Path(folder) / f"format{format_}.laz"
            words = [sys.executable, __file__, str(path), str(format_), str(count)]
            subprocess.run(words, check=True)  # so that its memory is not counted as ours
            ours = spent(lambda path=path: imported(path))
            most = peak()
            theirs = spent(lambda path=path: decompressed(path))
            what = f"ground in a scan, LAZ of format {format_}"
            yield Row(what, count, ours, "nothing but unpacking it", theirs, most)
            path.unlink()


if __name__ == "__main__":
    write(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
