"""Templates filled in: every page and every sentence that the server answers with."""

from __future__ import annotations

from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.responses import HTMLResponse, Response

from voicelog.review.pages.fields import label_of
from voicelog.review.pages.gate import Refusal
from voicelog.review.pages.visible_text import make_visible


class Pages:
    """Fills in the templates; whatever comes from the log is escaped and made visible.

    Args:
        assets: the address of our style and scripts.
    """

    def __init__(self, *, assets: str) -> None:
        self._environment = Environment(
            loader=PackageLoader("voicelog.review.pages"),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
        )
        self._environment.filters["visible"] = make_visible
        self._environment.filters["label"] = label_of
        self._environment.globals["assets"] = assets

    def fill(self, template: str, *, status: int = 200, **values: Any) -> HTMLResponse:
        """Return a page made from a template."""
        text = self._environment.get_template(template).render(**values)
        return HTMLResponse(text, status_code=status)

    def refusal(self, refusal: Refusal) -> Response:
        """Return the plain page for a request that the gate refused."""
        return self.sentence("Not let in", str(refusal), status=403)

    def too_large(self) -> Response:
        """Return the plain page for more than a form can hold."""
        return self.sentence(
            "Too long", "That is more than a field can hold; nothing was changed.", status=413
        )

    def sentence(self, title: str, message: str, *, status: int) -> HTMLResponse:
        """Return a page that says one thing."""
        return self.fill("sentence.html", status=status, title=title, message=message)
