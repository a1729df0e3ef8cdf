"""SKOS and CSV: what goes out comes back, and outsiders read the same."""

from __future__ import annotations

import csv
import io
import json
import os
import socket
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from rdflib import Graph
from rdflib.compare import isomorphic

from tests.vocabulary.lists import concept_lists, make_concept, without_order
from voicelog.errors import UsageError, VocabularyError
from voicelog.vocabulary import AuthorityMatch, Concept, TermField, load_vocabulary
from voicelog.vocabulary.exchange import SUFFIXES, check_base, read_list, write_list
from voicelog.vocabulary.skos import SchemeOptions, format_skos, parse_skos
from voicelog.vocabulary.term_table import COLUMNS, format_term_table, parse_term_table

ROOT = Path(__file__).parents[2]
PREFIXES = """
    PREFIX skos: <http://www.w3.org/2004/02/skos/core#>
    PREFIX dcterms: <http://purl.org/dc/terms/>
"""
TURTLE = """
    @prefix skos: <http://www.w3.org/2004/02/skos/core#> .
    @prefix dcterms: <http://purl.org/dc/terms/> .
    @prefix t: <https://tarnvalley.example/terms/> .
    t:Condition a skos:Collection ; skos:member t:freckled .
"""


@pytest.fixture(autouse=True)
def _no_network(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("something was to be fetched")

    monkeypatch.setattr(socket, "create_connection", refuse)
    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)


def as_graph(concepts: object, suffix: str = ".ttl") -> Graph:
    content = format_skos(concepts, suffix=suffix, options=SchemeOptions())  # type: ignore[arg-type]
    format_ = "turtle" if suffix == ".ttl" else "json-ld"
    return Graph().parse(data=content, format=format_)


def ask(graph: Graph, query: str) -> list[tuple[str, ...]]:
    return [tuple(str(value) for value in row) for row in graph.query(PREFIXES + query)]  # type: ignore[union-attr]


def sentences(text: str, suffix: str = ".ttl", field: TermField | None = None) -> list[str]:
    read = parse_skos(text.encode(), suffix=suffix, origin="in", field=field)
    return [str(problem) for problem in read.problems]


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_the_shipped_vocabulary_comes_back_equal(tmp_path: Path, suffix: str) -> None:
    """Every concept with every fact; RDF keeps no order, so none is compared."""
    concepts = load_vocabulary().concepts
    write_list(tmp_path / f"terms{suffix}", concepts)
    read = read_list(tmp_path / f"terms{suffix}")
    assert read.problems == ()
    assert without_order(read.concepts) == without_order(concepts)


@given(concept_lists)
@settings(max_examples=40, deadline=None)
def test_any_concepts_come_back_equal(concepts: list[Concept]) -> None:
    """Any script, quotes, commas, and links with question marks."""
    table = parse_term_table(format_term_table(concepts), origin="x")
    assert (list(table.concepts), table.problems) == (concepts, ())
    for suffix in (".ttl", ".jsonld") if concepts else ():
        content = format_skos(concepts, suffix=suffix, options=SchemeOptions())
        read = parse_skos(content, suffix=suffix, origin="x")
        assert read.problems == ()
        assert without_order(read.concepts) == without_order(concepts)


# rdflib's own way in still uses a class of its own that it has deprecated.
@pytest.mark.filterwarnings("ignore:ConjunctiveGraph is deprecated:DeprecationWarning")
def test_turtle_and_json_ld_say_the_same() -> None:
    """Read by rdflib without any of our code, the two graphs are the same graph."""
    concepts = load_vocabulary().concepts
    assert isomorphic(as_graph(concepts), as_graph(concepts, ".jsonld"))


