"""The vocabulary as linked data: SKOS, in Turtle or JSON-LD.

SKOS Reference, W3C Recommendation of 18 August 2009; clauses are named where they are
applied. There is one concept scheme; each field is a collection of its concepts.
"""

from __future__ import annotations

import json
import logging
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from rdflib import DCTERMS, RDF, SKOS, Graph, Literal, Namespace, URIRef
from rdflib.plugins.parsers.jsonld import to_rdf
from rdflib.term import Node

from voicelog.errors import VocabularyError
from voicelog.vocabulary.concepts import AuthorityMatch, Concept, TermField, heard_of
from voicelog.vocabulary.term_lists import Problem, TermList, make_id, parse_concept

FORMATS = {".ttl": "turtle", ".jsonld": "json-ld"}
"""File endings and what rdflib calls what is in such a file."""

# RFC 2606 reserves .invalid: these names are unique in our files and nobody's web address.
DEFAULT_BASE = "https://voicelog.invalid/vocabulary/"
_OURS = Namespace("https://voicelog.invalid/terms#")

_LANGUAGE = "en-GB"
_MATCHES = {
    AuthorityMatch.EXACT: SKOS.exactMatch,
    AuthorityMatch.CLOSE: SKOS.closeMatch,
    AuthorityMatch.BROAD: SKOS.broadMatch,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SchemeOptions:
    """How the concept scheme is named.

    Attributes:
        base: what the addresses of scheme, collections and concepts begin with.
        title: the scheme's title.
        creator: whose it is, or empty.
    """

    base: str = DEFAULT_BASE
    title: str = "Terms for items in bound compilations"
    creator: str = ""


def format_skos(concepts: Iterable[Concept], *, suffix: str, options: SchemeOptions) -> bytes:
    """Return the concepts as SKOS in UTF-8.

    Args:
        concepts: what to write.
        suffix: ``.ttl`` or ``.jsonld``.
        options: how the scheme is named.
    """
    graph = _make_graph(concepts, options)
    if FORMATS[suffix] == "turtle":
        return graph.serialize(format="turtle", encoding="utf-8")
    # The context stands in the file, so that nobody has to fetch one to read it.
    context = {prefix: str(namespace) for prefix, namespace in _prefixes().items()}
    text = graph.serialize(format="json-ld", context=context, auto_compact=False)
    data: dict[str, Any] = json.loads(text)
    data["@graph"].sort(key=lambda node: str(node["@id"]))
    return (json.dumps(_sorted(data), ensure_ascii=False, indent=2) + "\n").encode("utf-8")


def parse_skos(
    content: bytes, *, suffix: str, origin: str, field: TermField | None = None
) -> TermList:
    """Return the concepts of a SKOS file; what is none of ours is among its problems.

    Labels without a language or in any English count; the order of variants is not kept
    by RDF, so they come sorted. Nothing is fetched.

    Args:
        content: the file's bytes.
        suffix: ``.ttl`` or ``.jsonld``.
        origin: the file, for messages.
        field: the field of concepts that are in no collection named like one.
    """
    try:
        graph = _parse_graph(content, format_=FORMATS[suffix])
    except VocabularyError as failure:
        return TermList(origin=origin, problems=(Problem(origin=origin, message=str(failure)),))
    concepts: list[Concept] = []
    problems: list[Problem] = []
    nodes = sorted(set(graph.subjects(RDF.type, SKOS.Concept)), key=str)
    if not nodes:
        problems.append(Problem(origin=origin, message="holds no skos:Concept; name another file."))
    fields_of = _find_fields(graph)
    for node in nodes:
        fields = sorted(fields_of.get(node, ())) or ([field] if field else [])
        if not fields:
            message = (
                f"{node} is in no collection named like a field; give its field with --field, "
                f"or put it in one of {', '.join(TermField)}."
            )
            problems.append(Problem(origin=origin, message=message))
        for its_field in fields:
            values, notices = _read_concept(graph, node)
            problems += (Problem(origin=origin, message=one, is_grave=False) for one in notices)
            read = parse_concept(values, field=its_field, origin=origin)
            if isinstance(read, Concept):
                concepts.append(read)
            else:
                problems += read
    return TermList(origin=origin, concepts=tuple(concepts), problems=tuple(problems))


def _prefixes() -> dict[str, Namespace]:
    return {
        "skos": Namespace(str(SKOS)),
        "dcterms": Namespace(str(DCTERMS)),
        "voicelog": _OURS,
    }


def _make_graph(concepts: Iterable[Concept], options: SchemeOptions) -> Graph:
    graph = Graph(bind_namespaces="none")
    for prefix, namespace in _prefixes().items():
        graph.bind(prefix, namespace)
    scheme = URIRef(options.base)
    graph.add((scheme, RDF.type, SKOS.ConceptScheme))
    graph.add((scheme, DCTERMS.title, Literal(options.title, lang=_LANGUAGE)))
    if options.creator:
        graph.add((scheme, DCTERMS.creator, Literal(options.creator)))
    for concept in concepts:
        collection = URIRef(options.base + concept.field)
        node = URIRef(f"{options.base}{concept.field}/{quote(concept.id)}")
        graph.add((collection, RDF.type, SKOS.Collection))
        graph.add((collection, DCTERMS.identifier, Literal(str(concept.field))))
        label = concept.field.replace("_", " ")
        graph.add((collection, SKOS.prefLabel, Literal(label, lang=_LANGUAGE)))
        # The reference gives skos:inScheme no domain, so it may be said of collections too.
        graph.add((collection, SKOS.inScheme, scheme))
        graph.add((collection, SKOS.member, node))
        graph.add((node, SKOS.inScheme, scheme))
        for statement in _describe(concept):
            graph.add((node, *statement))
    return graph


def _describe(concept: Concept) -> Iterator[tuple[URIRef, Node]]:
    yield RDF.type, SKOS.Concept
    yield DCTERMS.identifier, Literal(concept.id)
    yield SKOS.prefLabel, Literal(concept.term, lang=_LANGUAGE)
    for variant in concept.variants:
        yield SKOS.altLabel, Literal(variant, lang=_LANGUAGE)
    if concept.definition:
        yield SKOS.definition, Literal(concept.definition, lang=_LANGUAGE)
    if concept.authority:
        yield _MATCHES[concept.authority_match], URIRef(concept.authority)
    for caution in concept.cautions:
        yield _OURS.caution, Literal(caution)


def _parse_graph(content: bytes, *, format_: str) -> Graph:
    graph = Graph(bind_namespaces="none")
    data = _read_json_ld(content) if format_ == "json-ld" else None
    try:
        with _quiet("rdflib"):
            if data is None:
                graph.parse(data=content, format=format_, publicID=DEFAULT_BASE)
            else:
                # Named graphs, if there are any, are read as one description.
                to_rdf(data, graph, base=DEFAULT_BASE)
    except Exception as failure:  # rdflib's parsers raise whatever comes up
        sentence = " ".join(str(failure).split())[:200] or type(failure).__name__
        raise VocabularyError(
            f"is not valid {'JSON-LD' if format_ == 'json-ld' else 'Turtle'} ({sentence}); "
            "export it again where it was made."
        ) from failure
    return graph


@contextmanager
def _quiet(name: str) -> Iterator[None]:
    """Silence a library that tells its log of odd addresses; what matters is told by us."""
    log = logging.getLogger(name)
    before = log.level
    log.setLevel(logging.CRITICAL + 1)
    try:
        yield
    finally:
        log.setLevel(before)


def _read_json_ld(content: bytes) -> Any:
    """Return the JSON, and refuse what can only be understood by fetching something.

    JSON-LD 1.1 (W3C Recommendation of 16 July 2020), "The Context" and "Imported Contexts":
    a context may be an address, and may import one.
    """
    try:
        data = json.loads(content)
    except (ValueError, RecursionError) as failure:
        raise VocabularyError(f"is not valid JSON ({failure}); save it again.") from failure
    if not isinstance(data, dict | list):
        raise VocabularyError("holds no JSON-LD; name another file.")
    for context in _find_contexts(data):
        for part in context if isinstance(context, list) else [context]:
            remote = part if isinstance(part, str) else None
            if isinstance(part, dict) and isinstance(part.get("@import"), str):
                remote = part["@import"]
            if remote is not None:
                raise VocabularyError(
                    f"takes its @context from {remote}, and voicelog fetches nothing; "
                    "put the context itself into the file."
                )
    return data


def _find_contexts(data: Any) -> Iterator[Any]:
    waiting = [data]
    while waiting:
        part = waiting.pop()
        if isinstance(part, dict):
            if "@context" in part:
                yield part["@context"]
            waiting.extend(part.values())
        elif isinstance(part, list):
            waiting.extend(part)


def _find_fields(graph: Graph) -> dict[Node, set[TermField]]:
    fields = {heard_of(field): field for field in TermField}
    found: dict[Node, set[TermField]] = {}
    for collection in {*graph.subjects(SKOS.member, None)}:
        names = (
            *graph.objects(collection, DCTERMS.identifier),
            *graph.objects(collection, SKOS.prefLabel),
            str(collection).rstrip("/").rpartition("/")[2].rpartition("#")[2],
        )
        for name in names:
            if (field := fields.get(heard_of(str(name)))) is not None:
                for member in graph.objects(collection, SKOS.member):
                    found.setdefault(member, set()).add(field)
    return found


def _read_concept(graph: Graph, node: Node) -> tuple[dict[str, Any], tuple[str, ...]]:
    preferred = _english(graph, node, SKOS.prefLabel)
    term = preferred[0] if preferred else ""
    others = {
        *preferred[1:],
        *_english(graph, node, SKOS.altLabel),
        *_english(graph, node, SKOS.hiddenLabel),
    }
    values: dict[str, Any] = {
        "id": _find_id(graph, node, term),
        "variants": sorted(others - {term}),
        "cautions": sorted(str(caution) for caution in graph.objects(node, _OURS.caution)),
    }
    notices = []
    if term:
        values["term"] = term
    if definitions := _english(graph, node, SKOS.definition):
        values["definition"] = definitions[0]
    links = [
        (match, str(link))
        for match, property_ in _MATCHES.items()
        for link in sorted(graph.objects(node, property_), key=str)
    ]
    if links:
        values["authority_match"], values["authority"] = links[0]
        if len(links) > 1:
            notices.append(f"{term!r} has {len(links)} authority links; {links[0][1]} is kept.")
    return values, tuple(notices)


def _english(graph: Graph, node: Node, property_: URIRef) -> list[str]:
    """Return the texts in English or in no language, British before other English."""
    found = []
    for text in graph.objects(node, property_):
        language = (text.language or "").lower() if isinstance(text, Literal) else "-"
        if language in {"", "en"} or language.startswith("en-"):
            rank = ("en-gb", "en", "").index(language) if language in {"en-gb", "en", ""} else 3
            found.append((rank, str(text)))
    return [text for _, text in sorted(found)]


def _find_id(graph: Graph, node: Node, term: str) -> str:
    for property_ in (DCTERMS.identifier, SKOS.notation):
        if named := sorted(str(value) for value in graph.objects(node, property_)):
            return named[0]
    if isinstance(node, URIRef):
        return str(node).rstrip("/").replace("#", "/").rpartition("/")[2]
    return make_id(term)


def _sorted(data: Any) -> Any:
    """Return JSON with everything in an order that doesn't change from run to run."""
    if isinstance(data, dict):
        return {key: _sorted(data[key]) for key in sorted(data)}
    if isinstance(data, list):
        return sorted((_sorted(part) for part in data), key=json.dumps)
    return data
