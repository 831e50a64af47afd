"""How a name would be said: letter-to-sound rules for English-like names, as a recognizer or a person writes them.

The sound alphabet has one character a sound:

    consonants  p b t d k g f v s z T(hin) D(is) S(hip) Z(Asia) C(hip) J(ob) m n N(sing) l r w y h
    vowels      i(see) I(sit) e(set) a(sat) A(lot) O(law) u(too) U(book) @(cut, about) R(fur)
                E(day) Y(high) o(go) W(now) Q(boy)
    digits      themselves; numbers in words are digits too, so that they can be compared exactly

Our own rules, made for invented names; they need not be right for every word of English, only
alike for spellings that sound alike.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

from intake.vocabulary.digits import join_numbers, readings

LETTER_NAMES = {
    "a": "E", "b": "bi", "c": "si", "d": "di", "e": "i", "f": "ef", "g": "Ji", "h": "EC", "i": "Y", "j": "JE",
    "k": "kE", "l": "el", "m": "em", "n": "en", "o": "o", "p": "pi", "q": "kyu", "r": "Ar", "s": "es", "t":
    "ti", "u": "yu", "v": "vi", "w": "d@b@lyu", "x": "eks", "y": "wY", "z": "zi",
}

# Everyday words that the rules would say wrongly; a recognizer writes names with them.
_EXCEPTIONS = {
    "the": "D@", "a": "@", "of": "@v", "was": "w@z", "said": "sed", "have": "hav", "are": "Ar", "is": "Iz",
    "as": "az", "has": "haz", "his": "hIz", "to": "tu", "do": "du", "who": "hu", "what": "w@t", "there": "Der",
    "their": "Der", "they": "DE", "been": "bIn", "does": "d@z", "done": "d@n", "gone": "gOn", "come": "k@m",
    "comes": "k@mz", "some": "s@m", "one": "w@n", "two": "tu", "you": "yu", "your": "yOr", "door": "dOr",
    "floor": "flOr", "eye": "Y", "oh": "o", "foreign": "fOr@n", "here": "hir", "were": "wR", "give": "gIv",
    "live": "lIv", "love": "l@v", "move": "muv", "once": "w@ns", "only": "onli", "any": "eni", "many": "meni",
    "put": "pUt", "full": "fUl", "pull": "pUl", "bull": "bUl", "wolf": "wUlf", "women": "wImIn", "blood":
    "bl@d", "flood": "fl@d", "head": "hed", "dead": "ded", "bread": "bred", "great": "grEt", "break": "brEk",
    "steak": "stEk", "heart": "hArt", "bear": "ber", "wear": "wer", "this": "DIs", "that": "Dat", "these":
    "Diz", "those": "Doz", "then": "Den", "than": "Dan", "with": "wID", "mark": "mArk", "mk": "mArk", "dac":
    "dak", "mr": "mIstR", "mrs": "mIsIz", "dr": "dAktR", "doctor": "dAktR", "knoll": "nol", "isle": "Yl",
    "aisle": "Yl", "island": "Yl@nd", "choir": "kwYR", "hour": "WR", "our": "WR", "iron": "YRn", "sew": "so",
    "shoe": "Su", "people": "pip@l", "answer": "ansR", "sword": "sOrd", "build": "bIld", "built": "bIlt",
    "quay": "ki", "tongue": "t@N", "debt": "det", "doubt": "dWt", "castle": "kas@l",
}

# what stands before / the letters / what follows / the sounds; for each letter the first rule that fits counts
_RULES_TEXT = r"""/augh/t/O  /augh//O  /aigh//E  /ai/r/e  /ai//E  /ay//E  /au//O  /aw//O  /ae//E  /are/$/er  /arr//ar
w|wh|qu/ar/[^aeiou]|$/Or  /ar/[aeiou]/ar  /ar//Ar  /alk//Ok  /all//Ol  /al/[dt]/Ol  w|wh|qu/a/[dlnpstz]/A
/a/[bcdfgklmnpstvz]es?$/E  /a/ste$/E  /ah//A  /a/tion/E  /a/$/@  /a//a
/bb//b  /b//b
/chr//kr  /chl//kl  /ch//C  /ck//k  /cc/[eiy]/ks  /cc//k  /cqu//kw  /c/[eiy]/s  /c//k
/dge/$/J  /dge//J  /dg/[iy]/J  /dd//d  /d//d
/eau//o  /eigh//E  /ee//i  /ear/[dnlt]/R  /ear//ir  /ea/d/e  /ea//i  /ei//E  /ey/$/i  /ey//E  /eu//yu  /ew//u
/ere/$/ir  /err//er  /er/[aeiou]/er  /er//R
[sxz]|sh|ch|c|g/es/$/Iz  [td]/ed/$/Id  [aeiouy].*/ed/$/d  [aeiouy].*/es/$/z  [aeiouy].*/e/$/
[aeiouy].*/e/(ly|ment|ness|less|ful|ford|ham|ton|s?worth|wood|gate)$/  [aeiouy].*[^aeiouy]/en/s?$/@n
[aeiouy].*[^aeiouy]/et/s?$/It  /e/[bcdfgklmnpstvz]e$/i  /e/$/i  /e//e
/ff//f  /f//f
^/gn//n  ^/gh//g  /gh/t/  /gh//  /gg//g  /gue/$/g  /gu/[ei]/g  /ge/$/J  /gy/$/Ji  /g//g
^/h/[aeiouy]/h  [aeiou]/h/$/  [aeiou]/h/[^aeiou]/  /h//h
/igh//Y  /ie/$/i  /ie//i  /ia//i@  /io//i@  /ir/[aeiou]/Yr  /irr//ir  /ir//R  /i/[bcdfgklmnpstvz]es?$/Y
^[^aeiou]{0,2}/i/(nd|ld)$/Y  /i/$/i  /i//I
/j//J
^/kn//n  /kk//k  /k//k
[^aeiouylr]/le/$/@l  [^aeiouylr]/les/$/@lz  /ll//l  /l//l
/mb/$/m  /mm//m  /m//m
/ng/s?$/N  /ng/[bcdfhjkmnpqstvwxyz]/N  /nge/s?$/nJ  /ng//Ng  /nk//Nk  /nn//n  /n//n
/oa//o  /oi//Q  /oy//Q  /oor//Or  /oo/[kd]/U  /oo//u  /ought//Ot  /ough//o  /ould//Ud  /our//Or  /ous/$/@s  /ou//W
/ow/s?$/o  /ow//W  w/or/[^aeiou]/R  /ore/$/Or  /orr//Or  /or//Or  /old//old  /oll//ol  /olk//ok  /olm//om  c/omb/es?$/um
/o/[bcdfgklmnpstvz](es?|o)$/o  /ost/$/ost  /oh//o  /o/$/o  [aeiouy].*[^aeiouy]/on/s?$/@n
[aeiouy].*[^aeiouy]/o/n[dst]|r/@  /o//A
/ph//f  /pp//p  ^/ps//s  /p//p
/que/$/k  /qu//kw  /q//k
/rh//r  /rr//r  /r//r
/sch//S  /sh//S  /ssion//S@n  /sion//Z@n  /stle/$/s@l  /ss//s  /sc/[eiy]/s  /sm/$/z@m  [aeiouyrlmnbdgvw]/s/$/z
[aeiou]/s/[aeiou]/z  /s//s
/tch//C  /th//T  /tion//S@n  /tial//S@l  /ture/$/CR  /tt//t  /tz//ts  /t//t
/ure/$/yur  /urr//R  /ur/[aeiou]/ur  /ur//R  /ui//u  /ue//u  /u/[bcdfgklmnpstvz]es?$/u  /ull/$/Ul  /u/$/u  /u//@
/vv//v  /v//v
^/wr//r  /wr/ig/r  /wh//w  [aeiou]/w/$/  /w//w
^/x//z  /x//ks
^/y/[aeiou]/y  ^[^aeiouy]*/y/$/Y  /y/s?$/i  /y/[bcdfgklmnpstvz]es?$/Y  /y//I
/zz//z  /z//z
"""

_Rule = tuple[re.Pattern[str] | None, str, re.Pattern[str] | None, str]


@lru_cache(maxsize=1)
def _rules() -> dict[str, list[_Rule]]:
    rules: dict[str, list[_Rule]] = {}
    for rule in _RULES_TEXT.split():
        before, letters, after, sounds = rule.split("/")
        rules.setdefault(letters[0], []).append((
            re.compile(f"(?:{before})$") if before else None, letters, re.compile(after) if after else None, sounds))
    return rules


@lru_cache(maxsize=65536)
def word_phones(word: str) -> str:
    """The sounds of one lower-case word without digits: "ravensholt" is "ravenSolt" in the alphabet above."""
    if word in _EXCEPTIONS:
        return _EXCEPTIONS[word]
    sounds, at = [], 0
    while at < len(word):
        for before, letters, after, said in _rules().get(word[at], ()):
            if (word.startswith(letters, at) and (before is None or before.search(word[:at]))
                    and (after is None or after.match(word, at + len(letters)))):
                sounds.append(said)
                at += len(letters)
                break
        else:
            at += 1  # no letter of ours
    return re.sub(r"(.)\1+", r"\1", "".join(sounds))


_TOKEN = re.compile(r"\d+(?:st|nd|rd|th|s|'s)?(?![a-z\d])|\d+|[^\W\d_]+(?:'[^\W\d_]+)?", re.IGNORECASE)
_ROMAN = {"i": "1", "ii": "2", "iii": "3", "iv": "4", "v": "5", "vi": "6", "vii": "7", "viii": "8", "ix": "9",
          "x": "10"}
_VOWEL = re.compile(r"[aeiouy]")


def plain(text: str) -> str:
    """The text without accents and typographic signs; the digits of any script as 0 to 9."""
    apart = unicodedata.normalize("NFKD", text.replace("’", "'").replace("ß", "ss").replace("ø", "o"))
    return "".join(str(unicodedata.digit(c)) if c.isdigit() else c for c in apart if not unicodedata.combining(c))


def tokens_of(text: str) -> list[str]:
    """Words, letters and digits of a text; numbers in words as digits, marks as "mark" and a digit."""
    found = []
    for token in join_numbers(plain(text).replace("/", " ").split()):
        found += [re.sub(r"(?<=\d)(?:st|nd|rd|th|'?s)$", "", t, flags=re.IGNORECASE) for t in _TOKEN.findall(token)]
    return _marks(join_numbers(found))


def _marks(tokens: list[str]) -> list[str]:
    out: list[str] = []
    for token in tokens:
        joined = re.fullmatch(r"(?:mk|mark)([ivx]+)", token.lower())
        if joined and joined[1] in _ROMAN:
            out += ["mark", _ROMAN[joined[1]]]
        elif out and out[-1].lower() in ("mark", "mk") and token.lower() in _ROMAN:
            out += [_ROMAN[token.lower()]]
        else:
            out.append(token)
    return out


def _is_spelled(tokens: list[str], at: int) -> bool:
    """Whether a token of letters is said letter by letter ("HV", "h", "vx" beside digits)."""
    token = tokens[at]
    if token.lower() in ("dac", "mk", "mr", "mrs", "dr"):
        return False
    if len(token) == 1:
        beside = (*tokens[max(0, at - 1):at], *tokens[at + 1:at + 2])
        return token.lower() != "a" or any(t.isdigit() or len(t) == 1 for t in beside)
    if not _VOWEL.search(token.lower()):
        return len(token) <= 4
    if token.isupper() and len(token) <= 3:
        return True
    return len(token) <= 2 and any(t.isdigit() for t in tokens[at + 1:at + 2])


def spell(letters: str) -> str:
    """The letters' names one after the other: "hv" is "ECvi"."""
    return "".join(LETTER_NAMES.get(letter, "") for letter in letters.lower())


