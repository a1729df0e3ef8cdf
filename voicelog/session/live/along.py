"""Hearing along while a note is spoken: words for the screen, and whether it is a command.

A small recogniser hears each note word by word, in a thread of its own beside the ear and
the full recogniser. What it heard is only ever used where both agree that it is a command,
or where the other one heard something that sounds like it.
"""

from __future__ import annotations

import logging
import queue
import threading
from dataclasses import dataclass

from voicelog.recognition.commands import CommandListener, WordStream
from voicelog.recognition.recogniser import Heard, Samples, make_heard
from voicelog.session.live.likeness import Likeness

logger = logging.getLogger(__name__)

NoteKey = tuple[str | None, float, float]
"""Which note: its file, and where in it it begins and ends, in seconds."""

_MOST_WAITING = 600
"""Blocks of 0.1 s: a machine that is a minute behind has no time to hear along."""
_LONGEST_WAIT_S = 5.0
_KEPT = 64


@dataclass(frozen=True, slots=True, kw_only=True)
class _Close:
    key: NoteKey
    is_whole: bool


class _Forget:
    pass


class HearingAlong(threading.Thread):
    """Hears along; nothing ever waits for it longer than a moment.

    Attributes:
        words: what was heard so far of the note being spoken; "" between notes.
    """

    def __init__(self, listener: CommandListener, likeness: Likeness) -> None:
        """Prepare to hear along, and to compare with what the full recogniser hears."""
        super().__init__(name="hearing along", daemon=True)
        self._listener = listener
        self._inbox: queue.SimpleQueue[Samples | _Close | _Forget | None] = queue.SimpleQueue()
        self._is_whole = True
        self._stream: WordStream | None = None
        self._likeness = likeness
        self._news = threading.Condition()
        self._commands: dict[NoteKey, Heard | None] = {}
        self._is_over = False
        self.words = ""

    @property
    def engine(self) -> str:
        """The engine that hears along."""
        return self._listener.engine

    @property
    def model(self) -> str:
        """The model behind it."""
        return self._listener.model

    def push(self, samples: Samples) -> None:
        """Take the next sound of the note being spoken; returns at once."""
        if self._inbox.qsize() < _MOST_WAITING:
            self._inbox.put(samples)
        else:
            self._is_whole = False

    def close(self, key: NoteKey) -> None:
        """The note being spoken is over, and this is what it is called from now on."""
        self._inbox.put(_Close(key=key, is_whole=self._is_whole))
        self._is_whole = True

    def forget(self) -> None:
        """What was pushed since the last note was none."""
        self._inbox.put(_Forget())
        self._is_whole = True

    def finish(self) -> None:
        """End once everything that waits was heard."""
        self._inbox.put(None)

    def find_command(self, key: NoteKey, heard: Heard) -> Heard | None:
        """Return the command that a note is, if the full recogniser bears it out.

        Args:
            key: which note.
            heard: what the full recogniser heard in it.

        Returns:
            the command, with the full recogniser's reading kept beside it; None where the
            note is no command, and where the full recogniser heard a command itself.
        """
        command = self._wait_for(key)
        if command is None:
            return None
        if not self._likeness.bears_out(command.text, heard.text):
            return None
        return make_heard(command.words, alternatives=[heard.text, *heard.alternatives])

    def run(self) -> None:
        """Hear until :meth:`finish`."""
        while (item := self._inbox.get()) is not None:
            try:
                self._take(item)
            except Exception as failure:  # noqa: BLE001 - the full recogniser hears it all the same
                logger.warning("Hearing along failed (%s)", type(failure).__name__)
                self._stream = None
                if isinstance(item, _Close):
                    self._tell(item.key, None)
        with self._news:
            self._is_over = True
            self._news.notify_all()

    def _take(self, item: Samples | _Close | _Forget) -> None:
        if isinstance(item, _Close):
            stream, self._stream = self._stream, None
            self.words = ""
            words = stream.finish() if stream is not None and item.is_whole else ()
            _, start_s, end_s = item.key
            self._tell(item.key, self._listener.choose(words, start_s=start_s, end_s=end_s))
        elif isinstance(item, _Forget):
            self._stream = None
            self.words = ""
        else:
            self._stream = self._stream or self._listener.open_stream()
            self.words = self._stream.push(item)

    def _tell(self, key: NoteKey, command: Heard | None) -> None:
        with self._news:
            self._commands[key] = command
            while len(self._commands) > _KEPT:
                del self._commands[next(iter(self._commands))]
            self._news.notify_all()

    def _wait_for(self, key: NoteKey) -> Heard | None:
        with self._news:
            self._news.wait_for(
                lambda: key in self._commands or self._is_over, timeout=_LONGEST_WAIT_S
            )
            return self._commands.pop(key, None)
