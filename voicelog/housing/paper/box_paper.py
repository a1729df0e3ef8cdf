"""Plain paper that goes with a box: box labels, a page for the bench, slips, the list in full."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from voicelog.housing.paper.bench_page import BenchPage
from voicelog.housing.paper.box_labels import draw_box_labels
from voicelog.housing.paper.labels import Label, make_box_labels
from voicelog.housing.paper.list_pages import draw_label_list
from voicelog.housing.paper.page import Paper
from voicelog.housing.paper.slips import draw_slips
from voicelog.housing.paper.typeface import Typeface
from voicelog.housing.plan import VolumePlan
from voicelog.vocabulary.concepts import Vocabulary


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxPaper:
    """A PDF of plain pages, and how many it has."""

    pdf: bytes
    pages: int


def print_box_paper(
    plans: Sequence[VolumePlan],
    labels: Sequence[Label],
    vocabulary: Vocabulary,
    *,
    size_mm: tuple[float, float],
) -> BoxPaper:
    """Return box labels, a bench page for each volume, interleaving slips and the label list.

    Args:
        plans: the volumes.
        labels: the labels that the list explains in full.
        vocabulary: knows the words of cautions.
        size_mm: width and height of the paper.
    """
    paper = Paper("Box paper", Typeface(), size_mm)
    drawn = draw_box_labels(paper, make_box_labels(plans), vocabulary)
    for plan in plans:
        if drawn:
            paper.new_page()
        BenchPage(paper, plan, vocabulary).draw()
        drawn = True
    for plan in plans:
        if plan.interleaving.sheets:
            paper.new_page()
            draw_slips(paper, plan)
    if labels:
        paper.new_page()
        draw_label_list(paper, labels, vocabulary)
    return BoxPaper(pdf=paper.finish(), pages=paper.pages)
