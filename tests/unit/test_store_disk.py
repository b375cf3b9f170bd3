# SPDX-License-Identifier: MIT
"""A store wants a disk of this computer's own: drives are simulated, as psutil lists them."""

from __future__ import annotations

import sqlite3
from types import SimpleNamespace

import pytest

from game.store import Store, StoreError, disk, turn


def mounted(monkeypatch, **kinds: str) -> None:
    """Drives by mount point; their order is the system's, which promises none."""
    drives = [SimpleNamespace(mountpoint=at, fstype=kind) for at, kind in kinds.items()]
    monkeypatch.setattr(disk.psutil, "disk_partitions", lambda all: drives)


@pytest.mark.parametrize("kind", ["nfs4", "cifs", "fuse.sshfs", "smbfs"])
def test_network_drive_is_refused_before_a_file_is_made(tmp_path, monkeypatch, kind):
    mounted(monkeypatch, **{str(tmp_path): kind, "/": "ext4"})
    with pytest.raises(StoreError, match="PostgreSQL") as refused:
        Store.open(tmp_path / "store.db")
    assert str(tmp_path / "store.db") in str(refused.value)
    assert kind in str(refused.value)
    assert not list(tmp_path.iterdir())


def test_link_to_a_network_drive_is_one(tmp_path, monkeypatch):
    (tmp_path / "share").mkdir()
    (tmp_path / "home").symlink_to(tmp_path / "share")
    mounted(monkeypatch, **{"/": "ext4", str(tmp_path / "share"): "nfs"})
    with pytest.raises(StoreError, match="nfs"):
        Store.open(tmp_path / "home" / "store.db")


def test_own_disk_within_a_network_drive_is_taken(tmp_path, monkeypatch):
    mounted(monkeypatch, **{str(tmp_path): "ext4", "/": "nfs", str(tmp_path / "other"): "nfs"})
    Store.open(tmp_path / "store.db").close()


def test_disks_that_nobody_may_list_keep_no_one_from_playing(tmp_path, monkeypatch):
    def forbidden(all):
        raise PermissionError

    monkeypatch.setattr(disk.psutil, "disk_partitions", forbidden)
    Store.open(tmp_path / "store.db").close()


@pytest.mark.parametrize("name", ["OneDrive - A School", "Dropbox", "Nextcloud"])
def test_synchronised_folder_is_taken_with_a_warning(tmp_path, name):
    (tmp_path / name).mkdir()
    with Store.open(tmp_path / name / "store.db") as store:
        assert any(name in notice for notice in store.notices)
    with Store.open(tmp_path / "store.db") as store:
        assert store.notices == ()


def test_disk_without_shared_memory_is_told_of(tmp_path, monkeypatch):
    class Stubborn(sqlite3.Connection):
        def execute(self, statement, *more):  # as SQLite answers there: the mode that stays
            return super().execute(statement.replace("=WAL", "=DELETE"), *more)

    connection = sqlite3.connect(tmp_path / "a.db", factory=Stubborn)
    assert turn.write_ahead(connection, 1.0) is False
    connection.close()
    monkeypatch.setattr("game.store.opening.write_ahead", lambda *_args: False)
    with Store.open(tmp_path / "store.db") as store:
        assert any("one window at a time" in notice for notice in store.notices)
