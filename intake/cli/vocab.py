"""`intake vocab`: the shop's own makers, models, places, terms and aliases; what is recognized, and what clashes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from intake.cli import common
from intake.cli.common import JsonOption, ShopOption

if TYPE_CHECKING:
    from intake.vocabulary.recognize import Finding

KINDS_OF_WORDS = ("maker", "model", "place", "term", "alias")
ADD_FORMS = {
    "maker": "intake vocab add maker Corvane",
    "model": 'intake vocab add model Corvane AI-350 --type "integrated amplifier"',
    "place": 'intake vocab add place "shelf B2"',
    "term": 'intake vocab add term part "tape counter"',
    "alias": 'intake vocab add alias "hull would" maker Haldwick',
}
ENTRY = Annotated[str, typer.Argument(metavar="WHAT", help="maker, model, place, term or alias.")]
FIELDS = Annotated[list[str], typer.Argument(metavar="WORDS...", help="See the examples in this command's help.")]


def register(app: typer.Typer) -> None:
    """Add the command `vocab` with its parts."""
    vocab = typer.Typer(no_args_is_help=True, rich_markup_mode=None,
                        help="The words this shop uses: import, add, remove, check, test, list, export.")
    vocab.command("import")(import_)
    vocab.command()(add)
    vocab.command()(remove)
    vocab.command()(check)
    vocab.command("test")(try_)
    vocab.command("list")(list_)
    vocab.command()(export)
    app.add_typer(vocab, name="vocab")


def import_(
    file: Annotated[Path, typer.Argument(metavar="FILE",
                                         help="CSV with a heading (maker,model,unit_type or location), "
                                                              "or JSON.")],
    json_: JsonOption = False, shop: ShopOption = None,
) -> None:
    """Add makers, models and places from a file. Doing it again adds nothing; bad rows are named, good ones kept.

    JSON looks like this: {"makers": ["Corvane"], "models": {"Corvane": ["AI-350", {"model": "CP-12",
    "unit_type": "phono stage"}]}, "locations": ["shelf B2"]}
    """
    from intake.outcome import EXIT_PARTLY
    from intake.vocabulary.shopfile import import_vocabulary

    result = import_vocabulary(file, common.settings(shop).vocab)
    if json_:
        common.print_json({"file": str(file), "added": result.added, "already": result.already,
                           "bad_rows": [{"line": line, "reason": reason} for line, reason in result.bad_rows]})
    else:
        common.say(f"{file.name}: {result.added} added, {result.already} already there"
                   + (f", {len(result.bad_rows)} rows to look at:" if result.bad_rows else "."))
        for line, reason in result.bad_rows:
            common.say(f"  line {line}: {reason}")
    if result.bad_rows:
        raise typer.Exit(EXIT_PARTLY)


def add(
    what: ENTRY, words: FIELDS,
    type_: Annotated[str | None, typer.Option("--type", metavar="TYPE", help="Unit type of a model.")] = None,
    json_: JsonOption = False, shop: ShopOption = None,
) -> None:
    """Add one word of the shop's own.

    intake vocab add maker Corvane

    intake vocab add model Corvane AI-350 --type "integrated amplifier"

    intake vocab add place "shelf B2"

    intake vocab add term part "tape counter"

    intake vocab add alias "hull would" maker Haldwick
    """
    folder = common.settings(shop).vocab
    added = _add(folder, what, words, type_)
    said = " ".join(words)
    if json_:
        common.print_json({"what": what, "words": words, "added": added})
    else:
        common.say(f"Added {what}: {said}" if added else f"Already there: {said}")


def _add(folder: Path, what: str, words: list[str], type_: str | None) -> bool:
    from intake.vocabulary import shopfile

    if what not in KINDS_OF_WORDS:
        raise _usage(f"{what!r} is nothing a shop keeps.", f"One of: {', '.join(KINDS_OF_WORDS)}.")
    if type_ and what != "model":
        raise _usage("--type is for models only.", f"Like this: {ADD_FORMS['model']}")
    match what, words:
        case "maker", [maker]:
            return shopfile.add_maker(folder, maker)
        case "model", [maker, model]:
            return shopfile.add_model(folder, maker, model, type_)
        case "place", [place]:
            return shopfile.add_place(folder, place)
        case "term", [kind, term]:
            return shopfile.add_term(folder, kind, term)
        case "alias", [heard, kind, meant]:
            return shopfile.add_alias(folder, heard, kind, meant)
    raise _usage(f"{len(words)} words are not right for a {what}.", f"Like this: {ADD_FORMS[what]}")


def _usage(message: str, hint: str) -> Exception:
    from intake.errors import UsageError

    return UsageError(message, hint=hint)


def remove(what: ENTRY, words: FIELDS, json_: JsonOption = False, shop: ShopOption = None) -> None:
    """Take a word of the shop's own away again; a maker goes with its models. Records are not touched.

    intake vocab remove model Corvane AI-350

    intake vocab remove alias "hull would"
    """
    from intake.errors import NotFoundError
    from intake.vocabulary import shopfile

    if what not in KINDS_OF_WORDS:
        raise _usage(f"{what!r} is nothing a shop keeps.", f"One of: {', '.join(KINDS_OF_WORDS)}.")
    folder = common.settings(shop).vocab
    count = shopfile.remove(folder, "location" if what == "place" else what, *words)
    if not count:
        raise NotFoundError(f"the shop has no {what} {' '.join(words)!r}.", path=folder,
                            hint="See: intake vocab list")
    if json_:
        common.print_json({"what": what, "words": words, "removed": count})
    else:
        common.say(f"Removed {what}: {' '.join(words)}" + (f" ({count} entries)" if count > 1 else ""))


def _shop_or_none(shop: Path | None) -> Path | None:
    """The shop folder, or None with a remark where the current folder is no shop: then the trade's words alone."""
    from intake.errors import ShopError

    try:
        return common.settings(shop).shop
    except ShopError:
        import os

        if common.shop_folder(shop) is not None or os.environ.get("INTAKE_SHOP"):
            raise
        common.remark("No shop here: only the words shipped with the program.")
        return None


