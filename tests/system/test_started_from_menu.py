# SPDX-License-Identifier: MIT
"""The game as an entry of a desktop's menu, started with no terminal behind it."""

from __future__ import annotations

import configparser
import os
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from game.cli import main, menu_entry

linux = pytest.mark.skipif(sys.platform != "linux", reason="Linux desktops have such a menu")


@pytest.fixture
def share(tmp_path, monkeypatch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "share"))
    return tmp_path / "share"


@linux
def test_menu_entry_comes_with_its_icon_and_goes_without_a_trace(share, capsys):
    assert main(["menu", "add"]) == 0
    files = {str(one.relative_to(share)) for one in share.rglob("*") if one.is_file()}
    assert files == {
        "applications/stavewise.desktop",
        "icons/hicolor/scalable/apps/stavewise.svg",
    }
    assert main(["menu", "remove"]) == 0
    assert not [one for one in share.rglob("*") if one.is_file()]
    assert main(["menu", "remove"]) == 0
    assert "wasn't" in capsys.readouterr().out


@linux
def test_menu_entry_is_a_valid_one_and_starts_this_program(share):
    assert main(["menu", "add"]) == 0
    path = share / "applications" / "stavewise.desktop"
    if checker := shutil.which("desktop-file-validate"):  # freedesktop.org's own
        done = subprocess.run([checker, path], capture_output=True, text=True)
        assert (done.returncode, done.stdout) == (0, "")
    entry = configparser.ConfigParser(interpolation=None)
    entry.read(path, encoding="utf-8")
    program = shlex.split(entry["Desktop Entry"]["Exec"])
    done = subprocess.run([*program, "--version"], capture_output=True, text=True)
    assert done.stdout.startswith("stavewise ")


@linux
def test_folders_with_any_letters_are_quoted_as_the_specification_says(share, monkeypatch):
    monkeypatch.setattr(menu_entry, "_program", lambda: ['/home/o"$x/50% é/`a`\\b/stavewise'])
    assert main(["menu", "add"]) == 0
    lines = (share / "applications" / "stavewise.desktop").read_text("utf-8").splitlines()
    line = next(one for one in lines if one.startswith("Exec="))
    # Desktop Entry Specification 1.5, "The Exec key": a quoted argument has a backslash before
    # " ` $ and \, the value as a string doubles each backslash, and %% is a per cent sign.
    assert line == 'Exec="/home/o\\\\"\\\\$x/50%% é/\\\\`a\\\\`\\\\\\\\b/stavewise"'


@linux
def test_menu_that_cannot_be_written_names_the_folder(share, capsys):
    share.write_text("a file stands here", encoding="utf-8")
    assert main(["menu", "add"]) == 1
    assert str(share) in capsys.readouterr().err


def test_menu_of_another_system_says_what_to_do(share, capsys, monkeypatch):
    monkeypatch.setattr(sys, "platform", "win32")
    assert main(["menu", "add"]) == 1
    assert "taskbar" in capsys.readouterr().err


@pytest.mark.skipif(os.name != "posix", reason="a program loses its streams otherwise there")
@pytest.mark.parametrize(("argv", "status"), [(["levels"], 0), (["deal", "nowhere"], 2), ([], 1)])
def test_nothing_breaks_where_there_is_no_standard_output_or_error(argv, status, tmp_path):
    log = tmp_path / "trace"
    program = (
        "import sys, traceback\n"
        "assert sys.stdout is None and sys.stderr is None\n"
        "from game.cli.gui import main\n"
        "try:\n    status = main()\n"
        f"except BaseException:\n    open({str(log)!r}, 'w').write(traceback.format_exc())\n"
        "sys.exit(status)\n"
    )
    line = shlex.join([sys.executable, "-c", program, *argv]) + " >&- 2>&-"
    gone = {**os.environ, "DISPLAY": "", "WAYLAND_DISPLAY": "", "SDL_VIDEODRIVER": ""}
    done = subprocess.run(["sh", "-c", line], env={k: v for k, v in gone.items() if v})
    assert not log.exists(), log.read_text()
    assert done.returncode == status
