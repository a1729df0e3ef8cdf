"""Vosk, for real: words, lists, and damaged folders that would crash its library."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from voicelog.errors import ModelDamaged, ModelMissing, ModelUnfit, RecogniserError
from voicelog.recognition.engines.vosk import VoskOptions, VoskRecogniser
from voicelog.recognition.recogniser import NOTHING, SAMPLE_RATE_HZ, Segment

from .noises import KINDS, make_noise


class TestHearing:
    def test_places_are_understood(
        self, vosk: VoskRecogniser, spoken_segments: tuple[Segment, ...]
    ) -> None:
        assert vosk.recognise(spoken_segments[1]).text == "leaf fourteen recto"
        assert vosk.recognise(spoken_segments[4]).text == "verso"

    def test_words_lie_in_their_note_one_after_the_other(
        self, vosk: VoskRecogniser, spoken_segments: tuple[Segment, ...]
    ) -> None:
        """Times count from the start of the recording; confidences lie in 0..1."""
        for segment in spoken_segments:
            heard = vosk.recognise(segment)
            last_s = segment.start_s
            for word in heard.words:
                assert word.start_s is not None
                assert word.end_s is not None
                assert word.confidence is not None
                assert last_s - 0.01 <= word.start_s < word.end_s <= segment.end_s + 0.01
                assert 0.0 <= word.confidence <= 1.0
                last_s = word.end_s
            assert heard.text not in heard.alternatives

    def test_what_was_recorded_too_quietly_is_heard_all_the_same(
        self, vosk: VoskRecogniser, spoken_segments: tuple[Segment, ...]
    ) -> None:
        """Fifty decibels down, as from a microphone across the room."""
        for segment in spoken_segments[:4]:
            peak = float(np.abs(segment.samples).max())
            loud, quiet = (
                replace(segment, samples=segment.samples * np.float32(factor / peak))
                for factor in (0.5, 0.003)
            )
            assert vosk.recognise(loud).words
            assert vosk.recognise(quiet).text == vosk.recognise(loud).text

    def test_other_readings_are_kept(
        self, vosk: VoskRecogniser, spoken_segments: tuple[Segment, ...]
    ) -> None:
        assert vosk.recognise(spoken_segments[0]).alternatives

    def test_it_names_engine_and_model(self, vosk: VoskRecogniser) -> None:
        assert vosk.engine == "vosk"
        assert re.fullmatch(r"vosk-bench-trial [0-9a-f]{12} \(vosk [\d.]+\)", vosk.model)

    def test_silence_says_nothing(self, vosk: VoskRecogniser) -> None:
        silence = np.zeros(2 * SAMPLE_RATE_HZ, dtype=np.float32)
        assert vosk.recognise(Segment(samples=silence, start_s=0.0, end_s=2.0)) == NOTHING

    @pytest.mark.parametrize("kind", list(KINDS))
    def test_noise_says_nothing(self, kind: str, vosk: VoskRecogniser) -> None:
        noise = make_noise(kind, seconds=4, level_db=-25, seed=7)
        assert vosk.recognise(Segment(samples=noise, start_s=0.0, end_s=4.0)) == NOTHING


class TestWordLists:
    def test_only_listed_words_are_heard(
        self, vosk_folder: Path, spoken_segments: tuple[Segment, ...]
    ) -> None:
        """Everything else becomes "[unk]"."""
        listed = ("leaf", "recto", "verso", "fourteen", "forty")
        held = VoskRecogniser(VoskOptions(model_folder=vosk_folder, word_list=listed))
        assert held.recognise(spoken_segments[1]).text == "leaf fourteen recto"
        heard = held.recognise(spoken_segments[2]).text.split()
        assert set(heard) <= {*listed, "[unk]"}

    def test_words_the_model_does_not_know_are_told(self, vosk_folder: Path) -> None:
        held = VoskRecogniser(
            VoskOptions(model_folder=vosk_folder, word_list=("leaf", "quillhaven", "leaf two"))
        )
        assert held.words_unknown == ("quillhaven",)

    def test_a_list_of_unknown_words_is_refused(self, vosk_folder: Path) -> None:
        with pytest.raises(RecogniserError, match="knows none of the words in the word list"):
            VoskRecogniser(VoskOptions(model_folder=vosk_folder, word_list=("quillhaven",)))


@pytest.fixture
def copied_model(vosk_folder: Path, tmp_path: Path) -> Path:
    """The model in a folder of our own, without its list of checksums."""
    folder = tmp_path / "my-vosk"
    shutil.copytree(vosk_folder, folder)
    (folder / "SHA256SUMS").unlink()
    return folder


class TestModelFiles:
    def test_a_model_without_checksums_is_tried_and_used(self, copied_model: Path) -> None:
        assert VoskRecogniser(VoskOptions(model_folder=copied_model)).model.startswith("my-vosk ")

    def test_no_folder(self, tmp_path: Path, no_network: list[Any]) -> None:
        """A name is never looked up: vosk would download it."""
        with pytest.raises(ModelMissing, match="no vosk model at"):
            VoskRecogniser(VoskOptions(model_folder=tmp_path / "vosk-model-small-en-us-0.15"))
        assert no_network == []

    @pytest.mark.parametrize(
        "name",
        ["am/final.mdl", "conf/mfcc.conf", "conf/model.conf", "graph/Gr.fst", "graph/HCLr.fst",
         "graph/disambig_tid.int"],
    )  # fmt: skip
    @pytest.mark.parametrize("how", ["missing", "emptied", "halved"])
    def test_damage_is_refused_and_the_process_lives(
        self, name: str, how: str, copied_model: Path
    ) -> None:
        """An emptied model.conf aborts Kaldi; a halved disambig_tid.int crashes it."""
        path = copied_model / name
        if how == "missing":
            path.unlink()
        else:
            os.truncate(path, 0 if how == "emptied" else path.stat().st_size // 2)
        if (name, how) == ("conf/mfcc.conf", "halved"):
            # Still a valid file of settings: only a list of checksums can tell.
            VoskRecogniser(VoskOptions(model_folder=copied_model))
            return
        with pytest.raises(ModelDamaged, match=r"is damaged: .*; fetch or copy the model again\.$"):
            VoskRecogniser(VoskOptions(model_folder=copied_model))

    def test_a_model_of_another_language_is_refused(self, copied_model: Path) -> None:
        """Here the words are Dutch, as far as it goes; the sounds don't matter for it."""
        dutch = {
            "three": "drie", "seven": "zeven", "eight": "acht", "fourteen": "veertien",
            "twenty": "twintig", "thirty": "dertig", "leaf": "blad", "back": "terug",
        }  # fmt: skip
        words = copied_model / "graph/words.txt"
        lines = [line.split() for line in words.read_text(encoding="utf-8").splitlines()]
        words.write_text(
            "".join(f"{dutch.get(word, word)} {number}\n" for word, number in lines),
            encoding="utf-8",
        )
        with pytest.raises(
            ModelUnfit, match=r"my-vosk at .* is not English: it doesn't know words"
        ):
            VoskRecogniser(VoskOptions(model_folder=copied_model))

    def test_with_checksums_any_change_is_found(self, vosk_folder: Path, tmp_path: Path) -> None:
        folder = tmp_path / "changed"
        shutil.copytree(vosk_folder, folder)
        with (folder / "conf/mfcc.conf").open("a") as file:
            file.write("\n")
        with pytest.raises(ModelDamaged, match=r"conf/mfcc\.conf has changed"):
            VoskRecogniser(VoskOptions(model_folder=folder))

    def test_the_library_stays_quiet(self, vosk_folder: Path) -> None:
        """Kaldi's own log never reaches the terminal."""
        program = (
            "from pathlib import Path\n"
            "import numpy as np\n"
            "from voicelog.recognition.engines.vosk import VoskOptions, VoskRecogniser\n"
            "from voicelog.recognition.recogniser import Segment\n"
            f"vosk = VoskRecogniser(VoskOptions(model_folder=Path({str(vosk_folder)!r})))\n"
            "sound = np.zeros(16000, dtype=np.float32)\n"
            "vosk.recognise(Segment(samples=sound, start_s=0.0, end_s=1.0))\n"
        )
        run = subprocess.run(
            [sys.executable, "-c", program], capture_output=True, text=True, check=True
        )
        assert run.stdout == ""
        assert run.stderr == ""
