"""Every error voicelog raises, drawn as a tree.

    VoicelogError                     one clear sentence for the person at the keyboard
    ├── UsageError                    the request itself makes no sense          (exit status 2)
    │   ├── SettingsError             a settings file or variable is wrong
    │   └── HousingError              a table of stock, label sheets or weights is wrong
    ├── ParseError                    a text is not the value it should be; knows the bad part
    ├── VocabularyError               a term list contradicts itself
    ├── UnusableInput                 one input holds nothing usable             (exit status 1)
    │   ├── UnreadableRecording       the file is missing, empty, or not sound
    │   ├── UnreadableNotes           the text file is not notes
    │   └── BagRefused                the bag is damaged, strange, or not of a log
    ├── PlugInBroken                  what another package adds can't be used
    ├── RecogniserError               a recogniser or its model can't be used
    │   ├── ModelMissing              no such model on this machine
    │   ├── ModelDamaged              the files are there but not what they should be
    │   ├── ModelUnfit                whole, but of another language, or too large for here
    │   ├── ModelDiffers              another machine has other files, or other versions
    │   └── DownloadFailed            a model could not be fetched
    ├── ClusterError                  a cluster can't be reached, or is lost
    ├── SoundRemoved                  the sound asked for was removed, on record
    │   └── SoundElsewhere            it was left at another bench
    ├── ExportInvalid                 a finished file is not what its standard asks for
    ├── SourceLost                    the sound stopped coming: unplugged, switched off
    │   └── MicrophoneMissing         no such microphone on this machine, or none at all
    ├── ReviewError                   an act of review can't be done; nothing was changed
    │   ├── ValueRefused              what was typed is no value of this field
    │   ├── EntryChanged              somebody changed the entry meanwhile; has both values
    │   ├── EntryLocked               the entry is confirmed, or its volume is signed off
    │   └── NothingToUndo             this session has done nothing that can be taken back
    └── StoreError                    the log can't be opened or written
        ├── LogFromNewerVersion       made by a later voicelog
        ├── LogBusy                   another voicelog is writing to it
        └── DiskFull                  no room left; what was saved before is safe

A *finding* (something about the content that a person should look at) is data,
never an exception: see :mod:`voicelog.domain.finding`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any


class VoicelogError(Exception):
    """Something stopped voicelog; the message says what, where and what to do next."""

    exit_status = 1


class UsageError(VoicelogError):
    """The command was asked for something that makes no sense."""

    exit_status = 2


class SettingsError(UsageError):
    """A setting has a value that voicelog can't use."""


class HousingError(UsageError):
    """A table of stock, of label sheets or of weights for care can't be used."""


class ParseError(VoicelogError):
    """A text is not the value it was taken for.

    Attributes:
        text: the whole text that was read.
        start: index of the first bad character in ``text``.
        end: index after the last bad character.
    """

    def __init__(self, message: str, *, text: str, start: int = 0, end: int | None = None) -> None:
        super().__init__(message)
        self.text = text
        self.start = start
        self.end = len(text) if end is None else end


class VocabularyError(VoicelogError):
    """A term list contradicts itself or can't be read."""


class UnusableInput(VoicelogError):
    """One input holds nothing that can become a note; the others still can.

    Attributes:
        source: the file or stream as the user named it.
    """

    def __init__(self, message: str, *, source: str) -> None:
        super().__init__(message)
        self.source = source


class UnreadableRecording(UnusableInput):
    """A recording is missing, empty, truncated beyond use, or not sound at all."""


class UnreadableNotes(UnusableInput):
    """A file of typed notes is missing or is not text."""


class BagRefused(UnusableInput):
    """A bag is damaged, holds something that should not be there, or isn't one of a log."""


class PlugInBroken(VoicelogError):
    """What another package adds can't be loaded, or failed at its work."""


class RecogniserError(VoicelogError):
    """A recogniser or its model can't be used."""


class ModelMissing(RecogniserError):
    """The model asked for is not on this machine."""


class ModelDamaged(RecogniserError):
    """The model's files are there, but they are not what they should be."""


class ModelUnfit(RecogniserError):
    """A model is whole, but of another language, or too large for this machine."""


class ModelDiffers(RecogniserError):
    """Another machine would not hear the same: its model or its versions are others."""


class DownloadFailed(RecogniserError):
    """A model could not be fetched."""


class ClusterError(VoicelogError):
    """A cluster can't be reached or has no workers, or it was lost while it worked."""


class SoundRemoved(VoicelogError):
    """The sound of a recording is gone, by a recorded act; the words heard in it are not.

    Attributes:
        file: the recording.
        removed_at: when it was removed, ISO 8601 with zone.
        rule: by which rule.
    """

    def __init__(self, *, file: str, removed_at: str, rule: str) -> None:
        super().__init__(
            f"The sound of {file} was removed on {removed_at[:10]} by the rule '{rule}'; "
            "the words that were heard in it are kept."
        )
        self.file = file
        self.removed_at = removed_at
        self.rule = rule


class SoundElsewhere(SoundRemoved):
    """A recording was brought in without its sound, which stayed at another bench."""

    def __init__(self, *, file: str) -> None:
        VoicelogError.__init__(
            self,
            f"The sound of {file} stayed at the bench where it was recorded; to hear it here, "
            "bring in a bag that was made with --include-audio.",
        )
        self.file = file
        self.removed_at = ""
        self.rule = "left at another bench"


class ExportInvalid(VoicelogError):
    """An export would not be valid by the published schema of its format."""


class SourceLost(VoicelogError):
    """The sound stopped coming; it may come back."""


class MicrophoneMissing(SourceLost):
    """The microphone asked for is not there, or there is none, or it can't be used."""


class ReviewError(VoicelogError):
    """An act of review can't be done as asked; nothing was changed."""


class ValueRefused(ReviewError):
    """What was typed is no value of this field.

    Attributes:
        field: the entry field.
        typed: what was typed.
        suggestions: values near to it that would do, best first.
    """

    def __init__(
        self, message: str, *, field: str, typed: str, suggestions: tuple[str, ...] = ()
    ) -> None:
        super().__init__(message)
        self.field = field
        self.typed = typed
        self.suggestions = suggestions


class EntryChanged(ReviewError):
    """Somebody changed an entry after it was seen.

    Attributes:
        entry: the entry's id.
        version: the version that it has now.
        by: who changed it last, if a person or program is on record.
        wanted: field to the value that the refused act would have given it, as JSON holds it.
        present: the same fields as they are now.
    """

    def __init__(
        self,
        message: str,
        *,
        entry: str,
        version: int,
        by: str | None,
        wanted: Mapping[str, Any],
        present: Mapping[str, Any],
    ) -> None:
        super().__init__(message)
        self.entry = entry
        self.version = version
        self.by = by
        self.wanted = wanted
        self.present = present


class EntryLocked(ReviewError):
    """An entry is confirmed, or its volume is signed off.

    Attributes:
        entry: the entry's id.
        is_signed_off: whether the whole volume is locked.
    """

    def __init__(self, message: str, *, entry: str, is_signed_off: bool = False) -> None:
        super().__init__(message)
        self.entry = entry
        self.is_signed_off = is_signed_off


class NothingToUndo(ReviewError):
    """This session has done nothing that can be taken back."""


class StoreError(VoicelogError):
    """The log can't be opened or written."""


class LogFromNewerVersion(StoreError):
    """The log was made by a later version of voicelog."""


class LogBusy(StoreError):
    """Another voicelog is writing to the same log."""


class DiskFull(StoreError):
    """The disk has no room left; everything saved before is safe."""
