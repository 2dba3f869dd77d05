"""Base systems as data, the layers they give from the top down, and what rules call them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache, cached_property
from typing import Protocol

from msgspec import Struct
from msgspec.structs import replace

from grading.catalogue.edge_kinds import EdgeKind, edge_kinds
from grading.catalogue.rules import Limits
from grading.catalogue.tables import table
from grading.units import Unit, read_length


class Layer(Struct, frozen=True):
    """One layer: its name, role, material, compacted thickness [m], and whether it spreads.

    A layer that spreads is laid over the whole over-dug hole; the others end with the paving.
    `modulus` is that of a panel in bending [Pa], None where its maker states none.
    """

    name: str
    role: str
    material: str
    thickness: float
    spreads: bool
    modulus: float | None = None


class Fixing(Struct, frozen=True):
    """What a panel is fixed with: its name, how many each takes, and the price of one [money].

    The price is None where none is written.
    """

    name: str
    each: int
    price: float | None


class Panel(Struct, frozen=True):
    """What is written of a panel: sides [m], mass [kg], price [money], fixing; None where not."""

    size: tuple[float, float] | None
    mass: float | None
    price: float | None
    fixing: Fixing | None


class BaseSystem(Struct, frozen=True, dict=True):
    """A build-up of layers, from the paver down to the subgrade.

    `over` names what stays in the ground and carries the layers; empty where soil does. `plain`
    says in plain words what it is. `wheels` rates it for them, by `source`, which is also that of
    all else that is claimed of it. `panel` is what is written of its panels, None where nothing is.
    `edge` names what is laid along its free edge, empty where that is not decided.
    """

    name: str
    title: str
    layers: tuple[Layer, ...]
    over: str = ""
    plain: str = ""
    wheels: bool = False
    source: str = ""
    panel: Panel | None = None
    edge: str = ""

    @property
    def called(self) -> str:
        """Its title within a sentence; a site's own name for it as it was written."""
        return self.title if self.title == self.name else self.title.lower()

    @cached_property
    def build_up(self) -> float:
        """Finish to subgrade. [m]"""
        return sum(layer.thickness for layer in self.layers)

    @cached_property
    def base_thickness(self) -> float:
        """Thickness of the layers of stone that carry the load; 0 on panels. [m]"""
        return sum(layer.thickness for layer in self.layers if layer.role == "base")

    @property
    def on_panels(self) -> bool:
        """Whether panels stand in the place of stone."""
        return any(layer.role == "panel" for layer in self.layers)

    @cached_property
    def board(self) -> Layer | None:
        """The panel whose modulus is stated; None where none is."""
        return next((layer for layer in self.layers if layer.modulus is not None), None)

    @property
    def panels(self) -> str:
        """What its panels are ordered as: an item of their own where they are told of."""
        return "panels" if self.panel is None else f"panels of {self.name}"

    @property
    def fixings(self) -> str:
        """What its panels' fixings are ordered as."""
        return f"fixings of {self.name}"

    @property
    def walked_on(self) -> bool:
        """Whether what the pavers lie on may be walked on while they are laid: no screeded bed."""
        below = (layer.role for layer in self.layers if layer.role not in ("paver", "geotextile"))
        return next(below, "") != "bedding"

    @property
    def edge_kind(self) -> EdgeKind | None:
        """How its edge is laid; None where that is not decided."""
        return edge_kinds().get(self.edge)

    def with_edge(self, edge: str) -> BaseSystem:
        """Return it with an edge: where panels are cut flush with it, they end with the pavers.

        Stone goes on beyond the paving all the same, for an edge stands on it.
        """
        layers = self.layers
        if self.on_panels and edge_kinds()[edge].flush:
            layers = tuple(
                replace(layer, spreads=layer.spreads and layer.role == "base") for layer in layers
            )
        return replace(self, layers=layers, edge=edge)

    @property
    def above_edge(self) -> float:
        """How far below the finish its edge stands: on what goes on beyond the paving. [m]"""
        return sum(layer.thickness for layer in self.layers if not layer.spreads)

    def over_dig(self, limits: Limits) -> float:
        """Return how far the hole reaches beyond the edge of the paving. [m]

        What goes on beyond it carries the edge; where nothing does, the hole is as wide as the
        edge itself, and where a wall holds the edge, that is the wall's own.
        """
        kind = self.edge_kind
        if self.over or (kind is not None and kind.nothing):
            return 0.0
        width = limits[kind.width] if kind is not None and kind.width else 0.0
        if kind is not None and kind.flush and self.on_panels and not self.base_thickness:
            return width
        return max(limits["over-dig"], self.base_thickness, width)

    def tops(self) -> tuple[float, ...]:
        """Return the depth of each layer's top below the finish. [m]"""
        depths, depth = [], 0.0
        for layer in self.layers:
            depths.append(depth)
            depth += layer.thickness
        return tuple(depths)


class LayerWritten(Protocol):
    """What a site writes of one layer."""

    @property
    def name(self) -> str: ...  # noqa: D102
    @property
    def thickness(self) -> float: ...  # noqa: D102
    @property
    def material(self) -> str | None: ...  # noqa: D102


