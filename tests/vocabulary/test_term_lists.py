"""Term files and what is wrong with them, alone and together."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings

from tests.vocabulary.lists import concept_lists, make_concept, make_list
from voicelog.errors import VocabularyError
from voicelog.vocabulary import Concept, TermField, load_vocabulary
from voicelog.vocabulary.combining import combine, find_problems
from voicelog.vocabulary.growth import added, plan_growth
from voicelog.vocabulary.loading import load_cautions, load_shipped_lists
from voicelog.vocabulary.term_file_writing import (
    add_to_term_file,
    choose_term_file,
    write_concepts,
    write_files,
)
from voicelog.vocabulary.term_files import parse_term_file, read_term_file
from voicelog.vocabulary.term_lists import TermList, make_id

HEAD = 'field = "condition"\n'


def sentences(*lists: TermList) -> list[str]:
    return [str(problem) for problem in find_problems(lists, cautions={"mould"})]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("field = ", "ours.toml: is not valid TOML: "),
        ('field = "colour"', "ours.toml: field = 'colour' is no field; it is one of item_type"),
        ('[[concept]]\nid = "a"\nterm = "a"', "ours.toml: field = None is no field"),
        ('field = ["condition"]', "ours.toml: field = ['condition'] is no field"),
        (HEAD + 'owner = "us"', "ours.toml: owner is not known in a term file"),
        (HEAD + '[concept]\nid = "a"', "ours.toml: a concept begins with the line [[concept]]"),
        (HEAD + '[[concept]]\nid = "a"', "ours.toml: 'a': term is missing; add it."),
        (HEAD + '[[concept]]\nterm = "a"', "ours.toml: 'a': id is missing; add it."),
        (
            HEAD + '[[concept]]\nid = "a b"\nterm = "a"',
            "ours.toml: 'a': id = 'a b' may hold only letters a to z",
        ),
        (HEAD + '[[concept]]\nid = "a"\nterm = " "', "term = ' ' holds nothing that can be said"),
        (HEAD + '[[concept]]\nid = "a"\nterm = "a|b"', "term = 'a|b' holds '|'"),
        (HEAD + '[[concept]]\nid = "a"\nterm = "a\\u0007b"', "holds a control character"),
        (
            HEAD + '[[concept]]\nid = "a"\nterm = "a"\nvariants = ["b", ""]',
            "'a': variants.1 = '' holds nothing that can be said; write a word.",
        ),
        (
            HEAD + '[[concept]]\nid = "a"\nterm = "a"\nauthority = "aat 3"',
            "'a': authority = 'aat 3' is no web address",
        ),
        (
            HEAD + '[[concept]]\nid = "a"\nterm = "a"\nnotes = "x"',
            "'a': notes is not known; correct the word or take it out.",
        ),
        (HEAD + '[[concept]]\nid = "a"\nterm = 3', "term = 3 should be a valid string."),
    ],
)
def test_what_is_no_concept_is_named(text: str, sentence: str) -> None:
    """File, concept, and what to do, in one sentence."""
    problems = parse_term_file(text, origin="ours.toml").problems
    assert any(sentence in str(problem) for problem in problems), problems
    assert all("\n" not in str(problem) for problem in problems)


def test_all_problems_come_at_once() -> None:
    """Nobody should mend a file one message at a time."""
    text = HEAD + 'x = 1\n[[concept]]\nid = "a"\n[[concept]]\nid = "-"\nterm = ""\n'
    assert len(parse_term_file(text, origin="ours.toml").problems) == 4
    good = HEAD + '[[concept]]\nid = "a"\n[[concept]]\nid = "b"\nterm = "b"\n'
    assert [each.term for each in parse_term_file(good, origin="ours.toml").concepts] == ["b"]


def test_a_file_that_is_no_text_is_named(tmp_path: Path) -> None:
    """Missing, a folder, or bytes."""
    (tmp_path / "bytes.toml").write_bytes(b"\xff\xfe\x00")
    for name, sentence in (
        ("bytes.toml", "bytes.toml: is not UTF-8 text"),
        ("none.toml", "none.toml: can't be read (no such file or directory)"),
    ):
        assert sentence in str(read_term_file(tmp_path / name).problems[0])
        with pytest.raises(VocabularyError, match=name):
            load_vocabulary(tmp_path / name)


@pytest.mark.parametrize(
    ("clash", "wordings"),
    [
        ("Fuzz ball", "'fuzz ball'"),
        ("mold", "'mold', 'mould'"),
        ("MOULD", "'mold', 'mould'"),
        ("fuzz, ball", "'fuzz ball'"),
    ],
)
def test_a_wording_for_two_concepts_names_both_and_their_files(clash: str, wordings: str) -> None:
    """Plurals, spellings, hyphens and capitals included: they are heard alike."""
    first = make_list(make_concept("mould", "fuzz-ball"), origin="a.toml")
    second = make_list(make_concept("other", clash), origin="b.toml")
    (sentence,) = sentences(first, second)
    assert sentence == (
        f"b.toml: {wordings} would stand for both 'mould' (a.toml) and 'other' in condition; "
        "take it from one of them."
    )


def test_a_wording_may_stand_in_two_fields() -> None:
    """An envelope is an item and an enclosure."""
    lists = make_list(make_concept("envelope"), make_concept("envelope", field=TermField.ENCLOSURE))
    assert sentences(lists) == []


def test_unknown_cautions_and_missing_definitions_are_named() -> None:
    """A missing definition is a matter of order, an unknown caution would be lost."""
    undefined = make_concept("damp", definition="", cautions=("mold",))
    problems = list(find_problems([make_list(undefined)], cautions={"mould"}))
    assert [problem.is_grave for problem in problems] == [True, False]
    assert str(problems[0]) == (
        "ours.toml: 'damp' names the caution 'mold', which there is not; it is one of mould."
    )
    assert (
        str(problems[1]) == "ours.toml: 'damp' has no definition; say in one sentence what it is."
    )


def test_a_later_list_adds_to_a_concept_and_never_replaces_it() -> None:
    """Same field, id and term: its variants and cautions are added."""
    ours = make_concept("foxing", "foxed", authority="http://vocab.getty.edu/aat/1")
    theirs = make_concept("foxing", "freckled", definition="Else.", cautions=("mould",))
    (both,) = combine([make_list(ours), make_list(theirs, origin="b.toml")])
    assert both.variants == ("foxed", "freckled")
    assert both.cautions == ("mould",)
    assert (both.definition, both.authority) == (ours.definition, ours.authority)
    assert sentences(make_list(ours), make_list(theirs, origin="b.toml")) == []


def test_an_id_stands_for_one_concept() -> None:
    """Neither another term nor the same one twice in a file."""
    first, other = make_concept("foxing"), make_concept("spots", id="foxing")
    (sentence,) = sentences(make_list(first), make_list(other, origin="b.toml"))
    assert sentence == (
        "b.toml: the id 'foxing' of 'spots' is taken by 'foxing' (ours.toml) in condition; "
        "give it another."
    )
    twice = make_list(first, make_concept("foxing", "x"))
    assert sentences(twice) == ["ours.toml: 'foxing' stands there twice; make it one concept."]


def test_the_loader_refuses_with_one_sentence_and_a_count(tmp_path: Path) -> None:
    """The command that lists everything is another one."""
    file = tmp_path / "ours.toml"
    file.write_text(HEAD + '[[concept]]\nid = "a"\n[[concept]]\nid = "b"\n')
    with pytest.raises(VocabularyError, match=r"term is missing; add it\. \(1 more like this\.\)"):
        load_vocabulary(file)


def test_a_folder_of_term_files_is_read(tmp_path: Path) -> None:
    """In the order of their names; other files in it are left alone."""
    (tmp_path / "b.toml").write_text(HEAD + '[[concept]]\nid = "b-b"\nterm = "bebe"\n')
    (tmp_path / "a.toml").write_text(HEAD + '[[concept]]\nid = "a-a"\nterm = "aha"\n')
    (tmp_path / "notes.txt").write_text("no terms")
    assert [each.term for each in load_vocabulary(tmp_path).concepts][-2:] == ["aha", "bebe"]


@given(concept_lists)
@settings(max_examples=50, deadline=None)
def test_what_is_written_in_a_term_file_reads_back(wanted: list[Concept]) -> None:
    """Quotes, backslashes, any script."""
    of_field = [each for each in wanted if each.field is TermField.CONDITION]
    text = add_to_term_file(None, of_field, field=TermField.CONDITION)
    read = parse_term_file(text, origin="x")
    assert read.problems == ()
    assert list(read.concepts) == of_field
    again = add_to_term_file(text, [make_concept("one more", id="0-more")], field=read.field)  # type: ignore[arg-type]
    assert list(parse_term_file(again, origin="x").concepts)[: len(of_field)] == of_field


def test_adding_leaves_what_a_person_wrote() -> None:
    """Comments, order and layout; a variant goes into the concept that is there."""
    text = (
        HEAD + '# mine\n[[concept]]\nid = "damp"  # since May\nterm = "damp"\nvariants = ["wet"]\n'
    )
    after = add_to_term_file(
        text, [make_concept("damp", "wet", "moist"), make_concept("rot")], field=TermField.CONDITION
    )
    assert after.startswith(text.removesuffix('variants = ["wet"]\n'))
    assert 'variants = ["wet", "moist"]' in after
    assert after.endswith('id = "rot"\nterm = "rot"\ndefinition = "Made up for a test."\n')


def test_a_file_written_with_inline_tables_is_added_to() -> None:
    """TOML allows both forms."""
    text = HEAD + 'concept = [{id = "damp", term = "damp"}]'
    after = add_to_term_file(text, [make_concept("rot")], field=TermField.CONDITION)
    assert [each.term for each in parse_term_file(after, origin="x").concepts] == ["damp", "rot"]


def test_where_a_new_term_goes(tmp_path: Path) -> None:
    """The last file for its field, else a file in the last folder, else nowhere."""
    file = tmp_path / "conditions.toml"
    file.write_text(HEAD)
    folder = tmp_path / "terms"
    assert choose_term_file(TermField.CONDITION, [folder, file]) == file
    assert choose_term_file(TermField.ACTION, [folder, file]) == folder / "action.toml"
    with pytest.raises(VocabularyError, match=r"No file named in the setting .* is for action"):
        choose_term_file(TermField.ACTION, [file])


def test_growth_names_what_is_new_what_is_more_and_what_is_known() -> None:
    """A spelling or plural of a known wording brings nothing."""
    present = make_list(make_concept("mould", "mildew"))
    incoming = make_list(
        make_concept("mould", "mold", "furry", definition="Else."),
        make_concept("rot", "rotten"),
        origin="in.csv",
    )
    growth = plan_growth([present], incoming, cautions=())
    more, new = growth.gains
    assert (more.is_new, more.part.variants, more.overruled) == (False, ("furry",), ("definition",))
    assert (new.is_new, new.part) == (True, incoming.concepts[1])
    assert growth.problems == ()
    again = plan_growth([present], present, cautions=())
    assert list(added(again.gains)) == []


def test_a_vocabulary_that_grew_by_a_plan_is_what_was_planned(tmp_path: Path) -> None:
    """What is written is read back together with the shipped lists."""
    shipped = load_shipped_lists()
    incoming = make_list(
        make_concept("rust freckles", "freckled"),
        make_concept("foxing", "foxlike"),
        make_concept("lamp badge", field=TermField.ITEM_TYPE),
    )
    growth = plan_growth(shipped, incoming, cautions=load_cautions())
    files = write_concepts(added(growth.gains), [tmp_path / "terms"])
    assert {file.name for file in files} == {"condition.toml", "item_type.toml"}
    vocabulary = load_vocabulary(tmp_path / "terms")
    foxing = vocabulary.find(TermField.CONDITION, "foxing")
    assert foxing is not None
    assert foxing.variants[-1] == "foxlike"
    assert vocabulary.find(TermField.ITEM_TYPE, "lamp badge") == incoming.concepts[2]


def test_files_are_written_all_or_none(tmp_path: Path) -> None:
    """A file that can't be written leaves the others as they were, and no scraps."""
    first, second = tmp_path / "a.toml", tmp_path / "b" / "b.toml"
    first.write_text("as it was")
    (tmp_path / "b").write_text("a file where a folder should be")
    with pytest.raises(VocabularyError, match=r"b\.toml can't be written"):
        write_files({first: b"new", second: b"new"})
    assert first.read_text() == "as it was"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.toml", "b"]


def test_ids_are_made_from_terms() -> None:
    """Lower case, accents gone; a script without Latin letters still gets one."""
    assert make_id("Bébé doll") == "bebe-doll"
    assert make_id("фотография").startswith("term-")
    assert make_id("фотография") != make_id("открытка")