def phones(text: str) -> str:
    """The sounds of a name or of heard words, digits kept: "HV-46" and "H V forty-six" are both "ECvi46"."""
    return _sounds(tokens_of(text))


def variants(text: str) -> tuple[str, ...]:
    """The ways a text may be said, likeliest first (at most five).

    Beside `phones`: short capitals as a word ("DAC"), letters spelled one by one as the word they
    make ("D-R-A-V-I-K"), a c before e or i said as k ("Cessing" for a name in K), and a digit
    before D or T as tens, as "six D" and "sixty" are all but one sound ("M6 Dmono" for "M60 mono").
    """
    tokens = tokens_of(text)
    readings = [_sounds(tokens)]
    words = _sounds(tokens, spelled=False)
    if any(_is_spelled(tokens, at) and len(t) > 1 and _VOWEL.search(t.lower()) for at, t in enumerate(tokens)):
        readings.append(words)
    if joined := _joined_letters(tokens):
        readings.append(_sounds(joined))
    hard = [re.sub(r"^[Cc](?=[eiyEIY])", "k", t) if not t.isdigit() else t for t in tokens]
    if hard != tokens:
        readings.append(_sounds(hard))
    if (tens := _as_tens(tokens)) != tokens:
        readings += [_sounds(tens), _sounds(_as_tens(tokens, rest=False))]
    return tuple(dict.fromkeys(reading for reading in readings if reading))[:5]


