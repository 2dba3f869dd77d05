"""Drawing with VTK, alone in a process of its own, for as long as there is something to draw.

VTK ends the whole process where there is no OpenGL, which may not happen to the process of the
command. Started by `viz.pictures.child` as `python -m viz.pictures.render_worker`: each line of
standard input names the folder of a job, and each job that is done is answered by a line.
"""

from __future__ import annotations

import json
import os
import pickle
import queue
import sys
import traceback
from contextlib import suppress
from pathlib import Path
from threading import Thread

import numpy as np
from PIL import Image

from viz.pictures.drawing_room import DrawingRoom
from viz.pictures.job import DONE, Job

IDLE = 60.0
"""How long a child waits for another job. [s]"""


class _Drawer:
    """Does jobs, all in one window as long as pixels are looked at as often."""

    def __init__(self) -> None:
        self._rooms: dict[int, DrawingRoom] = {}

    def do(self, folder: Path) -> None:
        """Do the job in a folder, and leave its pictures there as they come."""
        job: Job = pickle.loads((folder / "job").read_bytes())
        if job.samples not in self._rooms:
            self._rooms[job.samples] = DrawingRoom(job.samples)
        room = self._rooms[job.samples]
        for number, (parts, eye, (wide, high)) in enumerate(job.stills):
            size = (wide * job.smoother, high * job.smoother)
            still = room.drawn(parts, eye, size, job.background)
            if job.smoother > 1:
                still = np.asarray(Image.fromarray(still).reduce(job.smoother))
            new = folder / f"{number}.npy"
            np.save(new, still)
            # Under its name it is there whole or not at all.
            new.replace(folder / "pieces" / new.name)


def main() -> None:
    """Do one job after the other until nobody wants more."""
    jobs: queue.SimpleQueue[str] = queue.SimpleQueue()
    Thread(target=_listen, args=(jobs,), daemon=True).start()
    drawer = _Drawer()
    with suppress(queue.Empty):
        while True:
            drawer.do(Path(json.loads(jobs.get(timeout=IDLE))))
            os.write(1, DONE)
    # Leaving at once: some drivers crash while they are unloaded, when all is done.
    os._exit(0)


def _listen(jobs: queue.SimpleQueue[str]) -> None:
    """Put jobs into the queue; end when the other end is closed, as when its holder is gone."""
    with suppress(OSError):
        rest = b""
        while come := os.read(0, 65536):
            *lines, rest = (rest + come).split(b"\n")
            for line in lines:
                jobs.put(line.decode("utf-8"))
    os._exit(1)


if __name__ == "__main__":
    try:
        main()
    except BaseException:
        traceback.print_exc()
        sys.stderr.flush()
        os._exit(1)
