"""The two demo volumes as entries, as a careful reader wrote them down and somebody confirmed."""

from __future__ import annotations

import json
from pathlib import Path

from voicelog.domain.display_order import in_display_order
from voicelog.domain.entry import (
    RECORD_FIELDS,
    Adhesion,
    Doubt,
    Entry,
    Kind,
    Relation,
    RelationKind,
    Side,
    Status,
)

DEMO_DATA = Path(__file__).parents[2] / "demo_data"
CROSSWALK = DEMO_DATA / "crosswalk.toml"
HANDLERS = {"1": "Ada Fenn", "2": "Tom Pell"}


def demo_entries() -> tuple[Entry, ...]:
    """Return all rows of ``demo_data/expected.jsonl``, confirmed, except the queried one.

    They stand in display order.
    """
    lines = (DEMO_DATA / "expected.jsonl").read_text(encoding="utf-8").splitlines()
    rows = [json.loads(line) for line in lines if line.strip()]
    volumes = {row["volume"]: f"v{row['volume']}" for row in rows}
    return tuple(
        in_display_order(
            _make_entry(row, number, volumes) for number, row in enumerate(rows, start=1)
        )
    )


def _make_entry(row: dict[str, object], number: int, volumes: dict[str, str]) -> Entry:
    values: dict[str, object] = {
        name: tuple(value) if isinstance(value, list) else value
        for name, value in row.items()
        if name in RECORD_FIELDS and name != "relations"
    }
    for name, closed in (("kind", Kind), ("side", Side), ("adhesion", Adhesion)):
        if values.get(name):
            values[name] = closed(values[name])
    is_queried = values.pop("status", None) == "queried"
    volume = str(row["volume"])
    return Entry(
        **values,  # type: ignore[arg-type]
        id=_id_of(row, volumes),
        relations=tuple(
            Relation(kind=RelationKind(relation["kind"]), id=f"{volumes[volume]}/{relation['to']}")
            for relation in row.get("relations", ())  # type: ignore[attr-defined]
        ),
        status=Status.QUERIED if is_queried else Status.CONFIRMED,
        doubts=(Doubt(message="Said to be checked."),) if is_queried else (),
        confidence=0.5 if is_queried else 1.0,
        recorded_at=f"2031-05-0{volume}T10:{number:02d}:00+01:00",
        handler=HANDLERS[volume],
        notes=(number,),
    )


def _id_of(row: dict[str, object], volumes: dict[str, str]) -> str:
    parts = (volumes[str(row["volume"])], row.get("leaf"), row.get("side"), row.get("item"))
    return "/".join(str(part) for part in parts if part is not None)
