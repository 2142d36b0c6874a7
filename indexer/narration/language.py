"""Whether a transcript is English at all: what is not is said to be so, and never tagged as if it were."""

from __future__ import annotations

from collections.abc import Sequence

FEWEST_WORDS = 12
"""With fewer words nothing is claimed."""
# The commonest short words of each language, common practice; those that two of them share stand in both.
COMMON = {
    "en": "the and of to a in is it that you i we this for with on are be as at now not so here but have from or one was what",
    "de": "der die das und ist ich nicht ein eine zu mit auf den von wir es im so dann auch aber jetzt wird hier sich dem noch nun",
    "fr": "le la les de des et est un une je nous il que pas dans pour avec sur ce qui on en du au plus mais ici donc alors",
    "es": "el la los las de y es un una que en no por con para se lo del al como más pero aquí ahora vamos esta este muy",
    "it": "il la le di e è un una che in non per con si lo del al come più ma qui ora questo questa gli nel sono della poi",
    "pt": "o a os as de e é um uma que em não por com para se do da ao como mais mas aqui agora isso este muito vamos",
    "nl": "de het een en is van ik niet in op met dat te we zijn voor er aan nu maar dan dit hier ook wordt naar bij nog",
    "sv": "och det att är en ett jag inte som på med för den vi av till har nu så här men om från då ska",
    "pl": "i w nie na to jest że się z do jak tak ale teraz tu po za co od przez już dla tego tym",
    "tr": "ve bir bu da de için ile çok ne var mi gibi daha şimdi burada ama olarak değil sonra",
}  # fmt: skip
WORDS = {language: frozenset(words.split()) for language, words in COMMON.items()}
LETTERS = (
    ("ru", 0x0400, 0x04FF),
    ("el", 0x0370, 0x03FF),
    ("ar", 0x0600, 0x06FF),
    ("he", 0x0590, 0x05FF),
    ("hi", 0x0900, 0x097F),
    ("zh", 0x4E00, 0x9FFF),
    ("ja", 0x3040, 0x30FF),
    ("ko", 0xAC00, 0xD7AF),
)
"""Scripts that give a language away: its code, the first and the last letter."""


def language_of(texts: Sequence[str], declared: str | None = None) -> str:
    """ISO 639-1 code of the language of normalised words; `und` where there are too few words to tell.

    A file's own declaration counts where the words do not say otherwise.
    """
    words = [text for text in texts if not text[0].isdigit()]
    if len(words) < FEWEST_WORDS:
        return "und" if declared is None or not words else declared.split("-")[0].lower()
    script = _script(words)
    if script is not None:
        return script
    folded = {language: {_plain(word) for word in common} for language, common in WORDS.items()}
    shares = {language: sum(word in common for word in words) / len(words) for language, common in folded.items()}
    best = max(shares, key=lambda language: shares[language])
    if shares["en"] >= 0.12 and shares["en"] >= 0.75 * shares[best]:
        return "en"
    return best if shares[best] >= 0.12 else "und"


def _plain(word: str) -> str:
    from indexer.vocabulary.words import normalise

    return "".join(normalise(word))


def _script(words: Sequence[str]) -> str | None:
    """The language that a script of its own gives away, where most words are in it."""
    for language, first, last in LETTERS:
        if sum(first <= ord(word[0]) <= last for word in words) > len(words) / 2:
            return language
    return None
