"""Vacuum-tube type designations: the two letter-and-digit systems, and the types that follow neither.

American (RETMA/EIA): heater volts, letters, number of useful elements, suffix (12AX7, 6SN7GTB).
European (Pro Electron): heater code, one letter a section, base and serial digits (ECC83), digits
before the last letters for special quality (E88CC). Rules and equal types: Radiotron Designer's
Handbook, 4th edition, and substitution lists.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from intake.vocabulary import digits

_AMERICAN = re.compile(
    r"(?P<heater>\d{1,3})(?P<letters>[A-HJ-NP-Z]{1,3})(?P<elements>1[0-2]|[1-9])"
    r"(?P<suffix>W?(?:GT|GX|G|MG|M)?W?[A-F]?[YX]?)")
_EUROPEAN = re.compile(r"(?P<heater>[ACDEGHKLPUVX])(?P<sections>[A-FHKLMYZ]{1,4})"
                       r"(?P<digits>[3-69]\d|8\d|18\d|[2589]\d\d)(?P<suffix>[ABS]?)")
_SPECIAL = re.compile(r"(?P<heater>[ACDEGHKLPUVX])(?P<digits>[3-69]\d|8\d|18\d|[2589]\d\d)(?P<sections>[A-FHKLMYZ]{1,3})")

_HEATER_EUROPEAN = {"A": "4 V", "C": "200 mA", "D": "1.4 V", "E": "6.3 V", "G": "5 V", "H": "150 mA", "K": "2 V",
                    "L": "450 mA", "P": "300 mA", "U": "100 mA", "V": "50 mA", "X": "600 mA"}
_SECTIONS = {"A": "diode", "B": "double diode", "C": "triode", "D": "power triode", "E": "tetrode", "F": "pentode",
             "H": "hexode or heptode", "K": "octode", "L": "power pentode", "M": "tuning indicator",
             "Y": "half-wave rectifier", "Z": "full-wave rectifier"}
_BASES = {"3": "octal", "4": "rimlock", "5": "magnoval", "8": "noval", "9": "miniature 7 pins"}
_HEATER_AMERICAN = {5: 5.0, 6: 6.3, 7: 6.3, 12: 12.6, 14: 12.6}  # 7 and 14: lock-in types, really 6.3 and 12.6
_FIRST_NUMBERS = frozenset({*range(20), *range(20, 61), 70, 117})


@dataclass(frozen=True)
class Designation:
    """What a type designation says. `elements` is the American last digit; `sections` and `base` are European."""

    tube: str
    system: str                      # "American", "European" or "registered" (follows neither)
    heater: str | None = None
    elements: int | None = None
    sections: tuple[str, ...] = ()
    base: str | None = None


def normalize(text: str) -> str:
    """The type as written on the glass: "el-34" is "EL34", "12 ax 7" is "12AX7", "OA2" is "0A2"."""
    joined = re.sub(r"[\s.\-/]+", "", text).upper()
    return re.sub(r"^O(?=[A-Z]\d)", "0", joined)


def read_designation(text: str) -> Designation | None:
    """What the designation says by its rules; None where it follows neither system and is not on the list."""
    tube = normalize(text)
    if tube in _REGISTERED:
        return Designation(tube, "registered")
    return _american(tube) or _european(tube) or (Designation(tube, "registered") if tube in _KNOWN else None)


def _american(tube: str) -> Designation | None:
    found = _AMERICAN.fullmatch(tube)
    if not found or int(found["heater"]) not in _FIRST_NUMBERS or (len(found["heater"]) > 1 and tube[0] == "0"):
        return None
    volts = int(found["heater"])
    heater = "cold cathode" if volts == 0 else f"{_HEATER_AMERICAN.get(volts, float(volts)):g} V"
    return Designation(tube, "American", heater, elements=int(found["elements"]))


def _european(tube: str) -> Designation | None:
    found = _EUROPEAN.fullmatch(tube) or _SPECIAL.fullmatch(tube)
    if not found:
        return None
    base = found["digits"]
    first = "8" if len(base) == 3 and base.startswith("1") else base[0]
    return Designation(tube, "European", _HEATER_EUROPEAN[found["heater"]],
                       sections=tuple(_SECTIONS[letter] for letter in found["sections"]), base=_BASES.get(first))


def is_tube_type(text: str) -> bool:
    """Whether this can be a tube type: it is on the list, or follows one of the two systems."""
    return read_designation(text) is not None


def is_known_tube(text: str) -> bool:
    """Whether this is a type on the list; safer than the rules where a model name could look alike."""
    return normalize(text) in _KNOWN


# Types that follow neither system: makers' and plain registration numbers, Russian and British service types.
_REGISTERED_LIST = """
01A 10 10Y 24A 26 27 45 46 47 50 71A 76 77 78 80 81 83 83V 84 2A3 211 205D 242C 262B 274A 274B 275A 300A 300B 310A 311B
328A 336A 348A 349A 350B 396A 404A 407A 417A 420A 421A 422A 437A 572B 717A 801A 805 807 811A 813 829B 833A 838 845 866A
1619 1625 1626 1635 2050 5670 5687 5691 5692 5693 5751 5814 5814A 5842 5879 5881 5963 5965 5998 5998A 6072 6072A 6080
6146 6146B 6189 6201 6211 6267 6336A 6386 6414 6463 6528 6550 6550A 6550C 6900 6922 6973 7025 7025A 7027 7027A 7044 7062
7119 7189 7189A 7199 7233 7247 7308 7316 7318 7320 7355 7408 7543 7544 7581 7581A 7586 7591 7591A 7728 7729 7730 7788
7868 8045G 8068 8298 8416 8417 8552 8895
KT61 KT63 KT66 KT77 KT88 KT90 KT94 KT99 KT100 KT120 KT150 KT170 PX4 PX25 DA30 DA100 U50 U52 U54 B65 B329 B339
B349 L63 N709 Z729 12E1 E34L EL34L EC8010 EC8020 E810F CV181 CV378 CV391 CV455 CV492 CV493 CV1985 CV4003 CV4004 CV4010
CV4014 CV4024 M8136 M8137 6C33C 6C33CB 6C45P 6C19P 6S4S 6S33S 6S45P 6S19P 6N1P 6N2P 6N3P 6N5P 6N6P 6N8S 6N9S 6N13S 6N16B
6N23P 6N30P 6H30 6H30PI 6P1P 6P3S 6P3SE 6P6S 6P14P 6P15P 6P36S 6P45S 6E5P 6Z4 5C3S 5Z3P 6D22S GU29 GU50 GU81 GM70 GMI11
VT25 VT52 VT231 150C2 108C1 SV83 SV811 SV572 T20 T40 EL3N EL11 EL12 EL12N EF11 EF12 EBL1 EBL21 ECH21 ECH11 AZ1 AZ4 AZ11
AZ12 AZ41 AD1 AL4 AL5 AF7 ABL1 ACH1 RE604 RES164 RGN1064 RGN2004 RV12P2000 LS50 F2A F2A11 EL156 UBL21 UCH21 E130L EL84M EM11 EM34 C3G C3M D3A 5S4M
"""
_REGISTERED = frozenset(_REGISTERED_LIST.split())

# Types in the two systems that shops meet; the rules also take others.
_SYSTEM_LIST = """
0A2 0A3 0B2 0B3 0C3 0D3 0Z4 1A5 1A7 1D8 1H5 1LA6 1N5 1R5 1S4 1S5 1T4 1U4 1U5 1V2 2B7 3A4 3A5 3Q4 3Q5 3S4 3V4 5AR4 5AS4 5AU4
5R4 5R4GB 5R4GY 5R4WGB 5T4 5U4 5U4G 5U4GB 5V3 5V4 5V4G 5V4GA 5W4 5X4 5Y3 5Y3GT 5Y4 5Z3 5Z4 6A3 6A5 6A6 6A7 6A8 6AB4 6AC7
6AF4 6AG5 6AG7 6AH4 6AH6 6AK5 6AK6 6AL5 6AL7 6AM8 6AN5 6AN8 6AQ5 6AQ8 6AR5 6AR6 6AS5 6AS7 6AS7G 6AS7GA 6AT6 6AU4 6AU5 6AU6
6AV6 6AX4 6AX5 6B4 6B4G 6B6 6B7 6B8 6BA6 6BC5 6BC8 6BD6 6BE6 6BF6 6BG6 6BH6 6BJ6 6BK5 6BK7 6BL7 6BL7GT 6BL8 6BM8 6BN6 6BN8
6BQ5 6BQ6 6BQ7 6BQ7A 6BR7 6BR8 6BS7 6BS8 6BW4 6BW6 6BX4 6BX6 6BX7 6BX7GT 6BY6 6BZ6 6BZ7 6BZ8 6C4 6C5 6C6 6C8 6CA4 6CA7 6CB5
6CB6 6CD6 6CG7 6CL6 6CM7 6CW5 6CX8 6CY7 6CZ5 6D6 6DE7 6DJ8 6DN7 6DQ5 6DQ6 6DR7 6DT8 6DY7 6E5 6EA7 6EA8 6EB8 6EH7 6EJ7 6EM7
6ER5 6ES8 6EU7 6EV5 6EW6 6EW7 6F5 6F6 6F6G 6F8 6F8G 6FG6 6FJ7 6FM7 6FQ5 6FQ7 6FY7 6G6 6G8 6GB5 6GF7 6GH8 6GK5 6GM5 6GM8 6GU7
6GV8 6GW8 6H6 6HB5 6HS6 6HU6 6J4 6J5 6J6 6J7 6JE6 6JN6 6JN8 6JS6 6JU8 6K6 6K6GT 6K7 6K8 6KD6 6KE8 6KG6 6KN8 6KT8 6KZ8 6L5 6L6
6L6G 6L6GA 6L6GB 6L6GC 6L6WGB 6L6WGC 6L7 6LB6 6LF6 6LN8 6LQ6 6LQ8 6LR8 6LU8 6LX8 6M5 6N6 6N7 6P5 6Q7 6R4 6R7 6RA8 6RV8 6S4 6S8
6SA7 6SC7 6SF5 6SF7 6SG7 6SH7 6SJ7 6SJ7GT 6SK7 6SL7 6SL7GT 6SN7 6SN7GT 6SN7GTA 6SN7GTB 6SQ7 6SR7 6T8 6T9 6U5 6U6 6U7 6U8 6U8A
6U10 6V3 6V4 6V6 6V6G 6V6GT 6V6GTA 6W4 6W6 6X4 6X5 6X5GT 6X8 6X9 6Y6 6Y6G 6Z5 6ZY5 7A4 7A5 7A7 7AF7 7AN7 7B4 7B5 7C5 7DJ8 7ES8
7F7 7F8 7H7 7HG8 7N7 7Q7 7Y4 7Z4 8BQ5 9AQ8 10GV8 11BM8 12A4 12A6 12AB5 12AC6 12AD7 12AE6 12AH7 12AL5 12AQ5 12AT6 12AT7 12AT7WA
12AT7WC 12AU6 12AU7 12AU7A 12AV6 12AV7 12AX4 12AX7 12AX7A 12AX7WA 12AX7WB 12AY7 12AZ7 12B4 12B4A 12BA6 12BE6 12BH7 12BH7A
12BL6 12BY7 12BY7A 12BZ7 12C5 12CX6 12DF7 12DM7 12DT8 12DW7 12DW8 12FQ7 12FQ8 12FX5 12GN7 12HG7 12J5 12J7 12K5 12KL8 12L6 12L8
12R5 12SA7 12SJ7 12SK7 12SL7 12SN7 12SN7GT 12SQ7 12SX7 12V6 12W6 13D7 13DE7 13EM7 14B6 14F7 14GW8 14N7 15CW5 16A8 17DE4 17EW8
17JN6 18GV8 19AU4 19T8 25C5 25L6 25Z5 25Z6 26LW6 30A5 32ET5 33GY7 35B5 35C5 35L6 35W4 35Z4 35Z5 36LW6 36MC6 38HE7 50A5 50B5
50C5 50CA10 50EH5 50L6 60FX5 70L7 117L7 117N7 117Z3 117Z6 0A2WA 5AR4WA 6AK5W 6EZ8 6EQ7 6HA5 6HG8 6HK5 6HM5 6HZ8 6AV5
6BF5 6BD5 6BG7 6BJ7 6BK4 6BU8 6BY5 6CK4 6CM6 6CS6 6CU5 6CU6 6DG6 6DS5 6EH5 6EM5 6FH8 6FV8 6JC8 8CG7 8FQ7 8CW5 8EB8 8GU7
DAF91 DAF96 DF91 DF96 DK91 DK96 DL92 DL94 DL96 DY86 EA50 EABC80 EAF42 EB34 EB41 EB91 EBC33 EBC41 EBC81 EBC90 EBC91 EBF80
EBF89 EC86 EC88 EC90 EC92 ECC31 ECC32 ECC33 ECC34 ECC35 ECC40 ECC81 ECC82 ECC83 ECC83S ECC84 ECC85 ECC86 ECC88 ECC91 ECC99
ECC180 ECC186 ECC189 ECC230 ECC802 ECC802S ECC803 ECC803S ECC808 ECF80 ECF82 ECF83 ECF86 ECF200 ECF201 ECF202 ECF801 ECF802
ECF803 ECH35 ECH42 ECH81 ECH83 ECH84 ECH200 ECL80 ECL82 ECL83 ECL84 ECL85 ECL86 ECLL800 ED500 EF36 EF37 EF37A EF39 EF40 EF41
EF42 EF50 EF80 EF83 EF85 EF86 EF89 EF91 EF92 EF93 EF94 EF95 EF97 EF98 EF183 EF184 EF800 EF804 EF804S EF806 EF806S EH90 EK90
EL32 EL33 EL34 EL34B EL35 EL36 EL37 EL38 EL39 EL41 EL42 EL50 EL60 EL81 EL82 EL83 EL84 EL85 EL86 EL88 EL90 EL91 EL95 EL500
EL502 EL503 EL504 EL505 EL508 EL509 EL519 EL802 EL803 EL821 EL822 ELL80 EM34 EM35 EM80 EM81 EM84 EM85 EM87 EM800 EMM801 EMM803
EY51 EY81 EY82 EY83 EY84 EY86 EY87 EY88 EY500 EZ35 EZ40 EZ41 EZ80 EZ81 EZ90 GY501 GZ30 GZ31 GZ32 GZ33 GZ34 GZ37 HBC90 HBC91
HCC85 HF93 HF94 HK90 HL92 HL94 HY90 LCF80 LCL82 LCL84 LL86 PABC80 PC86 PC88 PC900 PCC84 PCC85 PCC88 PCC89 PCC189 PCF80 PCF82
PCF86 PCF200 PCF201 PCF801 PCF802 PCH200 PCL81 PCL82 PCL83 PCL84 PCL85 PCL86 PCL200 PCL805 PD500 PF86 PFL200 PL36 PL81 PL82 PL83
PL84 PL95 PL500 PL504 PL505 PL508 PL509 PL519 PL802 PM84 PY81 PY82 PY83 PY88 PY500 PY500A UABC80 UAF42 UBC41 UBC81 UBF80 UBF89
UCC85 UCH42 UCH81 UCL82 UCL83 UEL51 UF41 UF42 UF80 UF85 UF89 UL41 UL84 UM80 UM84 UY41 UY82 UY85 XCC82 XCC189
E55L E80CC E80CF E80F E80L E81CC E81L E82CC E83CC E83F E84L E88C E88CC E90CC E91H E92CC E99F E180CC E180F E182CC E186F E188CC
E280F E283CC E288CC
"""
_SYSTEM = frozenset(_SYSTEM_LIST.split())
_KNOWN = _REGISTERED | _SYSTEM
TUBE_TYPES = tuple(sorted(_KNOWN))

# One tube, two names (substitution lists; those beyond ECC81-83, EL84 and ECC88 from memory).
_EQUAL = (("ECC81", "12AT7"), ("ECC82", "12AU7"), ("ECC83", "12AX7"), ("ECC85", "6AQ8"), ("ECC88", "6DJ8"),
          ("E88CC", "6922"), ("PCC88", "7DJ8"), ("EF86", "6267"), ("EF80", "6BX6"), ("ECL82", "6BM8"),
          ("ECL86", "6GW8"), ("EL34", "6CA7"), ("EL84", "6BQ5"), ("EL86", "6CW5"), ("EM84", "6FG6"), ("EZ80", "6V4"),
          ("EZ81", "6CA4"), ("EZ90", "6X4"), ("GZ34", "5AR4"), ("EB91", "6AL5"), ("0A2", "150C2"), ("0B2", "108C1"))
_OTHER_NAME = {a: b for a, b in _EQUAL} | {b: a for a, b in _EQUAL}


def other_name(text: str) -> str | None:
    """The same tube's name in the other system ("ECC83" for "12AX7"), or None where there is none."""
    return _OTHER_NAME.get(normalize(text))


