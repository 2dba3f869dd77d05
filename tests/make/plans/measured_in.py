"""A yard that is measured into the page, as far as its step sees it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from viz.desk.asked.survey import SURVEY_CALLS
from viz.desk.seen import Asked, Seen
from viz.desk.server.look import Looking
from viz.desk.written.document import Document, read_document

NEW = 'name = "Alder Row"\nunit = "ft"\n'


def seen_of(folder: Path, document: Document | None = None, whole: bool = False) -> Seen:
    """Return what the page sees of a folder."""
    found = document or read_document(folder)
    files = {name: text for name, text in found.texts.items() if name != "site.toml"}
    looking = Looking(folder, folder)
    seen = looking.first(looking.read(dict(found.written)), files, Asked(step="ground"), 1)
    return looking.rest() if whole else seen


def new_site(folder: Path, site: str = NEW, **texts: str) -> Path:
    """Write a site of nothing but these texts."""
    folder.mkdir(exist_ok=True)
    (folder / "site.toml").write_text(site)
    for name, text in texts.items():
        (folder / f"{name}.csv").write_text(text)
    return folder


def told(blocks: list[dict[str, Any]], kind: str) -> list[dict[str, Any]]:
    """Return every block of a kind, those within others too."""
    found = []
    for block in blocks:
        if block["kind"] == kind:
            found.append(block)
        found += told(block.get("blocks", []), kind)
        for item in block.get("items", []):
            found += told(item["blocks"], kind)
    return found


def asked(seen: Seen, call: str, /, **with_: Any) -> dict[str, Any]:
    """Return the answer to what the page asks by name."""
    return SURVEY_CALLS[call](seen, with_)
