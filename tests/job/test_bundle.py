"""A bundle is not trusted: every limit, and that nothing lands outside."""

import stat
import struct
import zipfile

import pytest
from job_sample import FULL, lay

from gaugewright.errors import InputError, OutputError
from gaugewright.job import bundle, folder


def refused(path, place):
    with pytest.raises(InputError) as caught:
        bundle.unpack(path, place)
    return caught.value.text


def zipped(path, entries):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, data in entries:
            packed.writestr(name, data)
    return path


@pytest.fixture
def place(tmp_path):
    made = tmp_path / "unpacked"
    made.mkdir()
    return made


def test_pack_and_open(tmp_path):
    source = lay(tmp_path / "job")
    (source / "private.txt").write_text("not part of the job", encoding="utf-8")
    packed = bundle.pack(source, tmp_path / "job.zip")
    with folder.opened(packed) as (job, unpacked):
        assert job == folder.read(source)[0]
        names = sorted(p.relative_to(unpacked).as_posix() for p in unpacked.rglob("*.*"))
        assert names == ["job.toml", "recordings/hot-idle.csv", "recordings/logger.csv"]
    assert not unpacked.exists()


def test_the_same_folder_packs_to_the_same_bytes(tmp_path):
    source = lay(tmp_path / "job")
    one = bundle.pack(source, tmp_path / "one.zip").read_bytes()
    assert bundle.pack(source, tmp_path / "two.zip").read_bytes() == one


def test_a_single_top_folder_and_system_litter(tmp_path):
    entries = [
        ("van/job.toml", FULL),
        ("van/recordings/hot-idle.csv", "t\n"),
        ("van/recordings/logger.csv", "t\n"),
        ("__MACOSX/van/._job.toml", "x"),
        ("van/.DS_Store", "x"),
    ]
    with folder.opened(zipped(tmp_path / "van.zip", entries)) as (job, unpacked):
        assert job.title == "Tick at hot idle"
        assert unpacked.name == "van"


def test_a_bundle_is_known_by_its_first_bytes(tmp_path):
    source = lay(tmp_path / "job")
    packed = bundle.pack(source, tmp_path / "job.bundle")
    with folder.opened(packed) as (job, _):
        assert job.title == "Tick at hot idle"


def test_the_message_names_bundle_and_file(tmp_path):
    packed = zipped(tmp_path / "bad.zip", [("job.toml", "format = 2\n")])
    with pytest.raises(InputError) as caught, folder.opened(packed):
        pass
    assert caught.value.text.startswith(f"{packed}/job.toml, format (line 1): found format 2; ")


@pytest.mark.parametrize(
    "name", ["../out.csv", "/out.csv", "a/../../out.csv", "C:/out.csv", "a\\..\\out.csv", "a\nb"]
)
def test_names_that_lead_outside(tmp_path, place, name):
    path = zipped(tmp_path / "bad.zip", [("job.toml", FULL), (name, "x")])
    told = refused(path, place)
    assert "its name leads outside the job folder or cannot be a file's; pack plain files" in told
    assert list(place.iterdir()) == []


def test_links(tmp_path, place):
    link = zipfile.ZipInfo("recordings/link.csv")
    link.external_attr = (stat.S_IFLNK | 0o777) << 16
    path = zipped(tmp_path / "bad.zip", [("job.toml", FULL), (link, "/etc/hostname")])
    assert refused(path, place) == (
        f'{path}, entry "recordings/link.csv": it is a link or a device, not a file; pack plain '
        "files that lie in the job folder."
    )


def test_encryption(tmp_path, place):
    path = zipped(tmp_path / "bad.zip", [("job.toml", FULL)])
    data = bytearray(path.read_bytes())
    directory = data.index(b"PK\x01\x02")
    data[directory + 8] |= 1
    path.write_bytes(data)
    assert "it is encrypted; pack plain files" in refused(path, place)


