"""With a repository's own words a model hears what is new, and what it knew as before."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
import vosk

from tests.adapting.conftest import NAMES, SHIPPED, in_a_room, without_dither
from voicelog.adapting.making import Adapted, adapt_model
from voicelog.adapting.own_words import OwnWords, parse_names
from voicelog.errors import ModelDamaged, ModelMissing, ModelUnfit, RecogniserError, UsageError
from voicelog.recognition.engines.vosk import VoskOptions, VoskRecogniser
from voicelog.recognition.models.vosk_files import check_vosk_files, read_own_words, read_vosk_words
from voicelog.recognition.recogniser import SAMPLE_RATE_HZ, Segment
from voicelog.recognition.segments import iter_segments
from voicelog.vocabulary import Concept, TermField

OWN = OwnWords(names=parse_names(NAMES, origin="names.txt"))
DEMO = Path(__file__).parents[2] / "demo_data" / "recordings" / "2-green-book-middle.flac"


def hear_names(model: Path, segments: tuple[Segment, ...]) -> list[str]:
    recogniser = VoskRecogniser(VoskOptions(model_folder=model))
    return [recogniser.recognise(segment).text for segment in segments]


def hear_exactly(model: Path, segments: list[Segment]) -> list[str]:
    vosk.SetLogLevel(-1)
    loaded = vosk.Model(str(model))
    heard = []
    for segment in segments:
        recogniser = vosk.KaldiRecognizer(loaded, SAMPLE_RATE_HZ)
        recogniser.AcceptWaveform(in_a_room(segment.samples).tobytes())
        heard.append(json.loads(recogniser.FinalResult())["text"])
    return heard


class TestHearing:
    def test_names_that_were_never_heard_are_heard(
        self, adapted: Adapted, spoken_names: tuple[Segment, ...]
    ) -> None:
        """Said by a voice that the model was not trained on."""
        before = hear_names(SHIPPED, spoken_names)
        assert not {"tarnfoot", "ellerby", "quillhaven"} & set(" ".join(before).split())
        assert hear_names(adapted.folder, spoken_names) == [
            "leaf two a postcard of tarnfoot",
            "the ellerby album",
            "caption reads quillhaven outing nineteen fifty two",
            "leaf two verso a postcard photo corners",
        ]

    def test_a_demo_recording_is_heard_as_before(self, adapted: Adapted, tmp_path: Path) -> None:
        """Note by note, word by word: no name in it is ours."""
        segments = list(iter_segments(DEMO))[:12]
        before = hear_exactly(without_dither(SHIPPED, tmp_path), segments)
        assert hear_exactly(without_dither(adapted.folder, tmp_path), segments) == before
        assert sum(map(len, map(str.split, before))) > 40


class TestFolder:
    def test_it_is_a_model_like_any_other(self, adapted: Adapted) -> None:
        """With checksums of its own, the same sounds under it, and a list of what was added."""
        check_vosk_files(adapted.folder)
        names = {path.name for path in adapted.folder.iterdir()}
        assert names == {"SHA256SUMS", "am", "conf", "graph", "own_words.txt"}
        assert read_own_words(adapted.folder) == ("Quillhaven", "Tarnfoot", "Ellerby")
        acoustic = Path("am", "final.mdl")
        assert (adapted.folder / acoustic).read_bytes() == (SHIPPED / acoustic).read_bytes()

    def test_it_says_what_is_new(self, adapted: Adapted) -> None:
        words = read_vosk_words(adapted.folder)
        assert adapted.new_words == ("ellerby", "quillhaven", "tarnfoot")
        assert set(words) - set(read_vosk_words(SHIPPED)) == set(adapted.new_words)
        assert adapted.known_words == len(words)

    def test_it_is_the_same_when_made_again(self, adapted: Adapted, tmp_path: Path) -> None:
        """Bit by bit."""
        again = adapt_model(SHIPPED, tmp_path / "again", OWN)
        sums = [folder / "SHA256SUMS" for folder in (again.folder, adapted.folder)]
        assert sums[0].read_text() == sums[1].read_text()

    def test_it_can_be_given_more(self, adapted: Adapted, tmp_path: Path) -> None:
        """Also terms of the repository's own files."""
        term = Concept(
            id="lc", field=TermField.ITEM_TYPE, term="glow card", variants=("lampcrest",)
        )
        names = parse_names("Lampcrest = lamp crest", origin="names.txt")
        more = adapt_model(
            adapted.folder, tmp_path / "more", OwnWords(names=names, concepts=(term,))
        )
        words = read_vosk_words(more.folder)
        assert {"lampcrest", "quillhaven", "tarnfoot"} <= set(words)
        assert set(read_own_words(more.folder)) >= {"Lampcrest", "Quillhaven", "Tarnfoot"}


class TestRefusals:
    def test_what_is_there_is_never_touched(self, tmp_path: Path) -> None:
        with pytest.raises(UsageError, match=r"is already there; name a new folder, or remove"):
            adapt_model(SHIPPED, tmp_path, OWN)

    def test_a_folder_in_the_model_itself(self, tmp_path: Path) -> None:
        """It would be copied into itself."""
        shutil.copytree(SHIPPED, tmp_path / "base")
        with pytest.raises(UsageError, match=r"lies in the model that it is made of; name"):
            adapt_model(tmp_path / "base", tmp_path / "base" / "am" / "out", OWN)

    def test_a_folder_that_is_no_model(self, tmp_path: Path) -> None:
        (tmp_path / "empty").mkdir()
        with pytest.raises(ModelMissing, match=r"no vosk model at .*; name a folder that holds am"):
            adapt_model(tmp_path / "empty", tmp_path / "out", OWN)

    def test_a_damaged_model(self, tmp_path: Path) -> None:
        shutil.copytree(SHIPPED, tmp_path / "damaged")
        with (tmp_path / "damaged" / "graph" / "Gr.fst").open("ab") as file:
            file.write(b"\0")
        with pytest.raises(ModelDamaged, match=r"Gr\.fst has changed"):
            adapt_model(tmp_path / "damaged", tmp_path / "out", OWN)
        assert not (tmp_path / "out").exists()

    def test_a_model_of_another_make(self, tmp_path: Path) -> None:
        """The small one for commands is laid out otherwise."""
        with pytest.raises(
            ModelUnfit, match=r"can't be given words of your own \(.*\); begin with"
        ):
            adapt_model(SHIPPED.with_name("vosk-bench-trial"), tmp_path / "out", OWN)

    def test_a_place_that_can_t_be_written(self, tmp_path: Path) -> None:
        (tmp_path / "file").touch()
        with pytest.raises(RecogniserError, match=r"could not be written to .*; make room there"):
            adapt_model(SHIPPED, tmp_path / "file" / "out", OWN)

    def test_nothing_is_left_behind(self, tmp_path: Path) -> None:
        names = parse_names("Xyzzq", origin="names.txt")
        with pytest.MonkeyPatch.context() as patch:
            patch.setenv("PATH", str(tmp_path))
            with pytest.raises(UsageError, match="No dictionary here has xyzzq"):
                adapt_model(SHIPPED, tmp_path / "out", OwnWords(names=names))
        assert list(tmp_path.iterdir()) == []
