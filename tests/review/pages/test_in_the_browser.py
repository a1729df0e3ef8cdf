"""A person at the keyboard, in a real browser."""

from __future__ import annotations

import re

from playwright.sync_api import BrowserContext, expect

from tests.review.desk import Desk
from tests.review.pages.command import Command
from tests.review.pages.site import Site
from tests.review.pages.window import PATIENCE_MS, Window, window_on
from voicelog.domain.entry import Relation, RelationKind, Status
from voicelog.store.lock import WriterLock


class TestGoingThroughTheList:
    """Arrow keys go from row to row and from value to value."""

    def test_begins_at_the_first_row_that_is_not_confirmed(self, window: Window) -> None:
        assert "post binding" in window.focused

    def test_goes_down_and_sideways(self, window: Window) -> None:
        window.press("ArrowDown")
        assert "postcard" in window.focused
        window.press("ArrowRight")
        assert "photo corners" in window.focused
        window.press("ArrowLeft", "ArrowUp")
        assert "post binding" in window.focused

    def test_goes_from_leaf_to_leaf(self, window: Window) -> None:
        window.press("n", "n")
        assert "snapshot" in window.focused
        window.press("p")
        assert "postcard" in window.focused

    def test_marks_the_words_behind_the_value(self, window: Window) -> None:
        window.press("ArrowDown", "ArrowRight")
        lit = window.page.locator("mark.is-lit")
        expect(lit).to_have_text(["photo corners"])
        window.page.locator(".row", has_text="snapshot").locator("mark").first.hover()
        expect(window.row("snapshot").locator(".value.is-lit, mark.is-lit").first).to_be_visible()

    def test_shows_the_keys(self, window: Window) -> None:
        window.press("?")
        expect(window.page.get_by_role("dialog")).to_contain_text("confirm all undoubted rows")
        window.press("Escape")
        expect(window.page.get_by_role("dialog")).to_be_hidden()
        assert "post binding" in window.focused


class TestDeciding:
    """What is decided is in the log before the next key is pressed."""

    def test_confirms_a_row_and_goes_on(self, window: Window, desk: Desk) -> None:
        window.press("ArrowDown", "c")
        expect(window.row("postcard")).to_contain_text("confirmed")
        assert "clipping" in window.focused
        assert desk.the("postcard").entry.status is Status.CONFIRMED

    def test_confirms_rows_as_fast_as_keys_are_pressed(self, window: Window, desk: Desk) -> None:
        window.press("c", "c", "c", "c", "c")
        expect(window.page.locator(".row.is-confirmed")).to_have_count(5)
        expect(window.page.locator("#head")).to_contain_text("5 confirmed")
        assert {entry.status for entry in desk.entries()} == {Status.CONFIRMED}

    def test_confirms_a_leaf_with_one_key(self, window: Window, desk: Desk) -> None:
        window.press("ArrowDown", "l")
        expect(window.page.locator(".row.is-confirmed")).to_have_count(3)
        assert "snapshot" in window.focused
        assert desk.the("ticket").entry.status is Status.CONFIRMED

    def test_changes_a_value_by_the_first_letters_of_a_term(
        self, window: Window, desk: Desk
    ) -> None:
        window.press("ArrowDown", "Enter")
        expect(window.page.locator("#typed")).to_be_focused()
        window.type("telegr")
        expect(window.page.locator("[role=option][aria-selected=true]")).to_contain_text("telegram")
        window.press("Enter")
        expect(window.row("telegram")).to_be_visible()
        expect(window.page.locator(".value:focus")).to_contain_text("telegram")
        assert desk.the("telegram").entry.item_type == ("telegram",)

    def test_says_while_typing_what_will_be_stored(self, window: Window) -> None:
        window.press("n", "n", "ArrowRight", "Enter")
        expect(window.page.locator("#typed")).to_have_value("1952-06-04")
        window.type("about nineteen sixty")
        verdict = window.page.locator(".verdict")
        expect(verdict).to_contain_text("will be stored as 1960~")
        window.page.locator("#typed").fill("the day of the picnic")
        expect(verdict).to_have_class("verdict is-bad")

    def test_gives_another_field_a_value(self, window: Window, desk: Desk) -> None:
        """How an item lies to another one is named by the number that stands before its row."""
        snapshot = desk.the("snapshot")
        window.row("ticket").locator(".value").first.focus()
        window.press("e")
        window.page.locator("[data-choose-field]").select_option("relations")
        window.press("Enter")
        expect(window.page.locator("#typed")).to_be_focused()
        window.type(f"behind {snapshot.number}")
        expect(window.page.locator(".verdict")).to_contain_text(f"behind entry {snapshot.number}")
        window.press("Enter")
        value = window.row("ticket").locator(".value[data-field=relations]")
        expect(value).to_have_text(f"lies behind entry {snapshot.number}")
        assert desk.the("ticket").entry.relations == (
            Relation(kind=RelationKind.BEHIND, id=snapshot.entry.id),
        )

    def test_leaves_a_value_as_it_was(self, window: Window, desk: Desk) -> None:
        before = desk.the("postcard")
        window.press("ArrowDown", "Enter")
        expect(window.page.locator("#typed")).to_be_focused()
        window.type("tele")
        window.press("Escape", "Escape")
        expect(window.page.locator(".editor")).to_have_count(0)
        assert desk.the("postcard") == before

    def test_voids_brings_back_and_undoes(self, window: Window, desk: Desk) -> None:
        window.press("ArrowDown", "x")
        expect(window.page.locator(".row")).to_have_count(4)
        assert desk.the("postcard").entry.status is Status.VOID
        window.press("u")
        expect(window.page.locator(".row")).to_have_count(5)
        assert desk.the("postcard").entry.status is Status.HEARD

    def test_opens_a_confirmed_row_again(self, window: Window, desk: Desk) -> None:
        window.press("ArrowDown", "c")
        expect(window.row("postcard")).to_contain_text("confirmed")
        window.press("ArrowUp", "Enter")
        expect(window.page.locator(".editor")).to_contain_text("is confirmed")
        window.press("Enter")
        expect(window.row("postcard")).not_to_contain_text("confirmed")
        assert desk.the("postcard").entry.status is Status.HEARD


