"""What holds of every note, whoever says it."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.extraction.sayings import bare, figures, sayings
from tests.extraction.tables import Row, read_log, rows_of
from tests.gold.score import read_session
from voicelog.domain.entry import Entry, format_entry_record
from voicelog.domain.note import Note, Span
from voicelog.extraction.language.phrases import Language, load_language
from voicelog.extraction.logbook import Logbook
from voicelog.extraction.measures.sizes import MM_PER_UNIT, round_mm
from voicelog.extraction.reader import LONGEST_NOTE, Reader, Reading, Surroundings
from voicelog.extraction.tokens import Token, tokenize

GOLD = sorted((Path(__file__).parents[1] / "gold" / "tuning").glob("*.gold"))
# Every test here keeps the one reader of the session; it has no state that a note could change.
SHARED_READER = settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=150
)


def spans_of(entry: Entry) -> list[Span]:
    """Return every span that an entry names as the origin of a value."""
    return [
        span for origin in entry.sources.values() if isinstance(origin, tuple) for span in origin
    ]


def records_of(log: Logbook) -> str:
    """Return the whole log as one text, ids, doubts and origins included."""
    return json.dumps(
        [
            format_entry_record(entry, number=number, provenance=True)
            for number, entry in enumerate(log.entries(include_void=True), start=1)
        ]
    )


@pytest.fixture(scope="session")
def language() -> Language:
    return load_language()


@pytest.fixture(scope="session")
def domain_words(reader: Reader, language: Language) -> list[str]:
    """Return the words that the reader knows something about, and numbers and signs."""
    terms = {form for concept in reader.vocabulary.concepts for form in concept.forms()}
    cues = {wording for wordings in language.cues.values() for wording in wordings}
    others = ["leaf", "leaves", "recto", "verso", "page", "7", "fourteen", "2031-007", "1952",
              "a", "the", ",", ".", "one", "two", "six by four", "June fourth", "next leaf",
              "strike that", "correction", "sorry", "no", "volume", "accession", "envelope 7",
              "é", "—", "½", "'", '"', "x"]  # fmt: skip
    return sorted(terms | cues) + others * 20


class TestAnyText:
    """Nothing that is written can stop the reader."""

    @SHARED_READER
    @given(notes=st.lists(st.text(max_size=200), min_size=1, max_size=3))
    def test_any_unicode_is_read(self, reader: Reader, notes: list[str]) -> None:
        log = read_log(notes, reader)
        _check_spans(log, notes)

    @SHARED_READER
    @given(data=st.data())
    def test_any_order_of_known_words_is_read(
        self, reader: Reader, domain_words: list[str], data: st.DataObject
    ) -> None:
        words = st.lists(st.sampled_from(domain_words), max_size=14).map(" ".join)
        notes = data.draw(st.lists(words, min_size=1, max_size=5))
        log = read_log(notes, reader)
        _check_spans(log, notes)

    @pytest.mark.parametrize(
        "text",
        [
            "",
            " ",
            "\0",
            "\ud800",
            "a" * 1_000_000,
            "leaf 3, a postcard, " * 5000,
            "9" * 100_000,
            "one " * 50_000,
            "½" * 1000,
            "-" * 10_000,
            "leaf " + "9" * 5000,
            "accession " + "1-" * 5000,
            "dated " + "1952 or " * 2000,
            "the ٣ leaf ۷ page ७",
            "leaf ², a postcard",
        ],
        ids=lambda text: repr(text[:12]),
    )
    def test_odd_and_endless_notes_are_read(self, reader: Reader, text: str) -> None:
        notes = [text, "leaf 3, a postcard"]
        log = read_log(notes, reader)
        _check_spans(log, notes)
        assert log.entries()[-1].item_type == ("postcard",)

    def test_a_note_is_read_up_to_its_longest_length(self, reader: Reader) -> None:
        text = "leaf 3, a postcard" + " " * LONGEST_NOTE + "a ticket"
        assert [entry.item_type for entry in read_log([text], reader).entries()] == [("postcard",)]


def _check_spans(log: Logbook, notes: Sequence[str]) -> None:
    for entry in log.entries(include_void=True):
        for span in spans_of(entry):
            assert 0 <= span.first < span.last <= len(notes[span.note - 1])
            assert notes[span.note - 1][span.first : span.last] == span.text
        assert 0.0 <= entry.confidence <= 1.0
        assert set(entry.notes) <= set(range(1, len(notes) + 1))


class TestReplay:
    """Same notes, same log."""

    @pytest.mark.parametrize("path", GOLD, ids=lambda path: path.stem)
    def test_the_same_notes_give_the_same_entries_and_ids(self, reader: Reader, path: Path) -> None:
        notes = read_session(path).notes
        assert records_of(read_log(notes, reader)) == records_of(read_log(notes, reader))

    @pytest.mark.parametrize("path", GOLD, ids=lambda path: path.stem)
    def test_ids_are_unique_and_never_change(self, reader: Reader, path: Path) -> None:
        log = Logbook(reader)
        seen: list[str] = []
        for number, text in enumerate(read_session(path).notes, start=1):
            log.take(Note(number=number, uid=f"note-{number}", text=text))
            ids = [entry.id for entry in log.entries(include_void=True)]
            assert len(ids) == len(set(ids))
            assert set(seen) <= set(ids)
            seen = ids
        assert seen

    @pytest.mark.parametrize("path", GOLD, ids=lambda path: path.stem)
    def test_a_struck_note_leaves_the_log_as_it_was(self, reader: Reader, path: Path) -> None:
        notes = read_session(path).notes[:25]
        before = rows_of(read_log(notes, reader).entries())
        struck = [*notes, "leaf ninety, two torn photographs in envelope six", "strike that"]
        assert rows_of(read_log(struck, reader).entries()) == before

    @pytest.mark.parametrize("path", GOLD, ids=lambda path: path.stem)
    def test_every_span_lies_inside_its_note(self, reader: Reader, path: Path) -> None:
        notes = read_session(path).notes
        _check_spans(read_log(notes, reader), notes)


Numbers = Mapping[str, int]


def _mm(inches: float) -> float:
    return round_mm(Fraction(inches) * MM_PER_UNIT["inch"])


# What is said, and the fields of the last row that the numbers in it decide.
TEMPLATES: tuple[tuple[str, Callable[[Numbers], Row]], ...] = (
    ("leaf {leaf}, a postcard", lambda n: {"leaf": f"{n['leaf']}", "side": "recto"}),
    (
        "leaf {leaf} verso, a map and {small} tickets",
        lambda n: {"leaf": f"{n['leaf']}", "side": "verso", "quantity": n["small"]},
    ),
    (
        "page {page}, a letter in photo corners",
        lambda n: {
            "leaf": f"{(n['page'] + 1) // 2}",
            "side": "recto" if n["page"] % 2 else "verso",
        },
    ),
    (
        "pages {odd} and {even} blank",
        lambda n: {"leaf": f"{n['even'] // 2}", "side": None, "blank": True},
    ),
    ("leaves {leaf} to {later} blank", lambda n: {"leaf": f"{n['later']}", "blank": True}),
    (
        "between leaves {leaf} and {next}, a receipt",
        lambda n: {"leaf": f"between {n['leaf']} and {n['next']}", "side": None},
    ),
    (
        "leaf {leaf}, a photograph, images {image} to {image_later}",
        lambda n: {"images": list(range(n["image"], n["image_later"] + 1))},
    ),
    (
        "leaf {leaf}, a snapshot, came off, goes in envelope {small}",
        lambda n: {"leaf": f"{n['leaf']}", "enclosure": f"envelope {n['small']}"},
    ),
    (
        "leaf {leaf}, a map, {height} by {width} inches",
        lambda n: {"dimensions": [_mm(n["height"]), _mm(n["width"])]},
    ),
    (
        "leaf {leaf}, a menu, {height} and {eighths} eighths by {width} inches",
        lambda n: {"dimensions": [_mm(n["height"] + n["eighths"] / 8), _mm(n["width"])]},
    ),
    (
        "leaf {leaf}, a booklet, {height} by {width} by {small} centimetres",
        lambda n: {"dimensions": [n["height"] * 10.0, n["width"] * 10.0]},
    ),
    ("leaf {leaf}, a programme, dated {year}", lambda n: {"date": f"{n['year']}"}),
    (
        "leaf {leaf}, a poem, dated June {day}, {year}",
        lambda n: {"date": f"{n['year']}-06-{n['day']:02}"},
    ),
    (
        "leaf {leaf}, a ticket, dated the {day_th} of May {year}",
        lambda n: {"date": f"{n['year']}-05-{n['day']:02}"},
    ),
    (
        "leaf {leaf}, a certificate, from {year} to {later_year}",
        lambda n: {"date": f"{n['year']}/{n['later_year']}"},
    ),
    (
        "volume {small}, {leaves} leaves",
        lambda n: {"kind": "volume", "volume": f"{n['small']}", "leaves": n["leaves"]},
    ),
    ("leaf {leaf}, a badge | correction, leaf {later}", lambda n: {"leaf": f"{n['later']}"}),
    ("leaf {leaf}, a badge, image {image}", lambda n: {"images": [n["image"]]}),
    (
        "leaf {leaf}, a coin | moved to box {small}",
        lambda n: {"enclosure": f"box {n['small']}", "action": ["enclosed"]},
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Twins:
    """The same notes with numbers in words and in figures, and what the last row must hold."""

    in_words: list[str]
    in_figures: list[str]
    expected: Row


@st.composite
def twin_notes(draw: st.DrawFn) -> Twins:
    """Return notes made from a template, with numbers said in any way that fits them."""
    template, expect = draw(st.sampled_from(TEMPLATES))
    leaf, page, year = (draw(st.integers(low, high)) for low, high in
                        ((2, 180), (3, 300), (1840, 1998)))  # fmt: skip
    numbers = {
        "leaf": leaf,
        "next": leaf + 1,
        "later": leaf + draw(st.integers(1, 9)),
        "page": page,
        "odd": page // 2 * 2 + 1,
        "even": page // 2 * 2 + 2,
        "small": draw(st.integers(2, 40)),
        "image": (image := draw(st.integers(1, 900))),
        "image_later": image + draw(st.integers(1, 20)),
        "height": draw(st.integers(2, 30)),
        "width": draw(st.integers(2, 30)),
        "eighths": draw(st.sampled_from([3, 5, 7])),
        "leaves": draw(st.integers(10, 120)),
        "day": draw(st.integers(1, 30)),
    }
    years = {"year": year, "later_year": year + draw(st.integers(1, 12))}
    in_words = {name: bare(number) for name, number in numbers.items()}
    in_words |= {name: draw(_said_year(number)) for name, number in years.items()}
    in_words["day_th"] = draw(_said_day(numbers["day"]))
    for name in ("leaf", "page", "image"):
        in_words[name] = draw(sayings(numbers[name]))
    in_figures = {name: figures(number) for name, number in (numbers | years).items()}
    in_figures["day_th"] = f"{numbers['day']}{_ending(numbers['day'])}"
    return Twins(
        in_words=template.format(**in_words).split(" | "),
        in_figures=template.format(**in_figures).split(" | "),
        expected=expect(numbers | years),
    )


def _said_year(year: int) -> st.SearchStrategy[str]:
    head, tail = divmod(year, 100)
    said = {f"{bare(head)} {bare(tail)}"} if tail > 9 else {bare(year)}
    return st.sampled_from(sorted(said | {bare(year)}))


def _said_day(day: int) -> st.SearchStrategy[str]:
    return st.sampled_from([bare(day), f"{day}{_ending(day)}"])


def _ending(day: int) -> str:
    return {1: "st", 2: "nd", 3: "rd"}.get(day % 10 if day // 10 != 1 else 0, "th")


class TestSpelling:
    """Rows don't depend on how a recogniser spells numbers."""

    @settings(SHARED_READER, max_examples=250)
    @given(notes=twin_notes())
    def test_words_and_figures_give_equal_rows(self, reader: Reader, notes: Twins) -> None:
        in_words = rows_of(read_log(notes.in_words, reader).entries())
        in_figures = rows_of(read_log(notes.in_figures, reader).entries())
        assert _without_remark(in_words) == _without_remark(in_figures)
        last = in_words[-1]
        assert {name: last[name] for name in notes.expected} == notes.expected
        assert not any(row["queried"] for row in in_words)

    @SHARED_READER
    @given(notes=twin_notes())
    def test_capitals_don_t_matter(self, reader: Reader, notes: Twins) -> None:
        plain, titled, lower = (
            _without_remark(rows_of(read_log(said, reader).entries()))
            for said in (
                notes.in_words,
                [note.title() for note in notes.in_words],
                [note.lower() for note in notes.in_words],
            )
        )
        assert plain == titled == lower