def check(json_: JsonOption = False, shop: ShopOption = None) -> None:
    """Find forms with two meanings, entries that nothing leads to, and makers that sound alike."""
    from intake.cli import text
    from intake.outcome import EXIT_FAILED
    from intake.vocabulary.check import check_vocabulary

    remarks = check_vocabulary(_shop_or_none(shop))
    mistakes = [remark for remark in remarks if remark.is_mistake]
    if json_:
        common.print_json({"ok": not mistakes, "remarks": [
            {"what": r.what, "kind": r.kind, "entry": r.entry, "detail": r.detail, "mistake": r.is_mistake}
            for r in remarks]})
    else:
        for remark in remarks:
            common.say(f"{remark.what:11} {remark.kind:10} {remark.entry}: {remark.detail}")
        near = len(remarks) - len(mistakes)
        common.say(f"{text.count(len(mistakes), 'mistake')}; {text.count(near, 'pair')} of makers that sound alike.")
    if mistakes:
        raise typer.Exit(EXIT_FAILED)


def try_(
    text: Annotated[str, typer.Argument(metavar="TEXT", help="Words as they are spoken or as they were heard.")],
    json_: JsonOption = False, shop: ShopOption = None,
) -> None:
    """Show what is recognized in a text, where, and why: spoken forms, and names that sound alike."""
    from intake.vocabulary.load import load_vocabulary
    from intake.vocabulary.recognize import Recognizer
    from intake.vocabulary.sounds import index_of

    vocabulary = load_vocabulary(_shop_or_none(shop))
    found = Recognizer(vocabulary, index_of(vocabulary)).find(text)
    if json_:
        common.print_json({"text": text, "found": [_as_data(f) for f in found]})
        return
    if not found:
        common.say("Nothing is recognized here.")
    for finding in found:
        for line in _lines(finding):
            common.say(line)


