"""A scene as PyVista and trame hand it over to the viewer in a browser: another route to the page.

The exporter changes the event loop for good, so it is run in a process of its own:
`python tests/handedover.py JOB RESULT`, where JOB holds parts and where the eye stands, pickled.
"""

from __future__ import annotations

import asyncio
import os
import pickle
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]


def handed_over(parts, eye, folder):
    """Return the scene of parts, as bytes, made by PyVista and trame."""
    job, result = folder / "job", folder / "result"
    job.write_bytes(pickle.dumps((parts, eye)))
    # trame reads our command line; with this it reads this instead. It keeps a cache at home.
    own = {"PYTHONPATH": str(ROOT), "TRAME_ARGS": "--server", "HOME": str(folder)}
    command = [sys.executable, __file__, str(job), str(result)]
    subprocess.run(command, env=os.environ | own, check=True, capture_output=True)
    return result.read_bytes()


def main(job, result):
    from trame_pyvista.jupyter import launch_server

    from viz.pictures.render import BACKGROUND
    from viz.pictures.render_worker import _plotter

    parts, eye = pickle.loads(job.read_bytes())
    plotter, _ = _plotter(parts, eye, (400, 300), BACKGROUND)

    async def exported():
        await launch_server().ready
        return bytes(plotter.trame.export_vtksz(filename=None))

    result.write_bytes(asyncio.run(exported()))
    sys.stdout.flush()
    os._exit(0)


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
