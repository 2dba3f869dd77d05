"""All base systems of an area built side by side, at the same part of the work in every frame."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from grading.order.sequence import BuildUp, Phase

PHASES: dict[Phase, str] = {
    "today": "Today",
    "dig": "Dig",
    "base": "Base",
    "pavers": "Pavers",
    "finish": "Finish",
}
"""The parts of the work, in order; in each of them all base systems stay together."""

WAITS: dict[Phase, str] = {
    "today": "",
    "dig": "Nothing to dig: what is there carries it",
    "base": "Done: ready for the pavers",
    "pavers": "Done: waits for the others",
    "finish": "Done",
}
"""What a base system is doing while another is not through with a part of the work."""


class Moment(Struct, frozen=True):
    """What one base system shows in one frame: the number of its step, and what it waits for."""

    step: int
    waits: str = ""


class Frame(Struct, frozen=True):
    """One frame of all base systems side by side, a moment of each."""

    phase: Phase
    moments: tuple[Moment, ...]


def in_step(built: Sequence[BuildUp]) -> tuple[Frame, ...]:
    """Return frames in which all base systems are at the same part of the work.

    Who is through with a part waits until the others are.

    Parameters
    ----------
    built : sequence of BuildUp
    """
    frames, done = [], [0] * len(built)
    for phase in PHASES:
        own = [[k for k, step in enumerate(each.steps) if step.phase == phase] for each in built]
        for number in range(max(map(len, own), default=0)):
            moments = []
            for k, numbers in enumerate(own):
                if number < len(numbers):
                    done[k] = numbers[number]
                    moments.append(Moment(done[k]))
                else:
                    moments.append(Moment(done[k], WAITS[phase]))
            frames.append(Frame(phase, tuple(moments)))
    return tuple(frames)
