"""Whisper, for real: what it hears, what it must not invent, and which files it refuses."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from voicelog.errors import ModelDamaged, ModelMissing
from voicelog.recognition.engines.whisper import WhisperOptions, WhisperRecogniser
from voicelog.recognition.models import whisper_files
from voicelog.recognition.recogniser import NOTHING, SAMPLE_RATE_HZ, Segment, Stretch
from voicelog.testing import ScriptedRecogniser

from .noises import KINDS, make_noise
from .recordings import SPOKEN_LINES, SPOKEN_NOTES, read_sound


def plain(text: str) -> str:
    return " ".join(re.findall(r"[a-z0-9]+", text.lower()))


class TestHearing:
    def test_spoken_notes_are_understood(
        self, whisper: WhisperRecogniser, spoken_segments: tuple[Segment, ...]
    ) -> None:
        """Seven of eight lines keep every word that is not a number."""
        numbers = {"twenty", "thirty", "one", "dash", "zero", "seven", "two", "fourteen"}
        numbers |= {"four", "and", "a", "quarter", "by", "six"}
        right = 0
        for line, segment in zip(SPOKEN_LINES, spoken_segments, strict=True):
            heard = set(plain(whisper.recognise(segment).text).split())
            right += set(plain(line).split()) - numbers <= heard
        assert right >= 7

    def test_words_lie_in_their_note_one_after_the_other(
        self, whisper: WhisperRecogniser, spoken_segments: tuple[Segment, ...]
    ) -> None:
        """Times count from the start of the recording; confidences lie in 0..1."""
        for segment in spoken_segments[1:4]:
            heard = whisper.recognise(segment)
            assert heard.text == " ".join(word.text for word in heard.words)
            last_s = segment.start_s
            for word in heard.words:
                assert word.start_s is not None
                assert word.end_s is not None
                assert word.confidence is not None
                assert last_s - 0.2 <= word.start_s <= word.end_s <= segment.end_s + 0.2
                assert 0.0 <= word.confidence <= 1.0
                last_s = word.end_s

    def test_it_can_be_asked_about_words_that_it_did_not_write(
        self, whisper: WhisperRecogniser, spoken_segments: tuple[Segment, ...]
    ) -> None:
        """What was said, "leaf fourteen recto", is likelier word by word than what wasn't."""
        heard, opinion = whisper.recognise_and_judge(spoken_segments[1])
        assert heard == whisper.recognise(spoken_segments[1])
        assert opinion is not None
        said = opinion.weigh(("leaf", "14", "recto"))
        not_said = opinion.weigh(("leaf", "50", "recto"))
        assert len(said) == len(not_said) == 3
        assert said[0] == pytest.approx(not_said[0], abs=0.01)
        assert said[1] > not_said[1] + 1
        assert all(weight <= 0 for weight in (*said, *not_said))
        assert opinion.weigh(()) == ()

    def test_more_words_than_it_has_room_for_are_no_failure(
        self, whisper: WhisperRecogniser, spoken_segments: tuple[Segment, ...]
    ) -> None:
        """A recogniser that finds words in a noise may find hundreds; the last are unlikely."""
        _, opinion = whisper.recognise_and_judge(spoken_segments[1])
        assert opinion is not None
        weights = opinion.weigh(("leaf",) * 600)
        assert len(weights) == 600
        assert max(weights[-100:]) < -10

    def test_nobody_is_asked_about_silence(self, whisper: WhisperRecogniser) -> None:
        silence = Segment(
            samples=np.zeros(SAMPLE_RATE_HZ, dtype=np.float32), start_s=0.0, end_s=1.0, speech=()
        )
        assert whisper.recognise_and_judge(silence) == (NOTHING, None)

    def test_words_are_parted_where_the_model_wrote_a_space(
        self, whisper: WhisperRecogniser, spoken_segments: tuple[Segment, ...]
    ) -> None:
        """A dash or a comma stays on its word: "2031-007," is one word."""
        for segment in spoken_segments:
            for word in whisper.recognise(segment).words:
                assert word.text[0].isalnum(), word
                assert " " not in word.text

    def test_other_readings_differ_from_the_best(
        self, whisper: WhisperRecogniser, spoken_segments: tuple[Segment, ...]
    ) -> None:
        heard = whisper.recognise(spoken_segments[2])
        assert heard.alternatives
        assert heard.text not in heard.alternatives

    def test_the_same_sound_gives_the_same_words(
        self, whisper: WhisperRecogniser, spoken_segments: tuple[Segment, ...]
    ) -> None:
        """No sampling: what is heard can be heard again."""
        assert whisper.recognise(spoken_segments[4]) == whisper.recognise(spoken_segments[4])

    def test_a_segment_longer_than_whisper_hears_is_heard_whole(
        self, whisper: WhisperRecogniser
    ) -> None:
        """41 s at once: words from the beginning and from the end, none twice."""
        sound = read_sound(SPOKEN_NOTES)
        long = np.concatenate([sound, sound[6 * SAMPLE_RATE_HZ : 17 * SAMPLE_RATE_HZ]])
        heard = whisper.recognise(
            Segment(samples=long, start_s=0.0, end_s=len(long) / SAMPLE_RATE_HZ)
        )
        text = plain(heard.text)
        assert "picnic album" in text
        assert text.count("tintype") == 1
        assert text.count("recto") == 2
        assert text.count("photo corners") == 2
        ends = [word.end_s or 0.0 for word in heard.words]
        assert ends == sorted(ends)

    def test_it_names_engine_and_model(self, whisper: WhisperRecogniser) -> None:
        assert whisper.engine == "whisper"
        assert re.fullmatch(r"tiny\.en 1a5afae06a4d \(faster-whisper [\d.]+\)", whisper.model)


