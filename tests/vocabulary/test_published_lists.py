"""Every phase and tool of the published lists has a term or is left out for a reason.

The lists are those of open sets of cataract videos and of papers on phase recognition; `LENGTHS` gives what each
publication counts (an idle or background class included).
"""

import json
from typing import Any

import pytest

from indexer.vocabulary.loading import SHIPPED, load_vocabulary
from indexer.vocabulary.vocabulary import Vocabulary

PUBLISHED = json.loads((SHIPPED / "cataract" / "published.json").read_text(encoding="utf-8"))["lists"]
LENGTHS = {
    "cataract-101-phases": 10,  # Schoeffmann et al., ACM MMSys 2018: 10 phases
    "cataracts-phases": 19,  # Al Hajj et al., Med Image Anal 2019, workflow edition 2020: 18 steps and idle
    "cataract-1k-phases": 13,  # Ghamsarian et al., Sci Data 2024: 12 phases and idle
    "sics-155-phases": 19,  # SICS-155, challenge of 2025: 18 phases and background
    "yeh-2021-phases": 13,  # Yeh et al., TVST 2021: 13 steps
    "rali-2022-phases": 8,  # Rali et al., J Cataract Refract Surg 2022: 8 steps
    "cataracts-tools": 21,  # Al Hajj et al., Med Image Anal 2019: 21 tools
    "cadis-names": 10,  # CaDIS, 2021: names beyond the above, handles aside
    "cataract-1k-tools": 9,  # Ghamsarian et al., Sci Data 2024: 9 instruments
    "cataract-lmm-tools": 10,  # Cataract-LMM, 2025: 10 instruments
    "catinstseg-tools": 11,  # CatInstSeg: 11 instruments
}
FACETS = {"phases": {"step", "technique"}, "tools": {"device", "agent"}}


@pytest.fixture(scope="module")
def shipped() -> Vocabulary:
    return load_vocabulary()


def test_each_list_is_there_once() -> None:
    assert sorted(each["id"] for each in PUBLISHED) == sorted(LENGTHS)


@pytest.mark.parametrize("listed", PUBLISHED, ids=lambda each: str(each["id"]))
def test_each_row_is_answered(listed: dict[str, Any]) -> None:
    rows = [row["row"] for row in listed["rows"]]
    assert rows == list(range(rows[0], rows[0] + LENGTHS[listed["id"]]))
    assert rows[0] in (0, 1)


@pytest.mark.parametrize("listed", PUBLISHED, ids=lambda each: str(each["id"]))
def test_a_row_names_a_term_or_says_why_not(listed: dict[str, Any], shipped: Vocabulary) -> None:
    for row in listed["rows"]:
        assert ("concept" in row) != ("left_out" in row)
        assert len(row.get("left_out", "a reason")) > 5
        for concept_id in (row["concept"], *row.get("also", [])) if "concept" in row else ():
            assert shipped[concept_id].facet in FACETS[listed["kind"]], row


def test_little_is_left_out() -> None:
    phases = [row for each in PUBLISHED if each["kind"] == "phases" for row in each["rows"]]
    assert sum("left_out" in row for row in phases) <= 5


# The published sequence of one operation: Cataract-101, video 269, its phases in the order of their starts.
def test_a_published_operation_runs_in_our_usual_order(shipped: Vocabulary) -> None:
    phase = {row["row"]: row["concept"] for row in PUBLISHED[0]["rows"]}
    firsts = [phase[number] for number in (1, 2, 3, 4, 5, 6, 7, 8, 9, 10)]
    places = [shipped.place(step) for step in firsts]
    assert places == sorted(places)
