"""Whether this machine can draw in three dimensions, and how to make it seem that it cannot."""

from __future__ import annotations

import subprocess
import sys

import pytest
from drive.patience import PATIENCE

PROBE = """
import os, vtkmodules.vtkRenderingOpenGL2
from vtkmodules.vtkRenderingCore import vtkRenderWindow
window = vtkRenderWindow()
window.SetOffScreenRendering(1)
window.Render()
os._exit(0)
"""

NO_OPENGL = {"VTK_DEFAULT_OPENGL_WINDOW": "vtkOSOpenGLRenderWindow"}
"""Makes VTK look for a renderer that is not installed: what it does without any OpenGL."""


def opengl_is_here():
    done = subprocess.run([sys.executable, "-c", PROBE], capture_output=True, timeout=PATIENCE)
    return done.returncode == 0


needs_opengl = pytest.mark.skipif(
    not opengl_is_here(), reason="this machine has no OpenGL, so no picture can be drawn here"
)
