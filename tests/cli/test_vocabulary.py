"""voicelog vocabulary: from the keyboard into term files, and from there into rows."""

from __future__ import annotations

import csv
import json
import tomllib
from pathlib import Path

import pytest

from tests.cli.conftest import Voicelog

OWN = Path("voicelog") / "terms"


@pytest.fixture
def own_terms(tmp_path: Path) -> Path:
    """Return where own terms are kept when no setting says otherwise; not made yet."""
    return tmp_path / "config" / OWN


def rows(voicelog: Voicelog, *lines: str) -> list[dict[str, object]]:
    result = voicelog("parse", "-", "--json", stdin="\n".join(lines).encode())
    assert result.status == 0, result.err
    return [json.loads(line) for line in result.out.splitlines()]


def test_list_shows_field_term_and_variants(voicelog: Voicelog) -> None:
    """What rows use, and what people also say."""
    result = voicelog("vocabulary", "list", "item_type", columns=120)
    assert result.status == 0
    assert "newspaper clipping" in result.out
    assert "cutting" in result.out
    assert "cellophane tape" not in result.out
    assert "cellophane tape" in voicelog("vocabulary", columns=120).out
    assert voicelog("vocabulary", "list", "colour").status == 2


def test_list_json_is_one_concept_a_line(voicelog: Voicelog) -> None:
    """With definition, link and cautions."""
    result = voicelog("vocabulary", "list", "condition", "--json")
    records = {record["id"]: record for record in map(json.loads, result.out.splitlines())}
    assert records["mould"]["cautions"] == ["mould"]
    assert records["mould"]["definition"] == "Fungal growth."
    assert records["mould"]["authority"] is None
    assert {record["field"] for record in records.values()} == {"condition"}


