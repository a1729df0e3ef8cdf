"""What is not as it was left is found: in the database, page by page, and in the recordings."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.session.bringing_in.benches import Bench
from voicelog.errors import UsageError
from voicelog.store.soundness import Harm, find_log_damage
from voicelog.store.writing import WritableLog

NOTES = ("accession 2031-007", "volume one, the green book", "leaf two, a postcard, photo corners")
PAGE_BYTES = 4096


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    bench = Bench(tmp_path / "log")
    bench.record("morning.wav", b"the sound of the morning")
    bench.record("evening.wav", b"the sound of the evening")
    bench.say(*NOTES, *(f"leaf {number}, a ticket, yellowed" for number in range(3, 40)))
    return bench.folder


def page_at(database: Path, text: str) -> int:
    """Return the number of the last page that holds a text, from 1."""
    return database.read_bytes().rindex(text.encode()) // PAGE_BYTES + 1


def spoil_page(database: Path, number: int, *, with_byte: int = 0xFF) -> None:
    """Overwrite a whole page, as a failing disk may."""
    with database.open("r+b") as file:
        file.seek((number - 1) * PAGE_BYTES)
        file.write(bytes([with_byte]) * PAGE_BYTES)


def test_a_log_as_it_was_left_has_nothing_wrong(folder: Path) -> None:
    assert list(find_log_damage(folder)) == []


def test_every_single_page_that_is_overwritten_is_found(folder: Path) -> None:
    """Whichever page it is, and whether it is full of ones or of zeros."""
    database = folder / "log.sqlite"
    whole = database.read_bytes()
    for number in range(1, len(whole) // PAGE_BYTES + 1):
        for byte in (0xFF, 0x00):
            spoil_page(database, number, with_byte=byte)
            harms = [damage.harm for damage in find_log_damage(folder)]
            assert Harm.DAMAGED in harms, f"page {number} full of {byte:#x}"
            database.write_bytes(whole)


def test_names_of_columns_that_are_no_text_are_found(folder: Path) -> None:
    """They make Python's library raise an error of another kind (found by fuzzing)."""
    database = folder / "log.sqlite"
    content = database.read_bytes()
    database.write_bytes(content.replace(b"heard_to_s REAL", b"h\xfe\xfed_to_s REAL"))
    assert {damage.harm for damage in find_log_damage(folder)} == {Harm.DAMAGED}


def test_a_file_that_was_cut_off_is_found(folder: Path) -> None:
    database = folder / "log.sqlite"
    database.write_bytes(database.read_bytes()[: 3 * PAGE_BYTES])
    assert [damage.harm for damage in find_log_damage(folder)][:1] == [Harm.DAMAGED]


def remove(path: Path) -> None:
    path.unlink()


def change_one_bit(path: Path) -> None:
    sound = bytearray(path.read_bytes())
    sound[5] ^= 1
    path.write_bytes(sound)


def cut_short(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:-1])


@pytest.mark.parametrize(
    ("harm_it", "harm"),
    [(remove, Harm.MISSING), (change_one_bit, Harm.CHANGED), (cut_short, Harm.CHANGED)],
)
def test_a_recording_that_is_missing_or_changed_is_named(
    folder: Path, harm_it: Callable[[Path], None], harm: Harm
) -> None:
    harm_it(folder / "audio" / "evening.wav")
    (damage,) = find_log_damage(folder)
    assert damage.harm is harm
    assert "evening.wav" in damage.message


def test_sound_that_was_removed_on_record_is_not_missing(folder: Path) -> None:
    """Nor is what is still being recorded changed."""
    with WritableLog.open_to_write(folder, made_by="voicelog test") as log:
        log.remove_sound("evening.wav", rule="until confirmed")
        log._database.execute("UPDATE recordings SET sha256 = '' WHERE file = 'morning.wav'")
        log._database.conn.commit()
    assert list(find_log_damage(folder)) == []


def test_looking_changes_nothing(folder: Path) -> None:
    before = {path.name: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    list(find_log_damage(folder))
    after = {path.name: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    assert after == before


def test_where_no_log_is_nothing_can_be_said(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="is not there"):
        list(find_log_damage(tmp_path / "nowhere"))
