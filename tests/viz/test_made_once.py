"""What several outputs show is staged and laid once for each base, whoever asks first."""

from __future__ import annotations

from collections import Counter

import pytest

import grading
import sample_sites
from grading.errors import CannotDraw
from grading.order.laid import pavers
from grading.price.model import price_of
from viz import outputs
from viz.export.formats import export
from viz.pictures import render
from viz.pictures.child import Outcome
from viz.scene import paint, slicing, staging
from viz.scene.layers import laid
from viz.sheets.homeowner.stills import before_and_after
from viz.terminal import report


def test_all_outputs_of_a_site_stage_and_lay_each_base_once(monkeypatch, tmp_path):
    plan = grading.plan(grading.read_site(sample_sites.path("flush-walk")))
    # What the words of a plan count again, they count with deeper topsoil; another way of a quote,
    # such as a step lower, is another plan, and may be laid otherwise.
    grading.record(plan), report.text(plan), report.surfaces(plan), price_of(plan).options
    calls: Counter[str] = Counter()

    def counted(module, name):
        own = getattr(module, name)

        def call(*given, **named):
            calls[name] += 1
            return own(*given, **named)

        monkeypatch.setattr(module, name, call)

    staged = ((staging, "add_yard"), (staging, "layer_labels"), (paint, "_add_folds"))
    shown = ((pavers, "_fields"), (laid, "paver_faces"))
    for module, name in (*staged, *shown, (slicing, "_labels")):
        counted(module, name)
    # What a child draws is not looked at, and drawings are none of this.
    monkeypatch.setattr(render, "done", lambda _: Outcome({}))
    monkeypatch.setattr(outputs, "write_drawings", lambda *_: None)

    outputs.write(plan, tmp_path / "all", lambda _: None, details=True)
    export(plan, tmp_path / "open", ("glb", "stl", "landxml"))
    with pytest.raises(CannotDraw):
        before_and_after(plan)

    bases = sum(len(area.digs) for area in plan.areas)
    assert [calls[name] for _, name in staged] == [bases] * len(staged)
    assert calls["_labels"] == slicing.STOPS * bases
    assert calls["_fields"] == 0, "the order has laid them"
    assert calls["paver_faces"] == bases
