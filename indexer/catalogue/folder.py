"""The library's folder: made, checked and kept to its owner, before any database is opened in it."""

from __future__ import annotations

import os
import secrets
import stat
import sys
from pathlib import Path

from indexer.errors import LibraryUnusable

CATALOGUE = "catalogue.sqlite"
KEY = "site.key"
OURS = frozenset({CATALOGUE, f"{CATALOGUE}-wal", f"{CATALOGUE}-shm", "media", "work", KEY})
KEY_BYTES = 32
SHARES = frozenset(
    {"nfs", "nfs4", "cifs", "smb3", "smbfs", "afs", "ncpfs", "davfs", "fuse.sshfs", "fuse.rclone", "fuse.davfs2"}
)
"""File systems on which SQLite's locks cannot be relied on (sqlite.org, "How To Corrupt An SQLite Database File")."""


def prepare(folder: Path) -> Path:
    """Make the folder, or see that it can be used, and return the catalogue's path.

    Raises LibraryUnusable, with one reason and what to do.
    """
    folder = folder.expanduser().absolute()
    if folder.exists() and not folder.is_dir():
        raise LibraryUnusable(folder, "it is a file. Name a folder.")
    _refuse_share(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        _refuse_foreign(folder)
        for room in ("media", "work"):
            (folder / room).mkdir(exist_ok=True, mode=0o700)
        catalogue = folder / CATALOGUE
        # Made by hand, so that nobody else can read it for even a moment; WAL files take its mode over.
        os.close(os.open(catalogue, os.O_RDWR | os.O_CREAT, 0o600))
    except OSError as error:
        raise LibraryUnusable(folder, f"{_told(error)}. Choose another folder, or mend its permissions.") from error
    _close_to_others(folder, 0o700)
    _close_to_others(catalogue, 0o600)
    return catalogue


def site_key(folder: Path) -> bytes:
    """The secret that the site signs its cookies with; made at first, readable by the owner alone."""
    path = folder / KEY
    try:
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            file.write(secrets.token_bytes(KEY_BYTES))
    except FileExistsError:
        _close_to_others(path, 0o600)
    key = path.read_bytes()
    if len(key) != KEY_BYTES:
        raise LibraryUnusable(folder, f"{KEY} is damaged. Delete it; everybody has to sign in anew then.")
    return key


def _told(error: OSError) -> str:
    reason = error.strerror or str(error)
    return f"{reason[:1].lower()}{reason[1:]} ({error.filename})" if error.filename else reason


def _refuse_foreign(folder: Path) -> None:
    """A folder with other things in it is hardly meant to become a library."""
    if (folder / CATALOGUE).exists():
        return
    foreign = sorted(path.name for path in folder.iterdir() if path.name not in OURS and not path.name.startswith("."))
    if foreign:
        raise LibraryUnusable(folder, f"it holds other things ({foreign[0]}). Name an empty or a new folder.")


def _close_to_others(path: Path, mode: int) -> None:
    """Take the rights of others away; where the file system knows none, there is nothing to take."""
    if os.name == "posix" and path.stat().st_mode & 0o077:
        try:
            path.chmod(stat.S_IMODE(path.stat().st_mode) & mode)
        except PermissionError:
            # Somebody else's folder that we may write in: its owner decided.
            return


def _refuse_share(folder: Path) -> None:
    if str(folder).startswith("\\\\") or file_system(folder) in SHARES:
        raise LibraryUnusable(
            folder, "it lies on a network share, where a database breaks. Put it on a drive of this machine."
        )


def file_system(folder: Path) -> str:
    """The type of the file system that a folder lies (or would lie) on; empty where it cannot be told."""
    mounts = Path("/proc/mounts")
    if not sys.platform.startswith("linux") or not mounts.exists():
        return ""
    resolved, best, kind = f"{folder.resolve()}/", "", ""
    for line in mounts.read_text(errors="replace").splitlines():
        fields = line.split(" ")
        point = fields[1].replace("\\040", " ").rstrip("/") + "/"
        if resolved.startswith(point) and len(point) >= len(best):
            best, kind = point, fields[2]
    return kind
