"""What plug-ins add, each made sure of before it is let in."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from importlib import resources
from types import ModuleType
from typing import Any

from voicelog.checks.closing import rules
from voicelog.checks.rules import Check, Evidence
from voicelog.domain.finding import Finding
from voicelog.errors import PlugInBroken, RecogniserError, VocabularyError
from voicelog.exports.consignment import Consignment
from voicelog.exports.formats import FORMATS, Format, Writer
from voicelog.exports.target import Unfinished
from voicelog.plug_ins import Group, PlugIn, find_plug_in, leave_out, load_plug_ins
from voicelog.recognition.recogniser import EngineOptions, Heard, Recogniser, Segment
from voicelog.vocabulary.combining import find_problems
from voicelog.vocabulary.loading import load_cautions, load_shipped_lists
from voicelog.vocabulary.term_files import SUFFIX, parse_term_file
from voicelog.vocabulary.term_lists import TermList, refuse


def plug_in_term_lists() -> tuple[TermList, ...]:
    """Return the term lists of plug-ins that go together with ours and with each other."""
    taken: list[TermList] = []
    for plug_in, package in load_plug_ins(Group.VOCABULARY, ModuleType):
        try:
            with plug_in.guarded("has no term files that can be read"):
                lists = tuple(_read_term_lists(plug_in, package))
                refuse(
                    find_problems((*load_shipped_lists(), *taken, *lists), cautions=load_cautions())
                )
        except (PlugInBroken, VocabularyError) as failure:
            leave_out(_as_broken(plug_in, failure))
        else:
            taken += lists
    return tuple(taken)


def plug_in_checks() -> tuple[Check, ...]:
    """Return the checks of plug-ins; one that fails at its work is told and finds no more."""
    codes = {rule.code for rule in rules()}
    taken: list[Check] = []
    for plug_in, check in load_plug_ins(Group.CHECKS, Check):
        own = {rule.code for rule in check.rules}
        if codes & own:
            shared = ", ".join(sorted(codes & own))
            leave_out(PlugInBroken(f"The plug-in {plug_in} is left out: {shared} is taken."))
            continue
        codes |= own
        taken.append(replace(check, find=_guard_check(plug_in, check)))
    return tuple(taken)


def plug_in_formats() -> tuple[Format, ...]:
    """Return the formats of plug-ins that can be written and have a name of their own."""
    names = {each.name for each in FORMATS}
    taken: list[Format] = []
    for plug_in, format_ in load_plug_ins(Group.EXPORTS, Format):
        if format_.name in names or format_.write is None:
            why = "its name is taken" if format_.name in names else "nothing writes it"
            leave_out(PlugInBroken(f"The plug-in {plug_in} is left out: {why}."))
            continue
        names.add(format_.name)
        taken.append(replace(format_, write=_guard_writer(plug_in, format_.write)))
    return tuple(taken)


def all_formats() -> tuple[Format, ...]:
    """Return our formats and then those of plug-ins."""
    return (*FORMATS, *plug_in_formats())


@dataclass(frozen=True, slots=True, kw_only=True)
class PlugInEngine:
    """Makes the recogniser of a plug-in; a value, so that another process can be asked to.

    Attributes:
        name: the plug-in's name among the engines.
    """

    name: str

    def __call__(self, options: EngineOptions) -> Recogniser:
        """Return the recogniser.

        Raises:
            PlugInBroken: it can't be made.
        """
        plug_in = find_plug_in(Group.ENGINES, self.name)
        if plug_in is None:
            raise PlugInBroken(f"The plug-in {self.name!r} is not installed any more.")
        make: Any = plug_in.load(object)
        with plug_in.guarded("made no recogniser"):
            return _PlugInRecogniser(plug_in, make(options))


class _PlugInRecogniser:
    """A recogniser from elsewhere; whatever it raises is a recogniser's error."""

    def __init__(self, plug_in: PlugIn, recogniser: Recogniser) -> None:
        self._plug_in = plug_in
        self._recogniser = recogniser
        self.engine = str(recogniser.engine)
        self.model = str(recogniser.model)

    def recognise(self, segment: Segment) -> Heard:
        """Return the words said in the segment.

        Raises:
            RecogniserError: the plug-in failed.
        """
        try:
            with self._plug_in.guarded("failed while hearing"):
                return self._recogniser.recognise(segment)
        except PlugInBroken as failure:
            raise RecogniserError(str(failure)) from failure


def _read_term_lists(plug_in: PlugIn, package: ModuleType) -> Iterator[TermList]:
    files = [file for file in resources.files(package).iterdir() if file.name.endswith(SUFFIX)]
    if not files:
        raise PlugInBroken(f"The plug-in {plug_in} has no term files ({SUFFIX}); mend its package.")
    for file in sorted(files, key=lambda each: each.name):
        yield parse_term_file(
            file.read_text(encoding="utf-8"), origin=f"{file.name} of {plug_in.package}"
        )


def _as_broken(plug_in: PlugIn, failure: PlugInBroken | VocabularyError) -> PlugInBroken:
    if isinstance(failure, PlugInBroken):
        return failure
    return PlugInBroken(f"The plug-in {plug_in} is left out: {failure}")


def _guard_check(plug_in: PlugIn, check: Check) -> Callable[[Evidence], Iterator[Finding]]:
    def find(evidence: Evidence) -> Iterator[Finding]:
        try:
            with plug_in.guarded("failed while checking"):
                yield from check.find(evidence)
        except PlugInBroken as failure:
            leave_out(failure)

    return find


def _guard_writer(plug_in: PlugIn, write: Writer) -> Writer:
    def guarded(consignment: Consignment, unfinished: Unfinished) -> None:
        with plug_in.guarded("failed while writing"):
            write(consignment, unfinished)

    return guarded
