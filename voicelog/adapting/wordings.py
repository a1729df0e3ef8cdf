"""Wordings with blanks in them, filled in again and again, never quite the same.

A rule is a list of wordings, one of which is drawn; "4: ..." is drawn four times as often.
``{name}`` is another rule, ``{?name}`` is there half of the time, ``{a: x}`` puts "a" or "an"
before x.
"""

from __future__ import annotations

import random
import re
from collections.abc import Mapping, Sequence
from itertools import accumulate

SLOT = re.compile(r"\{(\??)([^{}]+)\}")
_WITH_ARTICLE = re.compile(r"\{a: ((?:[^{}]|\{[^{}]*\})+)\}")
_WEIGHTED = re.compile(r"(\d+): (.*)")


class Rule:
    """Wordings of which one is drawn, some of them more often.

    Attributes:
        wordings: the wordings, without their weights.
    """

    def __init__(self, wordings: Sequence[str]) -> None:
        weighted = [
            (int(found[1]), found[2]) if (found := _WEIGHTED.fullmatch(wording)) else (1, wording)
            for wording in wordings
        ]
        self.wordings = [wording for _, wording in weighted]
        self._until = list(accumulate(weight for weight, _ in weighted))

    def draw(self, draw: random.Random) -> str:
        """Return one of the wordings."""
        return draw.choices(self.wordings, cum_weights=self._until)[0]


class Wordings:
    """Rules that refer to one another, drawn from with one generator of random numbers."""

    def __init__(self, rules: Mapping[str, Rule], draw: random.Random) -> None:
        self._rules = rules
        self._random = draw

    def expand(self, wording: str) -> str:
        """Return a wording with everything in braces drawn.

        Raises:
            KeyError: there is no such rule.
        """

        def drawn(match: re.Match[str]) -> str:
            if match[1] and self._random.random() < 0.5:
                return ""
            return self.draw(match[2])

        def with_article(match: re.Match[str]) -> str:
            thing = self.expand(match[1]).strip()
            return f"{'an' if thing[:1] in set('aeiou') else 'a'} {thing}"

        return SLOT.sub(drawn, _WITH_ARTICLE.sub(with_article, wording))

    def draw(self, name: str) -> str:
        """Return what the rule of this name gives.

        Raises:
            KeyError: there is no such rule.
        """
        return self.expand(self._rules[name].draw(self._random))
