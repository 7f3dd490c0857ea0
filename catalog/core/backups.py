"""The backup file: a ZIP of the database's copy, the stored pictures and a manifest with the hash of each.

Pictures are stored under their hash and never change, so copying them after the database leaves nothing out.
"""

import hashlib
import json
import os
import re
import shutil
import time
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory
from typing import IO, Any

from django.conf import settings
from django.core.files.base import File
from django.db import connection
from django.db.migrations.loader import MigrationLoader

from catalog.core.database_copies import Facts, bring_in, copy_to, facts
from catalog.core.errors import BackupError
from catalog.core.models import media_storage

FORMAT = 1
MANIFEST = "manifest.json"
MEDIA = "media/"
_NAME = re.compile(r"wrapkeep-\d{8}T\d{6}Z\.zip")
_PART = ".wrapkeep-part-"
_CHUNK = 1 << 20
_MOST_MANIFEST = 256 << 20
_DAY_S = 86400.0


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a backup says of itself. `files`: name in the ZIP to SHA-256 and size; `missing`: lost before the copy."""

    made: str
    vendor: str
    facts: Facts
    files: dict[str, tuple[str, int]]
    missing: list[str]

    @property
    def database(self) -> str:
        """The name of the database's copy in the ZIP."""
        return next(name for name in self.files if not name.startswith(MEDIA))


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup file that was read and found whole; the fingerprint is the hash of its manifest."""

    path: Path
    manifest: Manifest
    fingerprint: str


def make_backup(folder: Path, now: datetime) -> Backup:
    """Write one backup into the folder, read it back, and only then give it its name. Raises BackupError."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    path = folder / f"wrapkeep-{now.astimezone(UTC):%Y%m%dT%H%M%SZ}.zip"
    if path.exists():
        raise BackupError(f"{path} is there already: wait a second.")
    _sweep(folder)
    with TemporaryDirectory(prefix=_PART, dir=folder) as inside:
        copy, held = copy_to(Path(inside))
        part = Path(inside) / path.name
        _write(part, copy, held, now)
        with opened(part) as (_, found):
            pass
        os.replace(part, path)
    return Backup(path, found.manifest, found.fingerprint)


def delete_older(folder: Path, keep: int) -> list[Path]:
    """Delete all backups in the folder but the newest `keep`; other files stay."""
    found = sorted(path for path in folder.iterdir() if _NAME.fullmatch(path.name))
    gone = found[: max(0, len(found) - keep)]
    for path in gone:
        path.unlink()
    return gone


@contextmanager
def opened(path: Path, fingerprint: str = "") -> Iterator[tuple[zipfile.ZipFile, Backup]]:
    """Open a backup after every byte of it was checked against its manifest. Raises BackupError with the first fault.

    The manifest itself is only proven by the fingerprint, which whoever made the backup wrote down elsewhere.
    """
    try:
        archive = zipfile.ZipFile(path)
    except zipfile.BadZipFile as wrong:
        raise BackupError(f"{path} is no backup, or it is damaged: {wrong}.") from wrong
    with archive:
        try:
            found = _proven(archive, path, fingerprint.strip().lower())
        except (zipfile.BadZipFile, zlib.error, EOFError, RuntimeError) as wrong:
            raise BackupError(f"{path} is damaged: {wrong}.") from wrong
        yield archive, found


def restore_backup(archive: zipfile.ZipFile, backup: Backup) -> int:
    """Put pictures and database in place, and compare what stands with the manifest. Gives how many files were written.

    Raises BackupError before anything is touched when the backup is of another database or of a newer program.
    """
    manifest = backup.manifest
    if manifest.vendor != connection.vendor:
        raise BackupError(
            f"The backup was made from {manifest.vendor[:20]}, but this site runs on {connection.vendor}."
        )
    known = {f"{app}.{name}" for app, name in MigrationLoader(None).disk_migrations}
    if newer := [name for name in manifest.facts.migrations if name.startswith("catalog.") and name not in known]:
        raise BackupError(f"The backup was made by a newer program ({newer[-1]}): update this one first.")
    tables = list(manifest.facts.counts)
    _sweep(settings.DATA_DIR)
    with TemporaryDirectory(prefix=_PART, dir=settings.DATA_DIR) as inside:
        copy = Path(archive.extract(manifest.database, inside))
        written = _restore_files(archive, manifest)
        bring_in(copy, tables)
    with connection.cursor() as cursor:
        stands = facts(cursor, tables)
    if stands != manifest.facts:
        wrong = [name for name in tables if stands.counts[name] != manifest.facts.counts[name]]
        raise BackupError(f"What was restored is not what the manifest says ({', '.join(wrong) or 'history'}).")
    return written


