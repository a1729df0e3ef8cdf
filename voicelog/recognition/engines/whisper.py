"""Whisper, through faster-whisper: the embedded recogniser for free speech.

Whisper was trained on subtitles. On silence and noise it makes up text, and at the end
of a short clip it likes to go on. So each note is decoded in one go (never window by
window, which is where loops begin), and :mod:`voicelog.recognition.invented` takes out
what no speech was behind.
"""

from __future__ import annotations

import importlib.metadata
import itertools
import logging
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from voicelog.domain.note import Word
from voicelog.errors import ModelDamaged
from voicelog.recognition.engines.whisper_words import make_words
from voicelog.recognition.invented import Evidence, hold_to_speech, keep_spoken
from voicelog.recognition.models.room import check_room
from voicelog.recognition.models.whisper_files import WhisperFiles, check_whisper_files
from voicelog.recognition.recogniser import (
    SAMPLE_RATE_HZ,
    Heard,
    Samples,
    Segment,
    Stretch,
    make_heard,
    shift_words,
)
from voicelog.recognition.segments import locate_speech

logger = logging.getLogger(__name__)

_WINDOW_S = 29.5
"""Whisper hears 30 s at a time."""

_POSITIONS = 448
_MAX_PROMPT_TOKENS = 223
"""Half of Whisper's positions, less one, may hold what was said before."""

_MARKS = 3
"""Positions that the library fills itself when words are weighed."""

# Fast speech has 5 tokens a second; a decoder that wants more is in a loop.
_TOKENS_PER_S = 8
_SPARE_TOKENS = 20

