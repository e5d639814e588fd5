"""Job folders and bundles: taken in, recognised, offered, written anew; never written to."""

from __future__ import annotations

import hashlib
import zipfile
from pathlib import Path

import pytest
from small import AS_FOUND, CAP_OFF, Held, usual

from gaugewright.errors import EditedElsewhere, InputError, OutputError
from gaugewright.job.folder import read
from gaugewright.store.changes import Change
from gaugewright.store.exchange import id_of
from gaugewright.store.lines import Kept
from gaugewright.store.store import Store


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return usual(tmp_path / "handed in")


def state_of(folder: Path) -> dict[str, tuple[str, int]]:
    """Every file of a folder by its bytes and its time."""
    return {
        str(path.relative_to(folder)): (
            hashlib.sha256(path.read_bytes()).hexdigest(),
            path.stat().st_mtime_ns,
        )
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def retitle(folder: Path, title: str) -> None:
    file = folder / "job.toml"
    text = file.read_text("utf-8")
    file.write_text(text.replace('title = "Small"', f'title = "{title}"'), "utf-8")


def test_a_folder_comes_in_whole_and_is_not_touched(store: Store, folder: Path) -> None:
    before = state_of(folder)
    taken = store.take_in(folder)
    assert taken.state == "new"
    assert taken.kept.ready
    assert taken.kept.problems == ()
    assert taken.kept.tables["title"] == "Small"
    assert taken.kept.tables["id"] == taken.kept.id
    kept = taken.kept.folder / "recordings/run.csv"
    assert kept.read_bytes() == (folder / "recordings/run.csv").read_bytes()
    assert state_of(folder) == before
    assert store.check(taken.kept.id) == ()


def test_the_same_folder_again_is_the_same_job(store: Store, folder: Path) -> None:
    first = store.take_in(folder).kept
    for path in (folder, folder / "job.toml"):
        again = store.take_in(path)
        assert (again.state, again.kept) == ("same", first)
    assert len(store.jobs()) == 1


def test_what_was_edited_here_is_not_lost_when_the_folder_comes_again(
    store: Store, folder: Path
) -> None:
    first = store.take_in(folder).kept
    edited = store.edit(first.id, Change("title", "Small", "Mine"), 1)
    again = store.take_in(folder)
    assert (again.state, again.kept) == ("same", edited)


def test_a_written_folder_reads_back_as_the_same_job(
    store: Store, folder: Path, tmp_path: Path
) -> None:
    kept = store.take_in(folder).kept
    out = store.export(kept.id, tmp_path / "out" / "job")
    job, _ = read(out)
    assert job == kept.model
    assert job.id == kept.id
    for name in ("recordings/run.csv",):
        assert (out / name).read_bytes() == (folder / name).read_bytes()
    assert sorted(state_of(out)) == ["job.toml", "recordings/run.csv"]
    assert store.take_in(out).state == "same"


def test_a_bundle_goes_out_and_comes_in_elsewhere(
    store: Store, lite: Store, folder: Path, tmp_path: Path
) -> None:
    kept = store.take_in(folder).kept
    bundle = store.export(kept.id, tmp_path / "out.zip", bundle=True)
    assert zipfile.ZipFile(bundle).testzip() is None
    assert store.take_in(bundle).state == "same"
    if store.engine.url == lite.engine.url:
        return
    there = lite.take_in(bundle)
    assert there.state == "new"
    assert there.kept.id == kept.id
    assert there.kept.model == kept.model


def test_a_changed_folder_is_offered_and_never_merged(store: Store, folder: Path) -> None:
    kept = store.take_in(folder).kept
    out = folder.with_name("out")
    store.export(kept.id, out)
    retitle(out, "There")
    usual_file = out / "recordings/run.csv"
    usual_file.write_text(usual_file.read_text("utf-8") + "\n", "utf-8")
    mine = store.edit(kept.id, Change("limit.0.min", "90 kPa", "95 kPa"), kept.version)
    offer = store.take_in(out)
    assert offer.state == "update"
    assert offer.changed_here
    assert store.job(kept.id) == mine
    told = {line.place: (line.here, line.there) for line in offer.differences}
    assert told == {
        "title": ("Small", "There"),
        'limit "hot idle", min': ("95 kPa", "90 kPa"),
        'recording "run", file': ("recordings/run.csv", "recordings/run.csv (another file)"),
    }
    before = state_of(out)
    after = store.accept_update(kept.id, out, mine.version)
    assert state_of(out) == before
    assert after.tables["title"] == "There"
    assert after.tables["limit"][0]["min"] == "90 kPa"
    new = after.folder / after.tables["recording"][0]["file"]
    assert new.read_bytes() == usual_file.read_bytes()
    assert (after.folder / "recordings/run.csv").read_bytes() != new.read_bytes()
    assert store.take_in(out).state == "same"
    back = store.undo(kept.id, after.version)
    assert back.tables == mine.tables
    assert store.check(kept.id) == ()


def test_an_offer_is_for_the_version_it_was_made_for(store: Store, folder: Path) -> None:
    kept = store.take_in(folder).kept
    out = store.export(kept.id, folder.with_name("out"))
    retitle(out, "There")
    assert not store.take_in(out).changed_here
    store.edit(kept.id, Change("title", "Small", "Here"), 1)
    with pytest.raises(EditedElsewhere):
        store.accept_update(kept.id, out, 1)
    assert store.job(kept.id).tables["title"] == "Here"
    other = usual(folder.with_name("other"), AS_FOUND, Held("fast", 300.0, 2.0, 2000.0))
    with pytest.raises(InputError, match="another job than the one it was offered for"):
        store.accept_update(kept.id, other, 2)


def test_ids_of_others_are_known_again_whatever_they_look_like(store: Store, folder: Path) -> None:
    file = folder / "job.toml"
    file.write_text('id = "../A shop/17"\n' + file.read_text("utf-8"), "utf-8")
    kept = store.take_in(folder).kept
    assert kept.tables["id"] == "../A shop/17"
    assert kept.id == id_of("../A shop/17")
    assert kept.id.isalnum()
    retitle(folder, "New")
    assert store.take_in(folder).state == "update"
    assert id_of("0123abcd-EF") == "0123abcd-EF"


def test_two_folders_without_id_are_two_jobs(store: Store, folder: Path, tmp_path: Path) -> None:
    other = usual(tmp_path / "other", AS_FOUND, CAP_OFF, seed=2)
    assert store.take_in(folder).kept.id != store.take_in(other).kept.id
    assert [line.number for line in store.jobs()] == [2, 1]


def test_a_wrong_folder_is_told_and_leaves_nothing(store: Store, folder: Path) -> None:
    file = folder / "job.toml"
    text = file.read_text("utf-8")
    file.write_text(text.replace('"90 kPa"', '"90 kPq"'), "utf-8")
    (folder / "recordings/run.csv").unlink()
    with pytest.raises(InputError) as caught:
        store.take_in(folder)
    said = str(caught.value)
    assert f'{file}, limit "hot idle", min (line 13): found "90 kPq"' in said
    assert 'the file "recordings/run.csv" is not there' in said
    assert store.jobs() == ()
    assert list((store.folder / "jobs").iterdir()) == []
    for path in (folder.with_name("nowhere"), folder / "recordings"):
        with pytest.raises(InputError):
            store.take_in(path)


def test_a_job_without_recordings_comes_in_as_one_to_go_on_with(
    store: Store, kept: Kept, lite: Store, tmp_path: Path
) -> None:
    store.edit(kept.id, Change("sensor.-", None, {"name": "transducer"}), 1)
    out = store.export(kept.id, tmp_path / "out.zip", bundle=True)
    taken = store.take_in(out)
    assert taken.state == "same"
    if store.engine.url != lite.engine.url:
        assert lite.take_in(out).kept.tables == store.job(kept.id).tables


def test_nothing_that_stands_somewhere_is_written_over(
    store: Store, folder: Path, tmp_path: Path
) -> None:
    kept = store.take_in(folder).kept
    for path in (folder, folder / "job.toml"):
        with pytest.raises(OutputError, match="something stands there already"):
            store.export(kept.id, path)
    with pytest.raises(OutputError, match="cannot be written"):
        store.export(kept.id, folder / "job.toml" / "out")
    assert store.take_in(folder).state == "same"


def test_a_damaged_recording_does_not_go_out(store: Store, folder: Path, tmp_path: Path) -> None:
    kept = store.take_in(folder).kept
    path = kept.folder / "recordings/run.csv"
    path.chmod(0o644)
    path.write_text(path.read_text("utf-8").replace("0.01", "0.02", 1), "utf-8")
    with pytest.raises(InputError, match="its checksum differs"):
        store.export(kept.id, tmp_path / "out")
    assert not (tmp_path / "out").exists()
    assert not list(tmp_path.glob(".part-*"))


def test_remarks_in_a_folder_come_in_and_go_out(store: Store, folder: Path, tmp_path: Path) -> None:
    file = folder / "job.toml"
    file.write_text("# by hand\n" + file.read_text("utf-8"), "utf-8")
    kept = store.take_in(folder).kept
    store.edit(kept.id, Change("title", "Small", "Mine"), 1)
    out = store.export(kept.id, tmp_path / "out")
    assert (out / "job.toml").read_text("utf-8").startswith("# by hand\n")
