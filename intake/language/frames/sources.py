"""How the shop came by a unit: bought, traded in, on consignment, or a customer's that goes back repaired.

Three ranks of telling: the plain label ("consignment"), a statement that can mean nothing else ("we're selling it for a
widow"), and a hint ("it's out of an estate"). Within a unit the highest rank stands, of one rank the last.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from re import Pattern

from intake.language.clauses import Clause
from intake.language.frames.facts import Fact
from intake.language.frames.lines import Line, line
from intake.language.frames.people import denied, doer, is_person, supposed
from intake.language.reading import Reading
from intake.language.terms import Mention

LABEL, STATED, HINTED = "source", "source as told", "source by hint"
RANKS = {LABEL: 3, STATED: 2, HINTED: 1}
_IT = r"(?:it|them|this|these|those|that|one|both|all|this one|that one|these two|the pair|the lot|the set|the whole lot|the thing|the two)"
_MONEY = r"(?:[$£€]? ?\d[\d,.]*|hundred|thousand|grand|bucks?|quid|dollars?|pounds?|euros?|rupees?|lakhs?|tenner|fiver|cash|peanuts|change|(?:ten|twenty|thirty|forty|fifty|sixty|seventy|eighty|ninety)(?: \w+)?|one|two|three|four|five|six|seven|eight|nine|eleven|twelve|fifteen|next to nothing)"
_CURRENCY = r"(?:[$£€] ?\d[\d,.]*|bucks?|quid|dollars?|pounds?|euros?|rupees?|lakhs?|grand|tenner|fiver|cash)"
_SELLER = r"(?:auction|auctioneers?|saleroom|sale room|sale|estate|clearance|market|fair|house|widow|dealer|liquidat\w+|closeout|close out|closing down|online|swap meet|hamfest|rally|pawn ?shop|charity shop|thrift store|skip|dump|tip|scrappy|collection|probate|family|executors?)"
_WORK = r"(?:repairs?|repaired|repairing|mending|mended|fix|fixed|fixing|serviced?|servicing|overhaul(?:ed)?|restor(?:ation|ed)|rebuil(?:d|t)|recap(?:ped)?|retubed?|refoam(?:ed)?|looked at|seen to|sorted(?: out)?|put right|a look|a going over|checked(?: over)?|a check ?up|a once over|tune up)"
_LEFT = r"(?:brought|brings?|sent|sends|left|leaves|dropped|given|gave|handed|shipped|posted|came|comes|come|couriered|mailed)"
_SELL = r"(?:sell|selling|sold|flog|flogging|shift|shifting|offer|offering|hawk|hawking|market|marketing|move|moving|list|listing)"


@dataclass(frozen=True)
class Template:
    """A pattern of words that tells a source; `who` in it must be a person, `by` is who must be doing it."""

    canonical: str
    pattern: Pattern[str]
    rank: str = STATED
    by: str = ""  # "shop": not somebody else; "other": not the shop


def _t(canonical: str, pattern: str, rank: str = STATED, by: str = "") -> Template:
    return Template(canonical, re.compile(r"(?<!\S)" + pattern + r"(?!\S)"), rank, by)


TEMPLATES = (
    # on consignment
    _t("consignment", rf"{_SELL} {_IT} (?:separately |only |just |on )?(?:for|on behalf of) (?P<who>\S+)", by="shop"),
    _t("consignment", r"(?:for|on) (?:the )?(?:account|behalf) of \S+"),
    _t("consignment", r"on (?:the |his |her |their |an? )?(?:\S+ ){0,2}?\S*(?:'s|s'|his|her|their) behalf"),
    _t("consignment", rf"(?:lets?|letting|asked|asks|asking|wants?|wanted|would like|he'd like|she'd like|they'd like|who'd like|got) (?:us|me|the shop) (?:to )?{_SELL}"),
    _t("consignment", rf"(?:wants?|wanted|would like|he'd like|she'd like|they'd like|who'd like|who wants) {_IT} (?:sold|to be sold|to sell|shifted|moved on|found a (?:new )?home)", by="other"),
    _t("consignment", rf"(?:left|kept|keeps|put|placed|brought|given|gave|handed|parked|deposited|has|have) (?:{_IT} |the \S+ )?(?:in |here |over )?(?:with us |with me |to us |in the shop )?(?:for selling|to sell|for sale|to be sold|for us to sell|for me to sell)", by="other"),
    _t("consignment", r"(?:get|gets|take|takes|taking|getting|keep|keeps|earn|on) (?:a|our|the|the usual|our usual|\S+) (?:\S+ )?(?:cut|commission|slice|percentage)"),
    _t("consignment", r"(?:we|shop|we'll|i|and) (?:get|gets|take|takes|keep|keeps) (?:\S+ ){1,2}(?:percent|per cent)"),
    _t("consignment", r"(?:gets?|get|receives?|paid|money|share|pay) (?:\S+ ){0,4}?(?:when|once|after|if and when) (?:it|they|this|that|the \S+) (?:sells?|goes|go|is sold|are sold|has sold)"),
    _t("consignment", rf"(?:to )?find {_IT} a (?:new )?(?:buyer|home)"),
    _t("consignment", rf"(?:we|i) (?:only|just|merely) (?:sell|list|show) {_IT}"),
    _t("consignment", r"(?:split|splitting|share|sharing) (?:it |the (?:money|proceeds|takings|sale) )?(?:with (?:him|her|them|the owner)|fifty fifty|sixty forty|seventy thirty)"),
    # somebody's own, to be repaired
    _t("customer repair", r"(?:customer|client|paying|private)(?:'s|s)? (?:repairs?|jobs?|own|piece|set|unit|gear|machine|property|amp|amplifier|deck|turntable|tuner|player|receiver|speakers?|pair)", rank=LABEL),
    _t("customer repair", rf"(?:wants?|wanted|would like|he'd like|she'd like|they'd like|who'd like|would love|he'd love|she'd love|needs?|expects?|is after having) {_IT} (?:all |just |simply |only )*(?:back|fixed|mended|repaired|serviced|restored|sorted|going|working|running|done up|looked at|seen to|put right|overhauled|up and running|playing|to (?:stop|work|run|play|sing)(?: \S+)?)", by="other"),
    _t("customer repair", rf"(?:wants?|would like) to have {_IT} (?:back|fixed|mended|repaired|restored)", by="other"),
    _t("customer repair", rf"{_LEFT} (?:{_IT} )?(?:in |off |over |back |here |round |along )?(?:with us |to us |to me |with me )?(?:for|to get|to have|to be|to us for)(?: it| them| us to| a| an| its| full| some)* {_WORK}", by="other"),
    _t("customer repair", rf"in (?:to us |with us |here |just |only )?for (?:a |an |some |its |his |her |their |full |another |proper |major |minor )*{_WORK}"),
    _t("customer repair", r"(?:go|goes|going|fly|flies|travels) (?:straight |right |also |home )*(?:back|home) (?:home )?(?:to|with) (?P<who>\S+)"),
    _t("customer repair", r"to (?:him|her|them) (?:it|they|the pair|these) (?:goes?|go) (?:also )?back", rank=HINTED),
    _t("customer repair", r"(?:repair(?:s|ing)?|fixing|mending|servicing|restoring)(?: job| work)?(?: it| them| this| these)? for (?P<who>\S+)", by="shop"),
    _t("customer repair", r"(?:belongs?|belonging|property of) (?:to )?(?P<who>\S+)", rank=HINTED),
    _t("customer repair", r"(?:he's|she's|they're|he is|she is|they are|owner is|owner's) not (?:selling|parting with (?:it|them))", rank=HINTED),
    _t("customer repair", r"(?:he|she|they|owner|who) (?:fetch(?:es)?|collects?|picks? (?:it|them) up|will (?:fetch|collect)) (?:it|them|on \S+|next week|when)", rank=HINTED),
    _t("customer repair", r"(?:pays|paying|paid) (?:us|me|the shop) to (?:fix|mend|repair|restore|service|recap|sort)"),
    _t("customer repair", r"(?:a|another|repair|little|small|big) job for (?P<who>\S+)"),
    # traded in
    _t("trade-in", rf"(?:trade[sd]?|trading|swapped|swaps) {_IT} in", rank=LABEL),
    _t("trade-in", rf"(?:swapped|swaps|swopped|traded|trades|exchanged|bartered) {_IT} (?:\S+ )?(?:for|against|towards?) (?:an?|the|some|our|his|her|two|something|that)(?! (?:new|fresh|good|better|known) ones?)(?! \S+ (?:cap|belt|fuse)s?)", by="other"),
    _t("trade-in", r"(?:in|as) (?:part |full |partial )?(?:payment|exchange|trade|swap) (?:for|against|towards?|on) (?:an?|another|the|his|her|some|something|one)"),
    _t("trade-in", rf"(?:came|comes|come|taken|took|take|accepted|handed|knocked|credited)(?: {_IT})?(?: in| over| off| back)? (?:against|towards?) (?:an?|the|his|her|their|another|some|something|our|one|the price)"),
    _t("trade-in", rf"(?:took|taken|take|taking|accepted|had) {_IT} (?:in |back )?(?:on|as|in) (?:a )?(?:trade|part exchange|part ex|swap|px)", rank=LABEL),
    _t("trade-in", r"(?:source|came|it's|is|was|as|in|by|on|straight|simple|another|same) (?:an? )?(?:trade|swap)(?= [.,]|$)"),
    # bought
    _t("purchase", rf"(?:paid|handed over|coughed up|shelled out|forked out|laid out|parted with|spent) (?:\S+ ){{0,5}}?{_MONEY}(?! (?:volts|watts|hours|times))", by="shop"),
    _t("purchase", rf"(?:cost|costs|set) (?:us|me|the shop) (?:back )?(?:\S+ ){{0,4}}?{_MONEY}"),
    _t("purchase", r"(?:took|taken|had|bought) (?:\S+ ){1,4}?off (?:his|her|their) hands", by="shop"),
    _t("purchase", rf"(?:gave|give|given|handed|slipped|offered) (?:\S+ ){{1,7}}?{_CURRENCY}(?: \S+)? for (?:{_IT}|the)", by="shop"),
    _t("purchase", rf"(?:gave|give|handed|slipped) (?:him|her|them|the \S+|an? \S+) (?:\S+ ){{0,3}}?{_MONEY} for (?:{_IT}|the)", by="shop"),
    _t("purchase", rf"(?:picked|got|grabbed|scored|won|nabbed|snagged|snapped|took|rescued|found|had) {_IT} (?:up |myself |cheap )?(?:at|from|off|out of|in|through) (?:an?|the|that|this|old|some|one|their|his|her) (?:\S+ ){{0,3}}?{_SELLER}", by="shop"),
    _t("purchase", rf"(?:bought|purchased|acquired) (?:{_IT} )?(?:in|outright|from|off|at|together|as|with|privately|unseen|blind|myself|ourselves|by us)", rank=LABEL, by="shop"),
    _t("purchase", r"(?:buy|bought|purchased?|acquired|purchase) (?:the )?(?:lot|contents|collection|whole \S+|house|estate)", rank=LABEL, by="shop"),
    _t("purchase", r"(?:came|comes|is|are|it's|they're|was|were|straight|fresh)? ?(?:out of|from|off|part of|through) (?:an?|the|that|this|some|old|one) (?:\S+ ){0,3}?(?:auction|saleroom|estate|house clearance|clearance|closeout|close out|liquidation|bankruptcy|probate|estate sale|garage sale|yard sale|boot sale|jumble sale|house contents)", rank=HINTED),
)
_LABELS = {
    "purchase": re.compile(r"purchas|bought|buy|paid"),
    "trade-in": re.compile(r"trade|exchange|part ex|p ex|px|swap"),
    "consignment": re.compile(r"consign|commission|sale or return"),
    "customer repair": re.compile(r"(?:customer|client)s? (?:repair|job|unit|machine)|repair job|service job|(?:repair|service|work) (?:ticket|order)"),
}
_STATED = re.compile(r"sell|behalf|cut$|percentage|broker|repair|fixed|service|mending|fixing|warranty|sold (?:it|them|this|us)|we own|cash|won |customer|client")
_NOT_BEFORE = {"ours": {"of"}, "estate": {"real"}, "bought": {"being"}, "trade": {"the"}}
_NOT_AFTER = {"estate": {"agent", "agents", "car", "wagon"}, "the estate": {"agent", "agents", "car", "wagon"}, "an estate": {"agent", "agents", "car", "wagon"}, "bought": {"new", "by"}, "for cash": {"and", "flow"}}


def find_sources(reading: Reading, clause: Clause, sentence: tuple[int, int], mentions: list[Mention]) -> list[Fact]:
    """The sources told in one clause, in order; a denied one comes as "unsource"."""
    facts = [f for m in mentions if (f := _by_phrase(reading, m, clause)) is not None]
    if clause.end - clause.start < 2:
        return facts
    words = line(reading.text.tokens, clause.start, min(sentence[1], clause.end + 10))
    facts += [f for t in TEMPLATES for f in _by_template(reading, words, t, clause)]
    return sorted(facts, key=lambda f: (f.start, RANKS[_head(f)]))


def _head(fact: Fact) -> str:
    head = fact.rule.split(":", 1)[0]
    return head if head in RANKS else LABEL


def rank(fact: Fact) -> int:
    """How plainly a source was told, 1 to 3."""
    return RANKS[_head(fact)]


def _by_phrase(reading: Reading, mention: Mention, clause: Clause) -> Fact | None:
    if mention.ambiguous or _other_sense(reading, mention):
        return None
    verb = mention.phrase.split()[0]
    by = doer(reading, clause.start, mention.start)
    if by == "other" and verb in {"bought", "paid", "purchased", "buy", "cash", "swapped"} and mention.canonical == "purchase":
        return None
    if mention.canonical == "purchase" and not by and reading.within(clause.start, mention.start, "part"):
        return None
    label = _LABELS[mention.canonical].search(mention.phrase)
    rule = LABEL if label else STATED if _STATED.search(mention.phrase) else HINTED
    return _judged(reading, mention.canonical, mention.start, mention.end, rule, mention.phrase)


def _other_sense(reading: Reading, mention: Mention) -> bool:
    """Words that only look like a source: "a friend of ours", "a real estate agent", "that was a customer"."""
    tokens = reading.text.tokens
    before = tokens[mention.start - 1].norm if mention.start else ""
    after = tokens[mention.end].norm if mention.end < len(tokens) else ""
    if before in _NOT_BEFORE.get(mention.phrase, ()) or after in _NOT_AFTER.get(mention.phrase, ()):
        return True
    if mention.phrase in {"belongs to", "belong to"} and after in {"the", "this", "that", "a", "an", "these", "those", "one"}:
        return not is_person(reading, mention.end, len(tokens))
    last = mention.phrase.split()[-1]
    if last in {"customer", "client", "consignor", "consigner"} and mention.canonical in {"customer repair", "consignment"}:
        word = tokens[mention.end - 1].norm
        if not word.endswith(("'s", "s'")):
            return not (before in {"to", "for"} or mention.phrase.startswith(("belong", "for ", "repair", "return")))
        return bool(after) and not tokens[mention.end - 1].after and after in {"approval", "okay", "ok", "decision", "go", "answer", "here", "coming", "waiting", "say", "call", "yes", "signature", "number", "name", "always", "not", "at", "just", "got", "been"}
    return False


def _by_template(reading: Reading, words: Line, template: Template, clause: Clause) -> list[Fact]:
    out = []
    for start, end, match in words.find(template.pattern):
        if start >= clause.end:
            break
        if template.by and doer(reading, _head_of(reading, start), start) == ("other" if template.by == "shop" else "shop"):
            continue
        if template.canonical == "purchase" and not doer(reading, _head_of(reading, start), start) and reading.within(
            clause.start, start, "part"
        ):
            continue
        if "who" in match.groupdict():
            who = words.token(match.start("who"))
            if match.group("who") in {"us", "me", "parts", "sale", "spares", "cash"} or not is_person(reading, who, clause.end + 10):
                continue
        fact = _judged(reading, template.canonical, start, end, template.rank, match.group(0))
        if fact is not None:
            out.append(fact)
    return out


def _head_of(reading: Reading, at: int) -> int:
    return reading.text.sentence_at(at).start


def _judged(reading: Reading, value: str, start: int, end: int, rule: str, words: str) -> Fact | None:
    """The fact, its denial, or nothing where it is only asked, planned or somebody else's."""
    contexts = reading.contexts
    if denied(reading, start, end, reach=4):
        return Fact("unsource", value, start, end, f"denied: {words}")
    if contexts.has(start, "negated", "other") or supposed(reading, start) or (contexts.has(start, "todo") and rule != STATED):
        return None
    return Fact("source", value, start, end, f"{rule}: {words}")