_LEAST_LIKELY = 1e-6
"""No token is taken for less likely."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WhisperOptions:
    """How Whisper listens.

    Attributes:
        hot_words: words to expect, the most important first; as many as Whisper's
            prompt holds are used.
        spelling_sample: text in the style wanted back. Whisper imitates it: spelled
            letters come one by one, numbers as digits.
        beam_size: how many readings are followed at once.
        alternatives: how many other readings to keep.
        threads: processor threads; 0 leaves the choice to the engine.
        model_folder: a local model, or None for the embedded one.
    """

    hot_words: tuple[str, ...] = ()
    spelling_sample: str = "accession A B C 2 5 7, X Q Z 4 0 9 1"
    beam_size: int = 5
    alternatives: int = 2
    threads: int = 0
    model_folder: Path | None = None


class WhisperRecogniser:
    """Whisper on this machine's processor, without network, one note at a time.

    Raises:
        ModelMissing: the model is not on this machine.
        ModelDamaged: its files are not what they should be.
        ModelUnfit: it is too large for this machine's memory.
    """

    engine = "whisper"

    def __init__(self, options: WhisperOptions | None = None) -> None:
        self._options = options or WhisperOptions()
        files = check_whisper_files(self._options.model_folder)
        check_room(files.folder)
        self.model = (
            f"{files.name} {files.sha256[:12]} "
            f"(faster-whisper {importlib.metadata.version('faster-whisper')})"
        )
        self._whisper = _load(files, threads=self._options.threads)
        self._tokenizer = _make_tokenizer(self._whisper)
        self._suppressed = _suppressed_tokens(self._tokenizer)
        self._expected: tuple[str, ...] | None = None
        self.expect(self._options.hot_words)

    def expect(self, hot_words: Sequence[str]) -> None:
        """From now on expect these words, the most important first, and no others."""
        words = tuple(dict.fromkeys(" ".join(word.split()) for word in hot_words))
        if words == self._expected:
            return
        self._expected = words
        self.hot_words_used, prompt = _fit_prompt(
            words, self._options.spelling_sample, self._tokenizer
        )
        left_out = len(words) - len(self.hot_words_used)
        if left_out:
            logger.info("Whisper's prompt is full: %d hot words left out", left_out)
        self._prompt: list[int] = self._whisper.get_prompt(
            self._tokenizer, [], without_timestamps=True, hotwords=prompt or None
        )

    def recognise(self, segment: Segment) -> Heard:
        """Return the words said in the segment; nothing where nobody spoke."""
        return self.recognise_and_judge(segment)[0]

    def recognise_and_judge(self, segment: Segment) -> tuple[Heard, WhisperOpinion | None]:
        """Return the words said in the segment, and what can be asked about other words."""
        words: list[Word] = []
        alternatives: list[list[str]] = []
        opinions: list[WhisperOpinion] = []
        for window in _windows(segment):
            opinion = self.form_opinion(window.samples)
            heard, others = self._recognise_window(window, opinion)
            words.extend(heard)
            alternatives.append(others)
            opinions.append(opinion)
        if len(opinions) != 1:
            # Only a note heard in one go has readings of the whole, and opinions on it.
            return make_heard(words), None
        return make_heard(words, alternatives=alternatives[0]), opinions[0] if words else None

    def form_opinion(self, samples: Samples) -> WhisperOpinion:
        """Return what can be asked about words for a sound of at most 30 s."""
        encoded, frames = self._encode(samples)
        return WhisperOpinion(
            model=self._whisper.model,
            tokenizer=self._tokenizer,
            prompt=tuple(self._prompt[:-1]),
            encoded=encoded,
            frames=frames,
        )

    def _recognise_window(
        self, window: _Window, opinion: WhisperOpinion
    ) -> tuple[list[Word], list[str]]:
        evidence, others = self._decode(window.samples, opinion)
        spoken = keep_spoken(evidence, speech=window.speech)
        if len(spoken) < len(evidence.words):
            logger.info(
                "%d of %d words had no speech behind them",
                len(evidence.words) - len(spoken),
                len(evidence.words),
            )
        held = hold_to_speech(spoken, speech=window.speech)
        return shift_words(held, by_s=window.start_s), others if spoken else []

    def _encode(self, samples: Samples) -> tuple[Any, int]:
        """Return what the model makes of the sound, whatever words are expected, and its frames."""
        from faster_whisper.audio import (  # type: ignore[import-untyped]  # noqa: PLC0415
            pad_or_trim,
        )

        features = self._whisper.feature_extractor(samples)
        frames = min(features.shape[-1] - 1, self._whisper.feature_extractor.nb_max_frames)
        return self._whisper.encode(pad_or_trim(features[:, :frames])), frames

    def _decode(self, samples: Samples, opinion: WhisperOpinion) -> tuple[Evidence, list[str]]:
        budget = _SPARE_TOKENS + round(_TOKENS_PER_S * len(samples) / SAMPLE_RATE_HZ)
        beam_size = self._options.beam_size
        result = self._whisper.model.generate(
            opinion.encoded,
            [self._prompt],
            beam_size=beam_size,
            num_hypotheses=min(beam_size, 1 + self._options.alternatives),
            max_length=min(self._whisper.max_length, len(self._prompt) + budget),
            return_scores=True,
            return_no_speech_prob=True,
            suppress_blank=True,
            suppress_tokens=self._suppressed,
        )[0]
        readings = [
            [token for token in tokens if token < self._tokenizer.eot]
            for tokens in result.sequences_ids
        ]
        texts = [self._tokenizer.decode(tokens).strip() for tokens in readings]
        evidence = Evidence(
            words=self._time(readings[0], opinion),
            mean_log_probability=result.scores[0] * len(readings[0]) / (len(readings[0]) + 1),
            no_speech_probability=result.no_speech_prob,
        )
        return evidence, texts[1:]

    def _time(self, tokens: list[int], opinion: WhisperOpinion) -> tuple[Word, ...]:
        """Find when each word was said, from where the model looked while writing it."""
        if not tokens:
            return ()
        return make_words(tokens, opinion.align(tokens), tokenizer=self._tokenizer)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WhisperOpinion:
    """What Whisper makes of words for a sound: how likely each is, and when it was said.

    Attributes:
        model: CTranslate2's model.
        tokenizer: its tokenizer.
        prompt: the tokens in front, without the mark for "no time stamps", which the library
            adds itself. With them words are as likely as they were when written; without
            them an expected word such as "recto" would look like a wild guess.
        encoded: the sound as the decoder takes it.
        frames: how many of its frames hold sound.
    """

    model: Any
    tokenizer: Any
    prompt: tuple[int, ...]
    encoded: Any
    frames: int

    def weigh(self, words: Sequence[str]) -> tuple[float, ...]:
        """Return how likely each word is after those before it, as natural logarithms."""
        tokens = [self.tokenizer.encode(f" {word}") for word in words]
        # Far more words than anybody says in half a minute; the last of them are not weighed.
        room = _POSITIONS - len(self.prompt) - _MARKS
        written = [*itertools.chain(*tokens)][:room]
        if not written:
            return ()
        likelihoods = itertools.chain(
            self.align(written).text_token_probs, itertools.repeat(_LEAST_LIKELY)
        )
        return tuple(
            sum(
                math.log(max(one, _LEAST_LIKELY)) for one in itertools.islice(likelihoods, len(its))
            )
            for its in tokens
        )

    def align(self, tokens: Sequence[int]) -> Any:
        """Return the library's alignment of tokens with the sound."""
        return self.model.align(self.encoded, list(self.prompt), [list(tokens)], self.frames)[0]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Window:
    """What Whisper hears at once: at most 30 s, ``speech`` counted from its start."""

    samples: Samples
    start_s: float
    speech: tuple[Stretch, ...]


