"""The screen at the bench: the place in letters for two metres, the rest for a glance."""

from __future__ import annotations

import math
import textwrap

from rich.console import Console, ConsoleOptions, RenderResult
from rich.segment import Segment
from rich.text import Text

from voicelog.cli.block_letters import draw
from voicelog.cli.table import describe_briefly
from voicelog.cli.terminal import safe
from voicelog.session.live.view import NoteLine, State, View

_QUIET_DB = -60.0
_METER_CELLS = 30
# Speech near a microphone peaks some 12 dB above its mean level; more than this clips.
_LOUD_DB = -9.0
_LETTERS_SHARE = 3  # of the screen's height, one part in so many
_FEWEST_LETTER_LINES = 5
_SLOW_S = 3.0
_QUESTION_LINES = 3

_SIGNS = {
    State.LOADING: ("… getting ready", ""),
    State.LISTENING: ("● RECORDING", "bold green"),
    State.SPEAKING: ("» speaking", "bold"),
    State.PAUSED: ("‖ PAUSED", "bold reverse"),
    State.LOST: ("! NO MICROPHONE", "bold reverse red"),
    State.FINISHING: ("… finishing", ""),
}


class BenchScreen:
    """One moment of a session, drawn to fill the terminal exactly."""

    def __init__(self, view: View) -> None:
        self._view = view

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """Yield the lines of the screen."""
        width = options.max_width
        height = options.height or console.height
        lines = self._lines(width, height - 1, plain=options.ascii_only)
        for line in lines:
            cropped = line.copy()
            cropped.truncate(width, overflow="ellipsis")
            yield from console.render_lines(cropped, options.update(height=1), pad=False)[0]
            yield Segment.line()

    def _lines(self, width: int, height: int, *, plain: bool) -> list[Text]:
        view = self._view
        above = [self._headline(width), Text(safe(_describe_volume(view))), Text("")]
        below = [self._words(width), self._meter(plain=plain), self._footer(width)]
        letter_lines = max(_FEWEST_LETTER_LINES, height // _LETTERS_SHARE)
        letters = [
            Text(row, style="bold")
            for row in draw(
                describe_big(view), width=width, height=letter_lines, dot="#" if plain else "█"
            )
        ]
        room = height - len(above) - len(letters) - len(below) - 1
        question = self._question(width)
        room -= len(question)
        notes = self._notes(room)
        filling = [Text("")] * (room - len(notes) + 1)
        return [*above, *letters, Text(""), *notes, *filling[1:], *question, *below][:height]

    def _headline(self, width: int) -> Text:
        view = self._view
        sign, style = _SIGNS[view.state]
        left = Text.assemble((sign, style), f"  {_format_time(view.recorded_s)}")
        right = f"{safe(view.log_name)}   disk {_format_room(view.free_bytes)}"
        return _spread(left, right, width)

    def _notes(self, room: int) -> list[Text]:
        """Return the latest notes, the newest whole, older ones as far as there is room."""
        blocks = [_note_lines(note, is_latest=at == 0) for at, note in enumerate(self._newest)]
        kept: list[list[Text]] = []
        for block in blocks:
            if sum(map(len, kept)) + len(block) > room:
                break
            kept.append(block)
        if not kept and blocks:
            kept = [blocks[0][: max(0, room)]]
        return [line for block in reversed(kept) for line in block]

    @property
    def _newest(self) -> tuple[NoteLine, ...]:
        return tuple(reversed(self._view.notes))

    def _meter(self, *, plain: bool) -> Text:
        view = self._view
        level_db = 20 * math.log10(max(view.level, 1e-6))
        filled = round(_METER_CELLS * min(1.0, max(0.0, 1 - level_db / _QUIET_DB)))
        bar = ("#" if plain else "▮") * filled + ("." if plain else "·") * (_METER_CELLS - filled)
        line = Text(f"level {bar}")
        if level_db > _LOUD_DB:
            line.append("  too loud", style="bold yellow")
        elif view.is_in_note and view.state is State.LISTENING:
            line.append("  a note is being spoken")
        return line

    def _question(self, width: int) -> list[Text]:
        """Return what is being asked, on as many lines as it needs, three at most."""
        if not self._view.question:
            return []
        lines = textwrap.wrap(safe(self._view.question), width - 4)[:_QUESTION_LINES]
        return [
            Text(f"  {'?' if at == 0 else ' '} {line}", style="bold")
            for at, line in enumerate(lines)
        ]

    def _words(self, width: int) -> Text:
        """Return what was understood so far of the note being spoken, its end if it is long."""
        view = self._view
        if not view.words or view.state is not State.LISTENING:
            return Text("")
        words = safe(view.words)
        room = width - len("      …  …")
        return Text(f"      {'… ' if len(words) > room else ''}{words[-room:]} …", style="italic")

    def _footer(self, width: int) -> Text:
        view = self._view
        if view.message:
            return Text(safe(view.message), style="bold yellow")
        taken = f"{view.taken} {'note' if view.taken == 1 else 'notes'} taken down"
        if view.queried:
            taken += f", {view.queried} {'entry' if view.queried == 1 else 'entries'} queried"
        left = Text(taken)
        if view.waiting and view.lag_s >= _SLOW_S:
            left.append(f", {view.waiting} behind by {view.lag_s:.0f} s", style="yellow")
        return _spread(left, safe(view.microphone), width)


def describe_big(view: View) -> str:
    """Return what stands in block letters: the place, or what stops the work.

    >>> from voicelog.domain.entry import Side
    >>> from voicelog.domain.place import Place
    >>> describe_big(View(state=State.LISTENING, log_name="x",
    ...                   place=Place(leaf="14", side=Side.RECTO)))
    '14 RECTO'
    >>> describe_big(View(state=State.PAUSED, log_name="x"))
    'PAUSED'
    """
    if view.state is State.PAUSED:
        return "PAUSED"
    if view.state is State.LOST:
        return "NO SOUND"
    place = view.place
    if place is None:
        return "NO LEAF"
    return f"{place.leaf} {place.side or ''}".strip().upper()


def _describe_volume(view: View) -> str:
    accession = view.accession or "no accession number yet"
    return f"{accession} · {view.volume or 'no volume yet'}"


def _note_lines(note: NoteLine, *, is_latest: bool) -> list[Text]:
    style = "" if is_latest else "dim"
    lines = [Text(f"{note.number:>4}  “{safe(note.text)}”", style=f"bold {style}".strip())]
    lines += [
        Text(f"      {safe(describe_briefly(entry))}", style=style) for entry in note.entries[:3]
    ]
    if len(note.entries) > 3:
        lines.append(Text(f"      and {len(note.entries) - 3} more", style=style))
    lines += [Text(f"      ? {safe(doubt)}", style="yellow") for doubt in note.new_doubts[:2]]
    return lines


def _spread(left: Text, right: str, width: int) -> Text:
    """Put one text at the left edge and one at the right, if both fit."""
    gap = width - left.cell_len - len(right)
    return Text.assemble(left, " " * gap, right) if gap > 1 else left


def _format_time(seconds: float) -> str:
    minutes, rest = divmod(int(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02}:{rest:02}"


def _format_room(free_bytes: int) -> str:
    if free_bytes >= 10_000_000_000:
        return f"{free_bytes / 1e9:.0f} GB"
    return (
        f"{free_bytes / 1e9:.1f} GB"
        if free_bytes >= 1_000_000_000
        else f"{free_bytes / 1e6:.0f} MB"
    )
