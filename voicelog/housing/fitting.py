"""When something goes into something else."""

from __future__ import annotations

HAIR_MM = 0.001
"""Less than any rule can measure; it keeps 101.6 + 12 from failing to fit 113.6."""


def fits(size_mm: float, room_mm: float) -> bool:
    """Whether a length goes into a room.

    >>> fits(101.6 + 12, 113.6), fits(113.61, 113.6)
    (True, False)
    """
    return size_mm <= room_mm + HAIR_MM


def fits_flat(size: tuple[float, float], room: tuple[float, float]) -> bool:
    """Whether a rectangle goes into another, turned by 90 degrees where that helps.

    >>> fits_flat((150, 100), (110, 160)), fits_flat((150, 120), (110, 160))
    (True, False)
    """
    (height, width), (room_height, room_width) = size, room
    upright = fits(height, room_height) and fits(width, room_width)
    return upright or (fits(height, room_width) and fits(width, room_height))
