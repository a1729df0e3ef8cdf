"""The reading rule "Holding and freeing": how things are held, and how they came away."""

from __future__ import annotations

import pytest

from tests.extraction.tables import Case, Words, assert_log, case, item, volume
from voicelog.extraction.reader import Reader

FREED = {"adhesion": "loose", "action": ["detached"]}

HOLDING = [
    case("detached and loose", "leaf 3, a map, came off", item("3 recto 1", "map", **FREED)),
    case("detached and loose", "leaf 3, a map, came away", item("3 recto 1", "map", **FREED)),
    case("detached and loose", "leaf 3, a map, removed", item("3 recto 1", "map", **FREED)),
    case("detached and loose", "leaf 3, a map | lifted off", item("3 recto 1", "map", **FREED)),
    case("loose only", "leaf 3, a map, fell out", item("3 recto 1", "map", adhesion="loose")),
    case("loose only", "leaf 3, a map, loose", item("3 recto 1", "map", adhesion="loose")),
    case(
        "detached as a state: loose only",
        "leaf 3, a map, already detached",
        item("3 recto 1", "map", adhesion="loose"),
    ),
    case(
        "detached as a state: loose only",
        "leaf 3, a map | it is detached",
        item("3 recto 1", "map", adhesion="loose"),
    ),
    case(
        "detached as a state: loose only",
        "leaf 5, a detached ticket, torn",
        item("5 recto 1", "ticket", adhesion="loose", condition=["tear"]),
    ),
    case(
        "partly loose", "leaf 3, a map, lifting", item("3 recto 1", "map", adhesion="partly loose")
    ),
    case(
        "partly loose",
        "leaf 3, a map, coming away",
        item("3 recto 1", "map", adhesion="partly loose"),
    ),
    case(
        "partly loose",
        "leaf 3, a map, loose at one corner",
        item("3 recto 1", "map", adhesion="partly loose"),
    ),
    case(
        "laid in: attachment, adhesion null",
        "leaf 3, a map, laid in",
        item("3 recto 1", "map", attachment=["laid in"]),
    ),
    case(
        "loose insert: attachment laid in, adhesion null",
        "leaf 3, a map, loose insert",
        item("3 recto 1", "map", attachment=["laid in"]),
    ),
    case(
        "left in place: no adhesion",
        "leaf 3, a map, left in place",
        item("3 recto 1", "map", action=["left in place"]),
    ),
    case(
        "leave as is",
        "leaf 3, a map | leave as is",
        item("3 recto 1", "map", action=["left in place"]),
    ),
    case(
        "won't come",
        "leaf 3, a map, won't come",
        item("3 recto 1", "map", action=["left in place"]),
    ),
    case(
        "adhesion secure only if a firmness is said",
        "leaf 3, a map, stuck fast, left in place",
        item("3 recto 1", "map", adhesion="secure", action=["left in place"]),
    ),
]
HOUSED = [
    case(
        "goes in envelope 7: action enclosed and the enclosure",
        "leaf 3, a map, goes in envelope 7",
        item("3 recto 1", "map", action=["enclosed"], enclosure="envelope 7"),
    ),
    case(
        "moved to envelope 7: action enclosed and the enclosure",
        "leaf 3, a map | moved to envelope seven",
        item("3 recto 1", "map", action=["enclosed"], enclosure="envelope 7"),
    ),
    case(
        "a box for a volume: action boxed",
        "volume one | the volume goes in box four",
        volume("1", action=["boxed"], enclosure="box 4"),
    ),
    case(
        "discarded keeps what was discarded in the remark, its attachment word counts too",
        "leaf 3, a clipping, old masking tape discarded",
        item(
            "3 recto 1",
            "newspaper clipping",
            attachment=["masking tape"],
            action=["discarded"],
            remark=Words("masking tape"),
        ),
    ),
    case(
        "what was discarded is no item and no attachment where it is neither",
        "leaf 3, a map, empty carrier discarded",
        item("3 recto 1", "map", action=["discarded"], remark=Words("empty carrier")),
    ),
]
METAL = [
    case(
        "a rusted staple is attachment staple and condition corroded fastener",
        "leaf 3, a letter, rusted staple",
        item("3 recto 1", "letter", attachment=["staple"], condition=["corroded fastener"]),
    ),
    case(
        "rust stain only when a stain is said",
        "leaf 3, a letter, rusted staple, rust stain",
        item(
            "3 recto 1",
            "letter",
            attachment=["staple"],
            condition=["corroded fastener", "rust stain"],
        ),
    ),
    case(
        "rusted is said of the clip: a label of paper can't rust",
        "leaf 3, a label, paper clip, rusted, holding",
        item(
            "3 recto 1",
            "label",
            attachment=["paper clip"],
            adhesion="secure",
            condition=["corroded fastener"],
        ),
    ),
    case(
        "a pinned medal may itself be corroded",
        "leaf 3, a medal, pinned, corroded",
        item("3 recto 1", "medal", attachment=["pin"], condition=["corroded metal"]),
    ),
    case(
        "corroded metal of a metal item",
        "leaf 3, a badge, corroded",
        item("3 recto 1", "badge", condition=["corroded metal"]),
    ),
]


class TestHoldingAndFreeing:
    """Each sentence of the rule, with its own example."""

    @pytest.mark.parametrize("row", HOLDING, ids=str)
    def test_firmness_and_deed_are_told_apart(self, row: Case, reader: Reader) -> None:
        assert_log(row, reader)

    @pytest.mark.parametrize("row", HOUSED, ids=str)
    def test_what_was_done_with_it_is_an_action(self, row: Case, reader: Reader) -> None:
        assert_log(row, reader)

    @pytest.mark.parametrize("row", METAL, ids=str)
    def test_rust_is_of_the_fastener_the_paper_or_the_item(self, row: Case, reader: Reader) -> None:
        assert_log(row, reader)
