"""Joining an existing cluster, and refusing one whose workers would answer otherwise than this machine."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import dampkit
from dampkit.errors import BadSettings

WAIT_S = 15
EXPECTED = "the address of a running scheduler, as tcp://bench-server:8786"


@contextmanager
def connected(address: str) -> Iterator[Any]:
    """A client of the scheduler at `address`.

    Raises BadSettings where the library is not installed, nothing answers, there is no worker, or a worker has another
    version of dampkit.
    """
    try:
        from distributed import Client
    except ImportError:
        found, do = "a cluster needs the library dask.distributed", "pip install 'dampkit[cluster]'"
        raise BadSettings("--cluster", found, "the library installed here and on every worker", do) from None
    _hush()
    if not address.startswith(("tcp://", "tls://")):
        raise BadSettings("--cluster", f"found {address!r}", EXPECTED, "correct the address")
    try:
        client = Client(address, timeout=WAIT_S, set_as_default=False)
    except (OSError, TimeoutError, ValueError) as error:
        found = f"no scheduler answers at {address} ({type(error).__name__})"
        raise BadSettings("--cluster", found, EXPECTED, "start the scheduler, or check the address") from None
    try:
        _check_workers(address, client)
        yield client
    finally:
        client.close()


def _hush() -> None:
    """Keep the library's own log off the screen; what matters is said in plain words."""
    for name in [*logging.root.manager.loggerDict, "asyncio"]:
        if name.partition(".")[0] in ("asyncio", "distributed", "tornado"):
            logging.getLogger(name).setLevel(logging.CRITICAL + 1)


def still_connected(client: Any) -> None:
    """Raises BadSettings where the cluster was lost on the way; without a cluster there is nothing to lose."""
    if client is not None and client.status != "running":
        do = "start the scheduler again and repeat the command: what is done is not done again"
        raise BadSettings("--cluster", "the connection to the scheduler was lost", "a scheduler that stays", do)


def version_here() -> str:
    """Run on a worker: the version of dampkit that it has."""
    return dampkit.__version__


def _check_workers(address: str, client: Any) -> None:
    try:
        client.wait_for_workers(1, timeout=WAIT_S)
        versions = client.run(version_here)
    except Exception as error:  # whatever a foreign worker answers with
        found = f"the workers of {address} cannot be used: {type(error).__name__}: {error}"
        do = "start workers with dampkit installed"
        raise BadSettings("--cluster", found, "at least one worker that has dampkit", do) from None
    others = {worker: version for worker, version in versions.items() if version != dampkit.__version__}
    if others:
        worker, version = next(iter(others.items()))
        found = f"the worker {worker} has dampkit {version}"
        raise BadSettings(
            "--cluster", found, f"dampkit {dampkit.__version__} on every worker", "install the same version"
        )
