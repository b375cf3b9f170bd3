# SPDX-License-Identifier: MIT
"""Tests in this process need no display and no sound card."""

from __future__ import annotations

import os
import sys
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache, partial
from pathlib import Path
from typing import Any

import pytest

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")
os.environ.setdefault("SDL_AUDIODRIVER", "dummy")
os.environ.setdefault("STAVEWISE_LEVELS", str(Path(__file__).parent / "no levels of one's own"))


def pytest_addoption(parser: pytest.Parser) -> None:
    """``--wide`` has every case of the sweeps of which a plain run has a few."""
    parser.addoption("--wide", action="store_true", help="all cases of the long sweeps too")


@pytest.fixture(scope="session")
def wide(request: pytest.FixtureRequest) -> bool:
    """Whether all cases of a sweep are wanted."""
    return bool(request.config.getoption("--wide"))


_OF_LINUX = ("XDG_", "/proc", "/dev/full", "Xvfb", "SIGSTOP", "SIGKILL", "umask", "initdb")
"""What a file of tests names that needs a Linux system, or one much like it."""


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Tests that need a Linux system say so, and skip elsewhere."""
    if not config.getoption("--wide"):
        items[:] = [item for item in items if item.get_closest_marker("wide") is None]
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


# At the window. The modules are loaded by those who want them: unit/ needs no window.


@pytest.fixture
def size() -> tuple[int, int]:
    """Of the window; a file or a test of several sizes has its own."""
    return 1024, 600


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A user's own folders, a store and levels of their own in them, and no MIDI."""
    (tmp_path / "own").mkdir(exist_ok=True)
    for name in ("DOCUMENTS", "DOWNLOAD", "DESKTOP"):
        monkeypatch.setenv(f"XDG_{name}_DIR", str(tmp_path / name.lower()))
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("STAVEWISE_STORE", str(tmp_path / "store.db"))
    monkeypatch.setenv("STAVEWISE_LEVELS", str(tmp_path / "own"))
    monkeypatch.setenv("STAVEWISE_MIDI", "none")
    return tmp_path


@pytest.fixture
def app(home: Path, size: tuple[int, int]) -> Iterator[Any]:
    """The game's window on an empty store."""
    from game.app.app import App, AppOptions

    made = App(AppOptions(size=size))
    yield made
    made.stage.store.close()
    made.stage.sounds.player.close()


@pytest.fixture
def player(app: Any, request: pytest.FixtureRequest) -> Any:
    """Somebody at the window: at its first page, or as the mark ``reader`` says."""
    from player import Player

    made = Player(app)
    if mark := request.node.get_closest_marker("reader"):
        app.stage.rounds.greet(app.stage.store.add_reader(*mark.args))
        if mark.kwargs.get("ladder"):
            app.stage.go.open_ladder()
        made.look()
    return made


@pytest.fixture
def teacher(app: Any) -> Any:
    """A teacher at the first page."""
    from teacher import Teacher

    return Teacher(app)


@pytest.fixture
def said(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Every line that is drawn from now on."""
    from game.ui.widgets import Canvas

    lines: list[str] = []
    draw = Canvas.text

    def text(canvas: Canvas, words: str, *at: Any, **how: Any) -> Any:
        lines.append(words)
        return draw(canvas, words, *at, **how)

    monkeypatch.setattr(Canvas, "text", text)
    return lines


# Commands


@pytest.fixture
def alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A store of its own, no MIDI, and no traceback."""
    monkeypatch.setenv("STAVEWISE_STORE", str(tmp_path / "store.db"))
    monkeypatch.setenv("STAVEWISE_MIDI", "none")
    monkeypatch.delenv("STAVEWISE_DEBUG", raising=False)


@pytest.fixture
def told(capsys: pytest.CaptureFixture[str]) -> Any:
    """Runs a command that must succeed; its JSON."""
    import command_line

    return partial(command_line.told, capsys)


@pytest.fixture
def refused(capsys: pytest.CaptureFixture[str]) -> Any:
    """Runs a command that must fail; its lines."""
    import command_line

    return partial(command_line.refused, capsys)


@pytest.fixture(scope="session")
def typesetter() -> Any:
    from game.engraving import Typesetter

    return Typesetter()


# Stores


@pytest.fixture
def store(stores_url: str) -> Iterator[Any]:
    """A fresh store on each kind of database."""
    from game.store import Store

    with Store.open(stores_url) as opened:
        yield opened


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
