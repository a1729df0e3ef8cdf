"""Builds every object from the settings, once: the only place that knows all layers."""

from __future__ import annotations

import contextlib
import functools
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from voicelog import __version__
from voicelog.checks.closing import CheckOptions, find_findings
from voicelog.checks.scans.looking import SeenScans
from voicelog.checks.scans.matching import parse_matching, parse_scan_folder, read_scan_set
from voicelog.checks.scans.scan_set import ScanSet
from voicelog.checks.volumes import group_volumes
from voicelog.domain.finding import Finding
from voicelog.domain.speakers import Speakers
from voicelog.errors import LogBusy, ModelMissing
from voicelog.exports.consignment import Consignment
from voicelog.exports.crosswalk import load_crosswalk
from voicelog.exports.report.material import LogMaterial, Material, Period, read_log
from voicelog.exports.scans import withhold_restricted
from voicelog.exports.selection import Selection, SelectionRules
from voicelog.extraction.closing_count import ClosingCount
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.housing.interleaving import load_interleaving_rules
from voicelog.housing.paper.layouts import (
    LabelLayout,
    find_layout,
    load_layouts,
    read_layouts,
)
from voicelog.housing.plan import plan_volumes
from voicelog.housing.stock import Stock, load_default_stock, read_stock
from voicelog.housing.supplies import list_supplies
from voicelog.housing.triage import Part, load_default_weights, rank_volumes, read_weights
from voicelog.housing.volumes import group_by_volume
from voicelog.recognition.commands import CommandListener
from voicelog.recognition.engines.vosk import VoskOptions, VoskRecogniser
from voicelog.recognition.engines.whisper import WhisperOptions, WhisperRecogniser
from voicelog.recognition.models import (
    InstalledModel,
    find_embedded_model,
    find_models,
    model_folders,
)
from voicelog.recognition.models.vosk_files import check_vosk_files, read_vosk_words
from voicelog.recognition.models.whisper_files import check_whisper_files
from voicelog.recognition.recogniser import Recogniser
from voicelog.recognition.segments import SegmentOptions
from voicelog.review.reviewer import Reviewer
from voicelog.session.bringing_in.bag_folder import open_bag
from voicelog.session.bringing_in.bringing import BroughtIn, bring_in, foresee, tidy_name
from voicelog.session.bringing_in.guest_log import read_guest
from voicelog.session.live.loudspeaker import Player, Speaking
from voicelog.session.live.options import Key, LiveOptions
from voicelog.session.live.orders import order_wordings
from voicelog.session.live.recorder import RecorderOptions
from voicelog.session.live.voices import find_voice
from voicelog.session.recordings import Hearing
from voicelog.session.rereading import Rereading, reread
from voicelog.session.scribe import Scribe
from voicelog.settings import Engine, Settings
from voicelog.store.folder import require_log_folder
from voicelog.store.log import Log
from voicelog.store.writing import WritableLog
from voicelog.vocabulary import Vocabulary, load_vocabulary

if TYPE_CHECKING:
    from fastapi import FastAPI

MADE_BY = f"voicelog {__version__}"

_KEPT_WITH_THE_LOG = ("default_unit", "default_century", "day_first", "first_page")


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """A log open for writing, and the scribe who writes in it.

    Attributes:
        log: the log.
        scribe: takes notes down in it.
        logbook: knows where the handler is and what every note became.
        reader: reads the notes.
        vocabulary: the terms it is read with.
        rereading: which earlier entries came out differently than they were stored.
        kept: sentences about settings that differ from those the log was begun with.
    """

    log: WritableLog
    scribe: Scribe
    logbook: Logbook
    reader: Reader
    vocabulary: Vocabulary
    rereading: Rereading
    kept: tuple[str, ...]


@contextmanager
def open_bench(folder: Path, settings: Settings) -> Iterator[Bench]:
    """Open a log for writing, beginning it where needed, and catch up with its notes.

    Raises:
        UsageError: the folder holds something else.
        StoreError: the log can't be written, or another process writes to it.
        VocabularyError: a term file is wrong.
    """
    vocabulary = make_vocabulary(settings)
    wanted = {name: getattr(settings, name) for name in _KEPT_WITH_THE_LOG}
    with WritableLog.open_to_write(folder, made_by=MADE_BY, facts={"reading": wanted}) as log:
        kept = log.facts()["reading"]
        reader = make_reader(vocabulary, settings, kept, log)
        logbook = Logbook(reader)
        scribe = Scribe(log, logbook)
        rereading = scribe.catch_up(reason=f"read again by {MADE_BY}")
        yield Bench(
            log=log,
            scribe=scribe,
            logbook=logbook,
            reader=reader,
            vocabulary=reader.vocabulary,
            rereading=rereading,
            kept=_tell_kept(kept, wanted),
        )


