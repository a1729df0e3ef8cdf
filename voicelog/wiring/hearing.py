"""How recordings are heard: models, recognisers, cutting, and who speaks."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path

from voicelog.domain.speakers import Speakers
from voicelog.errors import ModelMissing
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.hearing.joined import JoinedRecogniser
from voicelog.hearing.joining import Joiner
from voicelog.hearing.weights import load_weights
from voicelog.plug_ins import Group, find_plug_in
from voicelog.recognition.engines.vosk import VoskOptions, VoskRecogniser
from voicelog.recognition.engines.whisper import WhisperOptions, WhisperRecogniser
from voicelog.recognition.models import (
    InstalledModel,
    find_embedded_model,
    find_models,
    model_folders,
)
from voicelog.recognition.models.vosk_files import check_vosk_files, read_own_words
from voicelog.recognition.models.whisper_files import check_whisper_files
from voicelog.recognition.plan import Plan, RecogniserPlan, list_versions
from voicelog.recognition.recogniser import EngineOptions, Recogniser
from voicelog.recognition.segments import SegmentOptions
from voicelog.session.listening import Hearing
from voicelog.settings import Settings
from voicelog.vocabulary import Vocabulary
from voicelog.wiring.plug_ins import PlugInEngine


def make_hearing(settings: Settings, vocabulary: Vocabulary) -> Hearing:
    """Return how recordings are heard: the recogniser of the settings, ready to work.

    Raises:
        RecogniserError: its model is missing or damaged.
        PlugInBroken: it is a plug-in's, which can't be used.
    """
    return Hearing(
        recogniser=make_recogniser(settings, vocabulary),
        segments=make_segment_options(settings),
        handler=settings.handler or None,
        speakers=make_speakers(settings),
        remarks=tell_missing_ear(settings),
    )


def make_recogniser(settings: Settings, vocabulary: Vocabulary) -> Recogniser:
    """Return the recogniser that the settings ask for.

    Raises:
        ModelMissing: no model for it is on this machine.
        ModelDamaged: the model's files are not what they should be.
        PlugInBroken: it is a plug-in's, which can't be used.
    """
    return plan_recogniser(settings, vocabulary).build()


def plan_recogniser(settings: Settings, vocabulary: Vocabulary) -> Plan:
    """Return how to make the recogniser that the settings ask for, here or in another process.

    Raises:
        ModelMissing: no model for it is on this machine.
    """
    if find_plug_in(Group.ENGINES, settings.engine) is not None:
        return RecogniserPlan(
            make=PlugInEngine(name=settings.engine),
            options=EngineOptions(
                hot_words=vocabulary.hot_words(),
                threads=settings.threads,
                model_folder=settings.model_folder,
            ),
        )
    models = choose_models(settings)
    hot_words = (*vocabulary.hot_words(), *_own_words(models))
    ears = [_plan_ear(model, settings, hot_words) for model in models]
    if len(ears) == 1:
        return ears[0]
    opened, closed = ears
    return JoinedPlan(opened=opened, closed=closed, vocabulary=vocabulary)


@dataclass(frozen=True, slots=True, kw_only=True)
class JoinedPlan:
    """How two recognisers are made that listen together.

    Attributes:
        opened: the one that writes down anything.
        closed: the one that knows the words of the trade.
        vocabulary: the terms that they are joined with.
    """

    opened: RecogniserPlan
    closed: RecogniserPlan
    vocabulary: Vocabulary = field(hash=False)

    @property
    def model_bytes(self) -> int:
        """What both models take on the disk."""
        return self.opened.model_bytes + self.closed.model_bytes

    def build(self) -> Recogniser:
        """Make both recognisers and what joins them.

        Raises:
            RecogniserError: one can't be made here.
        """
        reader = Reader(self.vocabulary, ReadingOptions())
        joiner = Joiner(reader, load_weights())
        return JoinedRecogniser(self.opened.build(), self.closed.build(), joiner)

    def check(self) -> None:
        """Make sure, on another machine, that both models are here, and the same versions.

        Raises:
            ModelDiffers: one is not.
        """
        self.opened.check()
        self.closed.check()

    def for_elsewhere(self) -> JoinedPlan:
        """Return the plan with the checksums of both models."""
        return replace(self, opened=self.opened.for_elsewhere(), closed=self.closed.for_elsewhere())


MOST_OWN_WORDS = 20
"""Names of the repository that whisper is told; a long list of hot words makes it worse."""


def _own_words(models: Iterable[InstalledModel]) -> tuple[str, ...]:
    """Return the names that a vosk model was given; what hears beside it should know them too."""
    words = [
        word for model in models if model.engine == "vosk" for word in read_own_words(model.folder)
    ]
    return tuple(words[:MOST_OWN_WORDS])


def _plan_ear(
    model: InstalledModel, settings: Settings, hot_words: tuple[str, ...]
) -> RecogniserPlan:
    if model.engine == "vosk":
        return RecogniserPlan(
            make=VoskRecogniser,
            options=VoskOptions(model_folder=model.folder),
            model=model,
            versions=list_versions("vosk"),
        )
    return RecogniserPlan(
        make=WhisperRecogniser,
        options=WhisperOptions(
            hot_words=hot_words,
            threads=settings.threads,
            model_folder=model.folder,
        ),
        model=model,
        versions=list_versions("faster-whisper", "ctranslate2"),
    )


def make_segment_options(settings: Settings) -> SegmentOptions:
    """Return how speech is cut into notes, by the settings."""
    return SegmentOptions(pause_ms=settings.pause_ms, padding_ms=settings.padding_ms)


def make_speakers(settings: Settings) -> Speakers:
    """Return who is recorded: whom the settings name, else the handler."""
    handler = (settings.handler,) if settings.handler else ()
    return Speakers(people=settings.people_recorded or handler, told=settings.people_told)


def installed_models(settings: Settings) -> tuple[InstalledModel, ...]:
    """Return every model on this machine, the embedded one first."""
    embedded = find_embedded_model()
    found = find_models(model_folders(settings.model_folder))
    return (*([embedded] if embedded else []), *found)


def choose_models(settings: Settings) -> tuple[InstalledModel, ...]:
    """Return the models that the settings come down to: one, or whisper's and vosk's.

    One in the repository's own folder is preferred to any other. Of vosk models a
    full-size one is preferred to a small one, else the larger to the smaller; beside whisper,
    which knows more words than any, a small one is. Where of two only one is there, that one.

    Raises:
        ModelMissing: there is none for this engine.
    """
    if find_plug_in(Group.ENGINES, settings.engine) is not None:
        raise ModelMissing(
            f"The engine {settings.engine!r} is a plug-in, which finds its model itself."
        )
    found = installed_models(settings)
    vosk = [model for model in found if model.engine == "vosk"]
    published = [model for model in vosk if model.full_size]
    whisper = [model for model in found if model.engine == "whisper"]
    # The embedded model comes first; a larger one only where somebody put it on purpose.
    whisper = [model for model in whisper if _is_own(model, settings)] or whisper[:1]
    if settings.engine == "auto" and settings.prefer_published_model and published:
        candidates = [published]
    elif settings.engine == "vosk":
        candidates = [vosk]
    elif settings.engine == "whisper":
        candidates = [whisper]
    else:
        small = [model for model in vosk if not model.full_size or _is_own(model, settings)]
        candidates = [whisper, small]
    chosen = tuple(
        max(some, key=lambda model: (_is_own(model, settings), model.full_size, model.size_bytes))
        for some in candidates
        if some
    )
    if not chosen:
        wanted = settings.engine if settings.engine in {"whisper", "vosk"} else "recogniser"
        raise ModelMissing(
            f"No {wanted} model is on this machine; 'voicelog models' lists what there is "
            "and what can be fetched."
        )
    return chosen


def tell_missing_ear(settings: Settings) -> tuple[str, ...]:
    """Return a sentence where two recognisers should hear and only one has a model here."""
    hears_with_both = settings.engine in {"auto", "both"} and not (
        settings.engine == "auto" and settings.prefer_published_model
    )
    if not hears_with_both:
        return ()
    there = [model.engine for model in choose_models(settings)]
    if len(there) == 2:
        return ()
    missing = "vosk" if there == ["whisper"] else "whisper"
    sentence = (
        f"No {missing} model is on this machine, so {there[0]} hears alone; "
        "'voicelog models' lists what there is and what can be fetched."
    )
    return (sentence,)


def check_chosen_models(settings: Settings) -> tuple[InstalledModel, ...]:
    """Return the models that the settings come down to once their files were found whole.

    Raises:
        ModelMissing: there is none for this engine.
        ModelDamaged: its files are not what they should be.
    """
    models = choose_models(settings)
    for model in models:
        if model.engine == "vosk":
            check_vosk_files(model.folder)
        else:
            check_whisper_files(model.folder)
    return models


def fetching_folder(settings: Settings) -> Path:
    """Return where a fetched model goes: the repository's own folder, else vosk's."""
    return settings.model_folder or model_folders()[-1]


def _is_own(model: InstalledModel, settings: Settings) -> bool:
    own = settings.model_folder
    return own is not None and (model.folder == own or own in model.folder.parents)