# The types a shop meets every week: these also get all ways of saying them.
_COMMON = frozenset("""
12AX7 12AU7 12AT7 12AY7 12BH7 6SN7 6SL7 6DJ8 6922 ECC81 ECC82 ECC83 ECC85 ECC88 E88CC PCC88 EF86 EL34 EL84 EL84M EL86 EL509
6CA7 6BQ5 6L6 6L6GC 6V6 6V6GT 6K6 6F6 6550 5881 KT66 KT77 KT88 KT90 KT120 KT150 300B 2A3 45 50 845 211 805 807 6AS7 6080 6C33C
6H30 6CG7 6FQ7 6U8 6AN8 6AQ8 6GH8 6BM8 6GW8 ECL82 ECL86 6C4 6J5 6J7 6SJ7 6267 5879 5751 5814 5687 5670 7025 7189 7199 7591
7868 7027 8417 5AR4 GZ34 GZ32 GZ37 5U4 5U4GB 5Y3 5V4 5R4 EZ80 EZ81 6CA4 6X4 EM84 EM87 0A2 0A3 0B2 0D3 12SN7 12SL7 6BX7 6BL7
6EM7 6B4G 6SH7 ECF80 ECF82 6BL8 417A 437A 76 71A 80 83 274B 572B 811A PX4 PX25 AD1 EBC90 6AV6 6AU6 EF94 EF80 6BX6
""".split())


