"""Closing a volume by voice: what is asked, what an answer does, where to look again."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.session.live.bench import WrittenVoice, laid_table
from voicelog.checks.standing import ENTRY_DOUBTFUL
from voicelog.domain.entry import Doubt, Entry, Kind, Side, Status
from voicelog.domain.finding import Finding, Severity
from voicelog.domain.statement import Order
from voicelog.domain.utterance import Utterance
from voicelog.extraction.answers import Answer
from voicelog.session.live.closing import (
    About,
    Closing,
    Reply,
    begin_closing,
    reply,
    say_ending,
    say_opening,
)
from voicelog.session.live.closing_talk import ClosingTalk, expecting_answers
from voicelog.session.live.desk import Desk
from voicelog.store.log import Log

VOLUME = Entry(
    id="v", kind=Kind.VOLUME, accession="2031-007", volume="1", volume_name="the green book"
)
QUERIED = Entry(
    id="q",
    kind=Kind.ITEM,
    accession="2031-007",
    volume="1",
    leaf="14",
    side=Side.RECTO,
    item=2,
    item_type=("postcard",),
    status=Status.QUERIED,
    doubts=(Doubt(message="not understood: 'blorf'", field="remark"),),
)
MISPLACED = replace(
    QUERIED,
    id="m",
    leaf="40",
    item=1,
    item_type=("ticket",),
    doubts=(Doubt(message="leaf 40 comes right after leaf 15", field="leaf"),),
)
HEARD = replace(QUERIED, id="h", leaf="2", status=Status.HEARD, doubts=())
ELSEWHERE = replace(QUERIED, id="e", volume="2")
GAP = Finding(
    code="leaf-missing",
    severity=Severity.WARNING,
    message="Leaf 9 is not in the log.",
    remedy="Look at it again.",
    accession="2031-007",
    volume="1",
)
ENTRIES = (VOLUME, HEARD, QUERIED, MISPLACED, ELSEWHERE)


def at(about: About, *, is_of_place: bool = False) -> Closing:
    """Return the dialogue at its first question of a kind."""
    closing = begin_closing(VOLUME, ENTRIES, [GAP])
    wanted = (about, is_of_place)
    found = [
        nth for nth, one in enumerate(closing.questions) if (one.about, one.is_of_place) == wanted
    ]
    return replace(closing, at=found[0])


class TestQuestions:
    def test_doubts_then_findings_then_the_count(self) -> None:
        """Of this volume only, in the order of the leaves."""
        closing = begin_closing(VOLUME, ENTRIES, [GAP])
        assert [(one.about, one.entry) for one in closing.questions] == [
            (About.DOUBT, "q"),
            (About.DOUBT, "m"),
            (About.FINDING, "v"),
            (About.COUNT, "v"),
        ]
        assert closing.question.text == (
            "fourteen recto, two, postcard: not understood: 'blorf'. What is right?"
        )

    def test_what_was_accepted_or_only_noticed_is_not_asked(self) -> None:
        """Nor what concerns another volume."""
        others = [
            replace(GAP, accepted="seen"),
            replace(GAP, severity=Severity.NOTICE),
            replace(GAP, volume="2"),
        ]
        closing = begin_closing(VOLUME, [VOLUME, HEARD], others)
        assert [one.about for one in closing.questions] == [About.COUNT]
        assert say_opening(closing).startswith("Nothing is in doubt. What lies in the box?")

    def test_a_queried_entry_is_asked_about_once(self) -> None:
        """The check finds it too."""
        found = replace(GAP, code=ENTRY_DOUBTFUL.code, entry="q")
        closing = begin_closing(VOLUME, ENTRIES, [found])
        assert [one.about for one in closing.questions] == [
            About.DOUBT,
            About.DOUBT,
            About.COUNT,
        ]

    def test_the_opening_says_how_much_there_is(self) -> None:
        """And how to get out of it."""
        said = say_opening(begin_closing(VOLUME, ENTRIES, [GAP]))
        assert said.startswith("Three things are open. Answer, or say leave it, or that's all.")


D, P, F, C = (
    at(About.DOUBT),
    at(About.DOUBT, is_of_place=True),
    at(About.FINDING),
    at(About.COUNT),
)
LEAVE, REST, END, AGREE, AGAIN = (
    Reply(answer=answer)
    for answer in (Answer.LEAVE, Answer.REST, Answer.END, Answer.AGREE, Answer.AGAIN)
)
CHECK = Reply(orders=(Order.CHECK,))
STRIKE = Reply(orders=(Order.STRIKE,))
PAUSE = Reply(orders=(Order.PAUSE,))
PLACE = Reply(moves=True)
WORDS = Reply()

# question, said, taken down about, where the dialogue stands: a step on, or None for over
TURNS = (
    (D, WORDS, "q", 1),
    (D, CHECK, "q", 1),
    (D, AGREE, "q", 1),
    (D, LEAVE, "q", 1),
    (D, AGAIN, "q", 0),
    (D, STRIKE, None, 0),
    (D, REST, "q", 3),
    (D, END, "q", None),
    (D, PAUSE, None, None),
    (D, PLACE, None, None),
    (P, PLACE, "m", 1),
    (F, WORDS, "v", 1),
    (F, PLACE, None, 1),
    (F, LEAVE, "v", 1),
    (F, REST, "v", 1),
    (F, END, "v", None),
    (C, WORDS, "v", None),
    (C, LEAVE, "v", None),
    (C, REST, "v", None),
    (C, END, "v", None),
    (C, AGAIN, "v", 0),
    (C, PLACE, None, None),
)


@pytest.mark.parametrize(("closing", "said", "about", "steps"), TURNS)
def test_a_reply_is_about_what_was_asked_and_nothing_is_forced(
    closing: Closing, said: Reply, about: str | None, steps: int | None
) -> None:
    """Every question can be left, and every question can be the last."""
    turn = reply(closing, said)
    assert turn.about == about
    expected = None if steps is None else closing.at + steps
    assert (None if turn.closing is None else turn.closing.at) == expected


class TestEnding:
    def test_it_says_where_to_look_again(self) -> None:
        """What is queried now, and what the check finds now."""
        assert say_ending(C, ENTRIES, [GAP]) == (
            "Look again at: fourteen recto, two, postcard; forty recto, one, ticket; "
            "Leaf nine is not in the log."
        )

    def test_of_much_it_says_how_much(self) -> None:
        """Nobody listens to forty places."""
        many = [replace(QUERIED, id=f"{nth}", leaf=f"{nth}") for nth in range(1, 41)]
        assert say_ending(C, many).endswith("; and thirty-six more.")

    def test_nothing_left_is_said_too(self) -> None:
        """Silence would leave the handler guessing."""
        assert say_ending(C, [VOLUME, HEARD]) == "Nothing is left open."


class TestCrash:
    """An answer that was said just before a crash, and is heard at the next start."""

    def ask(self, folder: Path, *, then: tuple[str, ...] = ()) -> str:
        """Have the volume closed, say something more, and die; return what was asked about."""
        with laid_table(folder) as table:
            bench = table.bench
            desk = Desk(bench.scribe, bench.logbook, bench.reader)
            talk = ClosingTalk(desk, lambda *_of: (), say=lambda _sentence: None)
            texts = ("accession 2031-007", "volume one", "leaf two, a ticket, a blorf")
            for text in (*texts, "close volume", *then):
                talk.go_on(talk.take(Utterance(text=text)))
            (ticket,) = (one for _, one in desk.log.iter_entries() if one.kind is Kind.ITEM)
            return ticket.id

    def start_again(self, folder: Path, *texts: str) -> list[str | None]:
        """Take down what is heard at the next start; return what each note is about."""
        with laid_table(folder) as table:
            bench = table.bench
            with expecting_answers(bench.scribe, Desk(bench.scribe, bench.logbook, bench.reader)):
                return [bench.scribe.take_down(Utterance(text=text))[0].about for text in texts]

    def find_item(self, folder: Path) -> Entry:
        """Return the one item as it is now."""
        with Log.open(folder) as log:
            (found,) = (entry for _, entry in log.iter_entries() if entry.kind is Kind.ITEM)
        return found

    def test_is_still_an_answer(self, tmp_path: Path) -> None:
        """And what comes behind it is dictation: nobody had asked anything more."""
        ticket = self.ask(tmp_path / "log")
        heard = self.start_again(tmp_path / "log", "dated 1953", "leaf three, a map")
        assert heard == [ticket, None]
        with Log.open(tmp_path / "log") as log:
            dates = [entry.date for _, entry in log.iter_entries() if entry.kind is Kind.ITEM]
        assert dates == ["1953", None]

    def test_going_on_with_another_leaf_is_no_answer(self, tmp_path: Path) -> None:
        self.ask(tmp_path / "log")
        assert self.start_again(tmp_path / "log", "next leaf, a map") == [None]

    @pytest.mark.parametrize("said", ["Leave it.", "that's all", "stop", "say that again"])
    def test_a_short_answer_is_no_dictation(self, tmp_path: Path, said: str) -> None:
        """As dictation, "leave it" would leave the latest item in place."""
        ticket = self.ask(tmp_path / "log")
        assert self.start_again(tmp_path / "log", said) == [ticket]
        assert self.find_item(tmp_path / "log").action == ()

    def test_that_it_is_right_settles_what_was_asked(self, tmp_path: Path) -> None:
        ticket = self.ask(tmp_path / "log")
        assert self.start_again(tmp_path / "log", "that's right") == [ticket]
        assert self.find_item(tmp_path / "log").doubts == ()

    def test_short_answers_behind_the_first_are_no_dictation_either(self, tmp_path: Path) -> None:
        """But an answer that says something answers a question that nobody had asked yet."""
        ticket = self.ask(tmp_path / "log")
        heard = self.start_again(tmp_path / "log", "dated 1953", "leave it", "stop", "faded")
        assert heard == [ticket, ticket, ticket, None]
        assert self.find_item(tmp_path / "log").action == ()

    def test_what_is_said_at_the_next_start_is_no_answer(self, tmp_path: Path) -> None:
        """Even where nothing was left to hear."""
        self.ask(tmp_path / "log")
        with laid_table(tmp_path / "log") as table:
            bench = table.bench
            desk = Desk(bench.scribe, bench.logbook, bench.reader)
            with expecting_answers(bench.scribe, desk):
                pass
            note, _ = bench.scribe.take_down(Utterance(text="dated 1953"))
        assert note.about is None

    @pytest.mark.parametrize("then", [("stop",), ("leave it", "leave it"), ("that's all",) * 2])
    def test_nothing_is_expected_once_nothing_is_asked(
        self, tmp_path: Path, then: tuple[str, ...]
    ) -> None:
        self.ask(tmp_path / "log", then=then)
        assert self.start_again(tmp_path / "log", "dated 1953") == [None]


def test_an_evening_at_the_bench(tmp_path: Path) -> None:
    """Asked by voice, answered by voice; every answer is a note, and the count is kept."""
    said = (
        "leaf two, a postcard with a blorf",
        "a ticket dated 1952",
        "close volume",
        "correction, a map",
        "leave it",
        "box one holds the volume and one envelope",
    )
    voice = WrittenVoice()
    with laid_table(tmp_path / "log", *said) as table:
        table.voice = voice
        for text in ("accession 2031-007", "volume one, the green book"):
            table.bench.scribe.take_down(Utterance(text=text))
        table.findings = (GAP,)
        for nth, text in enumerate(said, start=1):
            table.say(text)
            table.wait_for_notes(nth)
        table.run()
        entries = [entry for _, entry in table.bench.log.iter_entries()]
        notes = list(table.bench.log.iter_notes())
        questions = {view.question for view in table.recorded.views}
        ending = table.recorded.views[-1].message
    postcard, ticket = (entry for entry in entries if entry.kind is Kind.ITEM)
    (volume,) = (entry for entry in entries if entry.kind is Kind.VOLUME)
    assert (postcard.item_type, ticket.item_type) == (("map",), ("ticket",))
    assert volume.remark is not None
    assert "box one holds the volume and one envelope" in volume.remark
    assert [note.about for note in notes[-3:]] == [postcard.id, volume.id, volume.id]
    opening, finding, count, last = voice.said
    assert opening == (
        "Two things are open. Answer, or say leave it, or that's all. "
        "two recto, one, postcard: not understood: 'blorf'. What is right?"
    )
    assert finding == "Leaf nine is not in the log. Look at it again."
    assert count.startswith("What lies in the box?")
    assert last == ("Look again at: two recto, one, map; Leaf nine is not in the log.")
    assert any("blorf" in question for question in questions)
    assert ending == last
