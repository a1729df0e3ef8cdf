"""Which word follows which: a back-off model of three words, by absolute discounting.

Ney, Essen and Kneser, "On structuring probabilistic dependences in stochastic language
modelling" (Computer Speech and Language 8, 1994), interpolated. Texts may count more than
once or less; what is left of a history after pruning backs off to the shorter one.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping

History = tuple[str, ...]

START, END = "<s>", "</s>"
ORDER = 3
_DISCOUNT = 0.6


class Counts:
    """How often words follow histories of no, one and two words."""

    def __init__(self) -> None:
        self.after: list[dict[History, Counter[str]]] = [defaultdict(Counter) for _ in range(ORDER)]

    def add(self, sentence: Iterable[str], weight: float = 1.0) -> None:
        """Count a sentence."""
        words = [START, *sentence, END]
        for place in range(1, len(words)):
            for length in range(min(place, ORDER - 1) + 1):
                history = tuple(words[place - length : place])
                self.after[length][history][words[place]] += weight  # type: ignore[assignment]


class LanguageModel:
    """Probabilities of words after histories.

    Attributes:
        probabilities: history to word to probability; only what was counted often enough.
        back_off: history to what its unlisted words' shorter-history probabilities are
            multiplied by.
    """

    def __init__(
        self,
        counts: Counts,
        words: Collection[str],
        *,
        unseen: float = 0.05,
        least: Mapping[int, float] | None = None,
    ) -> None:
        """Estimate the model.

        Args:
            counts: what was counted; words outside ``words`` must not occur.
            words: every word that may be said.
            unseen: how much probability is spread evenly over all words.
            least: length of history to the smallest count that is kept.
        """
        least = least or {}
        self.probabilities: dict[History, dict[str, float]] = {}
        self.back_off: dict[History, float] = {}
        alone = counts.after[0][()]
        total = sum(alone.values())
        evenly = unseen / (len(words) + 1)
        self.probabilities[()] = {
            word: (1 - unseen) * alone.get(word, 0) / total + evenly for word in (*words, END)
        }
        for length in range(1, ORDER):
            for history, followers in counts.after[length].items():
                if length > 1 and history[1:] not in self.probabilities:
                    continue
                self._add_history(history, followers, least.get(length, 0))

    def _add_history(self, history: History, followers: Mapping[str, float], least: float) -> None:
        total = sum(followers.values())
        kept = {word: count for word, count in followers.items() if count >= least}
        if not kept:
            return
        discounted = {word: max(count - _DISCOUNT, 0) for word, count in kept.items()}
        left = 1 - sum(discounted.values()) / total
        shorter = {word: self.probability(word, history[1:]) for word in kept}
        listed = {word: discounted[word] / total + left * shorter[word] for word in kept}
        rest = 1 - sum(shorter.values())
        self.probabilities[history] = listed
        self.back_off[history] = max(1e-8, (1 - sum(listed.values())) / max(1e-8, rest))

    def probability(self, word: str, history: History) -> float:
        """Return the probability of a word after the last words said."""
        factor = 1.0
        while history not in self.probabilities:
            history = history[1:]
        while word not in self.probabilities[history]:
            factor *= self.back_off[history]
            history = history[1:]
            while history not in self.probabilities:
                history = history[1:]
        return factor * self.probabilities[history][word]
