"""Which word follows which: a back-off model of three words, by absolute discounting.

Ney, Essen and Kneser, "On structuring probabilistic dependences in stochastic language
modelling" (Computer Speech and Language 8, 1994), interpolated. Texts may count more than
once or less; what is left of a history after pruning backs off to the shorter one. A model
takes in further sentences as if they had been among those that it was counted from.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass

History = tuple[str, ...]

START, END = "<s>", "</s>"
ORDER = 3
LEAST: Mapping[int, float] = {1: 0.4, 2: 2.5}
"""Length of history to the smallest count of a follower that is kept."""

_DISCOUNT = 0.6
_LEAST_BACK_OFF = 1e-8


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


@dataclass(frozen=True, slots=True, kw_only=True)
class LanguageModel:
    """Probabilities of words after histories.

    Attributes:
        probabilities: history to word to probability; only what was counted often enough. A
            history of two words is only there with that of the second alone.
        back_off: history to what its unlisted words' shorter-history probabilities are
            multiplied by; for every history but the empty one.
    """

    probabilities: dict[History, dict[str, float]]
    back_off: dict[History, float]

    def probability(self, word: str, history: History) -> float:
        """Return the probability of a word after the last words said.

        Raises:
            KeyError: the word is none of the model's.
        """
        factor = 1.0
        while history not in self.probabilities:
            history = history[1:]
        while word not in self.probabilities[history]:
            factor *= self.back_off[history]
            history = history[1:]
            while history not in self.probabilities:
                history = history[1:]
        return factor * self.probabilities[history][word]

    def add_history(self, history: History, listed: dict[str, float]) -> None:
        """Take in a history, or put it anew, when all shorter ones are as they will be."""
        shorter = sum(self.probability(word, history[1:]) for word in listed)
        left, rest = 1 - sum(listed.values()), max(_LEAST_BACK_OFF, 1 - shorter)
        self.probabilities[history] = listed
        self.back_off[history] = max(_LEAST_BACK_OFF, left / rest)


def estimate(
    counts: Counts,
    words: Collection[str],
    *,
    unseen: float = 0.05,
    least: Mapping[int, float] = LEAST,
) -> LanguageModel:
    """Return the model of what was counted.

    Args:
        counts: what was counted; words outside ``words`` must not occur.
        words: every word that may be said.
        unseen: how much probability is spread evenly over all words.
        least: length of history to the smallest count that is kept.
    """
    alone = counts.after[0][()]
    total = sum(alone.values())
    evenly = unseen / (len(words) + 1)
    model = LanguageModel(
        probabilities={
            (): {word: (1 - unseen) * alone.get(word, 0) / total + evenly for word in (*words, END)}
        },
        back_off={},
    )
    for history, followers in _iter_longer(counts, model):
        _add_counted(model, history, followers, least=least.get(len(history), 0))
    return model


def take_in(base: LanguageModel, counts: Counts, *, sentences: float) -> LanguageModel:
    """Return a model as if it had been counted from what the base was and from these counts.

    How often the base's sentences had a history follows from its own probabilities; where the base
    has one, both counts are added up, elsewhere the new ones are discounted as usual.

    Args:
        base: a model that ``estimate`` gave.
        counts: of the new sentences; words that the base lacks become its words.
        sentences: how many sentences the base is taken to be counted from.
    """
    alone = counts.after[0][()]
    said = sentences / base.probabilities[()][END]
    total = said + sum(alone.values())
    listed = {word: said * share / total for word, share in base.probabilities[()].items()}
    for word, count in alone.items():
        listed[word] = listed.get(word, 0.0) + count / total
    mixed = LanguageModel(probabilities={(): listed}, back_off={})
    # Shorter histories first: the back-off of longer ones is reckoned from them.
    for history, followers in sorted(base.probabilities.items(), key=lambda item: len(item[0])):
        if not history:
            continue
        new = counts.after[len(history)].get(history, Counter())
        before, beside = _times(base, history, sentences), sum(new.values())
        merged = {word: before * share / (before + beside) for word, share in followers.items()}
        for word, count in new.items():
            old = 0.0 if word in followers else _given(base, word, history) * before
            merged[word] = merged.get(word, 0.0) + (old + count) / (before + beside)
        mixed.add_history(history, merged)
    for history, counted in _iter_longer(counts, mixed):
        if history not in mixed.probabilities:
            _add_counted(mixed, history, counted, least=LEAST[len(history)])
    return mixed


def _given(base: LanguageModel, word: str, history: History) -> float:
    return base.probability(word, history) if word in base.probabilities[()] else 0.0


def _times(base: LanguageModel, history: History, sentences: float) -> float:
    """Return how often a history occurs in as many sentences as the base describes."""
    if history[0] == START:
        times = sentences
    else:
        alone = base.probabilities[()]
        times = sentences * alone[history[0]] / alone[END]
    for place in range(1, len(history)):
        times *= base.probability(history[place], history[:place])
    return times


def _iter_longer(
    counts: Counts, model: LanguageModel
) -> Iterator[tuple[History, Mapping[str, float]]]:
    """Yield counted histories of one word and more, shorter ones first, that can be backed off."""
    for length in range(1, ORDER):
        for history, followers in counts.after[length].items():
            if length == 1 or history[1:] in model.probabilities:
                yield history, followers


def _add_counted(
    model: LanguageModel, history: History, followers: Mapping[str, float], *, least: float
) -> None:
    total = sum(followers.values())
    kept = {word: count for word, count in followers.items() if count >= least}
    if not kept:
        return
    discounted = {word: max(count - _DISCOUNT, 0) for word, count in kept.items()}
    left = 1 - sum(discounted.values()) / total
    model.add_history(
        history,
        {
            word: discounted[word] / total + left * model.probability(word, history[1:])
            for word in kept
        },
    )
