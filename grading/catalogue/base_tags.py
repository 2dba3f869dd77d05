"""What the rules of suitability call a base system."""

from __future__ import annotations

from grading.catalogue.bases import BaseSystem


def tags_of(system: BaseSystem) -> frozenset[str]:
    """Return what rules call a base system: dense, open, panel, overlay; a hybrid is several."""
    found = {"panel"} if system.on_panels else set()
    stone = [layer.material for layer in system.layers if layer.role == "base"]
    found |= {"open" if material == "open-graded" else "dense" for material in stone}
    return frozenset(found | ({"overlay"} if system.over else set()))
