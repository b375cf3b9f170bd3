# SPDX-License-Identifier: MIT
"""Tests in this process need no display and no sound card."""

from __future__ import annotations

import os
import sys
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

import pytest

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")
os.environ.setdefault("SDL_AUDIODRIVER", "dummy")
os.environ.setdefault("STAVEWISE_LEVELS", str(Path(__file__).parent / "no levels of one's own"))


_OF_LINUX = ("XDG_", "/proc", "/dev/full", "Xvfb", "SIGSTOP", "SIGKILL", "umask", "initdb")
"""What a file of tests names that needs a Linux system, or one much like it."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Tests that need a Linux system say so, and skip elsewhere."""
    for item in items:
        if sys.platform != "linux" and (words := _needs_linux(item.path)):
            item.add_marker(pytest.mark.skip(reason=f"needs a Linux system: {words}"))


@cache
def _needs_linux(path: Path) -> str:
    """What of it a file of tests names; empty for nothing."""
    source = path.read_text(encoding="utf-8")
    return ", ".join(word for word in _OF_LINUX if word in source)


@pytest.fixture(autouse=True, scope="module")
def _alone_at_jack(request: pytest.FixtureRequest) -> Iterator[None]:
    """Of the processes that share the tests, one at a time has the JACK server, for a file: all
    of them see all its ports, so the game of one test would hear the piano of another."""
    if request.node.get_closest_marker("jack") is None or sys.platform == "win32":
        yield
        return
    import fcntl

    server = os.environ.get("JACK_DEFAULT_SERVER", "default")
    with (Path(tempfile.gettempdir()) / f"stavewise-tests-{server}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


@pytest.fixture(autouse=True, scope="session")
def _documents(tmp_path_factory: pytest.TempPathFactory) -> None:
    """What the game writes unasked, as a heat's file, is not left among anybody's documents."""
    os.environ.setdefault("XDG_DOCUMENTS_DIR", str(tmp_path_factory.mktemp("documents")))
    os.environ.setdefault("XDG_DATA_HOME", str(tmp_path_factory.mktemp("data")))


@pytest.fixture(params=["sqlite", "postgresql"])
def stores_url(
    request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[str]:
    """The address of a store that is not there yet, on each kind of database."""
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path / 'store.db'}"
        return
    with postgres_database(monkeypatch, tmp_path) as url:
        yield url


@pytest.fixture
def postgres_url(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """The address of an empty database on a PostgreSQL server."""
    with postgres_database(monkeypatch, tmp_path) as url:
        yield url


@contextmanager
def postgres_database(monkeypatch: pytest.MonkeyPatch, folder: Path) -> Iterator[str]:
    """A database for one test, on the server that STAVEWISE_TEST_POSTGRES names."""
    server = os.environ.get("STAVEWISE_TEST_POSTGRES")
    if not server:
        words = "needs a PostgreSQL server: set STAVEWISE_TEST_POSTGRES to the URL of one"
        if os.environ.get("STAVEWISE_REQUIRE_POSTGRES") == "1":
            pytest.fail(words)
        pytest.skip(words)
    from store_builders import stores_engine

    # What waits for a server is kept in the user's data folder.
    monkeypatch.setenv("XDG_DATA_HOME", str(folder / "data"))
    name = f"stavewise_{uuid.uuid4().hex}"
    with stores_engine(server) as engine:
        alone = engine.execution_options(isolation_level="AUTOCOMMIT")
        with alone.connect() as connection:
            connection.exec_driver_sql(f"CREATE DATABASE {name}")
        try:
            yield server.rpartition("/")[0] + "/" + name
        finally:
            with alone.connect() as connection:
                connection.exec_driver_sql(f"DROP DATABASE {name} WITH (FORCE)")
