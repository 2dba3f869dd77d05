"""Where yards are planned: on the processors of this machine, or on a cluster.

joblib, because the same call hands out work to threads here, each with a process of its own, and
by Dask to other machines, which hands on what a lost machine had begun.
"""

from __future__ import annotations

import logging
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager, suppress
from typing import Any

from grading.errors import Problem, SiteError
from viz import VERSION
from viz.many.apart import LIMIT, end_idle, planned_apart, planners, version_here
from viz.many.frames import Answer, Job

ANSWERED_IN = 10.0
"""How long a scheduler may take to answer, and to have a worker. [s]"""

_AHEAD = "2 * n_jobs"
"""Yards that are handed out: their files are held meanwhile."""


@contextmanager
def planned_here(jobs: Iterable[Job]) -> Iterator[Iterator[Answer]]:
    """Give what becomes of yards as they are planned, on every processor of this machine.

    Parameters
    ----------
    jobs : iterable of Job
        Taken as there is room.
    """
    from joblib import parallel_config

    with planners(), parallel_config(backend="threading"), closing(_answers(jobs)) as answers:
        yield answers


@contextmanager
def planned_on(address: str, jobs: Iterable[Job]) -> Iterator[Iterator[Answer]]:
    """Give what becomes of yards as they are planned, on the workers of a Dask cluster.

    Parameters
    ----------
    address : str
        Of its scheduler, "tcp://192.0.2.10:8786".
    jobs : iterable of Job
        Taken as there is room.

    Raises
    ------
    SiteError
        No Dask here, nobody at the address, or workers that cannot plan; while it is iterated, a
        cluster that is lost.
    """
    client = _client(address)
    from joblib import parallel_config

    try:
        _check_workers(address, client)
        workers = parallel_config(backend=_backend(client))
        with workers, closing(_answers(jobs, 2 * LIMIT)) as answers:
            yield _unless_lost(address, client, answers)
        with suppress(Exception):  # they end with their worker at the latest
            client.run(end_idle)
    finally:
        with suppress(Exception):
            client.close(ANSWERED_IN)


def _answers(jobs: Iterable[Job], patience: float | None = None) -> Any:
    from joblib import Parallel, delayed

    # One by one: a yard that hangs keeps none back, and one that a worker lost is alone.
    parallel = Parallel(
        n_jobs=-1, batch_size=1, pre_dispatch=_AHEAD, return_as="generator_unordered",
        timeout=patience,
    )  # fmt: skip
    return parallel(delayed(planned_apart)((job,), VERSION) for job in jobs)


def _backend(client: Any) -> Any:
    """Return joblib's own way to a cluster, which hands out to a single processor there too.

    Of itself joblib would do the work of one processor here, in the process of the command.
    """
    from joblib._dask import DaskDistributedBackend

    class Cluster(DaskDistributedBackend):  # type: ignore[misc]
        def effective_n_jobs(self, n_jobs: int) -> int:
            return max(int(super().effective_n_jobs(n_jobs)), 2)

    return Cluster(client=client, wait_for_workers_timeout=ANSWERED_IN)


def _client(address: str) -> Any:
    try:
        from distributed import Client
    except ImportError:
        found = "a Python without Dask"
        mend = "Install it: pip install 'fallaway[cluster]'"
        raise SiteError([Problem(f"--on {address}", found, "one that has it", mend)]) from None
    # Of what it says itself each is said by us in a sentence, or is none of a person's business.
    for name in [*logging.root.manager.loggerDict]:
        if name.partition(".")[0] in ("distributed", "tornado"):
            logging.getLogger(name).setLevel(logging.CRITICAL + 1)
    expected = "the address that `dask scheduler` prints, such as tcp://192.0.2.10:8786"
    where, found = f"--on {address}".rstrip(), "no address"
    # Handed no address it would start workers of its own.
    if _is_address(address):
        found = "nothing that answers as a scheduler does"
        with suppress(OSError, ValueError):
            return Client(address, timeout=ANSWERED_IN, set_as_default=False)
    raise SiteError([Problem(where, found, expected)])


def _is_address(words: str) -> bool:
    from distributed.comm import get_address_host_port, parse_address, registry

    try:
        scheme, place = parse_address(words)
        registry.get_backend(scheme)
        return bool(place) and get_address_host_port(words)[1] > 0
    except ValueError:
        return False


def _check_workers(address: str, client: Any) -> None:
    """Refuse a cluster with no workers, or with one that has another fallaway or none."""
    mend = f"Start them with `dask worker {address}`, fallaway installed beside it."
    try:
        client.wait_for_workers(1, timeout=ANSWERED_IN)
    except TimeoutError:
        raise SiteError([Problem(f"--on {address}", "no worker", "one or more", mend)]) from None
    expected = f"fallaway {VERSION} on every worker"
    try:
        versions = client.run(version_here)
    except Exception:  # of whatever kind the worker met: the function is found there or not
        found = "a worker that has no such fallaway"
        raise SiteError([Problem(f"--on {address}", found, expected, mend)]) from None
    others = sorted(set(versions.values()) - {VERSION})
    if others:
        found = f"fallaway {', '.join(others)}"
        raise SiteError([Problem(f"--on {address}", found, expected, mend)])


def _unless_lost(address: str, client: Any, answers: Iterator[Answer]) -> Iterator[Answer]:
    while True:
        try:
            answer = next(answers)
        except StopIteration:
            return
        except Exception as error:
            if client.status == "running" and not isinstance(error, TimeoutError):
                raise
            answer = None
        # Work that nobody does any more comes back as something else than an answer.
        if not isinstance(answer, Answer):
            found = "a cluster that does no more"
            mend = "What was planned is kept where there is --out: the same command goes on there."
            raise SiteError([Problem(f"--on {address}", found, "one that stays", mend)])
        yield answer