class TestNotInventing:
    def test_silence_says_nothing(self, whisper: WhisperRecogniser) -> None:
        silence = np.zeros(3 * SAMPLE_RATE_HZ, dtype=np.float32)
        assert whisper.recognise(Segment(samples=silence, start_s=5.0, end_s=8.0)) == NOTHING

    def test_no_sound_says_nothing(self, whisper: WhisperRecogniser) -> None:
        nothing = np.zeros(0, dtype=np.float32)
        assert whisper.recognise(Segment(samples=nothing, start_s=5.0, end_s=5.0)) == NOTHING

    @pytest.mark.parametrize("kind", list(KINDS))
    def test_noise_says_nothing(self, kind: str, whisper: WhisperRecogniser) -> None:
        noise = make_noise(kind, seconds=4, level_db=-25, seed=7)
        assert whisper.recognise(Segment(samples=noise, start_s=0.0, end_s=4.0)) == NOTHING

    @pytest.mark.parametrize("kind", ["silence", "fan", "knocks", "page rustle", "breath"])
    def test_noise_that_passed_for_speech_still_says_nothing(
        self, kind: str, whisper: WhisperRecogniser
    ) -> None:
        """The detector wrongly vouches for the whole; Whisper's own doubt must do."""
        noise = make_noise(kind, seconds=4, level_db=-25, seed=8)
        speech = (Stretch(start_s=0.0, end_s=4.0),)
        segment = Segment(samples=noise, start_s=0.0, end_s=4.0, speech=speech)
        assert whisper.recognise(segment) == NOTHING

    def test_a_sliver_of_speech_does_no_harm(
        self, whisper: WhisperRecogniser, spoken_segments: tuple[Segment, ...]
    ) -> None:
        """50 ms out of a word are too little to be read, and are no error."""
        samples = spoken_segments[1].samples[8000:8800]
        heard = whisper.recognise(
            Segment(
                samples=samples, start_s=0.0, end_s=0.05, speech=(Stretch(start_s=0.0, end_s=0.05),)
            )
        )
        assert len(heard.words) <= 2


class TestHotWords:
    def test_hot_words_help(
        self, whisper: WhisperRecogniser, spoken_segments: tuple[Segment, ...]
    ) -> None:
        """The trade's words are heard with them; "verso" alone shows it."""
        assert plain(whisper.recognise(spoken_segments[4]).text) == "verso"

    def test_no_hot_words_is_fine(self, spoken_segments: tuple[Segment, ...]) -> None:
        bare = WhisperRecogniser(WhisperOptions(spelling_sample=""))
        assert bare.hot_words_used == ()
        assert "corner" in bare.recognise(spoken_segments[2]).text

    def test_too_many_are_cut_off_between_words_not_inside(self) -> None:
        """The prompt holds 223 tokens; the first words win and stay whole."""
        terms = tuple(f"{place} {number}" for number in range(80) for place in ("leaf", "folder"))
        many = WhisperRecogniser(WhisperOptions(hot_words=terms))
        used = many.hot_words_used
        assert 20 < len(used) < len(terms)
        assert used == terms[: len(used)]

    def test_other_words_can_be_expected_from_one_note_to_the_next(self) -> None:
        """What was expected before is forgotten."""
        ear = WhisperRecogniser(WhisperOptions(hot_words=("leaf", "recto")))
        ear.expect(("tintype", "leaf"))
        assert ear.hot_words_used == ("tintype", "leaf")
        ear.expect(())
        assert ear.hot_words_used == ()

    def test_words_given_twice_count_once(self) -> None:
        twice = WhisperRecogniser(WhisperOptions(hot_words=("leaf", " leaf ", "", "recto")))
        assert twice.hot_words_used == ("leaf", "recto")