def _lines(finding: Finding) -> list[str]:
    """A finding for a person: the words, then each meaning with its reason."""
    if finding.sound is not None:
        candidate = finding.sound.candidate
        name = f"{candidate.maker} {candidate.canonical}".strip()
        return [f"{finding.text!r}: {candidate.kind} {name}? {finding.why}"]
    from intake.vocabulary.recognize import reason

    return [f"{finding.text!r}: {phrase.kind.replace('_', ' ')} {phrase.canonical} - {reason(phrase)}"
            for phrase in finding.phrases]


def _as_data(finding: Finding) -> dict[str, Any]:
    data: dict[str, Any] = {"start": finding.start, "end": finding.end, "words": finding.text, "why": finding.why}
    if finding.sound is None:
        return {**data, "how": "spoken form", "meanings": [
            {"kind": p.kind, "canonical": p.canonical, "source": p.source, "ambiguous": p.ambiguous}
            for p in finding.phrases]}
    hit = finding.sound
    return {**data, "how": "sounds alike", "kind": hit.candidate.kind, "canonical": hit.candidate.canonical,
            "maker": hit.candidate.maker or None, "score": hit.candidate.score, "margin": round(hit.margin, 4),
            "runner_up": hit.runner_up.canonical if hit.runner_up else None}


def list_(
    what: Annotated[str | None, typer.Argument(metavar="[KIND]", help="Only this kind: maker, model, part, symptom, "
                                                                     "alias, ...")] = None,
    all_: Annotated[bool, typer.Option("--all",
                                       help="The trade's spoken forms too, not the shop's own alone.")] = False,
    json_: JsonOption = False, shop: ShopOption = None,
) -> None:
    """List the shop's own words; with a kind of the trade (or --all) its terms with their spoken forms."""
    from intake.vocabulary.load import load_vocabulary

    folder = _shop_or_none(shop)
    vocabulary = load_vocabulary(folder)
    kinds = {phrase.kind for phrase in vocabulary.phrases} | {"maker", "model", "location", "alias"}
    kind = {"place": "location"}.get(what or "", what)
    if kind is not None and kind not in kinds:
        raise _usage(f"kind {what!r} is unknown.", f"Known: {', '.join(sorted(kinds))}.")
    forms: dict[tuple[str, str], list[str]] = {}
    for phrase in vocabulary.phrases:
        own = phrase.source != "trade"
        wanted = (own or all_) if kind is None else kind in (phrase.kind, phrase.source)
        if wanted:
            forms.setdefault((phrase.kind, phrase.canonical), []).append(
                phrase.words + ("?" if phrase.ambiguous else ""))
    if json_:
        common.print_json([{"kind": k, "canonical": c, "forms": f} for (k, c), f in forms.items()])
        return
    for (k, canonical), said in forms.items():
        common.say(f"{k:15} {canonical}: {', '.join(said)}")
    if not forms:
        common.say("The shop has no words of its own yet. Add some: intake vocab import FILE")


def export(
    output: Annotated[Path | None, typer.Option("-o", "--output", metavar="FILE", help="Where to write it (default: "
                                                                                      "standard output).")] = None,
    json_: JsonOption = False, shop: ShopOption = None,
) -> None:
    """Write the shop's own words as JSON; `intake vocab import` reads it back."""
    import json

    from intake.vocabulary import shopfile
    from intake.vocabulary.shopwords import replace_file

    data = shopfile.export(common.settings(shop).vocab)
    if output is None:
        common.print_json(data)
        return
    replace_file(output, json.dumps(data, ensure_ascii=False, indent=1) + "\n")
    if json_:
        common.print_json({"file": str(output)})
    else:
        common.say(f"{output}: {len(data['makers'])} makers, {sum(map(len, data['models'].values()))} models, "
                   f"{len(data['locations'])} places.")
