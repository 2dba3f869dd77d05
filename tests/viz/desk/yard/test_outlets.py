"""Where water goes: a drain is refused without an outlet, so the page brings one with it."""

from __future__ import annotations

import json
import shutil
import subprocess
from importlib.resources import files

import pytest
from make.plans.looked_at import every_block
from make.sites.site_folder import AREA, HEAD, write_site

from grading.errors import SiteError
from grading.reading.partly import read_partly
from grading.reading.site_file import read_written
from viz.desk.blocks import Change, Choice, Tool
from viz.desk.seen import Seen
from viz.desk.steps import water
from viz.desk.written.document import read_document
from viz.desk.yard.lists import water_blocks

LOWER = '[[outfall]]\nname = "{}"\nkind = "{}"\nat = [{}]\n'


def seen_of(folder, text):
    write_site(folder, HEAD + AREA + text)
    document = read_document(folder)
    return document, Seen(folder, document.written, read_partly(folder, document.written)[0])


def drain_option(blocks):
    (kind,) = (each for each in every_block(blocks)
               if isinstance(each, Choice) and each.at == "outfall/0/kind")  # fmt: skip
    return next(each for each in kind.options if each.to == "drain")


def test_a_place_that_becomes_a_drain_brings_an_outlet_where_the_yard_has_none(tmp_path):
    document, seen = seen_of(tmp_path, LOWER.format("low", "lawn", "16, 18"))
    with pytest.raises(SiteError, match=r"outfall\[1\]\.outlet: found nothing, and no place that"):
        read_written(tmp_path, document.changed([Change("outfall/0/kind", "drain")]).written)
    for blocks in (water.step(seen).blocks, water_blocks(seen)):
        option = drain_option(blocks)
        assert "its pipe comes out" in option.note
        drain, lawn = read_written(tmp_path, document.changed(option.changes).written).outfalls
        assert (drain.kind, lawn.kind) == ("drain", "lawn")


def test_no_outlet_is_brought_where_there_is_one_or_none_is_asked_for(tmp_path):
    swale = LOWER.format("swale", "swale", "[2, 28], [9, 28]")
    far = LOWER.format("basin", "lawn", "16, 27")
    for number, text in enumerate((LOWER.format("low", "lawn", "16, 18") + swale, far)):
        (tmp_path / str(number)).mkdir()
        _, seen = seen_of(tmp_path / str(number), text)
        assert drain_option(water_blocks(seen)).changes is None


def drawn(told, points, answers):
    """Return what the plan of the page writes for points that were tapped."""
    script = files("viz.desk").joinpath("web/plan/tools.js")
    run = f"""import {{ WAYS }} from {json.dumps(script.as_uri())};
    const made = WAYS["draw-drain"].made({{ points: {json.dumps(points)},
      answers: {json.dumps(answers)}, told: {json.dumps(told)}, plan: {{ unit: "ft" }} }});
    console.log(JSON.stringify(made.changes));"""
    made = subprocess.run(["node", "--input-type=module", "-e", run], capture_output=True,
                          text=True, check=True)  # fmt: skip
    return [Change(each["at"], each["to"], each["do"]) for each in json.loads(made.stdout)]


@pytest.mark.skipif(shutil.which("node") is None, reason="nothing here runs a module by itself")
def test_a_drain_is_drawn_with_its_outlet_where_the_yard_has_none(tmp_path):
    document, seen = seen_of(tmp_path, "")
    (tool,) = (each for each in water_blocks(seen)
               if isinstance(each, Tool) and "drain" in each.label)  # fmt: skip
    assert tool.label == "Add a drain, and where its pipe comes out"
    metres = [[5.0, 8.0], [2.0, 5.4], [5.0, 5.4]]
    changes = drawn(tool.told, metres, {"name": "channel"})
    lawn, drain = read_written(tmp_path, document.changed(changes).written).outfalls
    assert (drain.name, drain.outlet, lawn.kind) == ("channel", lawn.name, "lawn")
