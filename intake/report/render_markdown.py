"""The week as Markdown: for a mail, a wiki or a print-out that needs no browser."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping

from intake.records.cautions import Caution
from intake.report import words
from intake.report.lines import Quote, Thing, Week
from intake.report.weeks import day_in_words

_SIGNS = re.compile(r"([\\`*_{}\[\]<>#|~&@]|:(?=//)|(?<=www)\.|!(?=\[)|^[-+=]|^\d+(?=[.)]))")


def escaped(text: object) -> str:
    """Text that shows as it is, whatever Markdown reads it: signs escaped, one line, nothing that turns it around."""
    return _SIGNS.sub(r"\\\1", words.shown(text)).replace("\\<", "&lt;").replace("\\>", "&gt;").replace("\\&", "&amp;")


def markdown(week: Week, shop: str, cautions: Mapping[str, tuple[Caution, ...]] | None = None) -> str:
    """The report; every list has a heading, also where it is empty."""
    lines = [f"# {week.period.title}", "", f"{escaped(shop)}, {week.period.days}. {words.as_of(week)}  ",
             escaped(words.walks_line(week)), "", "## In short", ""]
    lines += [f"- **{about}:** {escaped(text)}" for _, about, text in words.in_short(week)]
    for heading, part in (("Stuck", _stuck), ("Overdue and due", _due), ("Parts to order", _parts),
                          ("Came in", _arrived), ("Moved on", _moved),
                          ("Customers' property, apart from stock", _owned), ("Not seen", _unseen),
                          ("To look at, and how sure the records are", _questions)):
        lines += ["", f"## {heading}", "", *part(week)]
    lines += ["", "## The last twelve weeks", "", *_table(("week", "came in", "stuck at its end"), (
        (point.week, str(point.arrived), str(point.stuck)) for point in week.chart))]
    if cautions:
        lines += ["", "## Cautions", "", *_cautions(cautions)]
    return "\n".join(lines) + "\n"


def _cautions(cautions: Mapping[str, tuple[Caution, ...]]) -> Iterator[str]:
    """Each caution once; one of a single unit with the unit it is for."""
    units: dict[Caution, list[str]] = {}
    for unit, listed in cautions.items():
        for caution in listed:
            units.setdefault(caution, []).append(unit)
    for caution, those in units.items():
        whose = f" ({', '.join(those)})" if caution.told else ""
        yield f"- **{caution.name}{whose}:** {escaped(caution.noted)}"


def _thing(thing: Thing) -> str:
    whose = ", customer's" if thing.whose == "customer's" else ""
    return f"**{escaped(thing.name)}** ({thing.id}{whose}){_warning(thing)}"


def _warning(thing: Thing) -> str:
    return f" **{escaped(words.warning(thing))}**" if thing.cautions else ""


def _said(quote: Quote | None) -> str:
    if quote is None:
        return ""
    return f" “{escaped(quote.words)}” ({escaped(quote.walk)} {words.clock(quote.start_s)})"


def _stuck(week: Week) -> Iterator[str]:
    if not week.stuck:
        yield "Nothing is stuck."
    else:
        yield words.stuck_order(week)
        yield ""
    for kind, group in week.stuck:
        yield f"### {words.KIND_TITLES[kind]} ({len(group)})"
        yield ""
        for line in group:
            yield (f"- {_thing(line.unit)}: {words.waited(line)}, since {day_in_words(line.since)}; "
                   f"{escaped(words.waits_for(line))}; {escaped(words.facts(line.unit))}.{_said(line.quote)}")
        yield ""
    for line in week.work_waits:
        yield (f"- One job waits, {words.waited(line)}: {_thing(line.unit)}, {escaped(words.waits_for(line))}."
               f"{_said(line.quote)}")


def _due(week: Week) -> Iterator[str]:
    if not week.overdue and not week.due:
        yield "Nothing is overdue or due."
    for line in (*week.overdue, *week.due):
        yield f"- {escaped(words.due_when(line))}: {escaped(line.work)}, {_thing(line.unit)}.{_said(line.quote)}"


def _parts(week: Week) -> Iterator[str]:
    if not week.parts:
        yield "No part is to order."
    else:
        yield from _orders(week)
    if week.not_yet:
        yield ""
        yield f"{words.NOT_YET}:"
        yield ""
    for line in week.not_yet:
        yield f"- {_thing(line.unit)}: {escaped(words.not_yet(line))}.{_said(line.quote)}"


def _orders(week: Week) -> Iterator[str]:
    yield f"{words.parts_count(week)}. A part that work waits for may be on order already."
    yield ""
    yield from _table(("part", "units", "of them wait for it", "for"), (
        (escaped(part.part), str(part.units), str(part.waiting),
         ", ".join(f"{escaped(need.unit.name)} {need.unit.id}{words.ordered(need)}" for need in part.needs))
        for part in week.parts))


def _arrived(week: Week) -> Iterator[str]:
    if not week.arrived:
        yield "Nothing came in."
        return
    yield "By source: " + ", ".join(f"{escaped(name)} {number}" for name, number in week.by_source) + "."
    yield "By type: " + ", ".join(f"{escaped(name)} {number}" for name, number in week.by_type) + "."
    yield ""
    for line in week.arrived:
        yield (f"- {words.short_day(line.on)}: {_thing(line.unit)}, {escaped(line.unit.source or 'source not said')}; "
               f"{escaped(words.facts(line.unit))}.{_said(line.quote)}")


def _moved(week: Week) -> Iterator[str]:
    if not week.moved and not week.done:
        yield "No unit changed its stage."
    for line in week.moved:
        yield (f"- {words.short_day(line.on)}: {_thing(line.unit)} {words.WAYS[line.way]}: {escaped(line.before)} to "
               f"{escaped(line.after)}{' (finished)' if line in week.finished else ''}.{_said(line.quote)}")
    for thing, lines in words.done_by_unit(week):
        said = "; ".join(f"{escaped(done.what)} {words.DONE[done.kind]}{_said(done.quote)}" for done in lines)
        yield f"- {words.short_day(lines[0].on)}: {_thing(thing)}: {said}."


def _owned(week: Week) -> Iterator[str]:
    yield from _table(("units", *words.OWNED), (
        (words.OWNERS[row.whose], *(str(getattr(row, name)) for name in words.OWNED.values())) for row in week.owned))
    yield ""
    yield words.customers_line(week)
    yield ""
    for title, lines in words.customers_by_kind(week):
        yield f"### {title} ({len(lines)})"
        yield ""
        for line in lines:
            yield (f"- **{escaped(line.unit.name)}** ({line.unit.id}){_warning(line.unit)}: "
                   f"{escaped(words.kept(line))}.")
        yield ""


def _unseen(week: Week) -> Iterator[str]:
    yield f"{words.unseen_count(week)}." if week.unseen else "Nothing is missing."
    yield ""
    for line in week.missing:
        yield (f"- {_thing(line.unit)}: last seen {words.days(line.days)} ago at {escaped(line.place)}, "
               f"{escaped(line.unit.stage or 'stage not said')}.")
    sold = [f"{escaped(line.unit.name)} {line.unit.id}" for line in week.perhaps_sold]
    if sold:
        yield f"- Listed before, so perhaps sold ({len(sold)}): {', '.join(sold)}."


def _questions(week: Week) -> Iterator[str]:
    yield words.look_at(week)
    sure = week.sure
    yield (f"Of {words.count(sure.values, 'value')} of these days' walks, {sure.flagged} are asked about now "
           f"({words.percent(sure.flagged, sure.values)}). People have accepted {sure.accepted} and corrected "
           f"{sure.corrected} of them ({words.percent(sure.reviewed, sure.values)} reviewed).")
    yield ""
    for thing, question in week.questions:
        about = f"{_thing(thing)}: " if thing else ""
        yield f"- {about}{escaped(words.field_of(question))}: {escaped(words.why_look(question))}"


def _table(head: Iterable[str], rows: Iterable[Iterable[str]]) -> Iterator[str]:
    names = list(head)
    yield "| " + " | ".join(names) + " |"
    yield "|" + " --- |" * len(names)
    for row in rows:
        yield "| " + " | ".join(row) + " |"
