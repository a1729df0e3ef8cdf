"""How long housing and guide of a very large volume take.

    python tests/benchmarks/housing/large_volume.py [LEAVES]

The volume is made up: five items on every side, every fifth of them removed.
"""

from __future__ import annotations

import sys
import time

from voicelog.domain.entry import Entry, Kind, Side
from voicelog.housing.guide.html import write_html
from voicelog.housing.guide.machine_part import read_guide
from voicelog.housing.guide.pdf import print_guide
from voicelog.housing.guide.views import make_guide
from voicelog.housing.interleaving import load_interleaving_rules
from voicelog.housing.plan import plan_volumes
from voicelog.housing.stock import load_default_stock
from voicelog.housing.volumes import HousedVolume, Numbered, group_by_volume
from voicelog.vocabulary.loading import load_closing


def make_volume(leaves: int) -> HousedVolume:
    """Return the volume."""
    rows: list[Numbered] = [
        (
            1,
            Entry(
                id="volume", kind=Kind.VOLUME, accession="2031-007", volume="1",
                volume_name="the green book", binding="post binding", support="black paper",
                leaves=leaves, dimensions=(285.8, 355.6),
            ),
        )
    ]  # fmt: skip
    for leaf in range(1, leaves + 1):
        for side in Side:
            for item in range(1, 6):
                number = len(rows) + 1
                rows.append(
                    (
                        number,
                        Entry(
                            id=f"e-{number}", kind=Kind.ITEM, accession="2031-007", volume="1",
                            volume_name="the green book", leaf=str(leaf), side=side, item=item,
                            item_type=("snapshot",), dimensions=(63.5, 88.9),
                            caption="Lamplighters' picnic at the Quillhaven weir",
                            enclosure=f"envelope {number}" if number % 5 == 0 else None,
                        ),
                    )
                )  # fmt: skip
    return group_by_volume(rows)[0]


def main() -> None:
    """Work the volume out and say what it took."""
    leaves = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    volume = make_volume(leaves)
    stock, rules = load_default_stock(), load_interleaving_rules()
    guide = make_guide(volume)
    began = time.process_time()
    (plan,) = plan_volumes([volume], stock, rules)
    planned = time.process_time()
    html = write_html(guide, (), repository="", closing=load_closing())
    written = time.process_time()
    paper = print_guide(guide, (), repository="", closing=load_closing(), size_mm=(210, 297))
    printed = time.process_time()
    print(
        f"{leaves} leaves, {len(volume.rows)} items, {len(plan.envelopes)} envelopes in "
        f"{len(plan.folders)} folders. Processor time: housing {planned - began:.1f} s, guide as "
        f"HTML {written - planned:.1f} s ({len(html) / 1e6:.1f} MB), as PDF "
        f"{printed - written:.1f} s ({paper.pages} p.); {len(read_guide(html))} entries read back"
    )


if __name__ == "__main__":
    main()