def bring_in_bag(folder: Path, source: Path, settings: Settings) -> BroughtIn:
    """Bring the log of a bag into ours, beginning ours where there is none yet.

    Raises:
        BagRefused: the bag is damaged, strange or not of a log; nothing was written.
        UsageError: the folder holds something else.
        StoreError: the log can't be written, or another process writes to it.
    """
    with open_bag(source) as bag:
        guest = read_guest(bag)
        with open_bench(folder, settings) as bench:
            return bring_in(guest, bench.log, bench.vocabulary, source=tidy_name(source))


def foresee_bag(folder: Path, source: Path) -> BroughtIn:
    """Return what bringing in a bag would come to; nothing is written.

    Raises:
        BagRefused: the bag is damaged, strange or not of a log.
        UsageError: there is no log at this place.
        StoreError: it can't be read.
    """
    with open_bag(source) as bag, Log.open(folder) as log:
        return foresee(read_guest(bag), log, source=tidy_name(source))


def try_rereading(folder: Path, settings: Settings) -> tuple[Rereading, tuple[str, ...]]:
    """Find out what reading a log again would change; nothing is written.

    Returns:
        what would change, and sentences about settings that the log keeps.

    Raises:
        UsageError: there is no log at this place.
        StoreError: it can't be read.
        VocabularyError: a term file is wrong.
    """
    vocabulary = make_vocabulary(settings)
    wanted = {name: getattr(settings, name) for name in _KEPT_WITH_THE_LOG}
    with Log.open(folder) as log:
        kept = log.facts().get("reading", wanted)
        rereading = reread(log, Logbook(make_reader(vocabulary, settings, kept, log)))
    return rereading, _tell_kept(kept, wanted)


def make_reader(
    vocabulary: Vocabulary, settings: Settings, kept: Mapping[str, Any], log: Log
) -> Reader:
    """Return a reader for a log: as it was begun, and with what its corrections taught."""
    lessons = tuple(log.iter_lessons())
    learnt = tuple(one.meant for one in reversed(lessons) if one.until_note is None)
    return Reader(replace(vocabulary, learnt=learnt), make_reading_options(settings, kept), lessons)


def _tell_kept(kept: Mapping[str, Any], wanted: Mapping[str, Any]) -> tuple[str, ...]:
    return tuple(
        f"This log was begun with {name} = {kept[name]!r} and keeps it; "
        f"{wanted[name]!r} holds for logs begun from now on."
        for name in _KEPT_WITH_THE_LOG
        if kept[name] != wanted[name]
    )


def make_consignment(
    log: Log, settings: Settings, rules: SelectionRules, *, scans: ScanSet | None = None
) -> Consignment:
    """Return what an export of a log is made of."""
    if scans is not None and not rules.include_restricted:
        scans = withhold_restricted(scans, (entry for _, entry in log.iter_entries()))
    return Consignment(
        log=log,
        selection=Selection(log.iter_entries, rules),
        as_of=log.last_change(),
        repository=settings.repository,
        vocabulary=make_vocabulary(settings),
        iiif_base_url=settings.iiif_base_url,
        crosswalk=load_crosswalk(settings.crosswalk_file),
        scans=scans,
    )


def make_reviewer(folder: Path, settings: Settings, *, by: str) -> Reviewer:
    """Return who reviews a log, reading what is typed as the log's notes are read.

    Raises:
        UsageError: there is no log at this place.
        StoreError: it can't be read.
    """
    vocabulary = make_vocabulary(settings)
    with Log.open(folder) as log:
        kept = log.facts().get("reading") or {
            name: getattr(settings, name) for name in _KEPT_WITH_THE_LOG
        }
    reader = Reader(vocabulary, make_reading_options(settings, kept))
    return Reviewer(folder, reader, by=by, made_by=MADE_BY)


