"""The screen at the bench: large where it must be, whole at 80 by 24, without colour too."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pytest
from rich.console import Console

from voicelog.cli.bench_screen import BenchScreen
from voicelog.cli.block_letters import draw
from voicelog.domain.entry import Doubt, Entry, Kind, Side, Status
from voicelog.domain.place import NAMED_PLACES, Place
from voicelog.session.live.view import NoteLine, State, View

ITEM = Entry(
    id="e",
    kind=Kind.ITEM,
    leaf="14",
    side=Side.RECTO,
    item=2,
    item_type=("postcard",),
    attachment=("photo corners",),
    status=Status.QUERIED,
    doubts=(Doubt(message="not understood: 'blorf'"),),
)
FULL = View(
    state=State.LISTENING,
    log_name="green-book",
    microphone="USB headset",
    accession="2031-007",
    volume="volume 1, the green book",
    place=Place(leaf="14", side=Side.RECTO),
    notes=tuple(
        NoteLine(
            number=nth,
            text=f"a postcard, photo corners, number {nth}",
            entries=(ITEM,),
            new_doubts=("not understood: 'blorf'",),
        )
        for nth in (7, 8, 9)
    ),
    level=0.05,
    is_in_note=True,
    words="next leaf a tick",
    waiting=2,
    lag_s=6.0,
    recorded_s=3723.0,
    free_bytes=83_000_000_000,
    taken=9,
    queried=3,
)


def lines_of(view: View, *, width: int = 80, height: int = 24, **options: object) -> list[str]:
    console = Console(
        file=io.StringIO(),
        width=width,
        height=height,
        force_terminal=True,
        **options,  # type: ignore[arg-type]
    )
    with console.capture() as captured:
        console.print(BenchScreen(view), end="")
    return captured.get().splitlines()


def plain(view: View, **options: object) -> list[str]:
    return lines_of(view, no_color=True, color_system=None, **options)


def test_everything_is_on_an_80_by_24_screen() -> None:
    """Place, volume, notes with rows and doubts, lag, level, time, disk."""
    text = "\n".join(plain(FULL))
    for wanted in (
        "RECORDING  1:02:03",
        "disk 83 GB",
        "2031-007 · volume 1, the green book",
        "“a postcard, photo corners, number 9”",
        "leaf 14 recto: postcard, photo corners",
        "not understood: 'blorf'",
        "2 behind by 6 s",
        "level ▮",
        "9 notes taken down, 3 entries queried",
        "a note is being spoken",
        "next leaf a tick …",
    ):
        assert wanted in text


@pytest.mark.parametrize(("width", "height"), [(80, 24), (100, 30), (200, 60), (60, 20)])
def test_it_fills_the_screen_and_never_more(width: int, height: int) -> None:
    """A line too many would make the terminal scroll."""
    lines = plain(FULL, width=width, height=height)
    assert len(lines) <= height - 1
    assert max(map(len, lines)) <= width


def test_the_newest_notes_are_the_ones_that_are_kept() -> None:
    """Where there is no room for three, the oldest goes."""
    text = "\n".join(plain(FULL, height=18))
    assert "number 9" in text
    assert "number 7" not in text


def test_without_colour_it_says_the_same() -> None:
    """Nothing is told by colour alone."""
    coloured = lines_of(FULL, color_system="standard")
    assert plain(FULL) != coloured
    stripped = [re.sub(r"\x1b\[[0-9;]*m", "", line) for line in coloured]
    assert [line.rstrip() for line in stripped] == [line.rstrip() for line in plain(FULL)]


@pytest.mark.parametrize(
    ("state", "wanted"),
    [
        (State.PAUSED, "PAUSED"),
        (State.LOST, "NO MICROPHONE"),
        (State.FINISHING, "finishing"),
        (State.SPEAKING, "speaking"),
        (State.LOADING, "getting ready"),
    ],
)
def test_every_state_is_written_out(state: State, wanted: str) -> None:
    """In the first line."""
    assert wanted in plain(replace(FULL, state=state))[0]


def test_of_a_long_note_the_latest_words_are_shown() -> None:
    """On one line; while paused nothing of what is said is shown."""
    words = " ".join(f"word{nth}" for nth in range(60))
    (line,) = (line for line in plain(replace(FULL, words=words)) if "word59" in line)
    assert line.startswith("      … ")
    assert len(line) <= 80
    assert "word59" not in "\n".join(plain(replace(FULL, words=words, state=State.PAUSED)))


def test_a_question_is_asked_on_the_screen_too() -> None:
    """Where there is no voice, it is the only place; three lines of it at most."""
    question = "fourteen recto, two, postcard: not understood: 'blorf'. What is right? " * 5
    lines = plain(replace(FULL, question=question))
    (first,) = (nth for nth, line in enumerate(lines) if line.startswith("  ? fourteen"))
    assert lines[first + 2].startswith("    ")
    assert len(lines) <= 23
    assert "number 9" in "\n".join(lines)


def test_a_message_takes_the_last_line() -> None:
    """Trouble is read where the eyes are, and steers no terminal."""
    lines = plain(replace(FULL, message="The microphone is gone;\x1b[2J plug it in again."))
    assert lines[-1].startswith("The microphone is gone;␛[2J plug it in")


class TestBlockLetters:
    def test_a_leaf_and_its_side_are_five_lines_high_at_80_columns(self) -> None:
        """A terminal line of 5 mm makes letters of 25 mm: readable at two metres.

        Letter heights of a 200th of the distance are common practice for signs; no
        published source.
        """
        rows = draw("14 RECTO", width=80, height=5)
        assert len(rows) == 5
        assert set("".join(rows)) == {"█", " "}

    @pytest.mark.parametrize("place", [*NAMED_PLACES, "128A VERSO", "between 12 and 13"])
    def test_every_place_fits_80_columns_in_block_letters(self, place: str) -> None:
        """The longest ones in narrower letters."""
        rows = draw(place, width=80, height=5)
        assert len(rows) == 5
        assert max(map(len, rows)) <= 80

    def test_a_large_screen_has_larger_letters(self) -> None:
        """Twice as wide and twice as high."""
        small, large = draw("7", width=80, height=5), draw("7", width=80, height=10)
        assert len(large) == 2 * len(small)

    def test_what_has_no_block_letters_is_written_as_it_is(self) -> None:
        """Never nothing."""
        assert draw("ÄÖ", width=80, height=5) == ("ÄÖ",)
