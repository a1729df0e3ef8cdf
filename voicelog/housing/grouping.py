"""Envelopes into folders: order kept, related items together, as few folders as possible.

Items keep their order of appearance (bench practice, no published source), so a folder
takes a run of neighbouring envelopes. Items that the log ties together ("belongs with",
"inside", "attached to", ...) must not be parted: all envelopes from the first to the last
of such a set stay in one folder. Among all ways to cut the row into runs, the one with the
fewest folders is taken, then the one with the least folder area, then the earliest cuts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from voicelog.housing.envelopes import EnvelopeNeed
from voicelog.housing.fitting import fits, fits_flat
from voicelog.housing.stock import Folder, Rules


@dataclass(frozen=True, slots=True, kw_only=True)
class FolderNeed:
    """One folder and the envelopes in it.

    Attributes:
        envelopes: what it holds, in order.
        folder: the folder from stock, or None where none is large enough.
        contents_mm: how thick its contents are.
        reason: why there is no folder, or None.
    """

    envelopes: tuple[EnvelopeNeed, ...]
    folder: Folder | None
    contents_mm: float
    reason: str | None

    @property
    def thickness_mm(self) -> float:
        """How thick it lies when filled."""
        board = 2 * self.folder.caliper_mm if self.folder is not None else 0.0
        return self.contents_mm + board


class Parcel(NamedTuple):
    """What a folder is chosen for: a flat thing of this size, in millimetres."""

    height_mm: float
    width_mm: float
    thickness_mm: float


def find_blocks(count: int, ties: Sequence[tuple[int, int]]) -> tuple[tuple[int, int], ...]:
    """Return the runs of a row that must not be parted.

    Args:
        count: how many things are in the row.
        ties: pairs of positions that belong together.

    Returns:
        first and end of each run, covering the whole row.

    >>> find_blocks(5, [(1, 3)])
    ((0, 1), (1, 4), (4, 5))
    """
    reach = list(range(count))
    for one, other in ties:
        first, last = min(one, other), max(one, other)
        reach[first] = max(reach[first], last)
    blocks: list[tuple[int, int]] = []
    start = 0
    end = 0
    for index in range(count):
        end = max(end, reach[index])
        if index == end:
            blocks.append((start, index + 1))
            start = end = index + 1
    return tuple(blocks)


def find_smallest_folder(parcels: Sequence[Parcel], folders: Sequence[Folder]) -> Folder | None:
    """Return the folder of least area that takes all of these, one upon the other, or None."""
    thickness_mm = sum(parcel.thickness_mm for parcel in parcels)
    fitting = [
        folder
        for folder in folders
        if fits(thickness_mm, folder.capacity_mm)
        and all(
            fits_flat((parcel.height_mm, parcel.width_mm), (folder.height_mm, folder.width_mm))
            for parcel in parcels
        )
    ]
    return min(
        fitting,
        key=lambda folder: (folder.height_mm * folder.width_mm, folder.capacity_mm, folder.name),
        default=None,
    )


def cut_into_folders(
    parcels: Sequence[Parcel],
    blocks: Sequence[tuple[int, int]],
    folders: Sequence[Folder],
) -> tuple[tuple[int, int, Folder | None], ...]:
    """Return first, end and folder of every run.

    A block that no folder takes stands alone, without a folder.
    """
    # From the last block to the first: the best way to cut what follows is known already.
    folder_of: list[Folder | None] = []
    next_of: list[int] = []
    cost_of: list[tuple[int, float]] = [(0, 0.0)]  # folders and area from this block to the end
    for block in reversed(range(len(blocks))):
        first = blocks[block][0]
        choices: list[tuple[tuple[int, float], int, Folder | None]] = []
        for after in range(block + 1, len(blocks) + 1):
            folder = find_smallest_folder(parcels[first : blocks[after - 1][1]], folders)
            if folder is None and after > block + 1:
                break  # Adding more never makes a run fit again.
            area = folder.height_mm * folder.width_mm if folder is not None else 0.0
            count, rest = cost_of[len(blocks) - after]
            choices.append(((1 + count, area + rest), after, folder))
        cost, after, folder = min(choices, key=lambda choice: choice[0])
        cost_of.append(cost)
        next_of.append(after)
        folder_of.append(folder)
    runs = []
    block = 0
    while block < len(blocks):
        at = len(blocks) - 1 - block
        after = next_of[at]
        runs.append((blocks[block][0], blocks[after - 1][1], folder_of[at]))
        block = after
    return tuple(runs)


def plan_folders(
    needs: Sequence[EnvelopeNeed], folders: Sequence[Folder], rules: Rules
) -> tuple[FolderNeed, ...]:
    """Return the folders for the envelopes of one volume.

    Envelopes that none was chosen for yet are left out.
    """
    needs = [need for need in needs if need.envelope is not None]
    if not needs:
        return ()
    parcels = [
        Parcel(
            height_mm=need.envelope.height_mm,
            width_mm=need.envelope.width_mm,
            thickness_mm=need.thickness_mm(rules),
        )
        for need in needs
        if need.envelope is not None
    ]
    blocks = find_blocks(len(needs), _find_ties(needs))
    return tuple(
        FolderNeed(
            envelopes=tuple(needs[first:end]),
            folder=folder,
            contents_mm=sum(parcel.thickness_mm for parcel in parcels[first:end]),
            reason=None if folder is not None else _explain(folders),
        )
        for first, end, folder in cut_into_folders(parcels, blocks, folders)
    )


def _find_ties(needs: Sequence[EnvelopeNeed]) -> list[tuple[int, int]]:
    position = {entry.id: index for index, need in enumerate(needs) for _, entry in need.rows}
    return [
        (position[entry.id], position[relation.id])
        for need in needs
        for _, entry in need.rows
        for relation in entry.relations
        if relation.id in position
    ]


def _explain(folders: Sequence[Folder]) -> str:
    if not folders:
        return "the stock lists no folders"
    return (
        "no folder in stock takes these envelopes together; they belong together, "
        "so look for a larger one"
    )