def make_check_options(settings: Settings) -> CheckOptions:
    """Return what the repository decides about the closing check."""
    return CheckOptions(
        known_accessions=settings.known_accessions,
        imaged_by=settings.imaged_by,
        least_ppi=settings.scan_least_ppi,
    )


def find_scans(
    log: Log,
    folders: Sequence[str],
    settings: Settings,
    *,
    on_read: Callable[[int, int], None] = lambda _done, _of: None,
) -> ScanSet:
    """Return the scans in some folders and what each shows; only their headers are read.

    Args:
        log: the log that they belong to.
        folders: as the command line names them: ``FOLDER`` or ``VOLUME=FOLDER``.
        settings: say how names tell what a scan shows.
        on_read: told after each file how many of how many were read.

    Raises:
        UnusableInput: a folder is not there or can't be read.
    """
    kept = log.facts().get("reading", {})
    matching = parse_matching(
        settings.scan_names,
        imaged_by=settings.imaged_by,
        first_page=kept.get("first_page", settings.first_page),
    )
    volumes = group_volumes(entry for _, entry in log.iter_entries())
    return read_scan_set(map(parse_scan_folder, folders), volumes, matching, on_read=on_read)


def check_log(
    log: Log,
    settings: Settings,
    *,
    counts: Iterable[ClosingCount] = (),
    scans: SeenScans | None = None,
) -> tuple[Finding, ...]:
    """Return the findings of the closing check; those that somebody accepted say why.

    Args:
        log: the log.
        settings: what the repository decides.
        counts: closing counts given beside those in the log.
        scans: the images on disk, looked at; None where none are compared.
    """
    found = find_findings(
        (entry for _, entry in log.iter_entries()),
        make_vocabulary(settings),
        make_check_options(settings),
        counts=counts,
        scans=scans,
    )
    reasons = log.accepted_findings()
    return tuple(replace(finding, accepted=reasons.get(finding.id)) for finding in found)


