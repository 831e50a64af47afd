"""What made a value more or less sure, in words; signals that are at rest say nothing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from intake.cli import text

#: Signal that is on or off -> what it says.
ON = {
    "hedge": "the speaker was unsure", "repair": "corrected while speaking", "replaced": "heard differently at first",
    "nameless unit": "the unit has neither maker nor model", "type unknown": "the unit's type is not known",
    "short tale": "little was said of the unit", "told late": "told long after the unit was named",
    "unknown": "not in the vocabulary", "like": "taken for a name that sounds alike",
    "ambiguous": "the words can mean something else",
}
#: Signal that counts -> one of them, several of them.
COUNTED = {
    "other readings": ("another reading", "other readings"),
    "other makers": ("another maker was named", "other makers were named"),
    "other models": ("another model was named", "other models were named"),
    "other types": ("another type was named", "other types were named"),
}
AT_REST = 0.005                                        # below it a share shows as 0 %


def in_words(signals: Mapping[str, float]) -> str:
    """The signals that are not at rest: "read on a plate, 97 % sure; its words are 47 % sure"; "" where all are."""
    return "; ".join(said for name, number in sorted(signals.items()) for said in _said(name, number))


def _said(name: str, number: float) -> Iterator[str]:
    if name == "probability":
        if number < 1 - AT_REST:
            yield f"the least clear of its words is {number:.0%} sure"
    elif abs(number) < AT_REST or name == "heard":     # heard: from sound, as nearly everything
        return
    elif name == "plate":
        yield f"a plate says {'the same' if number > 0 else 'otherwise'}, {abs(number):.0%} sure"
    elif name == "rough":
        yield f"the words around it are {number:.0%} unclear"
    elif name in ON:
        yield ON[name]
    elif name in COUNTED:
        one, many = COUNTED[name]
        yield one if number == 1 else text.count(int(number), one, many)
    else:
        yield f"{name} {number:g}"
