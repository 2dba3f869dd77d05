"""The tables of a base system, as a site file or a crew's catalogue writes them.

The description of a key is also what its error message says was expected.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import (
    BeforeValidator,
    Field,
    StrictBool,
    ValidationInfo,
    field_validator,
    model_validator,
)

from grading.catalogue.bases import is_panel
from grading.files.fields import (
    Name,
    Reason,
    Size,
    Table,
    Thickness,
    UnfitError,
    at_most,
    each_at_most,
)
from grading.units import FOOT
from grading.units.measures import read_like

MOST_LAYERS = 12
"""Layers of a base system at the most. Common practice, no source: three to five are laid."""

# Sizes beyond which a bare number was hardly meant in feet or metres. Common practice, no source.
MOST_LAYER = 2 * FOOT
"""A layer of a base system. [m]"""
MOST_PANEL = 20 * FOOT
"""A side of a panel, which people carry. [m]"""

_ABOUT_PANELS = ("size", "mass", "price", "fixing")
"""Keys of a base system that are about its panels."""

_NO_SOURCE = (
    "the `source` of what is claimed of it",
    "Write who says so: the maker's data sheet with its number, or a test.",
)


def _with_unit(like: str) -> BeforeValidator:
    """Return a reader of measures that stand with their unit, of the kind of `like`."""

    def read(value: Any) -> float:
        if not isinstance(value, str):
            raise UnfitError(f'a measure with its unit, such as "{like}"')
        found = read_like(value, like)
        if found <= 0:
            raise UnfitError("more than zero", "Leave the key out where it is not known.")
        return found

    return BeforeValidator(read)


def _price(like: str) -> BeforeValidator:
    return BeforeValidator(lambda value: read_like(value, like))


class LayerSpec(Table):
    """One layer: its name, compacted thickness [m], and where unusual its material.

    `modulus` is that of a board in bending [Pa], as its maker states it.
    """

    name: Name = Field(description="the name of the layer in quotes")
    thickness: Annotated[Thickness, at_most(MOST_LAYER)] = Field(
        description='a thickness such as "6 in"'
    )
    material: Name | None = Field(None, description="the name of a material")
    modulus: Annotated[float, _with_unit("5 MPa")] | None = Field(
        None, description='the modulus of a panel in bending, such as "5 MPa" or "700 psi"'
    )

    @model_validator(mode="after")
    def _of_a_panel(self) -> Self:
        if self.modulus is not None and not is_panel(self):
            raise UnfitError(
                "a modulus of a panel: no other layer is reckoned by its stiffness",
                "Leave `modulus` out.",
                key="modulus",
            )
        return self


class FixingSpec(Table):
    """What a panel is fixed with, to the next or into the ground: its name, and how many each."""

    name: Name = Field(description='what it is ordered as, such as "locking pins"')
    each: Annotated[int, Field(ge=1, le=100)] = Field(
        description="how many a panel takes, 1 to 100"
    )
    price: Annotated[float, _price("0.35 /each")] | None = Field(
        None, description='the price of one, such as "0.35 /each"'
    )


class BaseSystemSpec(Table):
    """[[base]]: a base system of one's own, or a built-in one changed, from the top down.

    `wheels` rates it for them, which no base system is without a `source`; `size` [m], `mass` [kg],
    `price` and `fixing` are of one of its panels.
    """

    name: Name = Field(description="the name of the base system in quotes")
    layers: tuple[LayerSpec, ...] = Field(
        description='layers from the top down, as [{name = "paver", thickness = "2 3/8 in"}, ...]'
    )

    over: Literal["sound concrete"] | None = Field(
        None, description="what stays in the ground and carries the layers"
    )
    wheels: StrictBool = Field(False, description="whether it is made for wheels, true or false")
    source: Reason | None = Field(
        None, description="who says so, in quotes: a maker's data sheet with its number, or a test"
    )
    size: Annotated[tuple[Size, Size], each_at_most(MOST_PANEL)] | None = Field(
        None, description='length and width of a panel, as ["4 ft", "2 ft"]'
    )
    mass: Annotated[float, _with_unit("6 lb")] | None = Field(
        None, description='the weight of a panel, such as "6 lb"'
    )
    price: Annotated[float, _price("19 /panel")] | None = Field(
        None, description='the price of a panel, such as "19 /panel"'
    )
    fixing: FixingSpec | None = Field(
        None, description='what a panel is fixed with, as {name = "locking pins", each = 4}'
    )

    @field_validator("layers")
    @classmethod
    def _some(cls, layers: tuple[LayerSpec, ...]) -> tuple[LayerSpec, ...]:
        if not layers:
            raise UnfitError("at least one layer")
        if len(layers) > MOST_LAYERS:
            raise UnfitError(f"at most {MOST_LAYERS} layers", found=f"{len(layers)} layers")
        return layers

    @model_validator(mode="after")
    def _claims(self, info: ValidationInfo) -> Self:
        panels = any(map(is_panel, self.layers))
        for key in _ABOUT_PANELS:
            if getattr(self, key) is not None and not panels:
                raise UnfitError(
                    "a layer of panels for it to be about",
                    f"Leave `{key}` out, or name the layer of panels.",
                    found=f"`{key}` of a base system that has none",
                    key=key,
                )
        claimed = [
            *(["`wheels = true`"] if self.wheels else []),
            *(["a `modulus`"] if any(layer.modulus for layer in self.layers) else []),
            *(["a base of a catalogue"] if (info.context or {}).get("catalogue") else []),
        ]
        if claimed and self.source is None:
            expected, mend = _NO_SOURCE
            raise UnfitError(expected, mend, found=f"{claimed[0]} without one", key="source")
        return self
