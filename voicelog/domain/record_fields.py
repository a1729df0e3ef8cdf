"""What each field of the entry record holds, in the order in which it is written everywhere.

The keys are the project's interface contract. The reference and the description of exported
tables say what stands here.
"""

from __future__ import annotations

from typing import NamedTuple


class RecordField(NamedTuple):
    """A key of the entry record.

    Attributes:
        name: the key.
        values: what kind of value it has.
        meaning: what it says.
    """

    name: str
    values: str
    meaning: str


RECORD: tuple[RecordField, ...] = (
    RecordField("id", "text", "opaque, unique everywhere, never reused"),
    RecordField("entry", "number", "place in the display order, from 1"),
    RecordField("kind", "volume, leaf or item", "what the entry describes"),
    RecordField("accession", "text or null", "as the repository writes it"),
    RecordField("volume", "text or null", '"2", or the donor\'s name where no number was given'),
    RecordField("volume_name", "text or null", 'the donor\'s name for it, "the green book"'),
    RecordField(
        "leaf",
        "text or null",
        '"14", "7A", "front cover", "inside front cover", "flyleaf", "between 12 and 13"',
    ),
    RecordField("side", "recto, verso or null", "the front or the back of the leaf"),
    RecordField("item", "number or null", "order on that side, from 1"),
    RecordField("item_type", "list of texts", "preferred terms, usually one"),
    RecordField("quantity", "number", "1 unless said"),
    RecordField("attachment", "list of texts", "how it is or was held: preferred terms"),
    RecordField("adhesion", "secure, partly loose, loose or null", "how firmly it holds"),
    RecordField("condition", "list of texts", "preferred terms"),
    RecordField("action", "list of texts", "what was done: preferred terms"),
    RecordField("enclosure", "text or null", '"envelope 7", "folder 2", "box 1"'),
    RecordField("caption", "text or null", "what is written on or about it, word for word"),
    RecordField("date", "text or null", "EDTF, the Library of Congress profile of ISO 8601-2"),
    RecordField("dimensions", "two numbers or null", "height and width in millimetres"),
    RecordField("position", "text or null", '"upper left", "centre", ...'),
    RecordField("images", "list of numbers", "image numbers"),
    RecordField("mark", "text or null", "what is written on the object and its enclosure"),
    RecordField(
        "relations",
        "list of kind and id",
        "inside, behind, under, overlapping, attached to, or belongs with another entry",
    ),
    RecordField("blank", "true or false", "true where a leaf or side was said to be blank"),
    RecordField("binding", "text or null", "of a volume: a preferred term"),
    RecordField("support", "text or null", "of a volume: what its leaves are made of"),
    RecordField("overlay", "text or null", "of a volume: what covers its pages"),
    RecordField("leaves", "number or null", "of a volume: how many it has"),
    RecordField("cautions", "list of texts", "ids of the cautions that apply"),
    RecordField("remark", "text or null", 'words that fit no field, or said after "remark"'),
    RecordField("status", "heard, queried, confirmed or void", "how far the entry has come"),
    RecordField("confidence", "0 to 1", "the program's own estimate that every field is right"),
    RecordField("doubts", "list of texts", "why it is queried, in plain words"),
    RecordField("access", "open or restricted", "restricted entries leave only on request"),
    RecordField("recorded_at", "text or null", "when it was said, ISO 8601 with zone"),
    RecordField("handler", "text or null", "who said it"),
    RecordField("notes", "list of numbers", "the notes behind it"),
)