def _write(part: Path, copy: Path, held: Facts, now: datetime) -> None:
    store, files, missing = media_storage(), {}, []
    descriptor = os.open(part, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "w+b") as out:
        with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED, allowZip64=True) as archive:
            with copy.open("rb") as source:
                files[copy.name] = _put(archive, copy.name, source, packed=True)
            for name in held.files:
                try:
                    with store.open(name) as stored:
                        files[MEDIA + name] = _put(archive, MEDIA + name, stored)
                except FileNotFoundError:
                    missing.append(name)
            said = {"format": FORMAT, "made": now.isoformat(), "vendor": connection.vendor, "facts": asdict(held)}
            said |= {"files": files, "missing": missing}
            archive.writestr(MANIFEST, json.dumps(said, indent=1, sort_keys=True))
        out.flush()
        os.fsync(out.fileno())


def _put(archive: zipfile.ZipFile, name: str, source: Any, *, packed: bool = False) -> tuple[str, int]:
    entry = zipfile.ZipInfo(name, time.gmtime()[:6])
    entry.compress_type = zipfile.ZIP_DEFLATED if packed else zipfile.ZIP_STORED
    digest, size = hashlib.sha256(), 0
    with archive.open(entry, "w", force_zip64=True) as out:
        while block := source.read(_CHUNK):
            digest.update(block)
            size += len(block)
            out.write(block)
    return digest.hexdigest(), size


def _proven(archive: zipfile.ZipFile, path: Path, fingerprint: str) -> Backup:
    raw = _manifest_of(archive, path)
    found = hashlib.sha256(raw).hexdigest()
    if fingerprint and found != fingerprint:
        raise BackupError(f"{path} was changed: its fingerprint is {found}, not the one given.")
    manifest = _read(raw, path)
    _check(archive, manifest, path)
    return Backup(path, manifest, found)


def _manifest_of(archive: zipfile.ZipFile, path: Path) -> bytes:
    try:
        entry = archive.getinfo(MANIFEST)
    except KeyError as missing:
        raise BackupError(f"{path} is no backup: it holds no manifest.") from missing
    if entry.file_size > _MOST_MANIFEST:
        raise BackupError(f"{path} is no backup: its manifest is too large.")
    return archive.read(entry)


def _read(raw: bytes, path: Path) -> Manifest:
    try:
        said = json.loads(raw)
        if said["format"] != FORMAT:
            raise BackupError(f"{path} has format {said['format']}; this program reads format {FORMAT}.")
        files = {str(name): (str(sha256), int(size)) for name, (sha256, size) in said["files"].items()}
        held = Facts(**said["facts"])
        manifest = Manifest(said["made"], said["vendor"], held, files, list(said["missing"]))
        datetime.fromisoformat(manifest.made)
        if not all(isinstance(word, str) for word in [*held.migrations, *dict(held.counts), *held.files]):
            raise ValueError("it holds something else than words")
        if sum(not name.startswith(MEDIA) for name in files) != 1:
            raise ValueError("it names no single database")
    except (ValueError, KeyError, TypeError, AttributeError) as wrong:
        raise BackupError(f"The manifest of {path} cannot be read.") from wrong
    return manifest


def _check(archive: zipfile.ZipFile, manifest: Manifest, path: Path) -> None:
    names = archive.namelist()
    if sorted(names) != sorted([*manifest.files, MANIFEST]):
        odd = sorted({*manifest.files, MANIFEST} ^ set(names)) or ["a name stands twice"]
        raise BackupError(f"{path} was changed: its files are not those of its manifest ({odd[0]}).")
    for name, (sha256, size) in manifest.files.items():
        parts = PurePosixPath(name).parts
        if name.startswith("/") or "\\" in name or ".." in parts or name != "/".join(parts):
            raise BackupError(f"{path} was changed: “{name}” would leave its folder.")
        with archive.open(name) as stored:
            if _sum(stored, size) != sha256:
                raise BackupError(f"{path} was changed: {name} is not what the manifest says.")


def _sum(stored: IO[bytes], size: int) -> str:
    """The hash of what is read; nothing where there is more than was said, which is then not read on."""
    digest, seen = hashlib.sha256(), 0
    while block := stored.read(_CHUNK):
        seen += len(block)
        if seen > size:
            return ""
        digest.update(block)
    return digest.hexdigest()


def _restore_files(archive: zipfile.ZipFile, manifest: Manifest) -> int:
    """Pictures that are here already under their hash stay; a file of the same name with other bytes is replaced."""
    store, written = media_storage(), 0
    for entry, (sha256, size) in manifest.files.items():
        if not entry.startswith(MEDIA):
            continue
        name = entry.removeprefix(MEDIA)
        if store.exists(name):
            with store.open(name) as here:
                if _sum(here, size) == sha256:
                    continue
            store.delete(name)
        with archive.open(entry) as stored:
            if store.save(name, File(stored, name)) != name:
                raise BackupError(f"{name} could not be written under its own name.")
        written += 1
    return written


def _sweep(folder: Path) -> None:
    """What a backup that was cut off left behind holds the database too: it does not lie there for ever."""
    for left in folder.glob(f"{_PART}*"):
        if time.time() - left.stat().st_mtime > _DAY_S:
            shutil.rmtree(left, ignore_errors=True)