def spoken_forms(tube: str) -> tuple[str, ...]:
    """How a type is said and written, lower case: "EL34" gives "el34", "el 34", "e l thirty-four", and plurals.

    Rare types get their written forms only; spoken numbers and letters reach these through the
    number rules of the language step.
    """
    parts = re.findall(r"\d+|[a-z]+", tube.lower())
    written = ["".join(parts), "-".join(parts), " ".join(parts)]
    if tube.endswith("S") and tube[:-1] in _KNOWN:
        del written[0]  # "ECC83s" is more of the ECC83
    if tube in _COMMON:
        written.append(" ".join(" ".join(p) if p.isalpha() else p for p in parts))
        for reading in range(2):
            said = " ".join(" ".join(p) if p.isalpha() else _reading(p, reading) for p in parts)
            written += [said, said.replace("-", " ")]
    forms = list(dict.fromkeys(written if tube in _COMMON or len(parts) > 1 else parts))
    counted = forms if tube in _COMMON else forms[:1]
    return tuple(dict.fromkeys([*forms, *(plural for form in counted for plural in _plurals(form))]))


def _reading(number: str, which: int) -> str:
    said = digits.readings(number)
    return said[min(which, len(said) - 1)]


def _plurals(form: str) -> tuple[str, ...]:
    if form.endswith("six"):
        return (form + "es",)
    if form.endswith("y"):
        return (form[:-1] + "ies",)
    return (form + "s", form + "'s") if form[-1].isdigit() else (form + "s",)


def is_ambiguous(form: str) -> bool:
    """Whether a spoken form is as well a plain number ("eighty", "845"): a tube only where the sentence says so."""
    counted = form.removesuffix("s").removesuffix("'")
    return any(all(token.isdigit() for token in digits.join_numbers(words.split())) for words in (form, counted))
