"""The executor of a running Dask scheduler, for runs on more than one machine."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor, Future
from typing import Any

from heatbrief.errors import UserError


def dask_executor(address: str) -> Callable[[int], Executor]:
    """A maker of executors for `run`. The output folder must lie on storage that this machine and all workers share.

    Raises UserError when Dask is not installed or nothing answers at the address.
    """
    try:
        from distributed import Client
    except ImportError as error:
        raise UserError.single(
            "scheduler-missing",
            address,
            "the package `distributed` is not installed",
            "Install it beside heatbrief, or leave --scheduler out.",
        ) from error
    try:
        client = Client(address, timeout=10, set_as_default=False)
    except (OSError, TimeoutError, ValueError) as error:
        raise UserError.single(
            "scheduler-silent",
            address,
            f"no Dask scheduler answers: {error}",
            "Start one, correct the address, or leave --scheduler out.",
        ) from error
    return lambda jobs: Cluster(client)


class Cluster(Executor):
    """The workers of a scheduler as an executor. Shutting it down leaves the shared client and its workers alone.

    workers  how many tasks the cluster can do at a time now
    """

    def __init__(self, client: Any) -> None:
        self._inner = client.get_executor(pure=False)
        self.workers = max(1, sum(client.nthreads().values()))

    def submit(self, function: Callable[..., Any], /, *arguments: Any, **named: Any) -> Future[Any]:
        """Hand over one call."""
        future: Future[Any] = self._inner.submit(function, *arguments, **named)
        return future

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """Wait for what is running, or cancel it."""
        self._inner.shutdown(wait=wait)
