"""Which entries leave the house."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from voicelog.domain.entry import Access, Entry, Status


class Selection:
    """The entries that may leave, with a count of those that stay.

    Void entries never leave; restricted ones only on request.

    Attributes:
        left_out: how many restricted entries stayed, once all were gone through.
    """

    def __init__(
        self, entries: Iterable[tuple[int, Entry]], *, include_restricted: bool = False
    ) -> None:
        self._entries = entries
        self._include_restricted = include_restricted
        self.left_out = 0

    def __iter__(self) -> Iterator[tuple[int, Entry]]:
        self.left_out = 0
        for number, entry in self._entries:
            if entry.status is Status.VOID:
                continue
            if entry.access is Access.RESTRICTED and not self._include_restricted:
                self.left_out += 1
                continue
            yield number, entry
