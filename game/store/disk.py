# SPDX-License-Identifier: MIT
"""What kind of disk a store's file is on: SQLite needs one of this computer's own.

On a network drive its locks and shared memory cannot be relied on
(sqlite.org/howtocorrupt.html, section 2.1; sqlite.org/wal.html, "Overview").
"""

from __future__ import annotations

import sys
from contextlib import suppress
from pathlib import Path

import psutil

_NETWORK = {
    *("9p", "afpfs", "afs", "ceph", "cifs", "davfs", "fuse.glusterfs", "fuse.rclone"),
    *("fuse.sshfs", "glusterfs", "lustre", "ncpfs", "nfs", "nfs4", "smb3", "smbfs", "webdav"),
}
_DRIVE_REMOTE = 4  # of GetDriveTypeW
_SYNCHRONISED = ("dropbox", "google drive", "icloud", "mobile documents", "nextcloud", "onedrive")
"""How folders begin that a service copies from computer to computer by itself."""


def network_drive(path: Path) -> str:
    """The kind of network drive that a path is on; empty for a disk of this computer."""
    where = path.expanduser().resolve()
    if sys.platform == "win32":
        import ctypes

        remote = ctypes.windll.kernel32.GetDriveTypeW(f"{where.drive}\\") == _DRIVE_REMOTE
        return "a share" if remote else ""
    holding, kind = "", ""
    with suppress(OSError):  # who may not see the disks is not kept from playing
        for drive in psutil.disk_partitions(all=True):
            if len(drive.mountpoint) >= len(holding) and where.is_relative_to(drive.mountpoint):
                holding, kind = drive.mountpoint, drive.fstype.lower()
    return kind if kind in _NETWORK else ""


def synchronised_folder(path: Path) -> str:
    """The folder in a path that a service synchronises; empty for none."""
    parts = path.expanduser().resolve().parts
    return next((part for part in parts if part.lower().startswith(_SYNCHRONISED)), "")