class TestRows:
    """One row made two, two made one, and one fix for many."""

    def test_splits_and_joins(self, window: Window, desk: Desk) -> None:
        window.press("ArrowDown", "s")
        dialog = window.page.get_by_role("dialog")
        dialog.locator("#split-item_type").fill("telegram")
        window.press("Enter")
        expect(dialog).to_be_hidden()
        expect(window.page.locator(".row")).to_have_count(6)
        assert desk.the("telegram").entry.item == 2
        window.row("telegram").locator(".value").first.focus()
        window.press("j")
        expect(window.page.locator(".row")).to_have_count(5)
        assert desk.the("telegram").entry.item == 1 or desk.the("postcard").entry.item == 1

    def test_moves_within_a_side_and_to_another_leaf(self, window: Window, desk: Desk) -> None:
        window.press("ArrowDown", "Alt+ArrowDown")
        expect(window.page.locator("#message")).to_contain_text("Moved")
        assert desk.the("postcard").entry.item == 2
        window.press("t")
        expect(window.page.locator("#typed")).to_have_value("14 recto")
        window.type("fifteen verso")
        window.press("Enter")
        expect(window.page.get_by_role("heading", name="leaf 15 verso")).to_be_visible()
        assert desk.the("postcard").entry.leaf == "15"

    def test_adds_by_typing(self, window: Window, desk: Desk) -> None:
        window.press("n", "i")
        dialog = window.page.get_by_role("dialog")
        expect(dialog.locator("[name=typed]")).to_be_focused()
        window.type("a menu, paper tape")
        window.press("Enter")
        expect(window.row("menu")).to_be_visible()
        assert desk.the("menu").entry.attachment == ("paper tape",)

    def test_changes_all_that_carry_a_value_after_showing_them(
        self, window: Window, desk: Desk
    ) -> None:
        window.press("a")
        dialog = window.page.get_by_role("dialog")
        dialog.locator("#alike-typed").fill("2031-008")
        window.press("Enter")
        expect(dialog.locator("tbody tr")).to_have_count(5)
        dialog.get_by_role("button", name="Change 5 rows").click()
        expect(window.page.locator("#message")).to_contain_text("5 rows changed")
        assert {entry.accession for entry in desk.entries()} == {"2031-008"}
        window.open("/work")
        window.press("u")
        expect(window.page.locator("#message")).to_contain_text("undone")
        assert {entry.accession for entry in desk.entries()} == {"2031-007"}

    def test_says_in_the_dialog_what_is_wrong(self, window: Window) -> None:
        window.press("ArrowDown", "s")
        dialog = window.page.get_by_role("dialog")
        dialog.locator("#split-date").fill("the day of the picnic")
        window.press("Enter")
        expect(dialog.get_by_role("alert")).to_contain_text("date")
        window.complaints.clear()  # The browser tells the answer 409 as an error.


