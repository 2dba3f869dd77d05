"""What the makers of the scene add, gathered as bodies alone: no grains, no letters, one view."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from msgspec import field
from msgspec.structs import replace

from grading.geometry.arrays import Floats
from grading.geometry.facets import Surface
from viz.desk.model.parts import Gathered, Look, Role
from viz.scene.collect import Collected
from viz.scene.model import Label
from viz.scene.shell import Height, Mesh, Shape, Solid

VIEW = "slice"
"""The view of the scene that has everything in its place, heights as they are drawn larger."""

SHOWN = (VIEW,)

LABELLED = frozenset({VIEW, "finished"})

_PLAIN = {
    "turf": "lawn",
    "topsoil": "topsoil",
    "subsoil": "soil as it lies",
    "backfill": "soil put back",
    "foundation": "foundation of the house",
}


class Quick(Collected, frozen=True):
    """Bodies of the one view that is live; what is for another view is passed over.

    Attributes
    ----------
    gathered : Gathered
    area : str
        The area that they belong to; empty for none.
    role : Role
    told : mapping of str to str
        What is said of a body, by its name; by itself its name is.
    later : bool
        Whether they are told after the layers: see `Look.built`.
    """

    gathered: Gathered = field(default_factory=Gathered)
    area: str = ""
    role: Role = "soil"
    told: Mapping[str, str] = field(default_factory=dict)
    later: bool = False

    def built(self) -> Quick:
        """Return the same for what is told after the layers."""
        return replace(self, later=True)

    def of(self, role: Role, told: Mapping[str, str] | None = None) -> Quick:
        """Return the same for bodies of another role."""
        return replace(self, role=role, told=told or {})

    def add_solid(
        self, name: str, kind: str, solid: Solid, shown: Iterable[str], lift: float = 0.0,
        stands: float | None = None, before: int = 0, edged: bool = True,
    ) -> None:  # fmt: skip
        """Add a closed solid of a material."""
        if VIEW not in shown:
            return
        brief = _PLAIN.get(name, name)
        look = Look(
            name=f"{self.area}/{self.role}/{name}/{kind}", said=self.told.get(name, brief),
            brief=brief, role=self.role, kind=kind, lift=lift, stands=stands, before=before,
            built=self.later,
        )  # fmt: skip
        self.gathered.add(look, solid)

    def add_slab(
        self, name: str, kind: str, region: Shape, finish: Surface, depth: tuple[float, float],
        shown: Iterable[str], lift: float = 0.0,
    ) -> None:  # fmt: skip
        """Add a layer of even thickness over a region."""
        if VIEW in shown:
            super().add_slab(name, kind, region, finish, depth, shown, lift)

    def add_pattern(
        self, name: str, kind: str, tones: Iterable[str], meshes: Iterable[Mesh], height: Height,
        shown: Iterable[str], over: float = 0.0, lift: float = 0.0,
    ) -> None:  # fmt: skip
        """Leave out what is drawn on a surface."""

    def add_grains(
        self, name: str, kind: str, near: Shape, height: Height, shown: Iterable[str], seed: int,
        most: int = 0, over: float = 0.0, lift: float = 0.0,
    ) -> None:  # fmt: skip
        """Leave out grains: the page draws the surface of a material."""

    def add_label(
        self, words: str, at: Floats, kind: str, shown: Iterable[str], rank: int = 0,
        brief: str = "", stands: float | None = None,
    ) -> None:  # fmt: skip
        """Add words that belong to the live view."""
        shown = frozenset(shown)
        if shown & LABELLED:
            self.labels.append(Label(words, at, kind, shown, 0, rank, 0.0, stands, brief))
