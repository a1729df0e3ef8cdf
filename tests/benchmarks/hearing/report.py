"""The table and the picture of what the cache holds.

    python -m tests.benchmarks.hearing.report CACHE --speech SPEECH --out FOLDER

Writes ``table.md`` (every cell), ``summary.md`` (cells taken together) and ``hearing.png``.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path

from tests.benchmarks.hearing.cache import Cell, HeardClip, HearingCache
from tests.benchmarks.hearing.clips import NEURAL, read_slots
from tests.benchmarks.hearing.conditions import CLEAN, CONDITIONS
from tests.benchmarks.hearing.engines import BIASINGS, DEAF_TO_BIASING, ENGINES
from tests.benchmarks.hearing.figures import Figures, Share, figures_of
from tests.benchmarks.hearing.hear import read_sessions
from voicelog.domain.error_rate import wilson_interval
from voicelog.extraction.options import ReadingOptions
from voicelog.extraction.reader import Reader
from voicelog.vocabulary import load_vocabulary

CLEAN_CLIPS = 50
"""Of each cell, at least; gold sessions are whole, so there they are 50 to 71."""

_SETS = {
    "tuning": "tuning voices",
    "held_back": "held-out voices",
    "an4": "AN4, strings",
    "orders": "orders",
}
_COLUMNS = (
    "clips",
    "words wrong",
    "numbers left aside",
    "words of the vocabulary wrong",
    "numbers right",
    "row F1",
    "entries right",
)

Counted = Mapping[Cell, Figures]


class Counter:
    """Counts what the cache holds.

    Args:
        cache: what was heard.
        speech: the folder with recordings of people; None where there is none.
        clips: how many clips of each cell count, whole sessions; all voices and engines of a
            set are compared on the same ones.
    """

    def __init__(self, cache: HearingCache, *, speech: Path | None, clips: int) -> None:
        self._cache = cache
        self._speech = speech
        self._clips = clips
        self._reader = Reader(load_vocabulary(), ReadingOptions())
        labels = speech / "orders" if speech else None
        self._slots = read_slots(labels) if labels and labels.exists() else {}
        self.cells = sorted((one for one in cache.cells() if one.set_name in _SETS), key=_order)

    def count_all(self) -> dict[Cell, Figures]:
        """Return the figures of every cell."""
        return {cell: self._count(cell, self._cache.heard(cell)) for cell in self.cells}

    def count_conditions(self) -> dict[Cell, Figures]:
        """Return what each condition does, on the clips that were heard in every one."""
        spoilt = {(cell.set_name, cell.voice) for cell in self.cells if cell.condition != CLEAN}
        counted: dict[Cell, Figures] = {}
        for place in spoilt:
            ears = {_ear(cell) for cell in self.cells if cell.condition != CLEAN}
            cells = [
                cell
                for cell in self.cells
                if (cell.set_name, cell.voice) == place and _ear(cell) in ears
            ]
            heard = {cell: self._cache.heard(cell) for cell in cells}
            common = set.intersection(*(set(clips) for clips in heard.values()))
            for cell, clips in heard.items():
                chosen = {name: clip for name, clip in clips.items() if name in common}
                counted[cell] = self._count(cell, chosen)
        return counted

    def _count(self, cell: Cell, heard: Mapping[str, HeardClip]) -> Figures:
        sessions = read_sessions(cell.set_name, cell.voice, notes=self._clips, speech=self._speech)
        return figures_of(sessions, heard, reader=self._reader, slots=self._slots)


def write_table(counted: Counted) -> str:
    """Return every cell as a row of a Markdown table."""
    lines = _head("set", "voice", "condition", "engine", "told")
    for cell, figures in counted.items():
        names = (_SETS[cell.set_name], cell.voice, cell.condition, cell.engine, cell.biasing)
        lines.append(_line(*names, *_values(figures)))
    return "\n".join(lines) + "\n"


def write_summary(counted: Counted, conditions: Counted) -> str:
    """Return cells taken together: clean speech by set, then what each condition does."""
    lines = _head("set, clean", "engine", "told")
    for names, figures in _together(
        counted, lambda cell: cell.condition == CLEAN, lambda cell: (_set_of(cell), *_ear(cell))
    ):
        lines.append(_line(*names, *_values(figures)))
    lines += ["", *_head("condition", "engine", "told")]
    for names, figures in _together(
        conditions, lambda _: True, lambda cell: (cell.condition, *_ear(cell))
    ):
        lines.append(_line(*names, *_values(figures)))
    lines += ["", "| strings and orders, clean | engine | told | exact strings | labelled words |"]
    lines += ["|---|---|---|---|---|"]
    for names, figures in _together(
        counted,
        lambda cell: cell.set_name in {"an4", "orders"},
        lambda cell: (f"{_SETS[cell.set_name]}, {cell.voice}", *_ear(cell)),
    ):
        lines.append(_line(*names, str(figures.strings_right), str(figures.slots_right)))
    return "\n".join(lines) + "\n"


def draw(counted: Counted, conditions: Counted, path: Path) -> None:
    """Draw words wrong, with intervals: by set for clean speech, and by condition."""
    import matplotlib as mpl  # noqa: PLC0415

    mpl.use("Agg")
    from matplotlib import pyplot as plt  # noqa: PLC0415

    figure, (left, right) = plt.subplots(1, 2, figsize=(11, 4.2), sharey=True)
    clean = _together(
        counted, lambda cell: cell.condition == CLEAN, lambda cell: (_set_of(cell), *_ear(cell))
    )
    _draw_shares(left, [(names, figures.wrong) for names, figures in clean if figures.wrong.of])
    left.set_title("clean speech")
    left.set_ylabel("words wrong, % (95 % interval)")
    spoilt = _together(conditions, lambda _: True, lambda cell: (cell.condition, *_ear(cell)))
    _draw_shares(right, [(names, figures.wrong) for names, figures in spoilt])
    right.set_title("conditions, one tuning and one held-out voice")
    left.set_ylim(bottom=0)
    figure.tight_layout()
    figure.savefig(path, dpi=90)
    plt.close(figure)


def _draw_shares(axes: object, shares: Sequence[tuple[tuple[str, ...], Share]]) -> None:
    places = list(dict.fromkeys(names[0] for names, _ in shares))
    ears = [
        (engine, biasing)
        for engine in ENGINES
        for biasing in BIASINGS
        if any(names[1:] == (engine, biasing) for names, _ in shares)
    ]
    for at, ear in enumerate(ears):
        own = [(names[0], share) for names, share in shares if names[1:] == ear]
        x = [places.index(place) + (at - (len(ears) - 1) / 2) * 0.14 for place, _ in own]
        y = [100 * share.rate for _, share in own]
        ends = [wilson_interval(min(share.count, share.of), share.of) for _, share in own]
        low = [max(0.0, value - 100 * end[0]) for value, end in zip(y, ends, strict=True)]
        high = [max(0.0, 100 * end[1] - value) for value, end in zip(y, ends, strict=True)]
        axes.errorbar(
            x,
            y,
            yerr=[low, high],
            fmt="s" if ear[0] in DEAF_TO_BIASING else "o",
            ms=4,
            capsize=2,
            label=_name_ear(ear),
        )
    axes.set_xticks(range(len(places)), places, rotation=25, ha="right")
    axes.grid(axis="y", alpha=0.3)
    if shares:
        axes.legend(fontsize=8)


def _together(
    counted: Counted,
    chosen: Callable[[Cell], bool],
    key: Callable[[Cell], tuple[str, ...]],
) -> list[tuple[tuple[str, ...], Figures]]:
    sums: dict[tuple[str, ...], Figures] = {}
    for cell, figures in counted.items():
        if chosen(cell):
            sums.setdefault(key(cell), Figures()).add(figures)
    return list(sums.items())


def _set_of(cell: Cell) -> str:
    # The vosk models have heard this voice in training: it is no stranger to them.
    if cell.set_name == "held_back" and cell.voice == NEURAL.name:
        return f"held-back notes, {cell.voice}"
    return _SETS[cell.set_name]


def _ear(cell: Cell) -> tuple[str, str]:
    return (cell.engine, cell.biasing)


def _name_ear(ear: tuple[str, str]) -> str:
    engine, biasing = ear
    return engine if engine in DEAF_TO_BIASING else f"{engine}, told: {biasing}"


def _order(cell: Cell) -> tuple[int, ...]:
    return (
        list(_SETS).index(cell.set_name),
        list(CONDITIONS).index(cell.condition),
        sum(map(ord, cell.voice)),
        list(ENGINES).index(cell.engine),
        list(BIASINGS).index(cell.biasing),
    )


def _values(figures: Figures) -> Iterable[str]:
    rows = figures.rows
    yield str(figures.clips)
    yield str(figures.wrong)
    yield str(figures.plain_wrong)
    yield str(figures.terms_wrong)
    yield str(figures.numbers_right)
    yield f"{rows.figures()[2]:.3f}" if rows.entries else ""
    yield str(Share(count=rows.exact, of=rows.entries))


def _head(*names: str) -> list[str]:
    columns = (*names, *_COLUMNS)
    return [_line(*columns), "|" + "---|" * len(columns)]


def _line(*values: str) -> str:
    return "| " + " | ".join(values) + " |"


def write_report(cache: HearingCache, folder: Path, *, speech: Path | None, clips: int) -> None:
    """Write ``table.md``, ``summary.md`` and ``hearing.png``.

    Args:
        cache: what was heard.
        folder: where they go.
        speech: the folder with recordings of people; None where there is none.
        clips: how many clips of each cell count, at least; sessions count whole.
    """
    counter = Counter(cache, speech=speech, clips=clips)
    counted, conditions = counter.count_all(), counter.count_conditions()
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "table.md").write_text(write_table(counted), "utf-8")
    (folder / "summary.md").write_text(write_summary(counted, conditions), "utf-8")
    draw(counted, conditions, folder / "hearing.png")


def main(arguments: Sequence[str] | None = None) -> None:
    """Write table, summary and picture."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("cache", type=Path)
    parser.add_argument("--speech", type=Path)
    parser.add_argument("--out", type=Path, default=Path(__file__).parent)
    parser.add_argument("--clips", type=int, default=CLEAN_CLIPS)
    given = parser.parse_args(arguments)
    cache = HearingCache(given.cache)
    write_report(cache, given.out, speech=given.speech, clips=given.clips)


if __name__ == "__main__":
    main()
