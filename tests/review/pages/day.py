"""A day's notes, what was really said in them, and a practised person who reviews them.

The log is made as a day makes it: notes with words, the recogniser's confidence in them, and
its second thoughts. In one row of eight something is doubtful; in half of those the doubt is
right, and a field is wrong. The person works as the pages are meant to be worked: confirms
leaves, looks at what is doubtful, types no more letters than needed. Every key is counted.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from statistics import mean, median

from playwright.sync_api import expect

from tests.review.pages.window import Window
from voicelog.domain.note import Word
from voicelog.domain.utterance import Utterance
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.reader import Reader
from voicelog.session.scribe import Scribe
from voicelog.store.log import Log
from voicelog.store.writing import WritableLog

ROWS_ON_A_SIDE = 4
_UNCLEAR = 0.2
_CLEAR = 0.95

_RIGHT = (
    "a postcard, photo corners, yellowed",
    "a newspaper clipping, cellophane tape, brittle",
    "a ticket, slits",
    "two snapshots, mounting hinge, secure",
    "a letter, laid in, fold",
    "a greeting card, paste, foxing",
    "a menu, cellophane tape, tape stain",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """A note of which some words were heard unclearly.

    Attributes:
        heard: what the recogniser wrote.
        unclear: the words that it was unsure of.
        other: its second thought about the whole note, or nothing.
        field: the field that is wrong, or nothing when it was heard right after all.
        meant: what should stand there.
    """

    heard: str
    unclear: str
    other: str = ""
    field: str = ""
    meant: str = ""


_SLIPS = (
    Slip(heard="a poster, photo corners", unclear="poster", field="item_type", meant="postcard"),
    Slip(heard="a telegram, paste, creased", unclear="telegram"),
    Slip(
        heard="a ticket, slits, torn",
        unclear="torn",
        other="a ticket, slits, worn, foxing",
        field="condition",
        meant="foxing",
    ),
    Slip(heard="a programme, staple, rust stain", unclear="staple"),
    Slip(
        heard="a calling card, goes in envelope fifty",
        unclear="envelope fifty",
        field="enclosure",
        meant="envelope 15",
    ),
    Slip(
        heard="a map, laid in, dated June fourth nineteen fifty two",
        unclear="June fourth nineteen fifty two",
    ),
    Slip(heard="a badge, pin, secure", unclear="badge", field="item_type", meant="award ribbon"),
    Slip(heard="a brochure, paper tape, soiled", unclear="soiled"),
    Slip(
        heard="a photograph, dated nineteen fifteen",
        unclear="nineteen fifteen",
        other="a photograph, dated nineteen fifty",
        field="date",
        meant="1950",
    ),
    Slip(heard="a drawing, rubber cement, stain", unclear="drawing"),
    Slip(heard="a napkin, pin, faded", unclear="pin", field="attachment", meant="thread"),
    Slip(heard="a poem, adhesive, cockled", unclear="cockled"),
)

EVERY = 100 // 12
"""One row of eight is doubtful: 12 %; every second of those is wrong: 6 %."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """A log to review, and what was really said.

    Attributes:
        folder: the log.
        slips: by entry id, the slip behind each doubtful row.
        rows: how many entries there are.
    """

    folder: Path
    slips: Mapping[str, Slip]
    rows: int


@dataclass(slots=True)
class Count:
    """The keys that were pressed.

    Attributes:
        bulk: keys for each right row that was confirmed with others.
        looked_at: keys for each doubtful row that was right.
        mended: keys for each wrong field.
    """

    bulk: list[float] = field(default_factory=list)
    looked_at: list[int] = field(default_factory=list)
    mended: list[int] = field(default_factory=list)

    @property
    def total(self) -> float:
        return sum(self.bulk) + sum(self.looked_at) + sum(self.mended)

    def told(self) -> str:
        return "\n".join(
            f"{name:<34} {len(keys):>4} rows, keys a row: median {median(keys):.2f}, "
            f"mean {mean(keys):.2f}, most {max(keys):.0f}"
            for name, keys in (
                ("right rows, confirmed together", self.bulk),
                ("doubtful rows that were right", self.looked_at),
                ("wrong fields put right", self.mended),
            )
            if keys
        )


def make_day(folder: Path, reader: Reader, *, rows: int) -> Day:
    """Say a day's notes into a log."""
    said: dict[int, Slip] = {}
    with WritableLog.open_to_write(folder, made_by="voicelog test", facts={"reading": {}}) as log:
        scribe = Scribe(log, Logbook(reader))
        for utterance, slip in _say(rows):
            note, _ = scribe.take_down(utterance)
            if slip:
                said[note.number] = slip
    with Log.open(folder) as log:
        entries = [entry for _, entry in log.iter_entries()]
    slips = {entry.id: said[entry.notes[0]] for entry in entries if entry.notes[0] in said}
    assert len(slips) == len(said)
    return Day(folder=folder, slips=slips, rows=len(entries))


