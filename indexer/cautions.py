"""The cautions that the product shows, written once; pages, console and exports take them from here."""

from __future__ import annotations

SHORT = (
    "For education and a surgeon's own review. Not a medical device and no guide to treatment; "
    "consent, the law and the rules of your institution go first, and the licensed clinician responsible decides."
)
"""One quiet line for the foot of every page."""

FULL: tuple[tuple[str, str], ...] = (
    (
        "For education and your own review",
        "Scrubmark is not a medical device, gives no guide to treatment and is no measure of anybody's competence. "
        "What it finds comes from what was said and may be wrong: look at the film before you rely on it.",
    ),
    (
        "Consent and the law first",
        "A patient did not come to be a film. Record, keep and show only what the consent on file, the law where "
        "you work and the rules of your institution allow. Nothing is shown to anybody but its owner without a "
        "consent that covers it.",
    ),
    (
        "Faster is not better",
        "Times of steps are for looking at your own work, with their spread, their number and the mix of cases. "
        "They rank nobody.",
    ),
    (
        "Marks are proposals",
        "Hatched steps were proposed by the machine and show their reasons. A person decides, and what a person has "
        "decided is never overwritten.",
    ),
    (
        "The clinician decides",
        "Where this and the judgement of the licensed clinician responsible, or the rules of the institution, differ, "
        "they are right and this is not.",
    ),
)
"""Heading and text of each caution, for the page that has room for them."""
