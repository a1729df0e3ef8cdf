"""The reading rule "Words on it": captions, inscriptions, remarks, and words that mean nothing."""

from __future__ import annotations

import pytest

from tests.extraction.tables import (
    Case,
    Row,
    Words,
    assert_log,
    case,
    differences,
    item,
    read_log,
    rows_of,
)
from voicelog.domain.note import Note
from voicelog.extraction.reader import Reader

CAPTIONS = [
    case(
        "after caption reads the rest of the note is the caption",
        "leaf 3, a postcard, caption reads two tickets to the weir",
        item("3 recto 1", "postcard", caption="two tickets to the weir"),
    ),
    case(
        "reads",
        "leaf 3, a postcard, reads torn but happy",
        item("3 recto 1", "postcard", caption="torn but happy"),
    ),
    case(
        "inscribed",
        "leaf 3, a postcard, inscribed to Ida from Tove",
        item("3 recto 1", "postcard", caption="to Ida from Tove"),
    ),
    case(
        "says",
        "leaf 3, a postcard, says next leaf please",
        item("3 recto 1", "postcard", caption="next leaf please"),
    ),
    case(
        "on the back it says",
        "leaf 3, a postcard | on the back it says see you at the picnic",
        item("3 recto 1", "postcard", caption="see you at the picnic"),
    ),
    case(
        '"end caption" closes it earlier',
        "leaf 3, a postcard, caption reads at the weir, end caption, torn",
        item("3 recto 1", "postcard", caption="at the weir", condition=["tear"]),
    ),
    case(
        '"end quote" closes it earlier',
        "leaf 3, a postcard, reads at the weir end quote yellowed",
        item("3 recto 1", "postcard", caption="at the weir", condition=["yellowed"]),
    ),
    case(
        "a date inside a caption does not fill date",
        "leaf 3, a postcard, caption reads picnic June fourth 1952",
        item("3 recto 1", "postcard", caption="picnic June fourth 1952"),
    ),
    case(
        'a second inscription is joined with " / "',
        "leaf 3, a postcard, caption reads at the weir | back reads love from Ida",
        item("3 recto 1", "postcard", caption="at the weir / love from Ida"),
    ),
    case(
        '"number on the back" is the action',
        "leaf 3, a postcard, number on the back",
        item("3 recto 1", "postcard", action=["inscribed"]),
    ),
    case(
        '"inscribed with the accession number" is the action',
        "leaf 3, a postcard, inscribed with the accession number",
        item("3 recto 1", "postcard", action=["inscribed"]),
    ),
]
REMARKS = [
    case(
        "remark: the rest of the note, without a doubt",
        "leaf 3, a postcard | remark, the donor's aunt stands on the left with a torn ticket",
        item(
            "3 recto 1",
            "postcard",
            remark="the donor's aunt stands on the left with a torn ticket",
        ),
    ),
    case(
        "words that a rule sends to the remark raise no doubt: early",
        "leaf 3, a clipping, early fifties",
        item("3 recto 1", "newspaper clipping", date="195X", remark="early"),
    ),
    case(
        "words that a rule sends to the remark raise no doubt: thickness",
        "leaf 3, a booklet, six by four by one inches",
        item("3 recto 1", "booklet", dimensions=[152.4, 101.6], remark=Words("one")),
    ),
    case(
        "words that fit nothing stay in the remark and raise a doubt",
        "leaf 3, a postcard, marmalade everywhere",
        item("3 recto 1", "postcard", remark=Words("marmalade"), queried=True),
    ),
    case(
        "fillers, false starts and politeness are no remark and no doubt",
        "um leaf three, okay, let me see, a postcard, there we go, thank you",
        item("3 recto 1", "postcard"),
    ),
    case(
        "what is said to nobody in particular is no remark and no doubt",
        "let's get started, leaf three, a postcard | to be honest, apparently yellowed",
        item("3 recto 1", "postcard", condition=["yellowed"]),
    ),
    case(
        "that there is nothing else does not make the side blank",
        "leaf 3, a postcard | nothing else on this page | nothing more | that's the lot",
        item("3 recto 1", "postcard"),
    ),
    case("fillers never create an entry", "leaf 3 | um | okay, let me see | there we go"),
]


def _spoken(number: int, text: str, *, start_s: float, end_s: float) -> Note:
    return Note(
        number=number,
        uid=f"note-{number}",
        text=text,
        engine="vosk",
        recording="bench.flac",
        start_s=start_s,
        end_s=end_s,
    )


def _caption_then(text: str, *, pause_s: float) -> list[Note]:
    return [
        _spoken(1, "leaf 3, a postcard, caption reads the old", start_s=0.0, end_s=4.0),
        _spoken(2, text, start_s=4.0 + pause_s, end_s=6.0 + pause_s),
    ]


class TestWordsOnIt:
    """Each sentence of the rule, with its own example."""

    @pytest.mark.parametrize("row", CAPTIONS, ids=str)
    def test_what_is_written_is_kept_word_for_word(self, row: Case, reader: Reader) -> None:
        assert_log(row, reader)

    @pytest.mark.parametrize("row", REMARKS, ids=str)
    def test_a_remark_keeps_what_fits_no_field(self, row: Case, reader: Reader) -> None:
        assert_log(row, reader)

    def test_a_caption_stays_open_into_a_note_within_three_seconds(self, reader: Reader) -> None:
        log = read_log(_caption_then("mill by the river", pause_s=2.0), reader)
        expected = item("3 recto 1", "postcard", caption="the old mill by the river", queried=True)
        assert not differences([expected], rows_of(log.entries()))

    def test_a_caption_is_closed_after_three_seconds(self, reader: Reader) -> None:
        log = read_log(_caption_then("mill by the river", pause_s=3.5), reader)
        (row,) = rows_of(log.entries())
        assert row["caption"] == "the old"

    @pytest.mark.parametrize(
        ("text", "expected"),
        [
            (
                "leaf four, a ticket",
                [item("3 recto 1", "postcard", caption="the old"), item("4 recto 1", "ticket")],
            ),
            (
                "a ticket",
                [item("3 recto 1", "postcard", caption="the old"), item("3 recto 2", "ticket")],
            ),
            (
                "a crowded picnic menu, torn",
                [
                    item("3 recto 1", "postcard", caption="the old"),
                    item(
                        "3 recto 2",
                        "menu",
                        condition=["tear"],
                        remark=Words("crowded picnic"),
                        queried=True,
                    ),
                ],
            ),
            ("strike that", []),
        ],
        ids=["a place", "a type", "a type with words before it", "a command"],
    )
    def test_a_caption_is_closed_by(self, text: str, expected: list[Row], reader: Reader) -> None:
        log = read_log(_caption_then(text, pause_s=1.0), reader)
        assert not differences(expected, rows_of(log.entries()))


@pytest.mark.parametrize(
    ("field", "notes", "spans"),
    [
        (
            "remark",
            ("leaf 3, a postcard, glowing", "remark, smells of smoke", "wobbly"),
            [(1, "glowing"), (2, "smells of smoke"), (3, "wobbly")],
        ),
        (
            "caption",
            ("leaf 3, a postcard, caption reads the weir", "on the back it says best wishes"),
            [(1, "the weir"), (2, "best wishes")],
        ),
    ],
)
def test_a_text_that_was_joined_knows_all_the_words_it_came_from(
    reader: Reader, field: str, notes: tuple[str, ...], spans: list[tuple[int, str]]
) -> None:
    (entry,) = read_log(notes, reader).entries()
    assert [(one.note, one.text) for one in entry.sources[field]] == spans