class SystemWritten(Protocol):
    """What a site writes of one base system."""

    @property
    def name(self) -> str: ...  # noqa: D102
    @property
    def layers(self) -> tuple[LayerWritten, ...]: ...  # noqa: D102


@cache
def _catalogue(nominal: Unit) -> dict[str, BaseSystem]:
    systems = {}
    key = "metric" if nominal == "m" else "thickness"
    for entry in table("catalogue", "base_systems")["base"]:
        layers = tuple(
            Layer(
                name=layer["name"],
                role=layer["role"],
                material=layer["material"],
                thickness=read_length(layer[key], "m"),
                spreads=layer.get("spreads", False),
            )
            for layer in entry["layers"]
        )
        systems[entry["name"]] = BaseSystem(
            entry["name"], entry["title"], layers, plain=entry["plain"]
        )
    return systems


def catalogue_names() -> tuple[str, ...]:
    """Return the names of the base systems built in."""
    return tuple(_catalogue("ft"))


def layer_names() -> frozenset[str]:
    """Return the names of the layers of the base systems built in."""
    return frozenset(layer.name for each in _catalogue("ft").values() for layer in each.layers)


# What a layer's name tells of it, the first that matches; a site may also name the material.
_BY_WORD: tuple[tuple[str, str, str], ...] = (
    ("paver", "paver", "paver"),
    ("slab", "paver", "paver"),
    ("panel", "panel", "panel"),
    ("board", "panel", "panel"),
    ("chip", "bedding", "chips"),
    ("bedding", "bedding", "bedding sand"),
    ("sand", "bedding", "bedding sand"),
    ("fabric", "geotextile", "geotextile"),
    ("geotextile", "geotextile", "geotextile"),
    ("open", "base", "open-graded"),
    ("clean", "base", "open-graded"),
)


def _as_named(written: LayerWritten) -> tuple[str, str]:
    words = f"{written.name} {written.material or ''}".lower()
    return next(
        ((role, material) for word, role, material in _BY_WORD if word in words),
        ("base", "dense-graded"),
    )


def is_panel(written: LayerWritten) -> bool:
    """Return whether a layer as written is one of panels."""
    return _as_named(written)[0] == "panel"


def _panel_written(system: SystemWritten) -> Panel | None:
    size, mass, price, fixing = (
        getattr(system, key, None) for key in ("size", "mass", "price", "fixing")
    )
    if size is None and mass is None and price is None and fixing is None:
        return None
    fixed = None if fixing is None else Fixing(fixing.name, fixing.each, fixing.price)
    return Panel(size, mass, price, fixed)


def _layer_written(written: LayerWritten, below_panel: bool) -> Layer:
    role, material = _as_named(written)
    # Bedding under a panel carries it to its edge; bedding over a base ends with the pavers.
    spreads = role in ("base", "panel", "geotextile") or below_panel
    return Layer(
        written.name, role, written.material or material, written.thickness, spreads,
        getattr(written, "modulus", None),
    )  # fmt: skip


def base_systems(
    written: Iterable[SystemWritten], nominal: Unit = "ft"
) -> Mapping[str, BaseSystem]:
    """Return the base systems to compare: those built in, and a site's own in their place.

    Parameters
    ----------
    written : iterable of SystemWritten
        The site's own base systems; one with the name of a built-in system replaces it.
    nominal : "ft" or "m"
        What those built in are round in: parts of an inch, or millimetres.
    """
    systems = dict(_catalogue(nominal))
    for system in written:
        layers: list[Layer] = []
        for layer in system.layers:
            below_panel = any(above.role == "panel" for above in layers)
            layers.append(_layer_written(layer, below_panel))
        known = systems.get(system.name)
        below = [layer.name for layer in layers if layer.role != "paver"]
        systems[system.name] = BaseSystem(
            system.name,
            known.title if known else system.name,
            tuple(layers),
            getattr(system, "over", None) or "",
            known.plain if known else " on ".join(below),
            getattr(system, "wheels", False),
            getattr(system, "source", None) or "",
            _panel_written(system),
        )
    return systems


def swells() -> Mapping[str, float]:
    """Return loose over bank less one, for each soil and for organics. [-]"""
    return {name: float(entry["swell"]) for name, entry in table("catalogue", "soils").items()}


def shrinks() -> Mapping[str, float]:
    """Return compacted over bank, for each soil and for organics. [-]"""
    return {name: float(entry["shrink"]) for name, entry in table("catalogue", "soils").items()}


def heave_words(soil: str) -> str:
    """Return how readily a soil heaves in frost where it is wet, in words.

    Source: the frost groups of the US Army's TM 5-818-2 (from memory).
    """
    return str(table("catalogue", "soils")[soil]["heave"])


def tags_of(system: BaseSystem) -> frozenset[str]:
    """Return what rules call a base system: dense, open, panel, overlay; a hybrid is several."""
    found = {"panel"} if system.on_panels else set()
    stone = [layer.material for layer in system.layers if layer.role == "base"]
    found |= {"open" if material == "open-graded" else "dense" for material in stone}
    return frozenset(found | ({"overlay"} if system.over else set()))
