"""Loading the cue lists and the sound-alikes."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from importlib import resources


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundAlike:
    """What a recogniser writes for a word that sounds like it, and where.

    Attributes:
        heard: the tokens as written.
        meant: the tokens that were said.
        before: what must stand before, any of them; empty for anything.
        after: what must stand after, any of them; empty for anything.
    """

    heard: tuple[str, ...]
    meant: tuple[str, ...]
    before: tuple[str, ...] = ()
    after: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Language:
    """The words around the terms.

    Attributes:
        cues: cue name to its wordings.
        words: word list name to its words ("function_words", "degrees", ...).
        sound_alikes: repairs, longest first.
    """

    cues: dict[str, tuple[str, ...]]
    words: dict[str, frozenset[str]]
    sound_alikes: tuple[SoundAlike, ...]


def load_language() -> Language:
    """Return the cue lists and sound-alikes that voicelog ships."""
    folder = resources.files("voicelog.extraction.language")
    sections = tomllib.loads((folder / "cues.toml").read_text(encoding="utf-8"))
    words = sections.pop("words")
    cues = {
        name: tuple(wordings) for lists in sections.values() for name, wordings in lists.items()
    }
    repairs = tomllib.loads((folder / "sound_alikes.toml").read_text(encoding="utf-8"))["repair"]
    sound_alikes = [
        SoundAlike(
            heard=tuple(heard.split()),
            meant=tuple(repair["meant"].split()),
            before=tuple(repair.get("before", ())),
            after=tuple(repair.get("after", ())),
        )
        for repair in repairs
        for heard in repair["heard"]
    ]
    return Language(
        cues=cues,
        words={name: frozenset(listed) for name, listed in words.items()},
        sound_alikes=tuple(sorted(sound_alikes, key=lambda one: -len(one.heard))),
    )
