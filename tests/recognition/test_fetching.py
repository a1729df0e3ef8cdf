"""Fetching a model from a real server: cut off, changed, forged, hostile."""

from __future__ import annotations

import hashlib
import io
import stat
import zipfile
from pathlib import Path

import pytest

from voicelog.errors import DownloadFailed, ModelDamaged, UsageError
from voicelog.recognition.engines.vosk import VoskOptions, VoskRecogniser
from voicelog.recognition.models import FetchOptions, fetch_model, find_models

from .model_server import Offer, serve

NAME = "vosk-model-small-en-us-0.15"


@pytest.fixture(scope="session")
def archive(vosk_folder: Path) -> bytes:
    """Our own model, packed the way the published ones are."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as made:
        for path in sorted(vosk_folder.rglob("*")):
            if path.name != "SHA256SUMS":
                made.write(path, f"{NAME}/{path.relative_to(vosk_folder).as_posix()}")
    return packed.getvalue()


class Progress(list[tuple[int, int | None]]):
    def __call__(self, there: int, total: int | None) -> None:
        self.append((there, total))


def fetch(base_url: str, into: Path, *, sha256: str | None = None, attempts: int = 3) -> Path:
    options = FetchOptions(base_url=base_url, sha256=sha256, attempts=attempts, timeout_s=5)
    return fetch_model(NAME, into=into, progress=Progress(), options=options)


def leftovers(into: Path) -> list[str]:
    return sorted(path.name for path in into.iterdir())


class TestFetching:
    def test_a_fetched_model_is_found_and_listens(self, archive: bytes, tmp_path: Path) -> None:
        """Nothing but the model is left, with a list of checksums for later."""
        with serve(Offer(content=archive)) as url:
            folder = fetch(url, tmp_path)
        assert folder == tmp_path / NAME
        assert leftovers(tmp_path) == [NAME]
        assert (folder / "SHA256SUMS").is_file()
        (model,) = find_models([tmp_path])
        VoskRecogniser(VoskOptions(model_folder=model.folder))

    def test_progress_runs_from_nothing_to_all(self, archive: bytes, tmp_path: Path) -> None:
        progress = Progress()
        with serve(Offer(content=archive)) as url:
            fetch_model(NAME, into=tmp_path, progress=progress, options=FetchOptions(base_url=url))
        assert progress[0] == (0, len(archive))
        assert progress[-1] == (len(archive), len(archive))
        assert progress == sorted(progress)

    def test_a_model_that_is_there_is_not_fetched_again(
        self, archive: bytes, tmp_path: Path
    ) -> None:
        offer = Offer(content=archive)
        with serve(offer) as url:
            assert fetch(url, tmp_path) == fetch(url, tmp_path)
        assert len(offer.ranges) == 1

    def test_a_damaged_model_that_is_there_is_told(self, tmp_path: Path) -> None:
        (tmp_path / NAME).mkdir()
        with pytest.raises(ModelDamaged, match=r"am/final\.mdl is missing"):
            fetch("http://127.0.0.1:9", tmp_path)

    def test_unknown_names_are_refused_with_the_known_ones(self, tmp_path: Path) -> None:
        with pytest.raises(UsageError, match=f"no model '../x' to fetch; choose from {NAME}"):
            fetch_model("../x", into=tmp_path, progress=Progress())


class TestGoingOn:
    def test_a_cut_connection_is_taken_up_where_it_broke(
        self, archive: bytes, tmp_path: Path
    ) -> None:
        offer = Offer(content=archive, cut_after=[1_000_000, 500_000])
        with serve(offer) as url:
            fetch(url, tmp_path)
        assert offer.ranges == [None, "bytes=1000000-", "bytes=1500000-"]

    def test_a_later_run_goes_on_too(self, archive: bytes, tmp_path: Path) -> None:
        """What came before the program was ended is kept."""
        offer = Offer(content=archive, cut_after=[1_000_000])
        with serve(offer) as url:
            with pytest.raises(DownloadFailed, match="Fetch it again to go on where it stopped"):
                fetch(url, tmp_path, attempts=1)
            fetch(url, tmp_path)
        assert offer.ranges == [None, "bytes=1000000-"]
        assert leftovers(tmp_path) == [NAME]

    def test_another_version_is_begun_anew(self, archive: bytes, tmp_path: Path) -> None:
        """Halves of two versions are never joined (RFC 9110, 13.1.5, If-Range)."""
        offer = Offer(content=bytes(len(archive)), etag='"old"', cut_after=[1_000_000])
        with serve(offer) as url:
            with pytest.raises(DownloadFailed, match="could not be downloaded"):
                fetch(url, tmp_path, attempts=1)
            offer.content, offer.etag = archive, '"new"'
            fetch(url, tmp_path, sha256=hashlib.sha256(archive).hexdigest())
        assert offer.ranges == [None, "bytes=1000000-"]

    def test_a_server_without_versions_is_begun_anew(self, archive: bytes, tmp_path: Path) -> None:
        offer = Offer(content=archive, etag=None, cut_after=[1_000_000])
        with serve(offer) as url:
            fetch(url, tmp_path)
        assert offer.ranges == [None, None]

    def test_it_gives_up_after_a_while(self, archive: bytes, tmp_path: Path) -> None:
        offer = Offer(content=archive, cut_after=[10] * 9)
        with serve(offer) as url, pytest.raises(DownloadFailed, match="Fetch it again"):
            fetch(url, tmp_path, attempts=3)
        assert len(offer.ranges) == 3


class TestRefusals:
    def test_no_server(self, tmp_path: Path) -> None:
        with pytest.raises(DownloadFailed, match=f"{NAME} could not be downloaded from http://127"):
            fetch("http://127.0.0.1:9", tmp_path, attempts=1)

    def test_not_found(self, tmp_path: Path) -> None:
        offer = Offer(content=b"", status=404)
        with serve(offer) as url, pytest.raises(DownloadFailed, match="the server answered 404"):
            fetch(url, tmp_path)
        assert len(offer.ranges) == 1

    def test_only_https(self, tmp_path: Path) -> None:
        with pytest.raises(DownloadFailed, match="only fetched over https, not from http://"):
            fetch("http://models.example.org", tmp_path)

    def test_not_even_by_a_detour(self, tmp_path: Path) -> None:
        offer = Offer(content=b"", status=302, location="http://models.example.org/x.zip")
        with serve(offer) as url, pytest.raises(DownloadFailed, match="only fetched over https"):
            fetch(url, tmp_path)

    def test_a_wrong_checksum(self, archive: bytes, tmp_path: Path) -> None:
        with (
            serve(Offer(content=archive)) as url,
            pytest.raises(DownloadFailed, match=r"not the one given; it was removed"),
        ):
            fetch(url, tmp_path, sha256="0" * 64)
        assert leftovers(tmp_path) == []

    def test_the_right_checksum(self, archive: bytes, tmp_path: Path) -> None:
        with serve(Offer(content=archive)) as url:
            fetch(url, tmp_path, sha256=hashlib.sha256(archive).hexdigest().upper())

    def test_a_folder_that_can_not_be_made(self, archive: bytes, tmp_path: Path) -> None:
        (tmp_path / "file").touch()
        with (
            serve(Offer(content=archive)) as url,
            pytest.raises(DownloadFailed, match="could not be saved in"),
        ):
            fetch(url, tmp_path / "file" / "models")


def pack(files: dict[str, bytes]) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as made:
        for name, content in files.items():
            made.writestr(name, content)
    return packed.getvalue()


def pack_link() -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as made:
        link = zipfile.ZipInfo(f"{NAME}/am")
        link.external_attr = (stat.S_IFLNK | 0o777) << 16
        made.writestr(link, "/etc")
    return packed.getvalue()


HOSTILE = {
    "climbs out": (pack({f"{NAME}/../../evil": b"x"}), "outside the model's folder"),
    "absolute": (pack({"/tmp/evil": b"x"}), "outside the model's folder"),  # noqa: S108
    "backslashes": (pack({f"{NAME}/..\\evil": b"x"}), "outside the model's folder"),
    "another folder": (pack({"elsewhere/am/final.mdl": b"x"}), "outside the model's folder"),
    "a link": (pack_link(), "link or device"),
    "a bomb": (pack({f"{NAME}/am/final.mdl": bytes(50_000_000)}), "far more than a model holds"),
    "empty": (pack({}), "the archive is empty"),
    "no model": (pack({f"{NAME}/README": b"nothing here"}), r"am/final\.mdl is missing"),
    "no zip": (b"<html>Please sign in</html>" * 50, "the archive is damaged"),
}


class TestHostileArchives:
    @pytest.mark.parametrize(("content", "reason"), HOSTILE.values(), ids=HOSTILE.keys())
    def test_nothing_of_it_stays(self, content: bytes, reason: str, tmp_path: Path) -> None:
        """It is refused, removed, and nothing was written anywhere else."""
        into = tmp_path / "deep" / "models"
        with serve(Offer(content=content)) as url, pytest.raises(DownloadFailed, match=reason):
            fetch(url, into)
        assert leftovers(into) == []
        assert leftovers(tmp_path) == ["deep"]
        assert leftovers(tmp_path / "deep") == ["models"]

    def test_a_flipped_bit_is_found(self, archive: bytes, tmp_path: Path) -> None:
        """Zip's own checksums are verified while unpacking."""
        damaged = bytearray(archive)
        damaged[len(damaged) // 2] ^= 4
        with (
            serve(Offer(content=bytes(damaged))) as url,
            pytest.raises(DownloadFailed, match="is not a usable vosk model and was removed"),
        ):
            fetch(url, tmp_path)
        assert leftovers(tmp_path) == []
