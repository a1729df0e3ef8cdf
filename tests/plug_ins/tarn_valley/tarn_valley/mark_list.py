"""A list of marks: what is written on each thing, and which entry it belongs to."""

from voicelog.exports.consignment import Consignment
from voicelog.exports.formats import Format
from voicelog.exports.target import Unfinished


def write_mark_list(consignment: Consignment, unfinished: Unfinished) -> None:
    with unfinished.path.open("x", encoding="utf-8") as stream:
        for number, entry in consignment.selection:
            if entry.mark:
                stream.write(f"{entry.mark}\t{number}\n")


MARK_LIST = Format(name="mark-list", summary="every mark with its entry", write=write_mark_list)
