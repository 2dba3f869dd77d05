"""The survey as one table: every shot with how well it is known, and where it came from."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from grading.files.fields import array_of
from grading.geometry.arrays import Numbered
from grading.site.model import Reading, Spots


class Shot(Struct, frozen=True):
    """One place of the ground as it was measured.

    Attributes
    ----------
    name : str
        What the notes call it, empty where they give it no name.
    x, y, z : float
        Plan position and elevation, site axes. [m]
    sd_z, sd_xy : float
        Standard deviations of the elevation, and of the place along either axis. [m]
    source : str
        The file inside the site's folder that it was booked in.
    line : int
        The line of that file, from 1; 0 where it has none, as a node of a scan.
    code, note : str
    reading : Reading or None
        How it was read on a rod, where a level book tells.
    """

    name: str
    x: float
    y: float
    z: float
    sd_z: float
    sd_xy: float
    source: str
    line: int
    code: str = ""
    note: str = ""
    reading: Reading | None = None


class Survey(Struct, frozen=True, eq=False):
    """Shots of one or of several sources, a column each.

    Attributes
    ----------
    xyz : (n, 3) float
        Plan position and elevation, site axes. [m]
    sd_z, sd_xy : (n,) float
        Standard deviations of the elevation, and of the place along either axis. [m]
    sources : tuple of str
        The file that each shot was booked in.
    lines : sequence of int
        The line of that file, from 1; 0 where it has none.
    names, codes, notes : tuple of str
        Empty where there is none.
    readings : tuple of Reading or None
        How each was read on a rod, where a level book tells.
    """

    xyz: NDArray[np.float64]
    sd_z: NDArray[np.float64]
    sd_xy: NDArray[np.float64]
    sources: tuple[str, ...]
    lines: Sequence[int]
    names: tuple[str, ...]
    codes: tuple[str, ...]
    notes: tuple[str, ...]
    readings: tuple[Reading | None, ...]

    def __len__(self) -> int:
        return len(self.xyz)

    @classmethod
    def of(cls, shots: Iterable[Shot]) -> Survey:
        """Return a survey of shots, in their order."""
        rows = list(shots)
        return cls(
            xyz=array_of([(each.x, each.y, each.z) for each in rows]).reshape(-1, 3),
            sd_z=array_of([each.sd_z for each in rows]),
            sd_xy=array_of([each.sd_xy for each in rows]),
            sources=tuple(each.source for each in rows),
            lines=tuple(each.line for each in rows),
            names=tuple(each.name for each in rows),
            codes=tuple(each.code for each in rows),
            notes=tuple(each.note for each in rows),
            readings=tuple(each.reading for each in rows),
        )

    def spots(self, file: str = "") -> Spots:
        """Return the shots as the spots that a surface rests on, those without a name numbered.

        Parameters
        ----------
        file : str
            What to call the survey as a whole; that of the first shot where it is left out.
        """
        return Spots(
            xyz=self.xyz,
            ids=self._ids(),
            codes=self.codes,
            notes=self.notes,
            lines=self.lines,
            file=file or (self.sources[0] if self.sources else "survey"),
            own_ids=self.names if any(self.names) else (),
            sd_z=self.sd_z,
            sd_xy=self.sd_xy,
            sources=self.sources,
            readings=self.readings,
        )

    def _ids(self) -> Sequence[str]:
        """Return the name of each shot, its number from 1 on where it has none."""
        if not any(self.names):
            return Numbered(len(self))
        return tuple(own or str(number) for number, own in enumerate(self.names, start=1))


def joined(parts: Sequence[Survey]) -> Survey:
    """Return one survey of several, one after the other."""
    if len(parts) == 1:
        return parts[0]
    told = ("sources", "lines", "names", "codes", "notes", "readings")
    columns = {name: [each for part in parts for each in getattr(part, name)] for name in told}
    return Survey(
        array_of(np.concatenate([np.zeros((0, 3)), *(part.xyz for part in parts)])),
        array_of(np.concatenate([np.zeros(0), *(part.sd_z for part in parts)])),
        array_of(np.concatenate([np.zeros(0), *(part.sd_xy for part in parts)])),
        **{name: tuple(column) for name, column in columns.items()},
    )