class TestSkosReference:
    """SKOS Reference, W3C Recommendation 18 August 2009; conditions by their numbers."""

    graph = as_graph(load_vocabulary().concepts)

    def test_s14_at_most_one_preferred_label_a_language(self) -> None:
        """And ours have exactly one."""
        assert (
            ask(
                self.graph,
                """SELECT ?c WHERE { ?c a skos:Concept .
               OPTIONAL { ?c skos:prefLabel ?l } } GROUP BY ?c HAVING (COUNT(?l) != 1)""",
            )
            == []
        )

    def test_s13_preferred_and_alternative_labels_are_disjoint(self) -> None:
        """No text is both."""
        assert ask(self.graph, "SELECT ?c WHERE { ?c skos:prefLabel ?l ; skos:altLabel ?l }") == []

    def test_every_concept_is_in_the_scheme_and_in_one_collection(self) -> None:
        """One concept scheme; a collection for each field."""
        count = str(len(load_vocabulary().concepts))
        assert ask(
            self.graph,
            """SELECT (COUNT(DISTINCT ?c) AS ?n) WHERE { ?s a skos:ConceptScheme .
               ?f a skos:Collection ; skos:member ?c . ?c a skos:Concept ; skos:inScheme ?s }""",
        ) == [(count,)]
        assert (
            ask(
                self.graph,
                "SELECT ?c WHERE { ?f skos:member ?c } GROUP BY ?c HAVING (COUNT(?f) != 1)",
            )
            == []
        )
        fields = ask(
            self.graph, "SELECT ?id WHERE { ?f a skos:Collection ; dcterms:identifier ?id }"
        )
        assert {name for (name,) in fields} == set(TermField)

    def test_the_postcard(self) -> None:
        """Its label, definition and link, asked for by a query."""
        assert ask(
            self.graph,
            """SELECT ?id ?d ?x WHERE { ?c skos:prefLabel "postcard"@en-GB ;
               dcterms:identifier ?id ; skos:definition ?d ; skos:exactMatch ?x }""",
        ) == [
            (
                "postcard",
                "A card for a message sent by post without an envelope.",
                "http://vocab.getty.edu/aat/300026816",
            )
        ]

    def test_a_broader_authority_is_no_exact_match(self) -> None:
        """S46 keeps exactMatch and broadMatch apart."""
        assert ask(
            self.graph, 'SELECT ?x WHERE { [] skos:altLabel "cutting"@en-GB ; skos:broadMatch ?x }'
        ) == [("http://vocab.getty.edu/aat/300026867",)]
        assert (
            ask(self.graph, "SELECT ?c WHERE { ?c skos:exactMatch ?x ; skos:broadMatch ?x }") == []
        )

    def test_s9_and_s37_concepts_schemes_and_collections_are_disjoint(self) -> None:
        """Nothing is two of them."""
        assert (
            ask(
                self.graph,
                """SELECT ?c WHERE { ?c a skos:Concept .
               { ?c a skos:Collection } UNION { ?c a skos:ConceptScheme } }""",
            )
            == []
        )


