"""Requests that nobody thought of, and a log that changes under the running server."""

from __future__ import annotations

import shutil
import warnings
from pathlib import Path
from urllib.parse import urlencode

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

with warnings.catch_warnings():
    # What it is made of warns about its own future while it is loaded.
    warnings.simplefilter("ignore")
    import schemathesis

from tests.review.desk import Desk
from tests.review.pages.site import Browser, Site, serving
from voicelog.extraction.reader import Reader
from voicelog.store.lock import WriterLock


class TestALogThatChanges:
    """A sentence, never a stack trace; and it goes on when the log is back."""

    def test_says_that_the_log_is_gone(self, browser: Browser, tmp_path: Path) -> None:
        folder = browser.site.folder
        folder.rename(tmp_path / "elsewhere")
        answer = browser.get("/work")
        assert answer.status == 503
        assert "is not there; name a log" in answer.text
        assert "Traceback" not in answer.text
        (tmp_path / "elsewhere").rename(folder)
        assert browser.get("/work").status == 200

    def test_says_that_it_is_another_log(
        self, browser: Browser, reader: Reader, tmp_path: Path
    ) -> None:
        other = Desk(tmp_path / "other", reader)
        other.say("leaf one, a map")
        shutil.rmtree(browser.site.folder)
        other.folder.rename(browser.site.folder)
        for answer in (browser.get("/work"), browser.post("/undo", back="/work")):
            assert answer.status == 503
            assert "is another one than when these pages were opened" in answer.text

    def test_says_that_the_log_is_damaged(self, browser: Browser) -> None:
        for name in ("log.sqlite-wal", "log.sqlite-shm"):
            (browser.site.folder / name).unlink(missing_ok=True)
        (browser.site.folder / "log.sqlite").write_bytes(b"not a database at all" * 400)
        answer = browser.get("/work")
        assert answer.status == 503
        assert "is not a voicelog log" in answer.text

    def test_says_who_holds_the_log(self, browser: Browser, desk: Desk) -> None:
        seen = desk.see("ticket")
        lock = WriterLock(desk.folder)
        lock.acquire()
        try:
            answer = browser.post(f"/entries/{seen.entry}/confirm", seen=seen.version)
        finally:
            lock.release()
        assert answer.status == 503
        assert "is writing to" in answer.text
        assert desk.see("ticket") == seen

    def test_asks_who_reviews_before_anything_is_changed(self, desk: Desk, reader: Reader) -> None:
        with serving(desk.folder, reader, reviewer="") as site:
            nameless = Browser(site, site.enter())
            seen = desk.see("ticket")
            answer = nameless.post(f"/entries/{seen.entry}/confirm", seen=seen.version)
            assert answer.status == 409
            assert "kept with the name of who made it" in answer.text
            assert nameless.post("/reviewer", reviewer="Ida Marsh").status == 303
            assert nameless.post(f"/entries/{seen.entry}/confirm", seen=seen.version).status == 303

    @pytest.mark.parametrize(
        "back", ["//elsewhere.invalid/", "http://elsewhere.invalid", "/\\elsewhere", "javascript:0"]
    )
    def test_leads_back_to_our_own_pages_only(self, browser: Browser, back: str) -> None:
        answer = browser.post("/reviewer", reviewer="Ida Marsh", back=back)
        assert answer.headers["location"] == "/work"

    @pytest.mark.parametrize(
        ("path", "form"),
        [
            ("/entries/none/set", {"seen": "x", "field": "date"}),
            ("/entries/none/set", {}),
            ("/confirm", {"rows": "no version"}),
            ("/confirm", {}),
            ("/reviewer", {"reviewer": "x" * 200}),
        ],
    )
    def test_refuses_forms_that_are_not_ours(
        self, browser: Browser, path: str, form: dict[str, str]
    ) -> None:
        answer = browser.post(path, **form)
        assert answer.status == 422
        assert "Nothing was changed" in answer.text


class TestRelations:
    """How an item lies to others is a value like any other."""

    def test_are_typed_checked_saved_and_shown(self, browser: Browser, desk: Desk) -> None:
        ticket, postcard = desk.the("ticket"), desk.the("postcard")
        address = f"/entries/{ticket.entry.id}/fields/relations"
        assert "behind entry 12; belongs with entry 14" in browser.get(address).text
        typed = f"belongs with {postcard.number}"
        asked = browser.get(f"/check?{urlencode({'field': 'relations', 'typed': typed})}").text
        assert f"will be stored as belongs with entry {postcard.number}" in asked
        wrong = browser.get(f"/check?{urlencode({'field': 'relations', 'typed': 'near 2'})}").text
        assert "is no relation" in wrong
        for once_more in (typed, f"under entry {postcard.number}"):
            seen = desk.the("ticket").version
            browser.post(
                f"/entries/{ticket.entry.id}/set", seen=seen, field="relations", typed=once_more
            )
        shown = browser.get("/work").text
        assert f"under entry {postcard.number}" in shown
        assert "was belongs with" in shown
        assert f"under entry {postcard.number}" in browser.get(address).text
        for page in (f"{address}/readings", "/history", f"/history?entry={ticket.entry.id}"):
            assert browser.get(page).status == 200


def test_no_request_to_a_declared_address_is_a_fault(site: Site, desk: Desk) -> None:
    """Schemathesis makes up requests for every declared address; none is answered with 5xx."""
    browser = Browser(site, site.enter())
    schema = schemathesis.openapi.from_dict(site.app.openapi())
    seen = desk.see("ticket")
    asked: set[int] = set()

    for result in schema.get_all_operations():
        operation = result.ok()

        @settings(
            max_examples=15,
            deadline=None,
            database=None,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        )
        @given(case=operation.as_strategy(), is_real=st.booleans())
        def ask(case: schemathesis.Case, *, is_real: bool) -> None:
            # An id that is made up is never in the log: half of the requests take one that is.
            if is_real and "id_" in (case.path_parameters or {}):
                case.path_parameters["id_"] = seen.entry
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                answer = case.call(
                    base_url=site.origin,
                    headers={"Cookie": browser.cookie, "Origin": site.origin},
                    allow_redirects=False,
                )
            asked.add(answer.status_code)
            assert answer.status_code < 500, f"{case.method} {case.formatted_path}"

        ask()
    # It did come through to the pages: some were answered, some refused for a reason.
    assert asked >= {200, 303, 404, 422}