def test_list_shows_the_spelling_of_the_setting(
    voicelog: Voicelog, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In the table; records keep the preferred spelling."""
    assert "\ncondition  mould " in voicelog("vocabulary", "list", "condition", columns=120).out
    monkeypatch.setenv("VOICELOG_SPELLING", "american")
    assert "\ncondition  mold " in voicelog("vocabulary", "list", "condition", columns=120).out
    assert '"term": "mould"' in voicelog("vocabulary", "list", "condition", "--json").out


def test_a_variant_that_is_added_reaches_the_rows(voicelog: Voicelog, own_terms: Path) -> None:
    """Without any setting: the usual folder is read."""
    said = ("leaf four recto", "a postcard, freckled")
    assert rows(voicelog, *said)[0]["remark"] == "freckled"
    result = voicelog("vocabulary", "add", "condition", "foxing", "--variant", "freckled")
    assert (result.status, result.out) == (
        0,
        "condition: 'foxing' extended (also said 'freckled')\n",
    )
    assert str(own_terms / "condition.toml") in result.err
    (postcard,) = rows(voicelog, *said)
    assert (postcard["condition"], postcard["remark"]) == (["foxing"], None)


def test_a_term_that_is_added_reaches_the_rows_with_its_caution(
    voicelog: Voicelog, own_terms: Path
) -> None:
    """Plural and other spelling included; the caution goes with it."""
    result = voicelog(
        "vocabulary", "add", "item_type", "lamp colour chart", "--variant", "wick tin",
        "--definition", "A chart of lamp glass.", "--caution", "match-heads",
    )  # fmt: skip
    assert result.status == 0
    text = (own_terms / "item_type.toml").read_text(encoding="utf-8")
    assert tomllib.loads(text)["concept"] == [
        {
            "id": "lamp-colour-chart",
            "term": "lamp colour chart",
            "variants": ["wick tin"],
            "definition": "A chart of lamp glass.",
            "cautions": ["match-heads"],
        }
    ]
    charts, tin = rows(voicelog, "leaf four recto", "two lamp color charts", "a wick tin, yellowed")
    assert (charts["item_type"], charts["quantity"]) == (["lamp colour chart"], 2)
    assert charts["cautions"] == ["match-heads"]
    assert (tin["item_type"], tin["condition"]) == (["lamp colour chart"], ["yellowed"])
    assert voicelog("vocabulary", "check").status == 0


def test_a_file_of_the_setting_reaches_the_rows_and_is_added_to(
    voicelog: Voicelog, own_terms: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Written by hand, comments kept; the usual folder then plays no part."""
    file = tmp_path / "tarn.toml"
    file.write_text(
        'field = "condition"  # ours\n[[concept]]\nid = "lamp-soot"\nterm = "lamp soot"\n'
        'definition = "Soot of a street lamp."\n'
    )
    monkeypatch.setenv("VOICELOG_VOCABULARY_FILES", str(file))
    assert rows(voicelog, "leaf four recto", "a ticket, lamp soot")[0]["condition"] == ["lamp soot"]
    assert voicelog("vocabulary", "add", "condition", "lamp soot", "--variant", "wicky").status == 0
    assert "# ours" in file.read_text()
    assert rows(voicelog, "leaf four recto", "a ticket, wicky")[0]["condition"] == ["lamp soot"]
    refused = voicelog("vocabulary", "add", "action", "aired", "--definition", "Left open.")
    assert refused.status == 1
    assert "is for action; name a folder there" in refused.err
    assert not own_terms.exists()


@pytest.mark.parametrize(
    ("arguments", "status", "sentence"),
    [
        (
            ("condition", "foxing", "--variant", "yellowing"),
            1,
            (
                "voicelog: The new term: 'yellowing' would stand for both 'yellowed' (voicelog's "
                "condition.toml) and 'foxing' in condition; take it from one of them."
            ),
        ),
        (
            ("condition", "speckles", "--variant", "fox marks", "--definition", "Spots."),
            1,
            "would stand for both 'foxing' (voicelog's condition.toml) and 'speckles' in condition",
        ),
        (("condition", "damp", "--caution", "wet"), 1, "names the caution 'wet', which there is"),
        (("colour", "red"), 2, "'colour' is not one of 'item_type'"),
        (("condition", "  "), 2, "holds nothing that can be said; write a word."),
        (("condition", "a|b"), 2, "term = 'a|b' holds '|'"),
    ],
)
def test_what_would_confuse_the_reader_is_refused(
    voicelog: Voicelog, own_terms: Path, arguments: tuple[str, ...], status: int, sentence: str
) -> None:
    """Both concepts are named and nothing is written."""
    result = voicelog("vocabulary", "add", *arguments)
    assert (result.status, result.out) == (status, "")
    assert sentence in result.err
    assert not own_terms.exists()


def test_adding_twice_changes_nothing(voicelog: Voicelog, own_terms: Path) -> None:
    """It says so, and that is no failure."""
    arguments = ("vocabulary", "add", "condition", "foxing", "--variant", "freckled")
    voicelog(*arguments)
    before = (own_terms / "condition.toml").read_bytes()
    result = voicelog(*arguments)
    assert (result.status, result.out) == (0, "")
    assert "'foxing' has all of this already; nothing was written." in result.err
    assert (own_terms / "condition.toml").read_bytes() == before


def test_check_names_everything_at_once(voicelog: Voicelog, own_terms: Path) -> None:
    """Each with its path; exit status 1."""
    own_terms.mkdir(parents=True)
    (own_terms / "a.toml").write_text('field = "colour"\n')
    (own_terms / "b.toml").write_text(
        'field = "condition"\n[[concept]]\nid = "x"\nterm = "foxed"\ncautions = ["wet"]\n'
    )
    extra = own_terms.parent / "extra.csv"
    extra.write_text("field,term\naction,aired\n")
    result = voicelog("vocabulary", "check", extra, columns=60)
    assert result.status == 1
    lines = result.out.splitlines()
    assert [line.split(": ")[0] for line in lines] == [
        str(own_terms / "a.toml"),
        *[str(own_terms / "b.toml")] * 2,
        str(own_terms / "b.toml"),
        str(extra),
    ]
    for sentence, line in zip(
        ("is no field", "names the caution", "would stand for both", "no def", "no def"),
        lines,
        strict=True,
    ):
        assert sentence in line
    assert "5 problems in 13 term lists" in result.err
    # Every other command refuses such a vocabulary, with one sentence.
    refused = voicelog("parse", "-", stdin=b"leaf four")
    assert refused.status == 1
    assert refused.err.count("\n") == 1
    assert "a.toml: field = 'colour' is no field" in refused.err


def test_check_of_a_good_vocabulary_ends_with_0(voicelog: Voicelog) -> None:
    """And says how much it looked at."""
    result = voicelog("vocabulary", "check")
    assert (result.status, result.out) == (0, "")
    assert "Nothing is wrong with 10 term lists" in result.err


def test_check_does_not_read_a_file_twice(voicelog: Voicelog, own_terms: Path) -> None:
    """Named on the command line and in the folder, it would collide with itself."""
    voicelog(
        "vocabulary", "add", "condition", "lamp soot", "--definition", "Soot of a street lamp."
    )
    assert voicelog("vocabulary", "check", own_terms / "condition.toml").status == 0


@pytest.mark.parametrize("suffix", [".csv", ".ttl", ".jsonld"])
def test_what_is_exported_is_known_when_it_comes_back(
    voicelog: Voicelog, own_terms: Path, suffix: str
) -> None:
    """In every form; and elsewhere it is new, with the same ids."""
    voicelog("vocabulary", "add", "condition", "lamp soot", "--definition", "Soot.")
    file = Path(f"terms{suffix}")
    assert voicelog("vocabulary", "export", file).status == 0
    result = voicelog("vocabulary", "import", file)
    assert (result.status, result.out) == (0, "")
    assert "0 terms added, 0 extended, 184 known already." in result.err
    (own_terms / "condition.toml").unlink()
    tried = voicelog("vocabulary", "import", file, "--dry-run")
    assert tried.out == "condition: 'lamp soot' would be added\n"
    assert "1 terms would be added, 0 would be extended, 183 known already." in tried.err
    assert not (own_terms / "condition.toml").exists()
    assert voicelog("vocabulary", "import", file).out == "condition: 'lamp soot' added\n"
    written = tomllib.loads((own_terms / "condition.toml").read_text())
    assert written["concept"] == [{"id": "lamp-soot", "term": "lamp soot", "definition": "Soot."}]


def test_an_import_is_all_or_nothing(voicelog: Voicelog, own_terms: Path) -> None:
    """One wording that collides, and the good lines stay out too."""
    Path("new.csv").write_text(
        "field,term,variants,definition\n"
        "action,aired,,Left open for a day.\n"
        "condition,speckles,foxed|spotty,Small spots.\n"
        "condition,damp,,\n"
    )
    result = voicelog("vocabulary", "import", "new.csv")
    assert (result.status, result.out) == (1, "")
    assert result.err.splitlines() == [
        (
            "new.csv: 'foxed' would stand for both 'foxing' (voicelog's condition.toml) and "
            "'speckles' in condition; take it from one of them."
        ),
        "new.csv: 'damp' has no definition; say in one sentence what it is.",
        "voicelog: new.csv can't be taken; nothing was written.",
    ]
    assert not own_terms.exists()


def test_an_import_says_what_it_leaves_as_it_is(voicelog: Voicelog) -> None:
    """A definition or link that differs is not taken silently, nor dropped silently."""
    Path("new.csv").write_text(
        "field,id,term,variants,definition\ncondition,foxing,foxing,freckled,Rust spots.\n"
    )
    result = voicelog("vocabulary", "import", "new.csv")
    assert result.out == "condition: 'foxing' extended (also said 'freckled')\n"
    assert "'foxing' keeps the definition it has; the new one is left out." in result.err


def test_an_import_without_fields_takes_the_one_that_is_named(
    voicelog: Voicelog, own_terms: Path
) -> None:
    """A plain list from elsewhere."""
    Path("new.csv").write_text("term,definition\nlamp badge,A badge of the club.\n")
    assert voicelog("vocabulary", "import", "new.csv").status == 1
    assert voicelog("vocabulary", "import", "new.csv", "--field", "item_type").status == 0
    assert (own_terms / "item_type.toml").exists()


def test_an_export_can_be_one_field(voicelog: Voicelog) -> None:
    """And names whose vocabulary it is not at all."""
    voicelog("vocabulary", "export", "t.csv", "--field", "overlay")
    with Path("t.csv").open(newline="", encoding="utf-8") as stream:
        assert [row["term"] for row in csv.DictReader(stream)] == [
            "clear plastic", "glassine", "tissue",
        ]  # fmt: skip


@pytest.mark.parametrize(
    ("arguments", "status", "sentence"),
    [
        (("import", "none.ttl"), 1, "none.ttl: can't be read (no such file or directory)"),
        (("import", "terms.xls"), 2, "terms.xls ends with none of .ttl, .jsonld, .csv"),
        (("export", "terms.xls"), 2, "terms.xls ends with none of .ttl, .jsonld, .csv"),
        (("export", "t.ttl", "--base", "tarn"), 2, "'tarn' can't begin an address"),
        (("export", "."), 2, ". ends with none of"),
    ],
)
def test_wrong_files_are_one_sentence(
    voicelog: Voicelog, arguments: tuple[str, ...], status: int, sentence: str
) -> None:
    """No traceback, the right exit status."""
    result = voicelog("vocabulary", *arguments)
    assert result.status == status
    assert sentence in result.err
    assert "Traceback" not in result.err
