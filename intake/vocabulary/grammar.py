"""The closed small grammar of the trade's vocabulary files: reading with file and line, writing the same file again.

A file is YAML of one shape; keys that are not in it are refused with the allowed ones shown.

    # any number of comment lines on top
    kind: part
    inflect: noun            # noun: forms also get a plural; none: forms stand as they are
    plurals:                 # irregular ones
      foot: feet
    irregular:               # verbs: third person, past forms, -ing
      send: [sends, sent, sending]
    terms:
      volume control:
        say: [volume control, volume pot]     # inflected as the file says
        verbs: [turn up]                      # all verb forms
        exact: [vol]                          # as they stand
        unsure: [volume]                      # means this only where the sentence says so
        unsure_verbs: [set]
        scaled: {kilohertz: 1000}             # units of measure only
        note: why
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from intake.errors import VocabularyError
from intake.vocabulary.terms import KINDS

FILE_KEYS = ("kind", "inflect", "plurals", "irregular", "terms")
LIST_KEYS = ("say", "verbs", "exact", "unsure", "unsure_verbs")
TERM_KEYS = (*LIST_KEYS, "scaled", "note")
INFLECTIONS = ("noun", "none")
WIDTH = 110

_PLAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9 '/&+.-]*")
_RESERVED = frozenset({"true", "false", "yes", "no", "on", "off", "null", "y", "n"})


@dataclass(frozen=True)
class TermForms:
    """The spoken forms of one canonical term, as the file has them."""

    say: tuple[str, ...] = ()
    verbs: tuple[str, ...] = ()
    exact: tuple[str, ...] = ()
    unsure: tuple[str, ...] = ()
    unsure_verbs: tuple[str, ...] = ()
    scaled: Mapping[str, float] = field(default_factory=dict)
    note: str = ""
    line: int = 0


@dataclass(frozen=True)
class SpokenFile:
    """One vocabulary file: its comment on top, its kind, and its terms in order."""

    path: Path
    kind: str
    inflect: str
    header: tuple[str, ...] = ()
    plurals: Mapping[str, str] = field(default_factory=dict)
    irregular: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    terms: Mapping[str, TermForms] = field(default_factory=dict)


def fault(path: Path, line: int, message: str, hint: str = "") -> VocabularyError:
    """The error for a line of a vocabulary file."""
    return VocabularyError(message, path=f"{path}, line {line}", hint=hint)


def read_spoken(path: Path) -> SpokenFile:
    """Read one file of spoken forms; raises VocabularyError with file and line where it breaks the grammar."""
    text = read_text(path)
    top = mapping_of(compose(text, path), path, FILE_KEYS, {
        "kind": scalar_of, "inflect": scalar_of, "plurals": _words_of, "irregular": _verbs_of, "terms": _terms_of},
        needed=("kind", "inflect", "terms"))
    kind, inflect = top["kind"], top["inflect"]
    if kind not in KINDS:
        raise fault(path, 1, f"kind {kind!r} is unknown.", f"Known: {', '.join(KINDS)}.")
    if inflect not in INFLECTIONS:
        raise fault(path, 1, f"inflect {inflect!r} is unknown.", f"Known: {', '.join(INFLECTIONS)}.")
    header = []
    for line in text.splitlines():
        if not line.startswith("#"):
            break
        header.append(line)
    return SpokenFile(path=path, kind=kind, inflect=inflect, header=tuple(header), plurals=top.get("plurals", {}),
                      irregular=top.get("irregular", {}), terms=top["terms"])


def read_text(path: Path) -> str:
    """The text of a vocabulary file; raises VocabularyError where it cannot be read."""
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise VocabularyError(f"the file cannot be read: {error}.", path=path,
                              hint="Vocabulary files are UTF-8 text.") from error


def compose(text: str, path: Path) -> Any:
    """The YAML node tree, which knows its lines; raises VocabularyError where it is no YAML."""
    import yaml

    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    try:
        node = yaml.compose(text, Loader=loader)
    except yaml.YAMLError as error:
        mark = getattr(error, "problem_mark", None)
        raise fault(path, mark.line + 1 if mark else 1,
                    f"this is no YAML: {getattr(error, 'problem', None) or error}.") from error
    if node is None:
        raise fault(path, 1, "the file is empty.")
    return node


def mapping_of(node: Any, path: Path, allowed: tuple[str, ...] | None,
               readers: Mapping[str, Callable[[Any, Path], Any]] | Callable[[Any, Path], Any],
               *, needed: tuple[str, ...] = ()) -> dict[str, Any]:
    """A mapping node as a dict; refuses doubled keys, keys that are not `allowed` (None: any), and lacking ones."""
    line = node.start_mark.line + 1
    if node.id != "mapping":
        raise fault(path, line, "a mapping (key: value) is expected here.")
    found: dict[str, Any] = {}
    for key_node, value_node in node.value:
        key = scalar_of(key_node, path)
        here = key_node.start_mark.line + 1
        if allowed is not None and key not in allowed:
            raise fault(path, here, f"unknown key {key!r}.", f"Allowed: {', '.join(allowed)}.")
        if key in found:
            raise fault(path, here, f"{key!r} stands here twice.")
        reader = readers if callable(readers) else readers[key]
        found[key] = reader(value_node, path)
    lacking = [key for key in needed if key not in found]
    if lacking:
        raise fault(path, line, f"{lacking[0]!r} is lacking here.", f"Needed: {', '.join(needed)}.")
    return found


def scalar_of(node: Any, path: Path) -> str:
    """A scalar node as text, exactly as written (no yes/no turned into truth values)."""
    if node.id != "scalar":
        raise fault(path, node.start_mark.line + 1, "a single value is expected here.")
    return str(node.value)


def names_of(node: Any, path: Path) -> tuple[str, ...]:
    """A list of texts exactly as written."""
    if node.id != "sequence":
        raise fault(path, node.start_mark.line + 1, "a list [a, b] is expected here.")
    return tuple(scalar_of(item, path) for item in node.value)


def list_of(node: Any, path: Path) -> tuple[str, ...]:
    """A list of distinct texts, lower case with single blanks."""
    line = node.start_mark.line + 1
    names_of(node, path)
    values = tuple(_spoken_of(item, path) for item in node.value)
    doubled = sorted({v for v in values if values.count(v) > 1})
    if doubled:
        raise fault(path, line, f"{doubled[0]!r} stands in this list twice.")
    return values


def _spoken_of(node: Any, path: Path) -> str:
    value = scalar_of(node, path)
    if value != " ".join(value.lower().split()) or not value:
        raise fault(path, node.start_mark.line + 1,
                    f"{value!r}: spoken forms are lower case, with single blanks and never empty.")
    return value


def _words_of(node: Any, path: Path) -> dict[str, str]:
    return mapping_of(node, path, None, _spoken_of)


def _verbs_of(node: Any, path: Path) -> dict[str, tuple[str, ...]]:
    return mapping_of(node, path, None, list_of)


def _scale_of(node: Any, path: Path) -> dict[str, float]:
    def number(value: Any, where: Path) -> float:
        try:
            return float(scalar_of(value, where))
        except ValueError as error:
            raise fault(where, value.start_mark.line + 1, f"{value.value!r} is no number.") from error

    return mapping_of(node, path, None, number)


def _terms_of(node: Any, path: Path) -> dict[str, TermForms]:
    readers: dict[str, Callable[[Any, Path], Any]] = dict.fromkeys(LIST_KEYS, list_of)
    readers |= {"scaled": _scale_of, "note": scalar_of}

    def term(value: Any, where: Path) -> TermForms:
        return TermForms(line=value.start_mark.line + 1, **mapping_of(value, where, TERM_KEYS, readers))

    return mapping_of(node, path, None, term)


def write_spoken(file: SpokenFile) -> str:
    """The file's text; writing what was read gives the same text, line for line."""
    lines = [*file.header, f"kind: {file.kind}", f"inflect: {file.inflect}"]
    if file.plurals:
        lines += ["plurals:", *(f"  {_quoted(k)}: {_quoted(v)}" for k, v in file.plurals.items())]
    if file.irregular:
        lines += ["irregular:", *(f"  {_quoted(k)}: [{', '.join(map(_quoted, v))}]" for k,
                                  v in file.irregular.items())]
    lines.append("terms:")
    for term, forms in file.terms.items():
        lines.append(f"  {_quoted(term)}:")
        for key in LIST_KEYS:
            if values := getattr(forms, key):
                lines += _list_lines(key, values)
        if forms.scaled:
            lines.append(f"    scaled: {{{', '.join(f'{_quoted(k)}: {v:g}' for k, v in forms.scaled.items())}}}")
        if forms.note:
            lines.append(f"    note: {_quoted(forms.note)}")
    return "\n".join(lines) + "\n"


def _list_lines(key: str, values: tuple[str, ...]) -> list[str]:
    """`    key: [a, b,` broken before WIDTH, the rest set in under the first value."""
    lines, line = [], f"    {key}: ["
    indent = " " * len(line)
    for number, value in enumerate(values):
        piece = _quoted(value) + ("," if number + 1 < len(values) else "]")
        if len(line) + len(piece) + 1 > WIDTH and line.strip() != f"{key}: [":
            lines.append(line.rstrip())
            line = indent
        line += piece + " "
    return [*lines, line.rstrip()]


def _quoted(value: str) -> str:
    """The value as YAML, in double quotes only where plain text would be read as something else."""
    plain = _PLAIN.fullmatch(value) and value.lower() not in _RESERVED and not value.endswith(" ")
    if plain and ": " not in value and not value.endswith(":"):
        return value
    return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'


def main(paths: list[str]) -> None:
    """Put files of spoken forms in shape: python -m intake.vocabulary.grammar vocab/spoken/*.yaml"""
    for name in paths:
        path = Path(name)
        path.write_text(write_spoken(read_spoken(path)), encoding="utf-8")


if __name__ == "__main__":
    import sys

    main(sys.argv[1:])
