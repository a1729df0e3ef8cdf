"""Which volume needs care first: a sum of named parts."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.housing.volumes import entry, item, volume
from voicelog.domain.entry import Adhesion
from voicelog.errors import HousingError
from voicelog.housing.triage import (
    load_default_weights,
    parse_weights,
    rank_volumes,
    read_weights,
)
from voicelog.housing.volumes import HousedVolume

WEIGHTS = load_default_weights()
ALBUM = volume(
    item(1, "1r", "negative", cautions=("nitrate-film",)),
    item(2, "2r", "snapshot", adhesion=Adhesion.LOOSE),
    item(3, "2v", "menu", adhesion=Adhesion.PARTLY_LOOSE, attachment=("masking tape",)),
    support="self-adhesive page",
    leaves=10,
)


def scores(made: HousedVolume) -> dict[str, float]:
    """Return what each part adds, without those that add nothing."""
    (ranked,) = rank_volumes([made], WEIGHTS)
    return {score.measure: score.points for score in ranked.scores if score.points}


def test_a_score_is_the_sum_of_its_parts_worked_by_hand() -> None:
    """One nitrate negative 25; 10 of 20 leaves that are full 10; 1 of 10 loose 1.5; 1 of 20 each.

    25 + 20 x 10/20 + 15 x 1/10 + 10 x 1/20 + 5 x 1/20 = 25 + 10 + 1.5 + 0.5 + 0.25 = 37.25.
    """
    assert scores(ALBUM) == {
        "nitrate film": 25,
        "self-adhesive pages": 10,
        "loose items": 1.5,
        "items coming loose": 0.5,
        "failing adhesives": 0.25,
    }
    (ranked,) = rank_volumes([ALBUM], WEIGHTS)
    assert ranked.points == pytest.approx(37.25)


def test_a_part_never_adds_more_than_its_weight() -> None:
    """Thirty loose items are as loose as ten."""
    rows = [item(n, f"{n}r", "ticket", adhesion=Adhesion.LOOSE) for n in range(1, 31)]
    assert scores(volume(*rows)) == {"loose items": 15}


def test_what_was_enclosed_is_loose_no_more() -> None:
    """The work that was done counts."""
    done = item(1, "1r", "ticket", adhesion=Adhesion.LOOSE, enclosure="envelope 1")
    assert scores(volume(done)) == {}


def test_the_volume_that_needs_care_most_comes_first() -> None:
    """Equal ones stay in the order of the log."""
    quiet = volume(entry(1, "1r", blank=True))
    mouldy = volume(entry(1, "1r", condition=("mould",)))
    ranking = rank_volumes([quiet, mouldy, ALBUM, quiet], WEIGHTS)
    assert [ranked.points for ranked in ranking] == [37.25, 25, 0, 0]


def test_every_weight_can_be_changed() -> None:
    """A repository that fears mould only writes down mould only."""
    parts = parse_weights('[[part]]\nmeasure = "mould"\nweight = 3\nfull_at = 2\n', origin="ours")
    (ranked,) = rank_volumes([volume(entry(1, "1r", condition=("mould",)))], parts)
    assert [(score.measure, score.points) for score in ranked.scores] == [("mould", 1.5)]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("[[part]]\nmeasure = 'rust'\nweight = 1\nfull_at = 1\n", "counts 'rust', which there"),
        ("[[part]]\nmeasure = 'mould'\nweight = -1\nfull_at = 1\n", r"part\.0\.weight"),
        ("[[part]]\nmeasure = 'mould'\nweight = 1\nfull_at = 0\n", r"part\.0\.full_at"),
        ("", "part: Field required"),
        ("[[part", "not valid TOML"),
    ],
)  # fmt: skip
def test_weights_that_make_no_sense_are_refused(text: str, told: str) -> None:
    """With the place."""
    with pytest.raises(HousingError, match=told):
        parse_weights(text, origin="ours")


def test_weights_that_are_not_there_are_told_with_the_setting(tmp_path: Path) -> None:
    """So that one knows where to correct it."""
    with pytest.raises(HousingError, match="correct the setting triage_file"):
        read_weights(tmp_path / "none.toml")