def test_files_are_the_same_from_run_to_run() -> None:
    """Whatever order Python's hashing gives; so that changes can be compared."""
    program = (
        "import hashlib\nfrom voicelog.vocabulary import load_vocabulary\n"
        "from voicelog.vocabulary.skos import SchemeOptions, format_skos\n"
        "for suffix in ('.ttl', '.jsonld'):\n"
        "    content = format_skos(load_vocabulary().concepts, suffix=suffix,"
        " options=SchemeOptions())\n"
        "    print(hashlib.sha256(content).hexdigest())\n"
    )
    runs = {
        subprocess.run(
            [sys.executable, "-c", program],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
            cwd=ROOT,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(runs) == 1


def test_labels_of_others_are_understood() -> None:
    """British before other English, hidden labels as variants, other languages left out."""
    text = (
        TURTLE
        + """
        t:freckled a skos:Concept ;
            skos:prefLabel "colour freckles"@en-GB, "color freckles"@en-US, "Stockflecken"@de ;
            skos:altLabel "speckled", "piqué"@fr ; skos:hiddenLabel "freckels"@en ;
            skos:definition "Kleine Flecken."@de, "Small spots."@en ;
            skos:notation "C-7" ;
            skos:closeMatch <https://tarnvalley.example/a>, <https://tarnvalley.example/b> .
    """
    )
    read = parse_skos(text.encode(), suffix=".ttl", origin="in")
    assert read.concepts == (
        Concept(
            id="C-7",
            field=TermField.CONDITION,
            term="colour freckles",
            variants=("color freckles", "freckels", "speckled"),
            definition="Small spots.",
            authority="https://tarnvalley.example/a",
            authority_match=AuthorityMatch.CLOSE,
        ),
    )
    assert [str(problem) for problem in read.problems] == [
        "in: 'colour freckles' has 2 authority links; https://tarnvalley.example/a is kept."
    ]
    assert not read.problems[0].is_grave


def test_a_concept_without_a_field_asks_for_one() -> None:
    """It is never guessed."""
    text = TURTLE + 't:x a skos:Concept ; skos:prefLabel "x ray"@en .'
    (sentence,) = [one for one in sentences(text) if "terms/x" in one]
    assert "is in no collection named like a field; give its field with --field" in sentence
    read = parse_skos(text.encode(), suffix=".ttl", origin="in", field=TermField.ITEM_TYPE)
    assert [each.field for each in read.concepts] == [TermField.ITEM_TYPE]


def test_a_concept_without_an_english_label_is_named() -> None:
    """It has no term that rows could show."""
    text = TURTLE + 't:freckled a skos:Concept ; skos:prefLabel "Stockflecken"@de .'
    assert sentences(text) == ["in: 'freckled': term is missing; add it."]


@pytest.mark.parametrize(
    ("text", "suffix", "sentence"),
    [
        ("@prefix skos: <x", ".ttl", "in: is not valid Turtle ("),
        ("", ".ttl", "in: holds no skos:Concept; name another file."),
        ("{", ".jsonld", "in: is not valid JSON ("),
        ("3", ".jsonld", "in: holds no JSON-LD"),
        ("[]", ".jsonld", "in: holds no skos:Concept"),
        ("[" * 100_000, ".jsonld", "in: is not valid JSON ("),
        ('{"@id": {"@id": 3}}', ".jsonld", "in: "),
    ],
)
def test_files_that_are_no_skos_are_one_sentence(text: str, suffix: str, sentence: str) -> None:
    """Whatever rdflib raises."""
    found = sentences(text, suffix)
    assert len(found) == 1
    assert found[0].startswith(sentence)
    assert "\n" not in found[0]
    assert len(found[0]) < 400


@pytest.mark.parametrize(
    "data",
    [
        {"@context": "https://tarnvalley.example/context.jsonld", "@graph": []},
        {"@context": [{"a": "http://a.example/"}, "context.jsonld"], "@graph": []},
        {"@context": {"@import": "https://tarnvalley.example/context.jsonld"}, "@graph": []},
        {"@context": {"a": {"@id": "http://a.example/", "@context": "https://b.example/"}}},
        {"@graph": [{"@id": "x", "http://a.example/b": {"@context": "file:///etc/hostname"}}]},
    ],
    ids=["address", "in a list", "import", "scoped", "nested"],
)
def test_a_remote_context_is_refused_and_not_fetched(data: dict[str, object]) -> None:
    """JSON-LD 1.1, "The Context" and "Imported Contexts"; the network is watched by the test."""
    (sentence,) = sentences(json.dumps(data), ".jsonld")
    assert "takes its @context from " in sentence
    assert sentence.endswith("voicelog fetches nothing; put the context itself into the file.")


def test_our_own_json_ld_carries_its_context() -> None:
    """So that others needn't fetch one either."""
    content = format_skos([make_concept("damp")], suffix=".jsonld", options=SchemeOptions())
    context = json.loads(content)["@context"]
    assert context["skos"] == "http://www.w3.org/2004/02/skos/core#"
    assert all(isinstance(address, str) for address in context.values())


def test_addresses_can_be_a_repositorys_own(tmp_path: Path) -> None:
    """The ids stay what they are."""
    base = "https://tarnvalley.example/terms/"
    check_base(base)
    write_list(tmp_path / "t.ttl", [make_concept("damp")], base=base, creator="Tarn Valley")
    text = (tmp_path / "t.ttl").read_text()
    assert f"<{base}condition/damp> a skos:Concept" in text
    assert 'dcterms:creator "Tarn Valley"' in text
    assert read_list(tmp_path / "t.ttl").concepts == (make_concept("damp"),)
    for wrong in (
        "tarnvalley",
        "https://tarnvalley.example/terms",
        "https:///",
        "ftp://a.example/",
    ):
        with pytest.raises(UsageError, match="can't begin an address"):
            check_base(wrong)


def test_the_table_is_what_a_spreadsheet_reads() -> None:
    """RFC 4180 by the standard library's reader; the columns are named in the README."""
    concept = make_concept("damp, wet", "moist", "soaked", cautions=("mould", "red-rot-dust"))
    rows = list(csv.reader(io.StringIO(format_term_table([concept]), newline="")))
    assert rows[0] == list(COLUMNS)
    assert rows[1] == [
        "condition", "damp,-wet", "damp, wet", "moist|soaked", "Made up for a test.", "",
        "mould|red-rot-dust", "",
    ]  # fmt: skip


def test_a_table_by_hand_needs_only_field_and_term() -> None:
    """Any order of columns, spaces, blank lines; an id is made."""
    text = "Term, Field ,variants\r\nrust freckles,condition, freckled | speckled |\r\n,,\r\n"
    read = parse_term_table(text, origin="t.csv")
    assert read.problems == ()
    assert read.concepts == (make_concept("rust freckles", "freckled", "speckled", definition=""),)
    other = parse_term_table("term\nx ray\n", origin="t.csv", field=TermField.ITEM_TYPE)
    assert [each.field for each in other.concepts] == [TermField.ITEM_TYPE]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "has no column 'field'; its first line must name the columns."),
        ("field,term,colour\n", "has a column 'colour'; the columns are field, id"),
        ("field,term,term\n", "has the column 'term' twice; take one out."),
        ("field,term\ncolour,red\n", "row 2: 'colour' is no field; it is one of item_type"),
        ("field,term\ncondition,\n", "row 2: term is empty; write the preferred term."),
        ("field,term\ncondition,a,b\n", "row 2 has more cells than there are columns"),
        ('field,term\ncondition,"a\n', "is not valid CSV ("),
        ("field,term,id\ncondition,a,a b\n", "row 2: 'a': id = 'a b' may hold only"),
        ("field,term,authority_match\ncondition,a,same\n", "authority_match = 'same' should be"),
    ],
)
def test_wrong_tables_are_named_with_the_row(text: str, sentence: str) -> None:
    """One sentence each."""
    problems = [str(one) for one in parse_term_table(text, origin="t.csv").problems]
    assert any(sentence in one for one in problems), problems
    assert all(one.startswith("t.csv: ") for one in problems)


def test_other_endings_are_wrong_usage(tmp_path: Path) -> None:
    """The ending says what a file is."""
    with pytest.raises(UsageError, match=r"terms\.xls ends with none of \.ttl, \.jsonld, \.csv"):
        write_list(tmp_path / "terms.xls", [])
    with pytest.raises(UsageError, match="ends with none of"):
        read_list(tmp_path / "terms")


def test_a_file_that_cant_be_read_or_written_is_one_sentence(tmp_path: Path) -> None:
    """Missing, bytes, or a folder in the way."""
    assert "can't be read" in str(read_list(tmp_path / "none.ttl").problems[0])
    (tmp_path / "bytes.csv").write_bytes(b"\xff\xff")
    assert "is not UTF-8 text" in str(read_list(tmp_path / "bytes.csv").problems[0])
    (tmp_path / "folder.csv").mkdir()
    with pytest.raises(VocabularyError, match=r"folder\.csv can't be written \(is a directory\)"):
        write_list(tmp_path / "folder.csv", [])
