"""A real browser without a screen or a net, driven by its own debugging protocol over a pipe.

It answers when it has done what it was asked, so nothing here waits for a time: a page is looked
at when it says that it is ready, and after a press when frames come out with nothing moved.
"""

from __future__ import annotations

import base64
import io
import json
import os
import select
import shutil
import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from drive.patience import PATIENCE

CHROMIUM = next(
    (found for name in ("chromium", "chromium-browser", "google-chrome", "chrome")
     if (found := shutil.which(name))),
    None,
)  # fmt: skip
FLAGS = [
    "--headless", "--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader", "--disable-background-networking", "--disable-sync",
    "--disable-component-update", "--no-first-run", "--hide-scrollbars",
    "--host-resolver-rules=MAP * ~NOTFOUND", "--remote-debugging-pipe",
]  # fmt: skip

TOUCH = "--blink-settings=primaryPointerType=2,availablePointerTypes=2"
"""Fingers alone point."""

BLANK = "about:blank"

needs_browser = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium is installed here")

READY = """(async () => {
  while (!document.querySelector("[data-ready]")) await new Promise((done) => setTimeout(done, 20));
})()"""


class Browser:
    """A browser with one page open, until the end of its context.

    Parameters
    ----------
    page : Path
    folder : Path
        Where it keeps what it keeps.
    size : (2,) int
        Of its window, which without a screen is no narrower than 500. [pixels]
    flags : str
        More of the command line.
    """

    def __init__(self, page: Path, folder: Path, size: tuple[int, int], *flags: str) -> None:
        self.said: list[str] = []
        self._address = page.as_uri()
        self._count, self._left, self._session = 0, b"", {}
        (theirs, self._to), (self._from, ours) = os.pipe(), os.pipe()
        words = [str(CHROMIUM), *FLAGS, f"--user-data-dir={folder / 'user'}",
                 f"--window-size={size[0]},{size[1]}", *flags, BLANK]  # fmt: skip
        # By its own convention it reads from the fourth of its files and writes into the fifth.
        self._process = subprocess.Popen(
            ["bash", "-c", f'exec "$@" 3<&{theirs} 4>&{ours}', "browser", *words],
            pass_fds=(theirs, ours), stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )  # fmt: skip
        os.close(theirs)
        os.close(ours)

    def __enter__(self) -> Browser:
        try:
            pages: list[Any] = []
            while not pages:
                targets = self._call("Target.getTargets")["targetInfos"]
                pages = [each for each in targets if each["url"] == BLANK]
            found = self._call("Target.attachToTarget", targetId=pages[0]["targetId"], flatten=True)
            self._session = {"sessionId": found["sessionId"]}
            for room in ("Runtime", "Log", "Page"):
                self._call(f"{room}.enable")
            # Without a screen no window is in front, and what is not shows no focus.
            self._call("Emulation.setFocusEmulationEnabled", enabled=True)
            self._call("Page.navigate", url=self._address)  # answered when it is there
            self.told(READY)
        except BaseException:
            self.__exit__()
            raise
        return self

    def __exit__(self, *_: object) -> None:
        self._process.kill()
        self._process.wait()
        os.close(self._to)
        os.close(self._from)

    def told(self, script: str) -> Any:
        """Return what a script finds, when it has found it."""
        found = self._call(
            "Runtime.evaluate", expression=script, awaitPromise=True, returnByValue=True
        )
        assert "exceptionDetails" not in found, (found, self.said[-20:])
        return found["result"].get("value")

    def picture(self) -> Any:
        """Return what is seen, (height, width, 3) uint8."""
        from PIL import Image

        data = self._call("Page.captureScreenshot", format="png")["data"]
        with Image.open(io.BytesIO(base64.b64decode(data))) as image:
            return np.asarray(image.convert("RGB"))

    def _call(self, method: str, **parameters: Any) -> Any:
        self._count += 1
        asked = {"id": self._count, "method": method, "params": parameters, **self._session}
        os.write(self._to, json.dumps(asked).encode() + b"\0")
        while True:
            told = json.loads(self._message())
            if told.get("id") == self._count:
                assert "error" not in told, told
                return told["result"]
            if told.get("method") in ("Log.entryAdded", "Runtime.consoleAPICalled"):
                self.said.append(json.dumps(told["params"]))

    def _message(self) -> bytes:
        while b"\0" not in self._left:
            ready, _, _ = select.select([self._from], [], [], PATIENCE)
            more = os.read(self._from, 1 << 20) if ready else b""
            assert more, f"the browser ended or hangs: {self._process.poll()}, {self.said[-20:]}"
            self._left += more
        message, _, self._left = self._left.partition(b"\0")
        return message
