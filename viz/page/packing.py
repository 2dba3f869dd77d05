"""The scene of a page written small: whole steps from number to number, which pack well."""

from __future__ import annotations

import base64
import io
import json
import zipfile
from typing import Any

import numpy as np

from viz.pictures.render_worker import FINE

INDEX = "index.json"


def small(packed: bytes) -> bytes:
    """Return a scene for the viewer with its arrays written as steps, as `unfold.js` reads them.

    Parameters
    ----------
    packed : bytes
        A zip file with one index, its arrays in base64: coordinates [m] that are whole steps of
        1/`FINE`, and cells of one kind to an array.

    Notes
    -----
    Neighbouring points and cells differ by little, and base64 hides that from the zip: written
    as differences down each column, the same scene takes less than half the room. No number
    changes.
    """
    with zipfile.ZipFile(io.BytesIO(packed)) as archive:
        index = json.loads(archive.read(INDEX))
    for each in index["hashes"].values():
        each.update(_steps(base64.b64decode(each.pop("content")), each["type"] == "Float32Array"))
    text = json.dumps(index, separators=(",", ":"))
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        archive.writestr(zipfile.ZipInfo(INDEX), text, zipfile.ZIP_DEFLATED, 9)
    return file.getvalue()


def _steps(content: bytes, points: bool) -> dict[str, Any]:
    """Return one array as steps down its columns, how many columns, and steps to a unit."""
    if points:
        whole = np.round(np.frombuffer(content, np.float32) * float(FINE)).astype(np.int64)
        columns = 3
    else:
        whole = np.frombuffer(content, np.int32).astype(np.int64)
        # A cell is written as how many corners it has, and then which.
        columns = int(whole[0]) + 1 if len(whole) else 1
    rows = whole.reshape(-1, columns)
    steps = np.diff(rows, axis=0, prepend=np.zeros((1, columns), np.int64))
    return {"columns": columns, "fine": FINE if points else 1, "steps": steps.T.ravel().tolist()}