def _windows(segment: Segment) -> Iterator[_Window]:
    """Yield the segment's speech in pieces that Whisper can hear at once.

    A note from the cutter is one piece. A longer segment is divided in its pauses.
    """
    total_s = len(segment.samples) / SAMPLE_RATE_HZ
    # Clipped: the detector counts in whole frames and may reach past the last sample.
    speech = [
        Stretch(start_s=part.start_s, end_s=min(part.end_s, total_s))
        for part in locate_speech(segment)
        if part.start_s < total_s
    ]
    start_s = 0.0
    while start_s < total_s:
        end_s = total_s
        if total_s - start_s > _WINDOW_S:
            end_s = _find_division(speech, start_s=start_s)
        inside = tuple(
            Stretch(
                start_s=max(part.start_s, start_s) - start_s,
                end_s=min(part.end_s, end_s) - start_s,
            )
            for part in speech
            if part.end_s > start_s and part.start_s < end_s
        )
        first, last = (round(edge_s * SAMPLE_RATE_HZ) for edge_s in (start_s, end_s))
        if inside:
            yield _Window(
                samples=np.ascontiguousarray(segment.samples[first:last]),
                start_s=segment.start_s + start_s,
                speech=inside,
            )
        start_s = end_s


def _find_division(speech: list[Stretch], *, start_s: float) -> float:
    """Return the middle of the last pause that one window reaches, or where it ends."""
    latest_s = start_s + _WINDOW_S
    middles = [(before.end_s + after.start_s) / 2 for before, after in itertools.pairwise(speech)]
    reached = [middle for middle in middles if start_s < middle <= latest_s]
    return reached[-1] if reached else latest_s


def _load(files: WhisperFiles, *, threads: int) -> Any:
    # Loading these libraries takes half a second, which only a run that listens may cost.
    from faster_whisper import (  # type: ignore[import-untyped]  # noqa: PLC0415
        WhisperModel,
    )

    try:
        return WhisperModel(
            str(files.folder),
            device="cpu",
            compute_type="int8",
            cpu_threads=threads,
            local_files_only=True,
        )
    except Exception as error:
        # CTranslate2 and the tokenizer library raise RuntimeError, ValueError and plain
        # Exception for files that are not theirs.
        raise ModelDamaged(
            f"The Whisper model at {files.folder} can't be loaded; it is damaged, of "
            "another kind, or made for another version of the library; install or copy it again."
        ) from error


def _make_tokenizer(whisper: Any) -> Any:
    from faster_whisper.tokenizer import (  # type: ignore[import-untyped]  # noqa: PLC0415
        Tokenizer,
    )

    return Tokenizer(
        whisper.hf_tokenizer, whisper.model.is_multilingual, task="transcribe", language="en"
    )


def _suppressed_tokens(tokenizer: Any) -> list[int]:
    from faster_whisper.transcribe import (  # type: ignore[import-untyped]  # noqa: PLC0415
        get_suppressed_tokens,
    )

    return list(get_suppressed_tokens(tokenizer, [-1]))


def _fit_prompt(
    hot_words: Sequence[str], spelling_sample: str, tokenizer: Any
) -> tuple[tuple[str, ...], str]:
    """Return the hot words that fit whole into the prompt, and the prompt's text.

    The model's own tokenizer counts. A word that no longer fits is left out; shorter
    ones after it may still fit. The sample stands last and ends in a full stop: what
    stands last is imitated most, and an unfinished list would be taken up in mid-word.
    """
    sample = f"{spelling_sample.strip()}." if spelling_sample.strip() else ""
    used: list[str] = []
    text = sample
    for word in hot_words:
        longer = f"{', '.join([*used, word])}. {sample}".strip()
        if word and len(tokenizer.encode(" " + longer)) <= _MAX_PROMPT_TOKENS:
            used.append(word)
            text = longer
    return tuple(used), text
