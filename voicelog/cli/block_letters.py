"""Letters of several lines, to be read from two metres away."""

from __future__ import annotations

from rich.cells import cell_len

_ROWS = 5

# Three dots wide where the letter allows it, five high.
_FONT: dict[str, tuple[str, str, str, str, str]] = {
    "0": ("###", "# #", "# #", "# #", "###"),
    "1": (" # ", "## ", " # ", " # ", "###"),
    "2": ("###", "  #", "###", "#  ", "###"),
    "3": ("###", "  #", " ##", "  #", "###"),
    "4": ("# #", "# #", "###", "  #", "  #"),
    "5": ("###", "#  ", "###", "  #", "###"),
    "6": ("###", "#  ", "###", "# #", "###"),
    "7": ("###", "  #", "  #", " # ", " # "),
    "8": ("###", "# #", "###", "# #", "###"),
    "9": ("###", "# #", "###", "  #", "###"),
    "A": (" # ", "# #", "###", "# #", "# #"),
    "B": ("## ", "# #", "## ", "# #", "## "),
    "C": (" ##", "#  ", "#  ", "#  ", " ##"),
    "D": ("## ", "# #", "# #", "# #", "## "),
    "E": ("###", "#  ", "## ", "#  ", "###"),
    "F": ("###", "#  ", "## ", "#  ", "#  "),
    "G": (" ##", "#  ", "# #", "# #", " ##"),
    "H": ("# #", "# #", "###", "# #", "# #"),
    "I": ("#", "#", "#", "#", "#"),
    "J": ("  #", "  #", "  #", "# #", " # "),
    "K": ("# #", "# #", "## ", "# #", "# #"),
    "L": ("#  ", "#  ", "#  ", "#  ", "###"),
    "M": ("#   #", "## ##", "# # #", "#   #", "#   #"),
    "N": ("#  #", "## #", "# ##", "#  #", "#  #"),
    "O": (" # ", "# #", "# #", "# #", " # "),
    "P": ("## ", "# #", "## ", "#  ", "#  "),
    "Q": (" # ", "# #", "# #", " # ", "  #"),
    "R": ("## ", "# #", "## ", "# #", "# #"),
    "S": (" ##", "#  ", " # ", "  #", "## "),
    "T": ("###", " # ", " # ", " # ", " # "),
    "U": ("# #", "# #", "# #", "# #", "###"),
    "V": ("# #", "# #", "# #", "# #", " # "),
    "W": ("#   #", "#   #", "# # #", "## ##", "#   #"),
    "X": ("# #", "# #", " # ", "# #", "# #"),
    "Y": ("# #", "# #", " # ", " # ", " # "),
    "Z": ("###", "  #", " # ", "#  ", "###"),
    "-": ("   ", "   ", "###", "   ", "   "),
    " ": ("  ", "  ", "  ", "  ", "  "),
}

# Columns and lines for each dot: a terminal's cell is about twice as high as wide.
_SCALES = ((6, 3), (4, 2), (3, 2), (2, 1), (1, 1))


def draw(text: str, *, width: int, height: int, dot: str = "█") -> tuple[str, ...]:
    r"""Return the text in the largest block letters that fit; as it is where none do.

    >>> print("\n".join(draw("7A", width=20, height=5, dot="#")))
    ######    ##
        ##  ##  ##
        ##  ######
      ##    ##  ##
      ##    ##  ##
    """
    letters = [_FONT.get(letter) for letter in text.upper()]
    known = [letter for letter in letters if letter is not None]
    if not known or len(known) < len(letters):
        return (text,)
    dots = [" ".join(letter[row] for letter in known) for row in range(_ROWS)]
    for columns, lines in _SCALES:
        if len(dots[0]) * columns <= width and _ROWS * lines <= height:
            drawn = ("".join(one * columns for one in row).replace("#", dot) for row in dots)
            return tuple(row.rstrip() for row in drawn for _ in range(lines))
    return (text if cell_len(text) <= width else text[:width],)