def _say(rows: int) -> Iterator[tuple[Utterance, Slip | None]]:
    yield Utterance(text="accession 2031-007"), None
    yield Utterance(text="volume one, the green book, post binding, black paper"), None
    slips = 0
    for row in range(rows - 1):
        side, nth = divmod(row, ROWS_ON_A_SIDE)
        if nth == 0:
            yield Utterance(text=f"leaf {side // 2 + 1} {'verso' if side % 2 else 'recto'}"), None
        # Now here, now there on a side.
        if row % EVERY == 3 * (row // EVERY) % EVERY:
            slip = _SLIPS[slips % len(_SLIPS)]
            slips += 1
            yield _utter(slip.heard, unclear=slip.unclear, other=slip.other), slip
        else:
            yield _utter(_RIGHT[row % len(_RIGHT)]), None


def _utter(text: str, *, unclear: str = "", other: str = "") -> Utterance:
    doubtful = unclear.split()
    words = tuple(
        Word(text=word, confidence=_UNCLEAR if word.strip(",") in doubtful else _CLEAR)
        for word in text.split()
    )
    return Utterance(text=text, words=words, engine="both", alternatives=(other,) * bool(other))


class Reviewing:
    """A practised person at the keyboard."""

    def __init__(self, window: Window, day: Day) -> None:
        self._window = window
        self._day = day
        self.count = Count()

    def review(self) -> Count:
        """Review the log to its end and return what it took."""
        while (row := self._row()) is not None:
            slip = self._day.slips.get(row)
            before = self._window.keys
            if slip is None:
                confirmed = self._confirm_leaf()
                self.count.bulk += [(self._window.keys - before) / confirmed] * confirmed
            elif not slip.field:
                self._confirm(row)
                self.count.looked_at.append(self._window.keys - before)
            else:
                self._mend(row, slip)
                self._confirm(row)
                self.count.mended.append(self._window.keys - before)
        return self.count

    def _row(self) -> str | None:
        """Return the id of the row with the focus, or None when nothing is left to do."""
        page = self._window.page
        page.wait_for_function(
            "() => document.activeElement.closest('.row.is-heard, .row.is-queried')"
            " || !document.querySelector('.row.is-heard, .row.is-queried')"
        )
        found: str | None = page.evaluate(
            "document.activeElement.closest('.row.is-heard, .row.is-queried')?.dataset.entry"
        )
        return found

    def _confirm_leaf(self) -> int:
        page = self._window.page
        button = page.locator(".leaf:focus-within [data-act=confirm-leaf] button")
        rows = int(button.inner_text().split()[1])
        done = page.locator(".row.is-confirmed").count()
        number = page.url
        self._window.press("l")
        page.wait_for_function(
            "([done, url]) => document.querySelectorAll('.row.is-confirmed').length >= done"
            " || location.href !== url",
            arg=[done + rows, number],
        )
        return rows

    def _confirm(self, row: str) -> None:
        self._window.press("c")
        self._window.page.wait_for_function(
            "id => !document.querySelector(`#entry-${id}:not(.is-confirmed)`)", arg=row
        )

    def _mend(self, row: str, slip: Slip) -> None:
        page = self._window.page
        here = page.locator(f"#entry-{row}")
        value = here.locator(f".value[data-field={slip.field}]")
        while value.evaluate("value => value !== document.activeElement"):
            self._window.press("ArrowRight")
        offers = here.locator(".offers button")
        # The person sees at a glance whether the right reading is offered.
        expect(here.locator("[data-slot][aria-busy]")).to_have_count(0)
        texts = [" ".join(text.split()[1:]) for text in offers.all_inner_texts()]
        if slip.meant in texts[:9]:
            self._window.press(str(texts.index(slip.meant) + 1))
        else:
            self._window.press("Enter")
            expect(here.locator("#typed")).to_be_focused()
            self._type_until_chosen(slip.meant)
            self._window.press("Enter")
        expect(here.locator(f".value[data-field={slip.field}]")).to_contain_text(slip.meant)
        expect(here.locator(".editor, .offers")).to_have_count(0)

    def _type_until_chosen(self, meant: str) -> None:
        page = self._window.page
        for at, letter in enumerate(meant, start=1):
            self._window.type(letter)
            # The terms that fit are there with the next frame, once they were fetched.
            page.wait_for_function(
                "typed => document.querySelector('.options')?.dataset.typed === typed"
                " || !document.querySelector('.options')",
                arg=meant[:at].strip(),
            )
            chosen = page.locator("[role=option][aria-selected=true]")
            if chosen.evaluate_all("them => them[0]?.firstChild.textContent") == meant:
                return