def _without_remark(rows: list[Row]) -> list[Row]:
    """Return rows without the field that keeps words as they were written."""
    return [{name: value for name, value in row.items() if name != "remark"} for row in rows]


class TestIndependence:
    """What is said of one leaf changes no other."""

    @SHARED_READER
    @given(data=st.data(), at=st.integers(0, 5))
    def test_a_whole_leaf_put_in_between_changes_no_other_leaf(
        self, reader: Reader, data: st.DataObject, at: int
    ) -> None:
        complete = [
            ["leaf 3, a postcard in photo corners, loose", "back reads see you at the weir"],
            ["leaf 4 verso, two tickets, yellowed", "both torn"],
            ["leaf 5, a photograph, image 12", "came off, goes in envelope 3"],
            ["leaf 6, foxing", "a map, six by four inches"],
            ["leaf 7, blank both sides"],
        ]
        order = data.draw(st.permutations(complete))
        inserted = ["leaf 8, a letter, dated 1952", "torn", "caption reads dear Ida"]
        before = read_log([note for leaf in order for note in leaf], reader)
        order.insert(at, inserted)
        after = read_log([note for leaf in order for note in leaf], reader)
        others = [row for row in rows_of(after.entries()) if row["leaf"] != "8"]
        assert others == rows_of(before.entries())
        (new,) = (row for row in rows_of(after.entries()) if row["leaf"] == "8")
        assert (new["item_type"], new["condition"], new["caption"], new["date"]) == (
            ["letter"], ["tear"], "dear Ida", "1952",
        )  # fmt: skip


