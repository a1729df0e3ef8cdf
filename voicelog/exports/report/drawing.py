"""Drawings as values: a few shapes that a page and a sheet of paper can both show.

Lengths are in points, from the upper left corner. Colours are those of Okabe and Ito ("Color
Universal Design", 2008; the values from memory), which people with any kind of colour vision
can tell apart; nothing is said by colour alone all the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Ink(StrEnum):
    """The colours in use."""

    BLUE = "#0072B2"
    SKY = "#56B4E9"
    ORANGE = "#E69F00"
    VERMILION = "#D55E00"
    PALE = "#E6E6E6"
    GREY = "#767676"
    DARK = "#222222"
    WHITE = "#FFFFFF"


class Anchor(StrEnum):
    """Which end of a text its position is."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A rectangle."""

    x: float
    y: float
    width: float
    height: float
    fill: Ink
    outline: Ink | None = None
    dashed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Corner:
    """A triangle in the upper right corner of a rectangle."""

    right: float
    top: float
    length: float
    fill: Ink


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A line of text; ``y`` is where its letters stand."""

    x: float
    y: float
    text: str
    size: float = 10.0
    anchor: Anchor = Anchor.START
    ink: Ink = Ink.DARK
    bold: bool = False


Shape = Box | Corner | Label


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A drawing.

    Attributes:
        width: its width.
        height: its height.
        shapes: what it shows, the lowest first.
        described: what it shows, in words, for whoever can't see it.
    """

    width: float
    height: float
    shapes: tuple[Shape, ...]
    described: str
