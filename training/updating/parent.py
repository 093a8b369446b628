"""A model as it came from elsewhere: its protocol read again, under the dictionary that it was fitted with."""

from collections.abc import Iterator
from pathlib import Path

from riskmodel import derive, dictionary
from riskmodel.bundle import Bundle
from riskmodel.dictionary.files import shipped_names
from riskmodel.dictionary.model import Dictionary, OutcomeDefinition, Variable
from riskmodel.errors import DictionaryRefused, Finding, Severity, refuse_errors
from training import protocol as protocols
from training.protocol import Protocol


def protocol_of(bundle: Bundle, *, named: str | None = None, beside: Path | None = None) -> Protocol:
    """The protocol of a bundle, ready to read a cohort with.

    A bundle holds only the part of the dictionary that its sum needs; courses, centres and subgroups need the rest.

    Parameters
    ----------
    named : a shipped dictionary or the path of one, in place of the one that the protocol names
    beside : the folder that the protocol's own path is relative to

    Raises
    ------
    DictionaryRefused
        When there is no such dictionary, or it means something else by a variable or by the outcome than the bundle.
    ProtocolRefused
        When the bundle's protocol does not fit the dictionary.
    """
    words = _dictionary(str(named or bundle.protocol.get("dictionary", "")), beside if named is None else None)
    refuse_errors(_differences(bundle, words), DictionaryRefused)
    return protocols.from_document(bundle.protocol, words, sheet=bundle.id)


def _dictionary(name: str, beside: Path | None) -> Dictionary:
    try:
        return dictionary.read(name, beside)
    except DictionaryRefused as refused:
        if name in shipped_names() or ((beside or Path()) / name).exists():
            raise
        found = f"a model of the dictionary {Path(name).name}, which does not come with this program"
        accepted = "the file that it was fitted with, by --dictionary FILE or beside the model"
        raise DictionaryRefused([_finding(Path(name).name, None, found, accepted, "no_dictionary")]) from refused


def _differences(bundle: Bundle, words: Dictionary) -> Iterator[Finding]:
    """A finding for each variable, and for the outcome, by which the two mean different things."""
    held = bundle.dictionary
    known = {**words.variables, **_derived(bundle, words)}
    for name, variable in held.variables.items():
        if name not in known:
            yield _finding(words.name, name, f"no variable {name}", f"the one of {_version(held)}", "other_dictionary")
            continue
        aspects = _unlike(variable, known[name])
        if aspects:
            found = f"{name} with another {', '.join(aspects)}"
            yield _finding(words.name, name, found, f"as in {_version(held)}", "other_dictionary")
    for name, outcome in held.outcomes.items():
        yield from _outcome(outcome, words.outcomes.get(name), words, _version(held))


def _derived(bundle: Bundle, words: Dictionary) -> dict[str, Variable]:
    made = bundle.derive if not derive.problems(bundle.derive, words) else ()
    return dict(derive.describe(made, words))


def _version(held: Dictionary) -> str:
    return f"the dictionary of the model, {held.name} {held.version}, digest {held.digest[:12]}"


def _unlike(ours: Variable, theirs: Variable) -> list[str]:
    """In which respects two variables mean different things; words for people do not count."""
    first, second = _meanings(ours), _meanings(theirs)
    return [aspect for aspect, meaning in first.items() if meaning != second[aspect]]


def _meanings(held: Variable) -> dict[str, object]:
    return {
        "kind": held.kind,
        "unit": held.unit,
        "levels": [(level.code, level.group) for level in held.levels],
        "states": held.states,
        "hard range": held.hard,
        "centre": held.centre,
        "scale": held.scale,
        "moment": held.moment,
    }


def _outcome(
    ours: OutcomeDefinition, theirs: OutcomeDefinition | None, words: Dictionary, version: str
) -> Iterator[Finding]:
    if theirs is None:
        yield _finding(words.name, ours.name, f"no outcome {ours.name}", f"the one of {version}", "other_outcome")
        return
    for key in ("first_of", "competes", "never_counts", "seen_until"):
        first, second = getattr(ours, key), getattr(theirs, key)
        if first != second:
            found = f"another outcome {ours.name}: {key} = {_words(second)}"
            yield _finding(words.name, ours.name, found, f"{key} = {_words(first)}, as in {version}", "other_outcome")


def _words(value: str | tuple[str, ...]) -> str:
    return value if isinstance(value, str) else ", ".join(value) or "nothing"


def _finding(sheet: str, column: str | None, found: str, accepted: str, rule: str) -> Finding:
    return Finding(sheet, None, column, found, accepted, Severity.ERROR, rule)
