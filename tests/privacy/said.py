"""Numbers, days and years as they are said; and digits as a recogniser may write them."""

from __future__ import annotations

import random

DIGITS = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
TEENS = ["ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"]
TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
_ORDINALS = """first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth fourteenth
fifteenth sixteenth seventeenth eighteenth nineteenth twentieth"""
ORDINALS = _ORDINALS.split()
LIKE = {
    "two": ("to", "too"),
    "four": ("for",),
    "eight": ("ate",),
    "one": ("won",),
    "zero": ("oh",),
    "three": ("free", "tree"),
    "six": ("sicks",),
}


def digit_words(number: str) -> str:
    """Digit by digit; what stands twice is sometimes said as "double"."""
    return " ".join(DIGITS[int(digit)] for digit in number)


def below_hundred(value: int) -> str:
    """A number from 0 to 99 in words."""
    if value < 20:
        return (DIGITS + TEENS)[value]
    return TENS[value // 10 - 2] + (f" {DIGITS[value % 10]}" if value % 10 else "")


def paired_words(number: str) -> str:
    """In pairs: 471182 is "forty seven eleven eighty two"."""
    pairs = [number[at : at + 2] for at in range(0, len(number), 2)]
    said = [
        below_hundred(int(p))
        if len(p) == 2 and p[0] != "0"
        else " ".join("oh" if d == "0" else DIGITS[int(d)] for d in p)
        for p in pairs
    ]
    return " ".join(said)


def misheard_digits(said: str, chance: random.Random) -> str:
    """One or two of the digits as ordinary words, never the first."""
    words = said.split()
    able = [at for at, word in enumerate(words) if at and word in LIKE]
    for at in chance.sample(able, min(len(able), chance.choice((1, 2)))):
        words[at] = chance.choice(LIKE[words[at]])
    return " ".join(words)


def ordinal(day: int) -> str:
    """A day of the month: "twenty third"."""
    if day <= 20:
        return ORDINALS[day - 1]
    return f"{TENS[day // 10 - 2]} {ORDINALS[day % 10 - 1]}"


def year_words(year: int) -> str:
    """A year: "nineteen sixty", "two thousand and four", "twenty nineteen"."""
    if 2000 <= year < 2010:
        return "two thousand" + (f" and {DIGITS[year - 2000]}" if year > 2000 else "")
    century, rest = divmod(year, 100)
    return f"{below_hundred(century)} {below_hundred(rest) if rest > 9 else 'hundred' if not rest else 'oh ' + DIGITS[rest]}"
