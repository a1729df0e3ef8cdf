"""Which models are found, and where."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from voicelog.recognition.models import (
    find_embedded_model,
    find_models,
    load_published,
    model_folders,
)


def make_model(folder: Path, *, engine: str = "vosk") -> Path:
    name = "am/final.mdl" if engine == "vosk" else "model.bin"
    (folder / name).parent.mkdir(parents=True)
    (folder / name).write_bytes(b"x" * 100)
    if engine == "whisper":
        (folder / "config.json").write_text("{}")
    return folder


class TestFolders:
    def test_the_configured_folder_comes_first_then_ours_then_vosks(
        self, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
    ) -> None:
        """The order in which vosk itself looks is vosk 0.3.45's MODEL_DIRS."""
        monkeypatch.setenv("HOME", str(tmp_path))
        folders = model_folders(Path("mine"), environment={"VOSK_MODEL_PATH": "named"})
        assert folders[0] == Path("mine")
        assert folders[1].name == "models"
        assert folders[2].name == "_models"
        assert folders[3:] == (
            Path("named"),
            Path("/usr/share/vosk"),
            tmp_path / "AppData/Local/vosk",
            tmp_path / ".cache/vosk",
        )

    def test_the_shipped_model_is_found(self) -> None:
        models = {model.name: model for model in find_models(model_folders(environment={}))}
        assert models["vosk-bench-trial"].engine == "vosk"
        assert 7_000_000 < models["vosk-bench-trial"].size_bytes < 9_000_000
        assert not models["vosk-bench-trial"].full_size


class TestFinding:
    def test_a_folder_may_hold_models_or_be_one(self, tmp_path: Path) -> None:
        make_model(tmp_path / "many" / "b")
        make_model(tmp_path / "many" / "a", engine="whisper")
        make_model(tmp_path / "one")
        found = find_models([tmp_path / "one", tmp_path / "many"])
        assert [(model.engine, model.name) for model in found] == [
            ("vosk", "one"), ("whisper", "a"), ("vosk", "b"),
        ]  # fmt: skip

    def test_the_first_of_one_name_counts(self, tmp_path: Path) -> None:
        make_model(tmp_path / "1" / "same")
        make_model(tmp_path / "2" / "same")
        (found,) = find_models([tmp_path / "1", tmp_path / "2"])
        assert found.folder == tmp_path / "1" / "same"

    def test_missing_folders_and_half_downloads_hold_none(self, tmp_path: Path) -> None:
        make_model(tmp_path / ".vosk-model-small-en-us-0.15.unpacking")
        assert find_models([tmp_path, tmp_path / "none", Path("/dev/null")]) == ()

    def test_a_large_published_model_is_known_as_such(self, tmp_path: Path) -> None:
        make_model(tmp_path / "vosk-model-en-us-0.22")
        (found,) = find_models([tmp_path])
        assert found.full_size

    def test_the_embedded_model_is_found(self) -> None:
        model = find_embedded_model()
        assert model is not None
        assert (model.engine, model.name) == ("whisper", "tiny.en")
        assert 70_000_000 < model.size_bytes < 90_000_000


def test_the_shipped_models_checksums_list_every_file(vosk_folder: Path) -> None:
    """No file of the model is left unguarded; the sha256sum command agrees."""
    listed = {line.split("  ")[1] for line in (vosk_folder / "SHA256SUMS").read_text().splitlines()}
    there = {
        path.relative_to(vosk_folder).as_posix()
        for path in vosk_folder.rglob("*")
        if path.is_file() and path.name != "SHA256SUMS"
    }
    assert listed == there
    assert shutil.which("sha256sum") is None or _sha256sum_agrees(vosk_folder)


def _sha256sum_agrees(folder: Path) -> bool:
    import subprocess  # noqa: PLC0415

    run = subprocess.run(["sha256sum", "--check", "--quiet", "SHA256SUMS"], cwd=folder, check=False)
    return run.returncode == 0


def test_published_models_are_named_once() -> None:
    names = [model.name for model in load_published()]
    assert len(names) == len(set(names)) >= 3
    assert all(name.startswith("vosk-model-") for name in names)
