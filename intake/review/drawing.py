"""The review's screen as styled text: what is drawn where, at any width; no keys, no terminal.

Spoken and typed words go in as plain text with a style beside them, never as markup. Whatever a colour or a style
says, a letter or a mark says too, so that nothing is lost without them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.cells import cell_len
from rich.style import Style
from rich.text import Text

from intake.records.heads import CLOCK, LINK, PHOTO
from intake.review.context import Heard
from intake.review.desk import Desk
from intake.review.pictures import Blocks
from intake.review.rows import NEW, Row, is_whole, mate, name_of
from intake.review.words import clock, cut, plain, value_text

Styled = tuple[str, str]                       # words and their style

HEARD, ASKED, CURSOR, QUIET, STRONG = "bold underline", "bold yellow", "reverse", "dim", "bold"
FEWEST_LINES = 5                               # of a card that can spare one to tell that there are more
LABEL = 11                                     # columns of a field's name
KEYS = ("Space right   1-9 take   a-z type   A-Z go to line, = types there   Bksp blank   → later   , undo   ; hear   "
        "! photos   PgDn next unit   Tab whole unit   ? help")
SHORT_KEYS = "Space ok 1-9 take a-z type A-Z go, = type →later ,undo ;hear PgDn next Tab ?help"


def flow(pieces: Iterable[Styled], width: int, *, most: int = 99, indent: str = "") -> list[Text]:
    """Styled words in lines no wider than `width`; what does not fit in `most` lines ends in an ellipsis."""
    lines, line, empty = [], Text(), True
    for text, style in pieces:
        for word in text.split():
            room = width - cell_len(line.plain) - (0 if empty else 1)
            if cell_len(word) > room and not empty:
                lines.append(line)
                line, empty = Text(indent), True
            line.append("" if empty else " ", style if not empty and style == HEARD else "")
            line.append(cut(word, max(1, width - cell_len(line.plain))), style)
            empty = False
    lines.append(line)
    if len(lines) > most:
        lines = lines[:most]
        lines[-1].truncate(width - 2)
        lines[-1].append(" …")
    return lines


def header(desk: Desk, width: int) -> Text:
    """One line: how much is left, which walk, which record."""
    left = len(desk.queue)
    what = name_of(desk.sighting) if desk.sighting is not None else "the walk itself"
    unit = f" ({desk.sighting.unit})" if desk.sighting is not None else ""
    count = f" {left} to settle " if left else " all settled "
    rest = cut(f" {plain(desk.walk)}   {what}{unit}", width - len(count) - 1)
    text = Text(count, "reverse bold")
    text.append(rest, "bold")
    return text


def question(desk: Desk, width: int, rows: int) -> list[Text]:
    """The line under the cursor at length: value, why to look, other readings, the words around."""
    row = desk.row
    if row is None:
        return flow([("No record is here.", STRONG)], width)
    also = mate(row, desk.rows)
    both = [(f"and {also.label.upper()}:", ASKED), (value_line(also), STRONG)] if also is not None else []
    lines = flow([(f"{row.label.upper()}:", ASKED if row.asked else STRONG), (value_line(row), STRONG), *both,
                  (sureness(row), QUIET)], width, most=2, indent="  ")
    if row.asked:
        lines += flow([("look:", ASKED), (row.why, "")], width,
                      most=1 if row.kind == LINK and rows < 14 else 3, indent="      ")
    if row.kind == LINK:
        return [*lines, *side_by_side(desk, row, width, rows - len(lines))][:rows]
    if row.choices:
        readings = [piece for n, (shown, _) in enumerate(row.choices, 1) for piece in ((f"{n})", ASKED), (shown, ""))]
        lines += flow([("or:", QUIET), *readings], width, most=2, indent="    ")
    if row.kind == PHOTO and row.photo is not None:
        at = f"{row.photo.recording} {clock(row.photo.recording_second)}" if row.photo.recording_second else "no time"
        lines += flow([("taken:", QUIET), (plain(at), ""), (plain(row.photo.path), QUIET)], width, most=2, indent="  ")
    for heard in desk.talk.around(row.walk, row.evidence) if row.evidence else ():
        room = rows - len(lines)
        if room > 0:
            lines += words(heard, width, room)
    return lines[:rows]


def value_line(row: Row) -> str:
    """The value, or what the line is there for."""
    return "type what it is, to add it" if row.kind == NEW else row.said


def sureness(row: Row) -> str:
    """Who stands behind the value."""
    if row.kind == NEW or (not row.id and row.kind != PHOTO):
        return ""
    if row.state != "open":
        return f"[{row.state} by a person]"
    if is_whole(row) or row.kind == CLOCK:     # no reading, so no chance that it is right
        return ""
    return f"[{row.confidence:.0%} likely]" if row.kind == LINK else f"[{row.confidence:.0%} sure]"


def words(heard: Heard, width: int, rows: int) -> list[Text]:
    """The words of one place, the heard part between »« and underlined, so that its middle always shows."""
    where = place(heard.recording, heard.start_s, heard.photo)
    pieces: list[Styled] = [piece for p in heard.pieces for piece in (_marked(p.text) if p.heard else [(p.text, "")])]
    for each in (40, 14, 10, 7, 4, 2, 1):
        lines = flow([(f"{where}", QUIET), *_near(pieces, each)], width, most=99, indent="  ")
        if len(lines) <= rows:
            return lines
    return lines[:rows]


def place(recording: str, start_s: float, photo: str | None) -> str:
    """Where words stand: in a recording at a second, or on a photo."""
    return f"read on photo {plain(photo)}" if photo else f"{plain(recording)} {clock(start_s)}"


def _marked(text: str) -> list[Styled]:
    """What was heard between »«; a comma or stop after it stays outside."""
    bare = text.rstrip(".,;:?!")
    return [(f"»{bare}«{text[len(bare):]}", HEARD)]


def _near(pieces: Sequence[Styled], each: int) -> list[Styled]:
    """At most so many words on either side of what was heard."""
    out = []
    for n, (text, style) in enumerate(pieces):
        parts = text.split()
        if style != HEARD and len(parts) > each * (1 if n in (0, len(pieces) - 1) else 2):
            head = parts[:each] if n > 0 else []
            tail = parts[-each:] if n < len(pieces) - 1 else []
            parts = [*head, "…", *tail]
        out.append((" ".join(parts), style))
    return out


def side_by_side(desk: Desk, row: Row, width: int, rows: int) -> list[Text]:
    """This record and the unit on file, field by field; where they differ, a ≠ stands between."""
    unit = desk.on_file(row.name)
    half = min(44, (width - 14) // 2)
    head = Text(" " * 11)
    head.append(cut(f"this walk's {desk.sighting.local_id if desk.sighting else ''}", half).ljust(half), STRONG)
    head.append(f"   {row.name}, seen {unit.sightings[-1].date if unit.sightings else '?'}", STRONG)
    lines = [head]
    for name in ("serial", "maker", "model", "unit_type", "location", "stage", "cosmetic"):
        mine = desk.sighting.value(name) if desk.sighting is not None else None
        theirs = unit.value(name)
        if mine is None and theirs is None:
            continue
        differs = mine is not None and theirs is not None and mine != theirs
        line = Text().append(f"{name.replace('_', ' '):<11}", QUIET)
        for value, end in ((mine, " ≠ " if differs else "   "), (theirs, "")):
            style = QUIET if value is None else STRONG if differs else ""
            line.append(cut(value_text(name, value), half).ljust(half if end else 0), style)
            line.append(end, ASKED)
        lines.append(line)
    others = sum(r.kind == LINK for r in desk.rows) - 1
    none = f"   3 none of these {others + 1}" if others else ""
    return [*lines[:max(1, rows - 1)], Text(f"1 the same thing   2 another one{none}", ASKED)]


def card(desk: Desk, width: int, rows: int) -> list[Text]:
    """The record's lines around the cursor: those with a question first, each with its capital.

    Where some do not fit, the first or last line tells how many, and how to reach them.
    """
    total = len(desk.rows)
    first = max(0, min(desk.cursor - rows // 2, total - rows))
    lines = [card_line(row, width, here=n == desk.cursor)
             for n, row in enumerate(desk.rows[first:first + rows], first)]
    if rows >= FEWEST_LINES and first > 0:
        lines[0] = _more("▲", first + 1, "↑, Home", width)
    if rows >= FEWEST_LINES and first + rows < total:
        lines[-1] = _more("▼", total - first - rows + 1, "↓, End", width)
    return lines


def _more(sign: str, count: int, keys: str, width: int) -> Text:
    """A line in place of those that do not fit."""
    return Text(cut(f" {sign} {count} more lines of this card: {keys}", width), STRONG)


def card_line(row: Row, width: int, *, here: bool) -> Text:
    """One line of the card."""
    mark = "?" if row.asked else "+" if row.kind == NEW else "=" if row.state != "open" else " "
    text = Text("▸" if here else " ")
    text.append(mark, ASKED if row.asked else QUIET)
    text.append(f"{row.letter or ' '} ", STRONG)
    text.append(f"{row.label.removeprefix('+ '):<{LABEL}} ", QUIET)
    said = "" if row.kind == NEW else row.why if not row.said and row.asked else row.said
    text.append(cut(said, width - cell_len(text.plain)), QUIET if row.value is None and not row.asked else "")
    if here:
        text.pad_right(max(0, width - cell_len(text.plain)))
        text.stylize(CURSOR)
    return text


def picture(blocks: Blocks) -> Text:
    """A photo in half blocks: each cell an upper and a lower colour."""
    text = Text(no_wrap=True)
    for n, line in enumerate(blocks):
        text.append("\n" if n else "")
        for upper, lower in line:
            text.append("▀", Style(color=f"rgb({upper[0]},{upper[1]},{upper[2]})",
                                   bgcolor=f"rgb({lower[0]},{lower[1]},{lower[2]})"))
    return text


def joined(lines: Sequence[Text], rows: int) -> Text:
    """Lines as one text, filled up to so many."""
    return Text("\n", no_wrap=True).join([*lines[:rows], *([Text()] * max(0, rows - len(lines)))])


def help_lines() -> list[str]:
    """The keys, by what they are for."""
    return HELP.splitlines()


HELP = """\
ANSWER THE LINE UNDER THE CURSOR
  Space        it is right as it stands
  1 ... 9      take that other reading; seen before: 1 the same thing, 2 not
  a letter     type what it is; the line opens with that letter
  =            type what it is, from nothing, whatever it begins with
  Enter        change what stands there, letter by letter
  Backspace    leave it blank; take an item away; a photo shows no unit
  while typing:  Tab or ↓ takes a word that is offered, Enter keeps, Esc drops
A CAPITAL goes to the line it stands before, and = then types there:
  B  goes to the maker     B =  types another maker     V to Z: a new item,
  V an issue  W service done  X something to do  Y what came with it
  Z a measurement        for example:  V =, then: left channel dead, Enter
  A capital and then a small letter are the beginning of a word (Du ...):
  it is typed on the line where you were before the capital

LOOK AND HEAR
  ;  hear these seconds     :  hear more around them
  !  the photos, large

GO
  → later: the next question, this one stays    ← the one you saw before
  ↑ ↓ another line of this card     Home, End   its first, its last
  Page Down, Page Up   the walk's next or last unit, asked about or not
  Tab   the unit as a whole: cut in two, join, remove, add, seen before, ...

CHANGE YOUR MIND
  ,  take back the last answer (again and again)     .  do it again
  +  yes, teach it (when the line above the keys offers to)

LEAVE
  Esc Esc, or Ctrl+Q: every answer is kept already; next time goes on here

MARKS:  ? look at it   = a person settled it   »words« what a value comes from"""