@pytest.fixture
def copied_model(tmp_path: Path) -> Path:
    """A folder of our own with the embedded model's files."""
    source = whisper_files.find_embedded_whisper()
    assert source is not None
    folder = tmp_path / "my-whisper"
    shutil.copytree(source, folder)
    return folder


class TestModelFiles:
    def test_nothing_is_looked_up_on_the_network(
        self, copied_model: Path, no_network: list[Any], spoken_segments: tuple[Segment, ...]
    ) -> None:
        """Loading and listening never open a connection; a local folder serves as well."""
        local = WhisperRecogniser(WhisperOptions(model_folder=copied_model))
        assert local.model.startswith("tiny.en 1a5afae06a4d ")
        assert local.recognise(spoken_segments[1]).words
        assert no_network == []

    def test_no_folder(self, tmp_path: Path) -> None:
        with pytest.raises(ModelMissing, match=r"no Whisper model at .*none; name a folder"):
            WhisperRecogniser(WhisperOptions(model_folder=tmp_path / "none"))

    @pytest.mark.parametrize(
        "name", ["model.bin", "config.json", "tokenizer.json", "vocabulary.txt"]
    )
    def test_a_missing_file_is_named(
        self, name: str, copied_model: Path, no_network: list[Any]
    ) -> None:
        """Even the tokenizer, which faster-whisper would otherwise go and download."""
        (copied_model / name).unlink()
        with pytest.raises(ModelDamaged, match=rf"{re.escape(name)} is missing; install or copy"):
            WhisperRecogniser(WhisperOptions(model_folder=copied_model))
        assert no_network == []

    @pytest.mark.parametrize("name", ["config.json", "tokenizer.json"])
    def test_a_torn_file_is_named(self, name: str, copied_model: Path) -> None:
        content = (copied_model / name).read_bytes()
        (copied_model / name).write_bytes(content[: len(content) // 2])
        with pytest.raises(ModelDamaged, match=rf"{re.escape(name)} can't be read"):
            WhisperRecogniser(WhisperOptions(model_folder=copied_model))

    @pytest.mark.parametrize("size", [0, 100, 40_000_000])
    def test_truncated_weights(self, size: int, copied_model: Path) -> None:
        with (copied_model / "model.bin").open("r+b") as file:
            file.truncate(size)
        with pytest.raises(ModelDamaged, match="can't be loaded; it is damaged, of another kind"):
            WhisperRecogniser(WhisperOptions(model_folder=copied_model))

    def test_weights_for_another_version_of_the_library(self, copied_model: Path) -> None:
        """The file begins with the version of its layout, which CTranslate2 counts up."""
        with (copied_model / "model.bin").open("r+b") as file:
            file.write((99).to_bytes(4, "little"))
        with pytest.raises(ModelDamaged, match="made for another version of the library"):
            WhisperRecogniser(WhisperOptions(model_folder=copied_model))

    def test_the_embedded_weights_must_be_the_known_ones(
        self, copied_model: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """One flipped bit in 75 MB is found."""
        with (copied_model / "model.bin").open("r+b") as file:
            file.seek(5_000_000)
            (byte,) = file.read(1)
            file.seek(5_000_000)
            file.write(bytes([byte ^ 1]))
        monkeypatch.setattr(whisper_files, "find_embedded_whisper", lambda: copied_model)
        with pytest.raises(ModelDamaged, match=r"model\.bin is not the file that was published"):
            WhisperRecogniser()

    def test_not_installed(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(whisper_files, "find_embedded_whisper", lambda: None)
        with pytest.raises(ModelMissing, match="install voicelog again with pip"):
            WhisperRecogniser()


class TestTheDouble:
    def test_it_says_its_lines_and_then_nothing(self, spoken_segments: tuple[Segment, ...]) -> None:
        """A scripted recogniser stands in wherever hearing is not what a test is about."""
        double = ScriptedRecogniser(["leaf two", "verso"])
        texts = [double.recognise(segment).text for segment in spoken_segments[:3]]
        assert texts == ["leaf two", "verso", ""]
        assert double.heard_segments == list(spoken_segments[:3])
