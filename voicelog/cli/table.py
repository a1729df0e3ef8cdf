"""The log as a table: volume by volume, leaf by leaf, with every doubt in plain words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from voicelog.cli.terminal import safe
from voicelog.domain import place as domain_place
from voicelog.domain.entry import Access, Entry, Kind, Origin, Review, Status
from voicelog.settings import Spelling
from voicelog.store.by_volume import StoredVolumes
from voicelog.store.log import Log
from voicelog.vocabulary.inflection import in_american, in_british
from voicelog.vocabulary.loading import load_cautions

_WIDEST = 120
_NARROWEST = 60
_GUTTER = 8  # the mark, the entry's number and the space before the first column
_GAP = 2
_SHARES = (31, 23, 25, 21)  # of the width, for the four columns

Numbered = tuple[int, Entry]


@dataclass(frozen=True, slots=True, kw_only=True)
class TableOptions:
    """How the table looks.

    Attributes:
        spelling: how terms are spelt.
        provenance: whether each value says where it came from.
        include_void: whether void entries are among those that are shown.
    """

    spelling: Spelling = "british"
    provenance: bool = False
    include_void: bool = False


def print_log(
    entries: Iterable[Numbered], console: Console, options: TableOptions, *, log: Log
) -> int:
    """Print entries grouped by volume and leaf; return how many there were.

    Args:
        entries: in display order, void ones last; one volume at a time is in memory.
        console: where to.
        options: how the table looks.
        log: the log, for the numbers of entries that others name.
    """
    printer = _Printer(console, options, log.volumes_one_by_one())
    for is_void, its in groupby(entries, key=_is_void):
        if is_void:
            console.print(Text("\nVoid entries", style="bold"))
            printer.print_leaves(its)
            continue
        for _, volume in groupby(its, key=lambda pair: _volume_key(pair[1])):
            printer.print_volume(list(volume))
    printer.print_ending()
    return printer.printed


def respell(term: str, spelling: Spelling) -> str:
    """Return a term in the spelling that tables are wanted in."""
    return in_american(term) if spelling == "american" else in_british(term)


def describe_place(entry: Entry) -> str:
    """Return where an entry belongs, as it would be said.

    >>> describe_place(Entry(id="e", kind=Kind.LEAF, leaf="14"))
    'leaf 14'
    """
    if entry.leaf is None:
        return "the volume"
    return domain_place.describe_place(domain_place.Place(leaf=entry.leaf, side=entry.side))


def describe_briefly(entry: Entry) -> str:
    """Return an entry in one line, as it stands beside the note that made it.

    >>> describe_briefly(Entry(id="e", kind=Kind.ITEM, leaf="14", item_type=("map",), quantity=2))
    'leaf 14: 2 × map'
    """
    what = ", ".join(entry.item_type) or ("blank" if entry.blank else "")
    facts = (
        f"{entry.quantity} × {what}" if entry.quantity != 1 else what,
        entry.binding,
        entry.support,
        f"{entry.overlay} overlay" if entry.overlay else None,
        f"{entry.leaves} leaves" if entry.leaves is not None else None,
        *entry.attachment,
        entry.adhesion,
        *entry.condition,
        *entry.action,
        entry.enclosure,
        entry.date,
        _format_size(entry),
        entry.position,
        _format_images(entry),
        f"“{entry.caption}”" if entry.caption else None,
        f"remark “{entry.remark}”" if entry.remark else None,
    )
    sign = {Status.QUERIED: "? ", Status.VOID: "void: "}.get(entry.status, "")
    return f"{sign}{describe_place(entry)}: {', '.join(filter(None, facts)) or 'begun'}"


class _Printer:
    def __init__(self, console: Console, options: TableOptions, stored: StoredVolumes) -> None:
        self._console = console
        self._options = options
        self._stored = stored
        self._statuses: Counter[Status] = Counter()
        self._cautioned: dict[str, list[int]] = {}
        self._cautions = load_cautions()
        width = max(_NARROWEST, min(console.width, _WIDEST))
        room = width - _GUTTER - _GAP * (len(_SHARES) - 1)
        self._widths = tuple(room * share // sum(_SHARES) for share in _SHARES)
        self._width = width

    @property
    def printed(self) -> int:
        """How many entries were printed."""
        return self._statuses.total()

    def print_volume(self, entries: Sequence[Numbered]) -> None:
        first = entries[0][1]
        title = Text("\n")
        title.append(safe(first.accession or "no accession number yet"), style="bold")
        if first.volume or first.volume_name:
            title.append(f" · {safe(_name_volume(first))}", style="bold")
        self._console.print(title)
        for number, entry in entries:
            if entry.kind is Kind.VOLUME:
                self._print_volume_entry(number, entry)
        rest = [pair for pair in entries if pair[1].kind is not Kind.VOLUME]
        if rest:
            self._console.print()
            self._console.print(self._row("", "", "item", "held by", "condition", "done", "dim"))
            self.print_leaves(rest)

    def print_leaves(self, entries: Iterable[Numbered]) -> None:
        for place, group in groupby(entries, key=lambda pair: describe_place(pair[1])):
            self._console.print(Text(f"  {safe(place)}", style="bold cyan"))
            for number, entry in group:
                self._print_entry(number, entry)

    def print_ending(self) -> None:
        """Print the usual words about every hazard named, once, and how many entries there are."""
        count = self.printed - self._statuses[Status.VOID]
        if count == 0:
            return
        if self._cautioned:
            self._console.print(Text("\nCautions", style="bold"))
        for caution, numbers in self._cautioned.items():
            known = self._cautions[caution]
            listed = ", ".join(map(str, numbers))
            self._print_line(f"{known.title} (entry {listed}). {known.wording}", style="")
        text = f"\n{count} {'entry' if count == 1 else 'entries'}"
        if queried := self._statuses[Status.QUERIED]:
            text += f", {queried} of them queried (marked ?)"
        self._console.print(Text(f"{text}.", style="dim"))

    def _count(self, number: int, entry: Entry) -> None:
        self._statuses[entry.status] += 1
        if entry.status is not Status.VOID:
            for caution in entry.cautions:
                self._cautioned.setdefault(caution, []).append(number)

    def _print_volume_entry(self, number: int, entry: Entry) -> None:
        facts = [
            *filter(None, (entry.binding, entry.support)),
            *([f"{entry.overlay} overlay"] if entry.overlay else []),
            *([f"{entry.leaves} leaves"] if entry.leaves is not None else []),
            *entry.condition,
            *entry.action,
        ]
        self._count(number, entry)
        line = _mark(entry, number)
        line.append(safe(" · ".join(map(self._spell, facts))) or "the volume")
        self._console.print(self._hung(line))
        self._print_beneath(entry)

    def _print_entry(self, number: int, entry: Entry) -> None:
        self._count(number, entry)
        mark = _mark(entry, number)
        style = "strike dim" if entry.status is Status.VOID else ""
        held = [*entry.attachment, *filter(None, [entry.adhesion])]
        self._console.print(
            self._row(
                mark,
                "",
                self._name_item(entry),
                self._join(held),
                self._join(entry.condition),
                self._join(entry.action),
                style,
            )
        )
        self._print_beneath(entry)

    def _print_beneath(self, entry: Entry) -> None:
        if details := self._describe_details(entry):
            self._print_line(details, style="italic" if entry.caption else "")
        for message in dict.fromkeys(doubt.message for doubt in entry.doubts):
            self._print_line(f"? {message}", style="yellow")
        if entry.access is Access.RESTRICTED:
            self._print_line("! access restricted", style="red")
        if entry.cautions:
            titles = (self._cautions[caution].title for caution in entry.cautions)
            self._print_line(f"! caution: {'; '.join(titles)}", style="red")
        if self._options.provenance:
            for field, origin in entry.sources.items():
                self._print_line(f"{field}: {_describe_origin(origin)}", style="dim")

    def _print_line(self, text: str, *, style: str) -> None:
        line = Text(safe(text), style=style, overflow="fold")
        self._console.print(Padding(line, (0, 0, 0, _GUTTER)), width=self._width)

    def _row(self, mark: Text | str, number: str, *cells: str) -> Table:
        *columns, style = cells
        table = Table.grid(padding=(0, _GAP, 0, 0), pad_edge=False)
        table.add_column(width=_GUTTER - _GAP, no_wrap=True)
        for width in self._widths:
            table.add_column(width=width, overflow="fold")
        table.add_row(mark or number, *(Text(safe(cell), style=style) for cell in columns))
        return table

    def _hung(self, line: Text) -> Table:
        table = Table.grid(padding=(0, _GAP, 0, 0), pad_edge=False)
        table.add_column(width=_GUTTER - _GAP, no_wrap=True)
        table.add_column(width=self._width - _GUTTER, overflow="fold")
        table.add_row(line[: _GUTTER - _GAP], line[_GUTTER - _GAP :])
        return table

    def _name_item(self, entry: Entry) -> str:
        if entry.blank:
            return "blank"
        if entry.kind is not Kind.ITEM:
            return "the leaf itself" if (entry.leaf or "")[:1].isdecimal() else "itself"
        name = self._join(entry.item_type) or "item"
        many = f" × {entry.quantity}" if entry.quantity != 1 else ""
        return f"{entry.item}. {name}{many}" if entry.item is not None else f"{name}{many}"

    def _describe_details(self, entry: Entry) -> str:
        parts = (
            f"“{entry.caption}”" if entry.caption else "",
            entry.date or "",
            _format_size(entry),
            self._spell(entry.position) if entry.position else "",
            f"→ {entry.enclosure}" if entry.enclosure else "",
            _format_images(entry),
            *(
                f"{relation.kind} entry {self._find_number(relation.id)}"
                for relation in entry.relations
            ),
            f"marked {entry.mark}" if entry.mark else "",
            f"remark: {entry.remark}" if entry.remark else "",
        )
        return " · ".join(part for part in parts if part)

    def _find_number(self, id_: str) -> int | str:
        found = self._stored.find_number(id_, include_void=self._options.include_void)
        return "?" if found is None else found

    def _join(self, terms: Iterable[str]) -> str:
        return ", ".join(self._spell(term) for term in terms)

    def _spell(self, term: str) -> str:
        return respell(term, self._options.spelling)


def _is_void(pair: Numbered) -> bool:
    return pair[1].status is Status.VOID


def _volume_key(entry: Entry) -> tuple[str | None, str | None]:
    return entry.accession, entry.volume or entry.volume_name


def _name_volume(entry: Entry) -> str:
    name = entry.volume_name
    if entry.volume and entry.volume.isdecimal():
        return f"volume {entry.volume}, {name}" if name else f"volume {entry.volume}"
    return name or entry.volume or ""


def _mark(entry: Entry, number: int) -> Text:
    sign = {Status.QUERIED: "?", Status.CONFIRMED: "✓"}.get(entry.status, " ")
    return Text.assemble((f"{sign} ", "bold yellow"), (f"{number:>4}", "dim"))


def _describe_origin(origin: Origin) -> str:
    match origin:
        case Review():
            return f"{origin.by}, {origin.at} (was {origin.was!r})"
        case str():
            return "carried over" if origin == "context" else origin
        case _:
            return "; ".join(f"note {span.note} “{span.text}”" for span in origin)


def _format_size(entry: Entry) -> str:
    sizes = " × ".join(f"{side:g}" for side in entry.dimensions or ())
    return f"{sizes} mm" if sizes else ""


def _format_images(entry: Entry) -> str:
    return f"image {', '.join(map(str, entry.images))}" if entry.images else ""
