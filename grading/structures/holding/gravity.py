"""How a wall that holds by its weight stands: what the earth thrusts, and what the wall withstands.

For a metre of wall. The thrust is Coulomb's, of dry soil without cohesion, behind a wall that
leans back against it. Water is never part of it: behind a wall that is not drained it thrusts more
than the soil, so where no way out for it is known nothing may be said.
"""

from __future__ import annotations

from math import atan2, cos, pi, sin, sqrt, tan

from msgspec import Struct

from grading.geometry.tolerances import NOTHING

_SECTIONS = 80  # golden sections: a plane is found to some 1e-17 of a right angle
_GOLDEN = (sqrt(5) - 1) / 2


class Earth(Struct, frozen=True):
    """Soil without cohesion: its angle of friction [rad], and its weight [N/m3]."""

    friction: float
    weight: float

    @property
    def on_wall(self) -> float:
        """The friction between it and a wall: two thirds of its own. [rad]"""
        return 2 / 3 * self.friction


class Body(Struct, frozen=True):
    """A wall in section.

    Attributes
    ----------
    height, depth : float
        Over all that stands above its pad, and from face to back. [m]
    lean : float
        How far it leans back from upright. [rad]
    weight : float
        Of what it is made of. [N/m3]
    """

    height: float
    depth: float
    lean: float
    weight: float

    @property
    def mass_force(self) -> float:
        """Its own weight. [N/m]"""
        return self.weight * self.depth * self.height


class Thrust(Struct, frozen=True):
    """What is behind a wall thrusts against it, in [N/m].

    Attributes
    ----------
    soil, surcharge : float
        Of the soil, a third of the height up, and of what stands on it, half of the height up.
    friction : float
        Of the soil on the wall. [rad]
    """

    soil: float
    surcharge: float
    friction: float


class Stability(Struct, frozen=True):
    """How a wall stands.

    Attributes
    ----------
    sliding, overturning : float
        What withstands over what drives. [ratio]
    toe : float
        The greatest pressure below its face; infinite where it falls. [Pa]
    at : float
        Where what it weighs comes down, from its toe; not above 0 where it falls. [m]
    across, down : float
        What thrusts against it across, and what of that presses down. [N/m]
    """

    sliding: float
    overturning: float
    toe: float
    at: float
    across: float
    down: float


def coulomb(friction: float, lean: float, on_wall: float, rise: float = 0.0) -> float:
    """Return Coulomb's coefficient of the active thrust of soil behind a wall.

    Parameters
    ----------
    friction : float
        Of the soil. [rad]
    lean : float
        How far the back of the wall leans away from upright, towards the soil. [rad]
    on_wall : float
        Friction of the soil on the wall. [rad]
    rise : float
        How steep the soil rises behind it. [rad]

    Notes
    -----
    Every handbook of soil mechanics has it; here the angle of the back counts positive where the
    wall leans back, as one of blocks set back course by course does.
    """
    root = sqrt(
        sin(friction + on_wall) * sin(friction - rise) / (cos(lean - on_wall) * cos(lean + rise))
    )
    return cos(friction + lean) ** 2 / (
        cos(lean) ** 2 * cos(lean - on_wall) * (1 + root) ** 2
    )  # fmt: skip


def thrust(earth: Earth, body: Body, surcharge: float, rise: float = 0.0) -> Thrust:
    """Return the thrust of one soil behind a wall, with what stands on it [Pa]."""
    share = coulomb(earth.friction, body.lean, earth.on_wall, rise)
    height = body.height
    return Thrust(earth.weight * share * height**2 / 2, surcharge * share * height, earth.on_wall)


def drained_thrust(
    stone: Earth, wide: float, earth: Earth, body: Body, surcharge: float
) -> tuple[Thrust, float]:
    """Return the thrust behind a wall with a strip of stone between it and the soil, and its plane.

    Parameters
    ----------
    stone : Earth
    wide : float
        The strip, from the back of the wall on. [m]
    earth : Earth
        What lies beyond it; all is weighed as that.
    body : Body
    surcharge : float
        What stands on it. [Pa]

    Returns
    -------
    Thrust, float
        The greatest over all planes from the heel, and how steep that plane is. [rad]

    Notes
    -----
    The trial wedge of every handbook: along a plane the tangents of both frictions count by how
    much of it lies in each. One material gives Coulomb's thrust. A strip is not stone all the way:
    its plane leaves the ground some two thirds of the height behind the wall.
    """
    lean, on_wall, height = body.lean, earth.on_wall, body.height

    def along(plane: float) -> float:
        out = 1 / tan(plane) - tan(lean)
        share = min(1.0, wide / (height * out)) if out > NOTHING else 1.0
        both = share * tan(stone.friction) + (1 - share) * tan(earth.friction)
        friction = atan2(both, 1.0)
        steep = plane - friction
        # What stands on the wedge presses on it as more of its own height does.
        return out * sin(steep) / cos(steep - on_wall + lean)

    low, high = earth.friction, pi / 2 - lean - NOTHING
    for _ in range(_SECTIONS):
        step = _GOLDEN * (high - low)
        if along(high - step) < along(low + step):
            low = high - step
        else:
            high = low + step
    plane = (low + high) / 2
    share = along(plane)
    return (
        Thrust(earth.weight * share * height**2 / 2, surcharge * share * height, on_wall),
        plane,
    )


def stability(
    body: Body, push: Thrust, sliding: float, cohesion: float = 0.0, pressed: bool = True
) -> Stability:
    """Return how a wall stands against a thrust.

    Parameters
    ----------
    body : Body
    push : Thrust
    sliding : float
        Friction under it. [ratio]
    cohesion : float
        Resistance under it for each area, on clay; at most half of what weighs on it counts.
        IBC 2012 1806.3.2, from memory. [Pa]
    pressed : bool
        Whether what the soil presses down on its back counts; left out is the stricter way.
    """
    height, depth, lean = body.height, body.depth, body.lean
    turned = push.friction - lean
    across_soil, across_top = push.soil * cos(turned), push.surcharge * cos(turned)
    down_soil, down_top = (
        (push.soil * sin(turned), push.surcharge * sin(turned)) if pressed else (0.0, 0.0)
    )
    across, down = across_soil + across_top, down_soil + down_top
    weighs = body.mass_force + down
    holds = sliding * weighs + min(cohesion * depth, weighs / 2)
    rights = (
        body.mass_force * (depth / 2 + height / 2 * tan(lean))
        + down_soil * (depth + height / 3 * tan(lean))
        + down_top * (depth + height / 2 * tan(lean))
    )
    turns = across_soil * height / 3 + across_top * height / 2
    at = (rights - turns) / weighs
    off = depth / 2 - at
    if at <= 0:
        toe = float("inf")
    elif abs(off) <= depth / 6:
        toe = weighs / depth * (1 + 6 * off / depth)
    else:
        toe = 2 * weighs / (3 * at)
    if across <= 0:
        return Stability(float("inf"), float("inf"), toe, at, across, down)
    return Stability(holds / across, rights / turns, toe, at, across, down)


def leaning(setback: float, course: float) -> float:
    """Return how far a wall leans back whose courses are set back by a length each. [rad]"""
    return atan2(setback, course)