class TestVolumes:
    """Confirmed together, signed off, unlocked with a reason."""

    def test_is_confirmed_signed_and_unlocked(self, window: Window, desk: Desk) -> None:
        window.open("/work?accession=2031-007&volume=1")
        window.press("V")
        expect(window.page.locator(".row.is-confirmed")).to_have_count(5)
        window.page.get_by_role("button", name="Sign off").click()
        expect(window.page.locator("#head")).to_contain_text("signed off by Hazel Wren")
        window.page.get_by_role("link", name="Unlock").click()
        dialog = window.page.get_by_role("dialog")
        dialog.locator("[name=why]").fill("a leaf was found in the box")
        window.press("Enter")
        expect(window.page.locator("#head")).not_to_contain_text("signed off")
        window.open("/history")
        expect(window.page.locator("main")).to_contain_text("a leaf was found in the box")
        assert {entry.status for entry in desk.entries()} == {Status.CONFIRMED}


class TestLearning:
    """A misheard word that is put right is offered, remembered, listed and taken off."""

    def test_is_offered_listed_and_taken_off(self, window: Window, desk: Desk) -> None:
        desk.say("a photograph", "caption reads quill heaven weir")
        window.open("/work")
        window.row("photograph").locator("[data-field=caption]").focus()
        window.press("Enter")
        expect(window.page.locator("#typed")).to_be_focused()
        window.type("Quillhaven weir")
        window.press("Enter")
        expect(window.page.locator(".lesson")).to_contain_text("quill heaven")
        window.press("k")
        expect(window.page.locator("#message")).to_contain_text("from the next note on")
        window.open("/learned")
        expect(window.page.locator("tbody")).to_contain_text("Quillhaven")
        window.page.get_by_role("button", name="Take “quill heaven” off the list").click()
        expect(window.page.locator("#lessons")).to_contain_text("Nothing yet")


class TestTheSample:
    """Undoubted rows, drawn at random, wait among the doubtful ones, sound first."""

    def test_is_drawn_heard_and_judged(self, spoken_window: Window) -> None:
        window = spoken_window
        window.open("/sample")
        window.page.locator("#percent").fill("5")
        window.page.get_by_role("button", name="Draw").click()
        expect(window.page.locator("#rate")).to_contain_text("wait to be listened to")
        window.page.get_by_role("link", name="Go to them").click()
        window.page.locator(".row.is-to-hear .value").first.focus()
        expect(window.page.locator(".row.is-to-hear.was-played").first).to_be_visible()
        window.press("c")
        expect(window.page.locator("#message")).to_contain_text("Confirmed")
        window.open("/sample")
        expect(window.page.locator("#rate")).to_contain_text("0.0 %")
        expect(window.page.locator("#rate")).to_contain_text("0 of 1")


class TestRedaction:
    """Words are found, chosen and gone: from the page, the row and the file."""

    def test_takes_words_out(self, window: Window, desk: Desk) -> None:
        window.open("/redactions")
        window.page.locator("#words").fill("lamplighters")
        window.press("Enter")
        expect(window.page.locator(".found")).to_contain_text("the lamplighters at the weir")
        assert "lamplighters" not in window.page.url
        window.page.locator("[name=reason]").fill("asked for by the donor")
        window.page.get_by_role("button", name="Take them out for good").click()
        expect(window.page.locator("tbody")).to_contain_text("asked for by the donor")
        window.open("/work")
        expect(window.page.locator("#rows")).to_contain_text("████")
        expect(window.page.locator("#rows")).not_to_contain_text("lamplighters")
        assert b"lamplighters" not in (desk.folder / "log.sqlite").read_bytes()