def _sounds(tokens: list[str], *, spelled: bool = True) -> str:
    return "".join(
        t if t.isdigit() else spell(t) if _is_spelled(tokens,
                                                      at) and (spelled or len(t) == 1) else word_phones(t.lower())
        for at, t in enumerate(tokens))


def with_digits_said(text: str) -> str:
    """The sounds with digits said in words: "6SN7" is "sIksesensev@n", which may be heard as "success and seven"."""
    said = [readings(t)[0].replace("-", " ").split() if t.isdigit() else [t] for t in tokens_of(text)]
    tokens = [word for words in said for word in words]
    return _sounds(tokens)


def _joined_letters(tokens: list[str]) -> list[str]:
    """The tokens with each run of three or more single letters as one word; empty where there is none."""
    text = "".join(t.lower() if len(t) == 1 and t.isalpha() else " " + t + " " for t in tokens).split()
    return text if text != [t.lower() if len(t) == 1 else t for t in tokens] and any(len(t) > 2 for t in text) else []


def _as_tens(tokens: list[str], *, rest: bool = True) -> list[str]:
    """The tokens with a digit before D or T as tens; the rest of "Dmono" is a word, or (at the end) left to others."""
    out: list[str] = []
    for token in tokens:
        glued = re.fullmatch(r"[DT](|[a-z]{3,})", token)
        if glued and out and re.fullmatch(r"\d*[2-9]", out[-1]):
            out[-1] += "0"
            out += [glued[1]] if glued[1] and (rest or token is not tokens[-1]) else []
        else:
            out.append(token)
    return out