class Listener(Reader):
    """A reader that remembers what it read; shares everything else with another."""

    def __init__(self, reader: Reader) -> None:
        self.__dict__.update(reader.__dict__)
        self.readings: list[Reading] = []

    def read(self, note: Note, surroundings: Surroundings) -> Reading:
        reading = super().read(note, surroundings)
        self.readings.append(reading)
        return reading


class TestNoWordIsLost:
    """Every word is behind a statement, or known to mean nothing by itself."""

    VALUE_LISTS = frozenset({"degrees", "damage_places", "colours"})
    TAKEN_BACK = frozenset({"repair", "strike", "correction", "negation"})

    @pytest.mark.parametrize("path", GOLD, ids=lambda path: path.stem)
    def test_every_word_of_the_gold_sessions_is_accounted_for(
        self, reader: Reader, language: Language, path: Path
    ) -> None:
        listener = Listener(reader)
        notes = read_session(path).notes
        read_log(notes, listener)
        silent = self._silent_words(language)
        lost = []
        checked = 0
        for note, reading in zip(notes, listener.readings, strict=True):
            # What "sorry" and "strike that" take back is meant to go.
            if self._takes_back(note, language):
                continue
            checked += 1
            lost += [(token.text, note) for token in _unaccounted(note, reading, silent)]
        assert not lost
        assert checked > len(notes) / 2

    def _silent_words(self, language: Language) -> frozenset[str]:
        wordings = [
            wording
            for name, listed in language.cues.items()
            if name not in self.VALUE_LISTS
            for wording in listed
        ]
        wordings += [
            word
            for name, listed in language.words.items()
            if name not in self.VALUE_LISTS
            for word in listed
        ]
        return frozenset(token.norm for wording in wordings for token in tokenize(wording))

    def _takes_back(self, note: str, language: Language) -> bool:
        padded = f" {' '.join(token.norm for token in tokenize(note))} "
        return (
            any(
                f" {' '.join(token.norm for token in tokenize(wording))} " in padded
                for name in ("repair", "strike")
                for wording in language.cues[name]
            )
            or " no " in padded
        )


def _unaccounted(note: str, reading: Reading, silent: frozenset[str]) -> list[Token]:
    spans = [
        span
        for statement in reading.statements
        for span in (*statement.spans, *getattr(statement, "counted", ()))
    ]
    return [
        token
        for token in tokenize(note)
        if token.is_word
        and token.norm not in silent
        and not any(span.first < token.last and token.first < span.last for span in spans)
    ]
