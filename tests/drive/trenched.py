"""The page of the trench in a real browser: its sums by themselves, and its file opened offline."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from drive.browser import FilePage, browsing, windowed
from drive.paged import AXE

from viz.one_file import one_script

SUMS = ("desk/web/field/rods.js", "desk/web/field/kept.js")


@contextmanager
def sums() -> Iterator[Any]:
    """Give what runs JavaScript beside the sums of the trench: called with code and an argument."""
    with browsing() as chromium:
        page = chromium.new_page()
        script = one_script(SUMS)
        yield lambda code, told: page.evaluate(f"(told) => {{ {script}\n return ({code})(told); }}",
                                               told)  # fmt: skip


class Opened(FilePage):
    """The file of the crew, opened from the disk."""

    def __init__(self, chromium: Any, file: Path, size: tuple[int, int], **told: Any) -> None:
        super().__init__(windowed(chromium, size, offline=True, **told), file)

    def stored(self, count: int) -> None:
        """Wait until so much was stored since the page was opened."""
        self.page.locator(f'[data-stored="{count}"]').wait_for()

    def set_up(self, benchmark: str, reading: str) -> None:
        """Set the instrument up."""
        if not self.page.get_by_role("button", name="Set it up here").count():
            self.page.locator("[data-key=moved]").click()
        self.page.locator(f'[data-key="choice {benchmark}"]').click()
        self.page.get_by_role("textbox", name="Reading").fill(reading)
        self.page.get_by_role("button", name="Set it up here").click()

    def judged(self) -> list[str]:
        """Return what axe finds that is serious or critical; the page must let its script in."""
        if not self.page.evaluate("'axe' in window"):
            self.page.add_script_tag(content=AXE.read_text(encoding="utf-8"))
        found = self.page.evaluate("axe.run()")
        return [f"{each['id']}: {each['nodes'][0]['html'][:120]}" for each in found["violations"]
                if each["impact"] in ("serious", "critical")]  # fmt: skip

    def key(self, name: str) -> None:
        """Press a key by what it is."""
        self.page.locator(f'[data-key="{name}"]').click()
