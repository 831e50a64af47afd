"""The week as text for a terminal of any width."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

from intake.cli import text
from intake.report import words
from intake.report.lines import Thing, Week

MOST = 25                                              # lines of one list; the tables have all


def page(week: Week, shop: str) -> list[str]:
    """The lines of the report."""
    lines = text.wrap(f"{week.period.title}, {week.period.days}", to=None)
    lines += text.wrap(f"{shop}. {words.as_of(week)}")
    lines += text.wrap(words.walks_line(week))
    lines.append("")
    for _, about, said in words.in_short(week):
        lines += text.wrap(said, first=f"{text.pad(about, 11)} ", rest=" " * 12)
    for title, part in (("STUCK", _stuck), ("OVERDUE, AND DUE IN SEVEN DAYS", _due),
                        ("PARTS TO ORDER", _parts), ("CAME IN", _arrived), ("MOVED ON", _moved),
                        ("CUSTOMERS' PROPERTY, APART FROM STOCK", _owned), ("NOT SEEN", _unseen),
                        ("TO LOOK AT, AND HOW SURE THE RECORDS ARE", _sure), ("THE LAST TWELVE WEEKS", _chart)):
        lines += ["", title, *_capped(part(week))]
    return lines


def _capped(entries: Iterator[list[str]]) -> list[str]:
    lines = [line for entry in islice(entries, MOST) for line in entry] or ["  none"]
    if next(entries, None) is not None:
        lines.append("  and more: --format csv has all")
    return lines


def _entry(said: str) -> list[str]:
    return text.wrap(said, first="  ", rest="      ")


def _thing(thing: Thing) -> str:
    whose = ", customer's" if thing.whose == "customer's" else ""
    return f"{thing.id} {thing.name}{whose}{_warning(thing)}"


def _warning(thing: Thing) -> str:
    return f" [{words.warning(thing)}]" if thing.cautions else ""


def _stuck(week: Week) -> Iterator[list[str]]:
    if week.stuck:
        yield _entry(words.stuck_order(week))
    for kind, group in week.stuck:
        for at, line in enumerate(group):
            title = [f"  {words.KIND_TITLES[kind]}"] if at == 0 else []
            yield title + text.wrap(f"{_thing(line.unit)}: {words.waits_for(line)}; {words.facts(line.unit)}",
                                    first=f"    {text.pad(words.waited(line), 9)} ", rest=" " * 14)
    for line in week.work_waits:
        yield _entry(f"one job waits, {words.waited(line)}: {_thing(line.unit)}: {words.waits_for(line)}")


def _due(week: Week) -> Iterator[list[str]]:
    for line in (*week.overdue, *week.due):
        stuck = f" [stuck{': ' + line.waiting_on if line.waiting_on else ''}]" if line.stuck else ""
        yield _entry(f"{words.due_when(line)}: {line.work}, {_thing(line.unit)}{stuck}")


def _parts(week: Week) -> Iterator[list[str]]:
    for part in week.parts:
        waiting = f" ({part.waiting} said to wait for it)" if part.waiting else ""
        units = ", ".join(f"{need.unit.id} {need.unit.name}{words.ordered(need)}" for need in part.needs)
        yield _entry(f"{part.part}: {text.count(part.units, 'unit')}{waiting}: {units}")
    for at, line in enumerate(week.not_yet):
        title = [f"  {words.NOT_YET}"] if at == 0 else []
        yield title + text.wrap(f"{_thing(line.unit)}: {words.not_yet(line)}", first="    ", rest=" " * 8)


def _arrived(week: Week) -> Iterator[list[str]]:
    if week.arrived:
        yield _entry("by source: " + ", ".join(f"{name} {number}" for name, number in week.by_source))
        yield _entry("by type: " + ", ".join(f"{name} {number}" for name, number in week.by_type))
    for line in week.arrived:
        source = line.unit.source or "source not said"
        yield _entry(f"{line.on} {_thing(line.unit)}: {source}; {words.facts(line.unit)}")


def _moved(week: Week) -> Iterator[list[str]]:
    for line in week.moved:
        how = "" if line.way == "on" else f" [{words.WAYS[line.way]}]"
        yield _entry(f"{line.on} {_thing(line.unit)}: {line.before} -> {line.after}{how}")
    for thing, lines in words.done_by_unit(week):
        said = "; ".join(f"{done.what} {words.DONE[done.kind]}" for done in lines)
        yield _entry(f"{lines[0].on} {_thing(thing)}: {said}")


def _owned(week: Week) -> Iterator[list[str]]:
    for row in week.owned:
        numbers = "; ".join(f"{name} {number}" for name, field in words.OWNED.items()
                            if (number := getattr(row, field))) or "none"
        yield _entry(f"{words.OWNERS[row.whose]}: {numbers}")
    yield _entry(words.customers_line(week))
    for title, lines in words.customers_by_kind(week):
        for at, line in enumerate(lines):
            heading = [f"  {title}"] if at == 0 else []
            said = f"{line.unit.id} {line.unit.name}{_warning(line.unit)}: {words.kept(line)}"
            yield heading + text.wrap(said, first="    ", rest=" " * 8)


def _unseen(week: Week) -> Iterator[list[str]]:
    if week.unseen:
        yield _entry(words.unseen_count(week))
    for line in week.unseen:
        sold = "; listed, so perhaps sold" if line.sold else f"; {line.unit.stage or 'stage not said'}"
        yield _entry(f"{_thing(line.unit)}: last seen {words.days(line.days)} ago at {line.place}{sold}")


def _sure(week: Week) -> Iterator[list[str]]:
    sure = week.sure
    yield _entry(f"{text.count(sure.values, 'value')} from these days' walks, as they are now: {sure.flagged} asked "
                 f"about, {sure.accepted} accepted and {sure.corrected} corrected by people "
                 f"({words.percent(sure.reviewed, sure.values)} reviewed)")
    yield _entry(words.look_at(week))
    for thing, question in week.questions:
        yield _entry(f"? {_thing(thing) + ': ' if thing else ''}{words.field_of(question)}: {words.why_look(question)}")


def _chart(week: Week) -> Iterator[list[str]]:
    most = max(1, *(max(point.arrived, point.stuck) for point in week.chart))
    scale = min(1.0, 24 / most)
    for point in week.chart:
        came, stuck = ("#" * round(point.arrived * scale)), ("=" * round(point.stuck * scale))
        yield [f"  {point.week}  came in {point.arrived:>4} {came:<24} stuck {point.stuck:>4} {stuck}".rstrip()]
