"""The model as a window is shown it, change after change: at once, and then the whole of it."""

from __future__ import annotations

from viz.desk.model.bodies import Bodies, Stand, bodies_at_once, bodies_of, stand_for
from viz.desk.model.frame import Model
from viz.desk.model.telling import bare_model, looked_at, told_model
from viz.desk.seen import Seen


class Turning:
    """What a window was shown last, which the next model is made after."""

    def __init__(self) -> None:
        self._stand: Stand | None = None
        self._last: Bodies | None = None

    def at_once(self, seen: Seen) -> Model | None:
        """Return the model with what is built as it stood; None where it has to be whole.

        Parameters
        ----------
        seen : Seen
        """
        found = looked_at(seen)
        if found is None or seen.plan is None or self._last is None or seen.plan is self._last.plan:
            return None
        area, base = found
        stood, stand = self._last.stand, stand_for(seen.plan, area, self._last.stand)
        if stand.origin is not stood.origin or stand.factor != stood.factor:
            return None
        bodies = bodies_at_once(self._last, seen.plan, area, base)
        return None if bodies is None else told_model(bodies, seen)

    def whole(self, seen: Seen) -> Model | None:
        """Return the whole model; None where there is nothing to show.

        Parameters
        ----------
        seen : Seen
        """
        found = looked_at(seen)
        if found is None or seen.plan is None:
            self._last = None
            bare = bare_model(seen, self._stand)
            if bare is None:
                return None
            model, self._stand = bare
            return model
        area, base = found
        self._stand = stand_for(seen.plan, area, self._stand)
        self._last = bodies_of(seen.plan, area, base, self._stand)
        return told_model(self._last, seen)
