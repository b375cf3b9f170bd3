# SPDX-License-Identifier: MIT
"""Tests in this process need no display and no sound card."""

from __future__ import annotations

import os
import sys
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


@pytest.hookimpl(tryfirst=True)  # before xdist reads the groups
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Tests that need a Linux system say so, and skip elsewhere.

    Where the tests are shared out among processes (pytest-xdist, `--dist loadgroup`), each
    file goes to one; those that need the one JACK server, whose ports all can see, together."""
    for item in items:
        alone = item.get_closest_marker("jack") is not None
        item.add_marker(pytest.mark.xdist_group("jack" if alone else item.path.stem))
        if sys.platform != "linux" and (words := _needs_linux(item.path)):
            item.add_marker(pytest.mark.skip(reason=f"needs a Linux system: {words}"))


@cache
def _needs_linux(path: Path) -> str:
    """What of it a file of tests names; empty for nothing."""
    source = path.read_text(encoding="utf-8")
    return ", ".join(word for word in _OF_LINUX if word in source)


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
