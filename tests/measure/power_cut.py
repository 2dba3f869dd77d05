"""What a power cut would leave of folders at every step of writing into them.

A process of its own does the work once. Before each of its calls that changes a file or a name the
folders are copied: that is what is left when it is ended there. What it wrote and did not have
written down (fsync) may be lost with the power: of those bytes nothing or half is left in a second
and a third copy. Names are taken to be written down in their order, as file systems with a journal
do it.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import shutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

CHANGES = {
    "open": (0,), "os.rename": (0, 1), "os.link": (0, 1), "os.remove": (0,), "os.mkdir": (0,),
    "os.rmdir": (0,), "os.truncate": (0,), "os.symlink": (1,), "shutil.move": (0, 1),
}  # fmt: skip
"""Audit events of Python that change a file or a name, and which of their words are paths."""

SAFE = "safe.json"


class _Watch:
    def __init__(self, root: Path, into: Path) -> None:
        self.root, self.into, self.count, self.busy = root, into, 0, False
        self.safe = {self._key(each): each.stat().st_size for each in self._files()}

    def _files(self) -> list[Path]:
        return [each for each in self.root.rglob("*") if each.is_file() and not each.is_symlink()]

    @staticmethod
    def _key(path: Path) -> int:
        return path.stat().st_ino

    def told(self, event: str, words: tuple[object, ...]) -> None:
        if self.busy or event not in CHANGES:
            return
        if event == "open" and not (
            isinstance(words[2], int) and words[2] & (os.O_WRONLY | os.O_RDWR)
        ):
            return
        paths = [words[place] for place in CHANGES[event]]
        if any(isinstance(path, str | os.PathLike) and self._ours(path) for path in paths):
            self.copy()

    def _ours(self, path: str | os.PathLike[str]) -> bool:
        return str(os.path.abspath(path)).startswith(str(self.root))

    def flushed(self, handle: int, real: Callable[[int], None]) -> None:
        path = Path(os.readlink(f"/proc/self/fd/{handle}"))
        if self._ours(path) and path.is_file():
            self.copy()
            self.safe[self._key(path)] = path.stat().st_size
        real(handle)

    def copy(self) -> None:
        self.busy = True
        home = self.into / f"{self.count:03d}"
        shutil.copytree(self.root, home / "root", symlinks=True)
        safe = {
            str(each.relative_to(self.root)): self.safe.get(self._key(each), 0)
            for each in self._files()
        }
        (home / SAFE).write_text(json.dumps(safe))
        self.count += 1
        self.busy = False


def _work(root: Path, into: Path, work: Callable[[], object]) -> None:
    watch, real = _Watch(root, into), os.fsync
    sys.addaudithook(watch.told)
    os.fsync = lambda handle: watch.flushed(handle, real)
    status = work()
    watch.busy = True
    os._exit(int(status or 0))


def cut_states(
    root: Path, into: Path, work: Callable[[], object], status: int = 0
) -> Iterator[tuple[str, Path]]:
    """Do some work in a process of its own; yield what a cut at each step leaves, and its name.

    Parameters
    ----------
    root : Path
        The folder that is watched; its files are as they should be.
    into : Path
        Where the copies are made.
    work : callable
        Returns a status.
    status : int
        The one that it should return.
    """
    child = multiprocessing.get_context("fork").Process(target=_work, args=(root, into, work))
    child.start()
    child.join()
    assert child.exitcode == status
    for home in sorted(into.iterdir()):
        safe = json.loads((home / SAFE).read_text())
        yield f"{home.name} ended", home / "root"
        lost = {
            name: size for name, size in safe.items()
            if (home / "root" / name).stat().st_size > size
        }  # fmt: skip
        for part, share in (("nothing", 0.0), ("half", 0.5)) if lost else ():
            made = home / part
            shutil.copytree(home / "root", made, symlinks=True)
            for name, size in lost.items():
                whole = (made / name).stat().st_size
                os.truncate(made / name, size + int(share * (whole - size)))
            yield f"{home.name} {part}", made


def seen(folder: Path) -> dict[str, bytes]:
    """Return the files of a folder that a person sees, by their names."""
    return {
        str(each.relative_to(folder)): each.read_bytes()
        for each in sorted(folder.rglob("*"))
        if each.is_file()
        and not any(part.startswith(".") for part in each.relative_to(folder).parts)
    }
