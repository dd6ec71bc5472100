"""The executor of a running Dask scheduler, for runs on more than one machine."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor

from heatbrief.errors import UserError


def dask_executor(address: str) -> Callable[[int], Executor]:
    """A maker of executors for `run`. The output folder must lie on storage that scheduler and workers share.

    Raises UserError when Dask is not installed or nothing answers at the address.
    """
    try:
        from distributed import Client
    except ImportError as error:
        raise UserError.single("scheduler-missing", address, "the package `distributed` is not installed",
                               "Install it beside heatbrief, or leave --scheduler out.") from error
    try:
        client = Client(address, timeout=10, set_as_default=False)
    except (OSError, TimeoutError, ValueError) as error:
        raise UserError.single("scheduler-silent", address, f"no Dask scheduler answers: {error}",
                               "Start one, correct the address, or leave --scheduler out.") from error
    return lambda jobs: client.get_executor(pure=False)
