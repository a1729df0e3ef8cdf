"""Which part of the work list an address asks for, and the addresses of other parts."""

from __future__ import annotations

from typing import Annotated, Any
from urllib.parse import quote, urlencode

from pydantic import BaseModel, ConfigDict, StringConstraints

from voicelog.domain.entry import Side, Status
from voicelog.store.selection import Order, Selection, VolumeKey

WORK = "/work"

Word = Annotated[str, StringConstraints(max_length=200)]
"""No label, name or number that a filter asks for is longer."""


class Wanted(BaseModel):
    """The door where an address is read.

    An accession or volume that is empty is asked for as such: entries whose accession or
    volume was never said. One that is missing doesn't narrow the list.
    """

    model_config = ConfigDict(frozen=True, extra="ignore")

    accession: Word | None = None
    volume: Word | None = None
    leaf: Word | None = None
    status: Status | None = None
    doubt: Word | None = None
    caution: Word | None = None
    handler: Word | None = None
    day: Word | None = None
    words: Word | None = None
    order: Order = Order.BOOK
    page: int = 1
    at: Word | None = None
    side: Side | None = None
    entry: Word | None = None

    @property
    def volume_key(self) -> VolumeKey | None:
        """The volume asked for, or None for the whole log."""
        if self.accession is None or self.volume is None:
            return None
        return VolumeKey(accession=self.accession or None, volume=self.volume or None)

    @property
    def place(self) -> tuple[str, Side | None] | None:
        """The place whose page is asked for, or None."""
        return None if self.at is None else (self.at, self.side)

    @property
    def is_filtered(self) -> bool:
        """Whether anything but the volume narrows the list."""
        return any(
            (
                self.leaf, self.status, self.doubt, self.caution, self.handler, self.day,
                self.words,
            )
        )  # fmt: skip

    def select(self) -> Selection:
        """Return what to ask the log for."""
        return Selection(
            volume=self.volume_key,
            leaf=self.leaf,
            status=self.status,
            doubted_field=self.doubt,
            caution=self.caution,
            handler=self.handler,
            day=self.day,
            words=self.words or "",
        )

    def address(self, *, anchor: str = "", **changes: Any) -> str:
        """Return the address of the list with some of it asked for otherwise.

        Another list begins at its first page.
        """
        kept = self.model_dump(mode="json", exclude={"page", "at", "side", "entry"})
        asked = {
            name: value
            for name, value in (kept | changes).items()
            if value is not None and (name, value) not in {("order", Order.BOOK), ("page", 1)}
        }
        query = urlencode({name: str(value) for name, value in asked.items()})
        return f"{WORK}{'?' if query else ''}{query}{'#' if anchor else ''}{quote(anchor)}"

    def kept_in_search(self) -> dict[str, str]:
        """Return what a search for words keeps of what is asked for, by its name."""
        kept = self.model_dump(
            mode="json", exclude={"page", "at", "side", "entry", "words"}, exclude_none=True
        )
        return {name: str(value) for name, value in kept.items()}

    def without_filters(self) -> str:
        """Return the address of the same volume with nothing left out."""
        return Wanted(accession=self.accession, volume=self.volume, order=self.order).address()


def want_volume(key: VolumeKey | None, *, order: Order = Order.BOOK) -> Wanted:
    """Return what asks for one volume with nothing left out; None is the whole log."""
    if key is None:
        return Wanted(order=order)
    return Wanted(accession=key.accession or "", volume=key.volume or "", order=order)


def safe_back(address: str) -> str:
    r"""Return an address of ours to go back to; anything else becomes the work list.

    >>> safe_back("/work?leaf=14"), safe_back("//elsewhere.invalid"), safe_back("/work\r\nX: y")
    ('/work?leaf=14', '/work', '/work')
    """
    is_ours = address.startswith("/") and not address.startswith("//") and "\\" not in address
    return address if is_ours and address.isprintable() and address.isascii() else WORK
