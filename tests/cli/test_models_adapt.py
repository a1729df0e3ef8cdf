"""models adapt: a repository's own words, from the list to the notes."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.adapting.conftest import NAMES, SHIPPED
from tests.cli.conftest import Result, Voicelog
from voicelog.recognition.models.vosk_files import read_vosk_words


@pytest.fixture
def adapt(voicelog: Voicelog) -> Voicelog:
    def call(*arguments: object, names: str | None = NAMES) -> Result:
        if names is not None:
            Path("names.txt").write_text(names, encoding="utf-8")
            arguments = ("--words", "names.txt", *arguments)
        return voicelog("models", "adapt", *arguments)

    return call


class TestUse:
    def test_names_and_terms_are_known_and_the_next_step_is_told(
        self, voicelog: Voicelog, adapt: Voicelog
    ) -> None:
        """The terms of the repository's own files are taken in without being asked for."""
        voicelog("vocabulary", "add", "item_type", "lamp card", "--variant", "glowcheck")
        names = f"{NAMES}Glowcheck = glow check\nGlowchecks = glow checks\n"
        result = adapt("--out", "mine/own", names=names)
        assert (result.status, result.out) == (0, "")
        assert {"glowcheck", "glowchecks", "tarnfoot"} <= set(read_vosk_words(Path("mine/own")))
        told, instruction, line = result.err.splitlines()
        assert told.startswith("The model in mine/own knows 134")
        assert told.endswith(
            "words, 5 of them new: ellerby, glowcheck, glowchecks, quillhaven, tarnfoot."
        )
        assert instruction.startswith("To hear with it, write into ")
        assert instruction.endswith("/voicelog/settings.toml:")
        assert line.strip() == f'model_folder = "{Path("mine/own").resolve()}"'
        settings = Path(instruction.removeprefix("To hear with it, write into ").rstrip(":"))
        settings.parent.mkdir(exist_ok=True)
        settings.write_text(line.strip())
        listed = voicelog("models", columns=120).out.splitlines()
        used = [one.split()[1] for one in listed if one.startswith("→")]
        assert used == ["tiny.en", "own"]

    def test_where_the_settings_find_it_nothing_is_left_to_do(
        self, adapt: Voicelog, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """In a folder that they name already, a model is used as soon as it is there."""
        monkeypatch.setenv("VOICELOG_MODEL_FOLDER", str(Path("mine").resolve()))
        result = adapt("--out", "mine/own")
        assert result.err.splitlines()[-1] == "Nothing is left to do: it is heard with from now on."


class TestRefusals:
    @pytest.mark.parametrize(
        ("names", "sentence"),
        [
            ("Tarnfoot\n1952\n", "names.txt can't be used: line 2 has figures in it (1952)"),
            ("# none yet\n", "There are no words of your own; name a list of them with --words"),
            (None, "There are no words of your own; name a list of them with --words"),
        ],
    )
    def test_a_list_that_says_nothing(
        self, adapt: Voicelog, names: str | None, sentence: str
    ) -> None:
        result = adapt("--out", "own", names=names)
        assert result.status == 2
        assert result.err.startswith(f"voicelog: {sentence}")
        assert not Path("own").exists()

    def test_a_list_that_can_t_be_read(self, voicelog: Voicelog) -> None:
        """Not there, or not text."""
        result = voicelog("models", "adapt", "--words", "nix.txt", "--out", "own")
        assert result.status == 2
        assert "nix.txt can't be read (No such file or directory); name a text file" in result.err
        Path("names.txt").write_bytes(b"\xff\xfe\x00")
        result = voicelog("models", "adapt", "--words", "names.txt", "--out", "own")
        assert result.status == 2
        assert "names.txt can't be read (it is not text in UTF-8)" in result.err

    def test_a_word_that_nobody_can_say(
        self, adapt: Voicelog, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
    ) -> None:
        """Where no flite is installed that could guess."""
        monkeypatch.setenv("PATH", str(tmp_path))
        result = adapt("--out", "own", names="Tarnfoot\n")
        assert result.status == 2
        assert "No dictionary here has tarnfoot; write" in result.err
        assert "or install flite" in result.err

    def test_a_folder_that_is_there(self, adapt: Voicelog) -> None:
        Path("own").mkdir()
        result = adapt("--out", "own")
        assert (result.status, result.err) == (
            2,
            "voicelog: own is already there; name a new folder, or remove that one first.\n",
        )

    def test_no_model_to_begin_with_or_a_damaged_one(self, adapt: Voicelog) -> None:
        Path("empty").mkdir()
        result = adapt("--out", "own", "--model", "empty")
        assert (result.status, "There is no vosk model at empty" in result.err) == (1, True)
        shutil.copytree(SHIPPED, "damaged")
        Path("damaged/graph/Gr.fst").write_bytes(b"")
        result = adapt("--out", "own", "--model", "damaged")
        assert (result.status, "damaged: graph/Gr.fst is empty" in result.err) == (1, True)