class TestNothingIsLost:
    """Not by a reload, not by a second reviewer, not by a server that is gone."""

    def test_what_is_being_typed_outlives_a_reload(self, window: Window) -> None:
        window.press("ArrowDown", "Enter")
        expect(window.page.locator("#typed")).to_be_focused()
        window.type("telegram with a")
        window.page.reload()
        expect(window.page.locator("#typed")).to_have_value("telegram with a")
        assert "still here" in window.message

    def test_a_second_reviewer_sees_both_values(
        self, window: Window, desk: Desk, context: BrowserContext
    ) -> None:
        with window_on(window.site, context, enters=False) as second:
            for each in (window, second):
                each.press("n", "n", "ArrowRight", "Enter")
                expect(each.page.locator("#typed")).to_be_focused()
            window.type("1952-06-05")
            window.press("Enter")
            expect(window.row("snapshot")).to_contain_text("1952-06-05")
            second.type("1953")
            second.press("Enter")
            conflict = second.page.locator(".conflict")
            expect(conflict).to_contain_text("1952-06-05")
            expect(conflict).to_contain_text("1953")
            assert desk.the("snapshot").entry.date == "1952-06-05"
            conflict.get_by_role("button", name="Take mine instead").click()
            expect(second.page.locator(".conflict")).to_have_count(0)
            expect(second.row("snapshot")).to_contain_text("1953")
            assert desk.the("snapshot").entry.date == "1953"
            second.complaints.clear()  # The browser tells the answer 409 as an error.

    def test_what_was_saved_outlives_the_server(self, desk: Desk, context: BrowserContext) -> None:
        """Killed between two keys, it loses nothing, and what is being typed stays in the page."""
        with Command(desk.folder) as command:
            page = context.new_page()
            page.goto(command.address)
            page.keyboard.press("ArrowDown")
            page.keyboard.press("c")
            expect(page.locator(".row.is-confirmed")).to_have_count(1, timeout=PATIENCE_MS)
            page.keyboard.press("Enter")
            typed = page.locator("#typed")
            expect(typed).to_be_focused(timeout=PATIENCE_MS)
            page.keyboard.type("telegr")
            command.kill()
            page.keyboard.press("Enter")
            expect(page.locator("#message")).to_contain_text("isn't answering", timeout=PATIENCE_MS)
            expect(typed).to_have_value(re.compile("^telegr"))
            page.close()
        assert desk.the("postcard").entry.status is Status.CONFIRMED
        assert desk.reviewer.confirm([desk.see("ticket")]).changed

    def test_typing_stays_when_the_log_is_held(self, window: Window, desk: Desk) -> None:
        window.press("ArrowDown", "Enter")
        expect(window.page.locator("#typed")).to_be_focused()
        window.type("telegram")
        lock = WriterLock(desk.folder)
        lock.acquire()
        window.press("Enter")
        expect(window.page.locator("#message")).to_contain_text("is writing to")
        lock.release()
        expect(window.page.locator("#typed")).to_have_value("telegram")
        window.page.locator("#typed").press("Enter")
        expect(window.row("telegram")).to_be_visible()
        window.complaints.clear()  # The browser tells the answer 503 as an error.


class TestHearing:
    """The clip plays, from the very words behind the value."""

    def test_plays_the_words_behind_the_value(self, spoken_window: Window) -> None:
        window = spoken_window
        window.press("n", "n", "n", "n", "n")
        expect(window.page.locator(".wave-chosen")).not_to_have_attribute("width", "0")
        window.press("Space")
        window.page.wait_for_function("() => document.getElementById('sound').currentTime > 0")
        sound = window.page.locator("#sound")
        begins = sound.evaluate("sound => sound.currentTime")
        window.page.wait_for_function(
            "begins => document.getElementById('sound').currentTime > begins + 0.1", arg=begins
        )
        window.page.wait_for_function("() => document.getElementById('sound').paused")
        ends = sound.evaluate("sound => sound.currentTime")
        lasts = sound.evaluate("sound => sound.duration")
        assert 0 < begins < ends < lasts

    def test_plays_slower_and_with_more_around_it(self, spoken_window: Window) -> None:
        window = spoken_window
        window.press("n", "n", ",", "b", "w")
        window.page.wait_for_function("() => document.getElementById('sound').currentTime > 0.2")
        assert window.page.locator("#sound").evaluate("sound => sound.playbackRate") == 0.8
        window.press("w")
        window.page.wait_for_function("() => document.getElementById('sound').paused")

    def test_says_when_there_is_no_sound(self, window: Window) -> None:
        window.press("ArrowDown")
        expect(window.page.locator("#hearing")).to_contain_text("no sound behind it")


class TestTheLeafMap:
    """Arrow keys go through the volume, Enter goes to the leaf."""

    def test_goes_to_a_leaf(self, window: Window) -> None:
        window.press("m")
        expect(window.page.locator("a.cell:focus")).to_have_count(1)
        window.press("End", "Home")
        window.page.locator("a.cell", has_text="14v").focus()
        window.press("Enter")
        assert "snapshot" in window.focused

    def test_says_in_words_what_it_shows(self, window: Window) -> None:
        label = window.page.locator("a.cell", has_text="14r").get_attribute("aria-label")
        assert label == "leaf 14 recto: 3 entries, 2 loose"


def test_a_caption_can_do_no_harm(site: Site, desk: Desk, context: BrowserContext) -> None:
    """Markup, control characters and turned-round text stay text."""
    evil = "<img src=x onerror=alert(1)> <b>bold</b> مرحبا \u202eevil\x1b"
    desk.say(f"a map, caption reads {evil}")
    with window_on(site, context) as window:
        row = window.row("map")
        expect(row).to_contain_text("<img src=x onerror=alert(1)> <b>bold</b> مرحبا")
        expect(row).to_contain_text("⟨202E⟩evil␛")
        assert row.locator(":is(img, script), b:has-text('bold')").count() == 0
