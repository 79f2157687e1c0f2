"""What is not an artwork: one clear sentence each, with the file's name and the next step."""

import os
import socket
import struct
import sys
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms

from preflight.errors import IntakeError
from preflight.intake import OPENERS, open_artwork, open_pages

RED = Image.new("RGB", (20, 10), (255, 0, 0))


def refused(path, limit=10**6):
    with pytest.raises(IntakeError) as caught:
        for _ in open_artwork(path, pixel_limit=limit).strips():
            pass
    error = caught.value
    assert error.file == str(path)
    assert str(error).startswith(f"{path}: ")
    assert not error.what.endswith(".")
    assert error.next_step.endswith(".")
    assert error.next_step[0].isupper()
    for word in ("please", "sorry", "invalid", "error", "Errno", "Traceback"):
        assert word not in str(error)[len(str(path)) :]
    return error


def test_missing(tmp_path):
    assert refused(tmp_path / "gone.png").what == "there is no such file"


def test_inside_a_file(save):
    assert refused(save(RED, "a.png") / "b.png").what == "there is no such file"


def test_folder(tmp_path):
    assert refused(tmp_path).what == "this is a folder, not a file"


def test_empty(save):
    assert refused(save(b"", "empty.png")).what == "the file is empty"


@pytest.mark.parametrize("data", [b"\x89PN", b"\xff", b"I", b"RIFF", b"\x00\x00\x00\x18ftyp", b"PK\x03\x04"])
def test_a_few_bytes(data, save):
    refused(save(data, "tiny.png"))


def test_noise(save):
    data = np.random.default_rng(5).integers(0, 256, 5000, dtype=np.uint8).tobytes()
    assert refused(save(b"\x00\x01" + data, "art.png")).what == "this is not a picture that this program knows"


def test_text_with_a_pictures_name(save):
    error = refused(save(b"Hello, here is my logo.\n", "logo.png"))
    assert error.what == "it is a text file, not a picture, though its name ends in .png"


def test_web_page_with_a_pictures_name(save):
    error = refused(save(b"<!DOCTYPE html><html><body>Log in</body></html>", "logo.jpg"))
    assert error.what == "it is a web page, not a picture, though its name ends in .jpg"
    assert error.next_step == "Download the picture itself and send that."


def test_an_opener_for_a_new_format_is_one_entry(save, monkeypatch):
    """A document opener gives its pages; the first is the artwork."""
    first, second = (open_artwork(save(RED, name), pixel_limit=10**6) for name in ("1.png", "2.png"))
    seen = []

    def opener(path, pixel_limit):
        seen.append((path, pixel_limit))
        return [first, second]

    monkeypatch.setitem(OPENERS, "PDF", opener)
    path = save(b"%PDF-1.7\n", "art.pdf")
    assert open_artwork(path, pixel_limit=99) is first
    assert open_pages(path, pixel_limit=99) == [first, second]
    assert seen == [(path, 99)] * 2


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_is_not_waited_for(tmp_path):
    path = tmp_path / "pipe.png"
    os.mkfifo(path)
    assert refused(path).what == "this is a device or a pipe, not a file"


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="this system has no such device")
def test_device():
    assert refused(Path("/dev/zero")).what == "this is a device or a pipe, not a file"


@pytest.mark.skipif(not hasattr(socket, "AF_UNIX"), reason="this system has no local sockets")
def test_socket(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)  # its name may only be short
    with socket.socket(socket.AF_UNIX) as end:
        end.bind("s.png")
        assert refused(tmp_path / "s.png").what == "this is a device or a pipe, not a file"


@pytest.mark.skipif(
    sys.platform == "win32" or (hasattr(os, "geteuid") and os.geteuid() == 0), reason="root may read all"
)
def test_no_right_to_read(save):
    path = save(RED, "locked.png")
    path.chmod(0)
    assert refused(path).what == "the file may not be read"


def test_no_right_to_read_as_the_system_says_it(save, monkeypatch):
    """The same where the tests run as root."""

    def locked(self, *args, **kwargs):
        raise PermissionError(13, "Permission denied", str(self))

    path = save(RED, "locked.png")
    monkeypatch.setattr(Path, "open", locked)
    assert refused(path).what == "the file may not be read"


def test_another_fault_of_the_system(save, monkeypatch):
    def broken(self, *args, **kwargs):
        raise OSError(5, "Input/output error", str(self))

    path = save(RED, "art.png")
    monkeypatch.setattr(Path, "open", broken)
    with pytest.raises(IntakeError, match=r"the file cannot be opened \(input/output error\)"):
        open_artwork(path, pixel_limit=10**6)


def test_a_name_that_is_none(tmp_path):
    refused(tmp_path / "a\x00b.png")
    refused(tmp_path / ("x" * 5000 + ".png"))


def test_a_file_that_goes_away(save):
    path = save(RED, "art.png")
    artwork = open_artwork(path, pixel_limit=10**6)
    path.unlink()
    with pytest.raises(IntakeError, match="went away"):
        list(artwork.strips())


@pytest.mark.parametrize(
    ("name", "place", "size"),
    [("art.png", 16, ">II"), ("art.bmp", 18, "<ii"), ("art.tif", None, None)],
)
def test_a_picture_without_pixels(name, place, size, save):
    path = save(RED, name)
    data = bytearray(path.read_bytes())
    if place is None:
        for tag in (256, 257):
            at = data.index(struct.pack("<HHI", tag, 4, 1))
            data[at + 8 : at + 12] = bytes(4)
    else:
        struct.pack_into(size, data, place, 0, 0)
    assert "it has no pixels" in refused(save(bytes(data), name)).what


@pytest.mark.parametrize("name", ["art.png", "art.jpg", "art.tif", "art.webp", "art.gif", "art.bmp"])
def test_the_limit_holds_for_every_format(name, save):
    path = save(RED, name)
    assert open_artwork(path, pixel_limit=200).facts.width == 20
    error = refused(path, limit=199)
    assert "20 × 10 px" in error.what
    assert "limit" in error.what
    assert error.next_step == "Send it smaller, or raise film.longest_print or film.finest_ppi in the shop file."


def test_a_bomb_is_refused_by_its_head(png, save):
    """A few bytes that claim 3600 megapixels; nothing is decoded, so it may well be damaged too."""
    data = bytearray(png(np.zeros((1, 1, 1), np.uint8), 0))
    struct.pack_into(">II", data, 16, 60_000, 60_000)
    error = refused(save(bytes(data), "bomb.png"), limit=118_800_000)
    assert error.what == "the picture is 60000 × 60000 px, 3600.0 megapixels; the limit is 118.8 megapixels"


def test_a_warning_that_quotes_the_file_prints_nothing(png, save, read, capfd):
    """A profile's name in Latin-1, as ISO/IEC 15948 allows, in a warning of the decoder."""
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    profile[16:20] = b"LTB "  # no colour space that there is
    chunk = b"caf\xe9\x00\x00" + zlib.compress(bytes(profile))
    whole = read(save(png(np.zeros((4, 4, 3), np.uint8), 2, 8, ((b"iCCP", chunk),)), "art.png"))
    assert whole.facts.icc is None
    assert capfd.readouterr() == ("", "")
