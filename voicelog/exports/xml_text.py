"""Text that XML can hold, and elements made of it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pathlib import Path

    from lxml import etree

# Everything outside "Char" in XML 1.0 (fifth edition), production 2.
_PLACEHOLDER = "parts"
_FORBIDDEN = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def clean(text: str) -> str:
    r"""Return the text with every character that XML forbids made visible.

    >>> clean("caption \x1b[31mred\x00")
    'caption ␛[31mred␀'
    """
    return _FORBIDDEN.sub(_picture, text)


def xml_id(entry_id: str) -> str:
    """Return an entry's id in a form that may stand in an attribute of type ID.

    >>> xml_id("2f1c/7 a")
    'entry-2f1c-7-a'
    """
    return f"entry-{re.sub(r'[^A-Za-z0-9._-]', '-', entry_id)}"


class Builder:
    """Makes elements of one namespace."""

    def __init__(self, namespace: str) -> None:
        # lxml takes a while to load, and only XML formats need it.
        from lxml import etree  # noqa: PLC0415

        self._etree = etree
        self._namespace = namespace

    def root(self, tag: str, **attributes: str | None) -> etree._Element:
        """Return a new element with no parent; attributes that are None are left out."""
        # The stubs of lxml forget that a default namespace has no prefix.
        default: Any = {None: self._namespace}
        element = self._etree.Element(f"{{{self._namespace}}}{tag}", nsmap=default)
        _set(element, attributes)
        return element

    def add(
        self, parent: etree._Element, tag: str, text: str | None = None, **attributes: str | None
    ) -> etree._Element:
        """Add an element to another, with its text where it has one."""
        element = self._etree.SubElement(parent, f"{{{self._namespace}}}{tag}")
        _set(element, attributes)
        if text is not None:
            element.text = clean(text)
        return element

    def add_placeholder(self, parent: etree._Element) -> None:
        """Mark where parts belong that :func:`write_in_parts` is given."""
        parent.append(self._etree.Comment(_PLACEHOLDER))


@contextmanager
def record_stream(path: Path, wrapper: etree._Element) -> Iterator[Any]:
    """Open an XML file of many records; only one of them need be in memory at a time.

    Args:
        path: the file to make.
        wrapper: the element around all records, itself empty.

    Yields:
        what takes one record after the other with ``write``.
    """
    from lxml import etree  # noqa: PLC0415

    with (
        path.open("xb") as stream,
        etree.xmlfile(stream, encoding="UTF-8") as file,
    ):
        file.write_declaration()
        with file.element(wrapper.tag, wrapper.attrib, nsmap=wrapper.nsmap):
            yield _Records(file)


class _Records:
    def __init__(self, file: Any) -> None:
        self._file = file

    def write(self, record: etree._Element) -> None:
        self._file.write("\n")
        self._file.write(record, pretty_print=True)


def write_document(path: Path, root: etree._Element) -> None:
    """Write a whole document to a new file."""
    write_in_parts(path, root, ())


def write_in_parts(
    path: Path, frame: etree._Element, parts: Iterable[Iterable[etree._Element]]
) -> None:
    """Write a document to a new file, with only one of its parts in memory at a time.

    Args:
        path: the file to make.
        frame: the document without its parts, with a placeholder where some belong.
        parts: for each placeholder, in the order of the document, the elements in its place.
    """
    from lxml import etree  # noqa: PLC0415

    places = [
        (sum(1 for _ in place.iterancestors()), place)
        for place in frame.iter(etree.Comment)
        if place.text == _PLACEHOLDER
    ]
    etree.indent(frame)
    mark = f"<!--{_PLACEHOLDER}-->".encode()
    whole = etree.tostring(frame, encoding="UTF-8", xml_declaration=True)
    before, *after = whole.split(mark)
    with path.open("xb") as stream:
        stream.write(before)
        for (level, _), elements, following in zip(places, parts, after, strict=True):
            for nth, element in enumerate(elements):
                if nth:
                    stream.write(b"\n" + b"  " * level)
                etree.indent(element, level=level)
                stream.write(_without_namespace(etree.tostring(element, encoding="UTF-8"), element))
            stream.write(following)
        stream.write(b"\n")


def _without_namespace(written: bytes, element: etree._Element) -> bytes:
    """Return an element as it is written inside another one of its namespace."""
    declaration = f' xmlns="{element.nsmap[None]}"'.encode()
    _, start, rest = written.partition(b"<")
    return start + rest.replace(declaration, b"", 1)


def _set(element: etree._Element, attributes: dict[str, str | None]) -> None:
    for name, value in attributes.items():
        if value is not None:
            element.set(name.rstrip("_"), clean(value))


def _picture(found: re.Match[str]) -> str:
    code = ord(found[0])
    return chr(0x2400 + code) if code < 0x20 else "\N{REPLACEMENT CHARACTER}"
