"""Who does what, and whether it's so: words for people outside the shop, whose doing a verb tells of, what is only supposed."""

from __future__ import annotations

from intake.language.reading import Reading

PERSONS = frozenset(
    ["him", "her", "someone", "somebody", "customer", "customers", "client", "owner", "owners", "lady", "gentleman", "gent", "man", "woman", "guy", "guys", "bloke", "blokes", "chap", "fella", "fellow", "feller", "lad", "lass", "kid", "boy", "girl", "student", "widow", "widower", "vicar", "priest", "doctor", "dentist", "neighbor", "neighbour", "friend", "mate", "cousin", "uncle", "aunt", "auntie", "aunty", "brother", "sister", "brothers", "sisters", "mother", "father", "dad", "mum", "mom", "son", "daughter", "nephew", "niece", "wife", "husband", "school", "church", "club", "college", "university", "station", "theatre", "theater", "temple", "trust", "museum", "family", "people", "folk", "folks", "mob", "crowd", "couple", "colleague", "choir", "orchestra", "pub", "hotel", "bar", "cafe", "restaurant", "library", "council", "parish", "teacher", "musician", "band", "regular", "collector", "pal", "buddy", "dude", "punter", "mister", "missus", "mr", "mrs", "ms", "miss", "dr", "herr", "frau", "reverend", "colonel", "captain", "professor", "sir", "coach", "uncle's", "grandfather", "grandmother", "grandson", "landlord", "tenant", "lawyer", "executor", "heirs", "heir", "consignor", "seller", "person", "party"]
)
SHOP = frozenset(["i", "we", "i've", "we've", "i'd", "we'd", "i'm", "we're", "us", "shop", "boss", "gaffer", "governor", "ourselves", "myself"])
_OTHERS = frozenset(["he", "she", "they", "he's", "she's", "they've", "he'd", "she'd", "they'd", "who", "who'd", "who's", "nobody", "someone", "somebody", "they're", "he'll", "she'll", "they'll"])
_NOT_WHO = frozenset(["a", "an", "the", "his", "her", "our", "my", "this", "that", "some", "one", "old", "young", "of", "their"])


def is_person(reading: Reading, start: int, end: int, reach: int = 4) -> bool:
    """Whether the words from start on name somebody: a word for a person, or a written name, before any stop."""
    tokens = reading.text.tokens
    for i in range(start, min(end, start + reach)):
        token = tokens[i]
        word = token.norm[:-2] if token.norm.endswith("'s") else token.norm
        if word in PERSONS or word == "them":
            return True
        thing = reading.within(i, i + 1, "maker", "unit_type", "part", "accessory")
        if thing:
            return False
        if token.capital and word not in SHOP and word not in _NOT_WHO:
            return True
        if token.after or (word not in _NOT_WHO and i > start + 1):
            return False
    return False


def doer(reading: Reading, start: int, at: int) -> str:
    """Who does what the verb at `at` says, by the words start..at before it: "shop", "other" or "" (nobody is named)."""
    tokens = reading.text.tokens
    for i in range(at - 1, max(start, at - 8) - 1, -1):
        word = tokens[i].norm
        if word in SHOP:
            return "shop"
        if word in _OTHERS or (word[:-2] if word.endswith("'s") else word) in PERSONS:
            return "other"
        if tokens[i].capital and i > start and not reading.within(i, i + 1, "maker", "unit_type"):
            return "other"
    return ""


def supposed(reading: Reading, at: int) -> bool:
    """Whether an "if" reaches the word; "unless I tell you different" supposes nothing."""
    tokens = reading.text.tokens
    return any(
        not (s.cue == "unless" and s.cue_end < len(tokens) and tokens[s.cue_end].norm in {"i", "told", "otherwise", "we"})
        for s in reading.contexts.over(at, "hypothetical")
    )


def denied(reading: Reading, start: int, end: int, reach: int = 99) -> bool:
    """Whether a negation before the words start..end reaches them ("not a trade-in" covers the article too)."""
    scopes = [*reading.contexts.over(start, "negated"), *reading.contexts.over(end - 1, "negated")]
    return any(s.cue_start < start and start - s.cue_end <= reach for s in scopes)