def gather_report(folders: Iterable[Path], settings: Settings, period: Period) -> Material:
    """Return what a report on some logs is made from.

    Raises:
        UsageError: one of the folders is no log.
        StoreError: one of them can't be read.
    """
    logs: list[LogMaterial] = []
    findings: list[Finding] = []
    for folder in folders:
        with Log.open(folder) as log:
            logs.append(read_log(log, period))
            findings += check_log(log, settings)
    stock = make_stock(settings)
    volumes = [volume for log in logs for volume in group_by_volume(log.entries)]
    plans = plan_volumes(volumes, stock, load_interleaving_rules())
    return Material(
        logs=tuple(logs),
        repository=settings.repository,
        period=period,
        findings=tuple(findings),
        supplies=list_supplies((plan.needs() for plan in plans), stock),
        currency=stock.currency,
        ranking=rank_volumes(volumes, make_triage_parts(settings)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewPages:
    """The review pages, ready to be served.

    Attributes:
        app: the application.
        address: what to open, with the token in it; good once.
        warm_up: makes ready what takes a moment, so that the first edit needn't wait for it.
    """

    app: FastAPI
    address: str
    warm_up: Callable[[], object]


def make_review(folder: Path, settings: Settings, *, port: int, reviewer: str = "") -> ReviewPages:
    """Return the pages on which a log is reviewed.

    Args:
        folder: the log's folder.
        settings: vocabulary, spelling and how typed values are read.
        port: the port of this machine on which they will be served.
        reviewer: who reviews, or empty when the page is to ask.

    Raises:
        UsageError: there is no log at this place.
        StoreError: it can't be read, or was made by a later version.
        VocabularyError: a term file is wrong.
    """
    # Only here, because they bring a web framework.
    from voicelog.review.pages.app import make_app  # noqa: PLC0415
    from voicelog.review.pages.desk import ReviewDesk, read_uid  # noqa: PLC0415
    from voicelog.review.pages.fields import spelling  # noqa: PLC0415
    from voicelog.review.pages.gate import Gate  # noqa: PLC0415
    from voicelog.review.pages.late import once  # noqa: PLC0415
    from voicelog.review.pages.second_hearing import SecondHearing  # noqa: PLC0415
    from voicelog.review.readings import Readings  # noqa: PLC0415

    _bring_up_to_date(folder)
    vocabulary = make_vocabulary(settings)
    wanted = {name: getattr(settings, name) for name in _KEPT_WITH_THE_LOG}

    def make_reader_of_log() -> Reader:
        with Log.open(folder) as log:
            return make_reader(vocabulary, settings, log.facts().get("reading", wanted), log)

    get_reader = once(make_reader_of_log)
    desk = ReviewDesk(
        folder=folder,
        uid=read_uid(folder),
        vocabulary=vocabulary,
        get_reader=get_reader,
        get_readings=once(lambda: Readings(get_reader())),
        made_by=MADE_BY,
        spell=spelling(settings.spelling),
        second=SecondHearing(recognisers=_make_recognisers(settings, vocabulary)),
        sample_percent=settings.blind_sample_percent,
    )
    gate = Gate(port=port, reviewer=reviewer)
    return ReviewPages(app=make_app(desk, gate), address=gate.address, warm_up=desk.get_readings)


def _make_recognisers(
    settings: Settings, vocabulary: Vocabulary
) -> dict[str, Callable[[], Recogniser]]:
    """Return, by engine, what makes the recogniser of each engine that has a model here."""
    from voicelog.review.pages.late import once  # noqa: PLC0415 - as in make_review

    engines: tuple[Engine, ...] = ("whisper", "vosk")
    there = {model.engine for model in installed_models(settings)}
    return {
        engine: once(
            functools.partial(make_recogniser, replace(settings, engine=engine), vocabulary)
        )
        for engine in engines
        if engine in there
    }


def _bring_up_to_date(folder: Path) -> None:
    """Give a log of an earlier version today's tables; one that is being written has them."""
    require_log_folder(folder)
    with contextlib.suppress(LogBusy), WritableLog.open_to_write(folder, made_by=MADE_BY):
        pass


def make_vocabulary(settings: Settings) -> Vocabulary:
    """Return voicelog's vocabulary together with the repository's own."""
    return load_vocabulary(*settings.vocabulary_files)


def make_reading_options(settings: Settings, kept: Mapping[str, Any]) -> ReadingOptions:
    """Return how notes are read: as the log was begun, else as the settings say."""
    return ReadingOptions(
        default_unit=kept["default_unit"],
        default_century=kept["default_century"],
        day_first=kept["day_first"],
        first_page=kept["first_page"],
        accession_patterns=settings.accession_patterns,
        known_accessions=settings.known_accessions,
    )


def make_hearing(settings: Settings, vocabulary: Vocabulary) -> Hearing:
    """Return how recordings are heard: the recogniser of the settings, ready to work.

    Raises:
        RecogniserError: its model is missing or damaged.
    """
    return Hearing(
        recogniser=make_recogniser(settings, vocabulary),
        segments=make_segment_options(settings),
        handler=settings.handler or None,
        speakers=make_speakers(settings),
    )


def make_speakers(settings: Settings) -> Speakers:
    """Return who is recorded: whom the settings name, else the handler."""
    handler = (settings.handler,) if settings.handler else ()
    return Speakers(people=settings.people_recorded or handler, told=settings.people_told)


def make_live_options(settings: Settings, player: Player) -> LiveOptions:
    """Return how a live session goes, by the settings."""
    return LiveOptions(
        segments=make_segment_options(settings),
        recorder=RecorderOptions(),
        speaking=Speaking(
            player=player,
            tone_volume=settings.tone_volume,
            voice=find_voice() if settings.voice else None,
        ),
        find_findings=lambda log: check_log(log, settings),
        commands=make_command_listener(settings),
        read_back=settings.read_back,
        handler=settings.handler or None,
        speakers=make_speakers(settings),
    )


def make_command_listener(settings: Settings) -> CommandListener | None:
    """Return what hears along beside the recogniser and knows commands, or None.

    There is none where no small vosk model is on this machine. It is held to the commands
    as they are worded, and to every single word it knows: those are the noise in which it
    must not hear a command.
    """
    small = [
        model
        for model in installed_models(settings)
        if model.engine == "vosk" and not model.full_size
    ]
    if not small:
        return None
    smallest = min(small, key=lambda model: model.size_bytes)
    wordings = order_wordings()
    return CommandListener(
        VoskRecogniser(
            VoskOptions(
                model_folder=smallest.folder,
                word_list=(*sorted(wordings), *read_vosk_words(smallest.folder)),
            )
        ),
        wordings,
    )


def make_live_keys(settings: Settings) -> dict[str, Key]:
    """Return which key stands for what; those without a key are left out."""
    keys = {
        settings.key_check: Key.CHECK,
        settings.key_pause: Key.PAUSE,
        settings.key_strike: Key.STRIKE,
    }
    return {name: key for name, key in keys.items() if name}


def make_segment_options(settings: Settings) -> SegmentOptions:
    """Return how speech is cut into notes, by the settings."""
    return SegmentOptions(pause_ms=settings.pause_ms, padding_ms=settings.padding_ms)


def make_recogniser(settings: Settings, vocabulary: Vocabulary) -> Recogniser:
    """Return the recogniser that the settings ask for.

    Raises:
        ModelMissing: no model for it is on this machine.
        ModelDamaged: the model's files are not what they should be.
    """
    model = choose_model(settings)
    if model.engine == "vosk":
        return VoskRecogniser(VoskOptions(model_folder=model.folder))
    return WhisperRecogniser(
        WhisperOptions(
            hot_words=vocabulary.hot_words(),
            threads=settings.threads,
            model_folder=model.folder,
        )
    )


def installed_models(settings: Settings) -> tuple[InstalledModel, ...]:
    """Return every model on this machine, the embedded one first."""
    embedded = find_embedded_model()
    found = find_models(model_folders(settings.model_folder))
    return (*([embedded] if embedded else []), *found)


def choose_model(settings: Settings) -> InstalledModel:
    """Return the model that the settings come down to.

    One in the repository's own folder is preferred to any other. Of vosk models a
    full-size one is preferred to a small one, else the larger to the smaller.

    Raises:
        ModelMissing: there is none for this engine.
    """
    found = installed_models(settings)
    vosk = [model for model in found if model.engine == "vosk"]
    whisper = [model for model in found if model.engine == "whisper"]
    published = [model for model in vosk if model.full_size]
    if settings.engine == "vosk":
        candidates = vosk
    elif settings.engine == "auto" and settings.prefer_published_model and published:
        candidates = published
    else:
        # The embedded model comes first; a larger one only where somebody put it on purpose.
        candidates = [model for model in whisper if _is_own(model, settings)] or whisper[:1]
    if not candidates:
        wanted = "vosk" if settings.engine == "vosk" else "whisper"
        raise ModelMissing(
            f"No {wanted} model is on this machine; 'voicelog models' lists what there is "
            "and what can be fetched."
        )
    return max(
        candidates,
        key=lambda model: (_is_own(model, settings), model.full_size, model.size_bytes),
    )


def check_chosen_model(settings: Settings) -> InstalledModel:
    """Return the model that the settings come down to once its files were found whole.

    Raises:
        ModelMissing: there is none for this engine.
        ModelDamaged: its files are not what they should be.
    """
    model = choose_model(settings)
    if model.engine == "vosk":
        check_vosk_files(model.folder)
    else:
        check_whisper_files(model.folder)
    return model


def fetching_folder(settings: Settings) -> Path:
    """Return where a fetched model goes: the repository's own folder, else vosk's."""
    return settings.model_folder or model_folders()[-1]


def _is_own(model: InstalledModel, settings: Settings) -> bool:
    own = settings.model_folder
    return own is not None and (model.folder == own or own in model.folder.parents)


def make_stock(settings: Settings) -> Stock:
    """Return the stock that housing is chosen from: the repository's own table, else ours.

    Raises:
        HousingError: the repository's table can't be used.
    """
    return load_default_stock() if settings.stock_file is None else read_stock(settings.stock_file)


def make_triage_parts(settings: Settings) -> tuple[Part, ...]:
    """Return what makes a volume need care first: the repository's own table, else ours.

    Raises:
        HousingError: the repository's table can't be used.
    """
    if settings.triage_file is None:
        return load_default_weights()
    return read_weights(settings.triage_file)


def make_label_layout(settings: Settings, name: str | None = None) -> LabelLayout:
    """Return the label sheet of this name, else that of the settings.

    Raises:
        HousingError: there is no such sheet, or the repository's table can't be used.
    """
    own = () if settings.label_file is None else read_layouts(settings.label_file)
    return find_layout((*load_layouts(), *own), name or settings.label_layout)