def test_another_method(tmp_path, place):
    with zipfile.ZipFile(tmp_path / "bad.zip", "w", zipfile.ZIP_LZMA) as packed:
        packed.writestr("job.toml", FULL)
    assert "packed by a method other than deflate" in refused(tmp_path / "bad.zip", place)


def test_too_many_entries(tmp_path, place):
    entries = [(f"recordings/{number}.csv", "") for number in range(2001)]
    path = zipped(tmp_path / "bad.zip", entries)
    assert refused(path, place) == (
        f"{path}: found 2001 entries, more than 2000; pack only the job folder."
    )


def declared(path, size):
    """The zip with this unpacked size written in its directory."""
    data = bytearray(path.read_bytes())
    directory = data.index(b"PK\x01\x02")
    data[directory + 24 : directory + 28] = struct.pack("<I", size)
    path.write_bytes(data)
    return path


def test_two_gigabytes_declared_in_a_tiny_zip(tmp_path, place):
    path = declared(zipped(tmp_path / "bad.zip", [("job.toml", FULL)]), 2 * 10**9)
    told = refused(path, place)
    assert "would unpack to 2000000000, more than 250 times as much; hand the job over" in told
    assert list(place.iterdir()) == []


def test_a_real_bomb(tmp_path, place):
    zeros = bytes(1024 * 1024)
    path = tmp_path / "bomb.zip"
    with (
        zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed,
        packed.open("recordings/zeros.csv", "w") as file,
    ):
        for _ in range(80):
            file.write(zeros)
    assert path.stat().st_size < 200_000
    assert "more than 250 times as much" in refused(path, place)


def test_more_than_the_limit_declared(tmp_path, place, monkeypatch):
    monkeypatch.setattr(bundle, "MOST_BYTES", 1000)
    path = zipped(tmp_path / "bad.zip", [("job.toml", FULL)])
    assert "GiB, more than 4 GiB; leave out recordings" in refused(path, place)


def test_what_is_unpacked_is_counted(tmp_path, place, monkeypatch):
    """The directory may lie: the limit holds on the bytes that really come out."""
    path = zipped(tmp_path / "bad.zip", [("job.toml", FULL)])
    monkeypatch.setattr(bundle, "_refused_sizes", lambda entries, file: iter(()))
    monkeypatch.setattr(bundle, "MOST_BYTES", 1000)
    assert "it unpacks to more than 4 GiB, more than it declares" in refused(path, place)


def test_less_declared_than_packed(tmp_path, place):
    path = declared(zipped(tmp_path / "bad.zip", [("job.toml", FULL)]), 10)
    assert "the zip is damaged" in refused(path, place)


def test_names_twice(tmp_path, place):
    path = zipped(tmp_path / "bad.zip", [("job.toml", FULL), ("JOB.toml", "x")])
    assert refused(path, place) == (
        f'{path}, entry "job.toml": the name stands 2 times; pack each file once, letter case '
        "aside."
    )


def test_damage_and_emptiness(tmp_path, place):
    path = tmp_path / "bad.zip"
    path.write_bytes(b"PK\x03\x04 and no more")
    assert refused(path, place) == (
        f"{path}: the zip is damaged (File is not a zip file); make the bundle again."
    )
    empty = zipped(tmp_path / "empty.zip", [("readme.txt", "x")])
    assert refused(empty, place) == (
        f"{empty}: it holds no job.toml at its top or in a single folder there; pack the job "
        "folder itself."
    )


def test_a_bundle_that_is_not_there(tmp_path):
    with pytest.raises(InputError, match="nothing is there"), folder.opened(tmp_path / "no.zip"):
        pass


def test_no_room_to_unpack(tmp_path, place, monkeypatch):
    path = zipped(tmp_path / "job.zip", [("job.toml", FULL)])

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(bundle, "_extract", full)
    with pytest.raises(OutputError) as caught:
        bundle.unpack(path, place)
    assert caught.value.text == (
        f"{place}: the bundle cannot be unpacked there (No space left on device); make room, or "
        "unpack it yourself."
    )
