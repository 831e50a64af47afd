"""The whole vocabulary, trade and shop together, ready for the speech and the language step."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path

from intake.vocabulary.folder import vocab_folder
from intake.vocabulary.names import all_forms, spoken
from intake.vocabulary.shopwords import ShopWords, read_shop
from intake.vocabulary.terms import CONTRACT_KINDS, Phrase, Vocabulary
from intake.vocabulary.trade import Trade, load_trade

__all__ = ["load_vocabulary", "vocab_folder"]


def load_vocabulary(shop: Path | None) -> Vocabulary:
    """The trade's words and those of the shop folder `shop` (None: the trade's alone).

    What a shop has taught, and its own terms, overrule the trade's meaning of the same words.
    Raises VocabularyError with file and line where a file breaks its grammar.
    """
    trade = _trade(vocab_folder())
    words = read_shop(shop / "vocab" if shop is not None else None)
    allowed = {kind: (*terms, *(t for k, t in words.terms if k == kind and t not in terms))
               for kind, terms in trade.allowed.items()}
    own = [*_shop_phrases(words), *_aliases(words)]
    overruled = {(p.kind, p.words) for p in own if p.source == "alias" or p.kind in CONTRACT_KINDS}
    phrases = dict.fromkeys([*(p for p in trade.phrases if (p.kind, p.words) not in overruled), *own])
    return Vocabulary(phrases=tuple(phrases), makers=words.makers, models=words.models, locations=words.locations,
                      allowed=allowed, scales=trade.scales)


@lru_cache(maxsize=2)
def _trade(folder: Path) -> Trade:
    return load_trade(folder)


def _shop_phrases(words: ShopWords) -> Iterator[Phrase]:
    named = [("maker", m) for m in words.makers] + [("model", m.name) for m in words.models]
    named += [("location", place) for place in words.locations] + list(words.terms)
    for kind, name in dict.fromkeys(named):
        for form, ambiguous in all_forms(kind, name):
            yield Phrase(form, kind, name, "shop", ambiguous)


def _aliases(words: ShopWords) -> Iterator[Phrase]:
    for heard, kind, canonical in words.aliases:
        yield Phrase(spoken(heard), kind, canonical, "alias")
