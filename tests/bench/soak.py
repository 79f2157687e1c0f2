"""A night gone wrong on purpose: the watcher is killed again and again, the disk filled, and files of every kind come.

Run it with ``python -m tests.bench.soak --files 2000 --kills 50 --fills 2``. What must hold afterwards is checked by
``inspect`` and ``compare``: each file answered exactly once, every original the same to the byte, nothing else left
lying about, and the reports of the sound ones the same as ``preflight check`` gives.
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import io
import json
import os
import random
import signal
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from PIL import Image, ImageDraw, ImageFilter

ROOT = Path(__file__).resolve().parents[2]
#: What lies in the folder of answers besides artworks, tickets and reports.
OWN = {"preflight.lock", "preflight.sqlite", "heartbeat.json", "morning.html", "morning.json", "morning.pdf"}
KINDS = ("good", "good", "good", "jpeg", "soft", "cut", "noise", "hostile", "text", "ticketed")
ARRIVALS = ("there", "there", "there", "slow", "slow-reopened", "temporary-name", "renamed")
NAMES = (
    "{n} of the fair.png", "größe-{n}.png", "印刷-{n}.png", "-{n}-.png", "it's {n}.png", 'so "{n}".png', "{n}",
    "a.{n}.b.PNG",    "{n}%20$(x)&.png", "long-{n}-" + "x" * 200 + ".png", "\U0001f41d-{n}.png", "cafe\u0301-{n}.png",
)  # fmt: skip
POSIX_NAMES = ("two\nlines-{n}.png", "tab\t{n}.png", "caf\udce9-{n}.png", "*{n}?.png", "back\\{n}.png")


@dataclass(slots=True)
class Sent:
    """A file that was sent in."""

    rel: str
    kind: str
    arrival: str
    data: bytes
    ticket: bytes | None = None


def picture(rng: random.Random, kind: str) -> bytes:
    """An artwork, different each time."""
    side = rng.randrange(160, 420)
    image = Image.new("RGBA", (side, side), (0, 0, 0, 0))
    draw = ImageDraw.Draw(image)
    for _ in range(3):
        x, y, size = rng.randrange(side // 2), rng.randrange(side // 2), rng.randrange(side // 4, side // 2)
        colour = (rng.randrange(256), rng.randrange(256), rng.randrange(256), 255)
        draw.rectangle((x, y, x + size, y + size), fill=colour)
    if kind == "soft":
        image = image.filter(ImageFilter.GaussianBlur(12))
    stream = io.BytesIO()
    if kind == "jpeg":
        image.convert("RGB").save(stream, "JPEG")
    else:
        image.save(stream, "PNG", dpi=(300, 300))
    return stream.getvalue()


def contents(rng: random.Random, kind: str) -> bytes:
    """The bytes of a file of that kind."""
    if kind == "noise":
        return rng.randbytes(rng.randrange(1, 60_000))
    if kind == "text":
        return f"invoice {rng.random()}\n".encode()
    if kind == "hostile":
        return hostile(rng)
    data = picture(rng, kind)
    return data[: max(100, int(len(data) * rng.uniform(0.3, 0.9)))] if kind == "cut" else data


def hostile(rng: random.Random) -> bytes:
    """A file that is made to do harm."""
    mark = f"{rng.random()}".encode()
    bomb = b'<!DOCTYPE s [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;">]><svg xmlns="http://www.w3.org/2000/svg"'
    whole = bytearray(picture(rng, "good"))
    whole[16:24] = b"\x00\x01\x00\x00\x00\x01\x00\x00"  # a picture of 65536 by 65536, it says
    return rng.choice(
        (bomb + b' id="' + mark + b'"><text>&b;</text></svg>', bytes(whole), b"%PDF-1.7\n" + mark, b"PK\x03\x04" + mark)
    )


def sendings(count: int, seed: int) -> list[Sent]:
    """What comes in that night."""
    rng = random.Random(seed)
    names = NAMES if os.name == "nt" else NAMES + POSIX_NAMES
    sent = []
    for number in range(count):
        kind = rng.choice(KINDS)
        name = rng.choice(names).format(n=number) if rng.random() < 0.3 else f"art-{number}.png"
        folder = rng.choice(("", "", f"order-{number % 37}/", f"order-{number % 11}/a/b/c/"))
        data = contents(rng, "good" if kind == "ticketed" else kind)
        ticket = (
            f'width = "{rng.randrange(20, 90)}mm"\ncopies = {rng.randrange(1, 40)}\n'.encode()
            if kind == "ticketed"
            else None
        )
        sent.append(Sent(f"{folder}{name}", kind, rng.choice(ARRIVALS), data, ticket))
    return sent


def lay(folder: Path, one: Sent) -> None:
    """Put a file there as a whole, its ticket before it."""
    path = folder / one.rel
    path.parent.mkdir(parents=True, exist_ok=True)
    if one.ticket is not None:
        path.with_name(f"{path.name}.ticket.toml").write_bytes(one.ticket)
    path.write_bytes(one.data)


def arrive(folder: Path, one: Sent, rng: random.Random) -> None:
    """Let a file come in its own way; a full disk is met with patience, as an uploading program would."""
    for _ in range(200):
        try:
            _arrive(folder, one, rng)
        except OSError:
            time.sleep(0.5)
            continue
        return
    raise RuntimeError(f"{one.rel!r} never arrived")


def _arrive(folder: Path, one: Sent, rng: random.Random) -> None:
    path = folder / one.rel
    path.parent.mkdir(parents=True, exist_ok=True)
    if one.ticket is not None:
        path.with_name(f"{path.name}.ticket.toml").write_bytes(one.ticket)
    half = len(one.data) // 2
    if one.arrival == "slow":
        with path.open("wb") as stream:
            stream.write(one.data[:half])
            stream.flush()
            time.sleep(rng.uniform(0.5, 3.5))
            stream.write(one.data[half:])
    elif one.arrival == "slow-reopened":
        path.write_bytes(one.data[:half])
        time.sleep(rng.uniform(0.1, 0.8))
        with path.open("ab") as stream:
            stream.write(one.data[half:])
    elif one.arrival in ("temporary-name", "renamed"):
        short = hashlib.sha256(one.rel.encode("utf-8", "surrogateescape")).hexdigest()[:12]
        name = f"{short}.part" if one.arrival == "temporary-name" else f"upload-{short}.png"
        first = path.with_name(name)
        first.write_bytes(one.data)
        time.sleep(rng.uniform(0.1, 0.8))
        first.rename(path)
    else:
        path.write_bytes(one.data)


@dataclass(slots=True)
class Night:
    """What is done to the watcher."""

    incoming: Path
    out: Path
    kills: int
    gap: tuple[float, float]
    options: tuple[str, ...] = ()
    fills: int = 0
    stage: Path | None = None  #: the small disk that is filled
    killed: int = field(default=0)
    killed_at_work: int = field(default=0)
    filled: int = field(default=0)

    def start(self, *more: str) -> subprocess.Popen[bytes]:
        """A watcher of its own."""
        command = [sys.executable, "-m", "preflight", "watch", str(self.incoming), str(self.out), *self.options, *more]
        environment = {**os.environ, "PYTHONPATH": str(ROOT)}
        return subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)

    def answered(self) -> int:
        """How many lines the ledger has."""
        return len(rows(self.out))

    def run(self, total: int, rng: random.Random, patience: float) -> None:
        """Kill and fill while the files come, then let the last watcher finish."""
        fill_at = {int((index + 1) * self.kills / (self.fills + 1)) for index in range(self.fills)}
        process = self.start()
        try:
            while self.killed < self.kills:
                time.sleep(rng.uniform(*self.gap))
                if process.poll() is not None:
                    raise RuntimeError(
                        f"the watcher ended by itself: {(process.stderr.read() if process.stderr else b'')!r}"
                    )
                if self.killed in fill_at and self.stage is not None:
                    fill_at.remove(self.killed)
                    self._fill(self.stage)
                self.killed_at_work += any((self.out / ".work").iterdir())
                process.kill()
                process.communicate()
                self.killed += 1
                process = self.start()
            until = time.monotonic() + patience
            while self.answered() < total and time.monotonic() < until:
                time.sleep(1.0)
        finally:
            process.send_signal(signal.SIGTERM)
            try:
                process.communicate(timeout=120)
            except subprocess.TimeoutExpired:
                process.kill()
                process.communicate()

    def _fill(self, stage: Path) -> None:
        """Leave no byte on the disk for some seconds."""
        filler = stage / "filler"
        with contextlib.suppress(OSError), filler.open("wb", buffering=0) as stream:
            while stream.write(b"x" * 65536) == 65536:
                pass
        until = time.monotonic() + 12
        while time.monotonic() < until:
            time.sleep(0.05)
            with contextlib.suppress(OSError), filler.open("ab", buffering=0) as stream:
                while stream.write(b"x" * 4096) == 4096:
                    pass
        filler.unlink()
        self.filled += 1


def rows(out: Path) -> list[tuple[str, str, str, str | None, list[tuple[str, str]]]]:
    """File, sum, verdict, place of the artwork and reports of every line of the ledger."""
    path = out / "preflight.sqlite"
    if not path.exists():
        return []
    for _ in range(50):
        try:
            with contextlib.closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True, timeout=10)) as database:
                found = database.execute("SELECT file, sha256, verdict, artwork, reports FROM answers").fetchall()
        except sqlite3.OperationalError:  # not there yet, or a journal that a killed watcher left for the next one
            time.sleep(0.2)
            continue
        return [
            (json.loads(file), total, verdict, None if artwork is None else json.loads(artwork), json.loads(reports))
            for file, total, verdict, artwork, reports in found
        ]
    return []


def inspect(sent: list[Sent], incoming: Path, out: Path) -> list[str]:
    """Everything that is not as it should be."""
    wrong: list[str] = []
    found = rows(out)
    counted = Counter(file for file, *_ in found)
    wrong += [
        f"answered {counted[one.rel]} times: {one.rel!r} ({one.kind}, {one.arrival})"
        for one in sent
        if counted[one.rel] != 1
    ]
    wrong += [f"answered though never sent: {file!r}" for file in counted if file not in {one.rel for one in sent}]
    by_name = {one.rel: one for one in sent}
    expected: set[str] = set()
    for file, total, verdict, artwork, reports in found:
        if file not in by_name:
            continue
        one = by_name[file]
        if total != hashlib.sha256(one.data).hexdigest():
            wrong.append(f"answered by other bytes than were sent: {file!r} ({one.kind}, {one.arrival})")
        if artwork is None or not (out / artwork).is_file() or (out / artwork).read_bytes() != one.data:
            wrong.append(f"the original is not what was sent: {file!r}")
        if one.kind in ("cut", "noise", "hostile", "text") and verdict == "ready":
            wrong.append(f"ready though {one.kind}: {file!r}")
        expected |= {artwork or "", *(path for _, path in reports)}
        expected |= {f"{artwork}.ticket.toml"} if one.ticket is not None else set()
        wrong += [f"no report: {path!r}" for _, path in reports if not (out / path).is_file()]
    there = {path.relative_to(out).as_posix() for path in out.rglob("*") if not path.is_dir()}
    stray = {path for path in there - expected - OWN if not path.startswith("log")}
    wrong += [f"stray: {path!r}" for path in sorted(stray)]
    wrong += [f"left over: {path!r}" for path in incoming.rglob("*") if not path.is_dir()]
    wrong += [f"left in hand: {path.name}" for path in (out / ".work").iterdir()]
    return wrong


def compare(sent: list[Sent], out: Path, folder: Path) -> tuple[int, list[str]]:
    """The reports of the sound ones, against ``preflight check`` of the same files; how many, and what differs."""
    sound = [one for one in sent if one.kind in ("good", "jpeg", "soft", "ticketed")]
    reports = {file: dict(listed)["json"] for file, _, _, _, listed in rows(out)}
    for one in sound:
        lay(folder, one)
    differing: list[str] = []
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    for start in range(0, len(sound), 200):
        part = sound[start : start + 200]
        names = [one.rel if not one.rel.startswith("-") else f"./{one.rel}" for one in part]
        command = [sys.executable, "-m", "preflight", "check", *names, "--format", "json", "--jobs", "2"]
        done = subprocess.run(command, capture_output=True, cwd=folder, env=environment, check=False)
        checked = json.loads(done.stdout)["artworks"]
        for one, plain in zip(part, checked, strict=True):
            (mine,) = json.loads((out / reports[one.rel]).read_text(encoding="utf-8"))["artworks"]
            if _timeless(mine) != _timeless(plain):
                differing.append(f"another report than check gives: {one.rel!r}")
    return len(sound), differing


def _timeless(artwork: dict[str, object]) -> dict[str, object]:
    return {**artwork, "seconds": 0, "file": str(artwork["file"]).removeprefix("./")}


@contextlib.contextmanager
def small_disk(megabytes: int) -> Iterator[Path | None]:
    """A disk in memory that can be filled without harm, or None where none can be had."""
    with tempfile.TemporaryDirectory(prefix="soak-") as name:
        made = subprocess.run(
            ["mount", "-t", "tmpfs", "-o", f"size={megabytes}m", "tmpfs", name], capture_output=True, check=False
        )
        try:
            yield Path(name) if made.returncode == 0 else None
        finally:
            if made.returncode == 0:
                subprocess.run(["umount", name], check=False)


def soak(sent: list[Sent], night: Night, seed: int, patience: float) -> list[str]:
    """The whole night; everything that is wrong after it."""
    rng = random.Random(seed)
    night.incoming.mkdir()
    first = len(sent) // 2
    for one in sent[:first]:
        lay(night.incoming, one)
    failures: list[BaseException] = []

    def feed() -> None:
        feeding = random.Random(seed + 1)
        try:
            for one in sent[first:]:
                arrive(night.incoming, one, feeding)
        except BaseException as failure:  # noqa: BLE001 - told by the other thread
            failures.append(failure)

    feeder = threading.Thread(target=feed, daemon=True)
    feeder.start()
    night.run(len(sent), rng, patience)
    feeder.join(5)
    late = ["the files had not all come"] if feeder.is_alive() else []
    return [*(str(failure) for failure in failures), *late, *inspect(sent, night.incoming, night.out)]


def main() -> int:
    """Run it and tell."""
    parser = argparse.ArgumentParser(description=__doc__)
    for name, usual in (("files", 2000), ("kills", 50), ("fills", 2), ("seed", 1), ("jobs", 2), ("megabytes", 600)):
        parser.add_argument(f"--{name}", type=int, default=usual)
    given = parser.parse_args()
    start = time.monotonic()
    sent = sendings(given.files, given.seed)
    with small_disk(given.megabytes) as disk, tempfile.TemporaryDirectory(prefix="soak-") as scratch:
        place = Path(scratch) if disk is None else disk
        options = ("--every", "1s", "--settle", "8s", "--jobs", str(given.jobs), "--formats", "json,text")
        night = Night(place / "in", place / "out", given.kills, (3.0, 9.0), options, given.fills if disk else 0, disk)
        wrong = soak(sent, night, given.seed, patience=3600)
        compared, differing = compare(sent, night.out, Path(scratch) / "checked") if not wrong else (0, [])
        verdicts = Counter(verdict for _, _, verdict, *_ in rows(night.out))
    for line in [*wrong, *differing][:40]:
        print(line)
    told = {
        "files": len(sent), "kills": night.killed, "kills with files in hand": night.killed_at_work,
        "disk filled": night.filled if disk else "not possible here", "verdicts": dict(verdicts),
        "reports compared with check": compared, "wrong": len(wrong) + len(differing),
        "minutes": round((time.monotonic() - start) / 60, 1),
    }  # fmt: skip
    print(json.dumps(told, indent=2))
    return int(bool(wrong or differing))


if __name__ == "__main__":
    sys.exit(main())
