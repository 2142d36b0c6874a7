"""The commands that bring recordings in: what they print where, and their exit codes."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from indexer.catalogue.library import Library
from indexer.models import CaseDraft
from indexer.vocabulary.vocabulary import Vocabulary
from tests.console.conftest import Run
from tests.films import write_film


def test_add_takes_the_words_beside_and_says_what_was_found(run: Run, film: Path, tmp_path: Path) -> None:
    told = run("add", film, "--eye", "right", "--finding", "small pupil", "--finding", "dense-nucleus")
    assert (told.exit_code, told.stderr) == (0, "")
    assert told.stdout.startswith("Added: loose bag (0:10, ")
    with Library.open(tmp_path / "library", vocabulary=Vocabulary([])) as library:
        (case,) = library.cases(library.owner)
        assert (case.title, case.eye, sorted(case.findings)) == ("loose bag", "right", ["dense-nucleus", "small-pupil"])


def test_a_consent_is_recorded_as_stated_by_the_owner(run: Run, film: Path, tmp_path: Path) -> None:
    assert run("add", film, "--release", "teaching", "--title", "Heron, third").exit_code == 0
    with Library.open(tmp_path / "library", vocabulary=Vocabulary([])) as library:
        (case,) = library.cases(library.owner)
        (entry,) = library.case(library.owner, case.id).consents
        assert (case.release, entry.stated_by, entry.evidence) == ("teaching", "owner", "")


def test_a_known_file_is_told_and_is_no_failure(run: Run, film: Path) -> None:
    run("add", film)
    again = run("add", film)
    assert (again.exit_code, again.stdout) == (0, "Known: loose bag. It is in the library already.\n")


@pytest.mark.parametrize(
    ("name", "data", "reason"),
    [("missing.mp4", None, "there is no such file"), ("empty.mp4", b"", "it is empty"), ("a.mp4", b"x" * 99, "")],
)
def test_what_is_no_film_is_exit_1_with_one_line(
    run: Run, tmp_path: Path, name: str, data: bytes | None, reason: str
) -> None:
    path = tmp_path / name
    if data is not None:
        path.write_bytes(data)
    told = run("add", path)
    assert (told.exit_code, told.stdout, told.stderr.count("\n")) == (1, "", 1)
    assert str(path) in told.stderr and reason in told.stderr


def test_an_unknown_finding_is_told_with_the_nearest(run: Run, film: Path) -> None:
    told = run("add", film, "--finding", "smal pupil")
    assert told.exit_code == 1 and "small-pupil" in told.stderr


def test_a_bad_transcript_is_exit_1_and_the_film_is_there(run: Run, film: Path) -> None:
    film.with_suffix(".txt").write_text("no times at all")
    told = run("add", film)
    assert told.exit_code == 1
    assert "loose_bag.txt" in told.stderr and "was added without it" in told.stderr
    assert told.stdout.startswith("Added: loose bag")
    film.with_suffix(".txt").write_text("[0:01] now the rhexis\n")
    assert run("add", film).stdout.startswith("Added words to: loose bag")


def test_a_folder_is_proposed_and_added(run: Run, film: Path, tmp_path: Path) -> None:
    write_film(film.parent / "hooks part 1.mp4", 50)
    write_film(film.parent / "hooks part 2.mp4", 50, first=50)
    (film.parent / "broken.mp4").write_bytes(b"nothing")
    told = run("add", film.parent, "--yes")
    assert told.exit_code == 1 and "broken.mp4" in told.stderr
    assert "2 parts" in told.stdout and "loose_bag.txt" in told.stdout
    assert "Added: hooks (0:04" in told.stdout and "Added: loose bag (0:10" in told.stdout
    again = run("add", film.parent, "--yes")
    assert again.stdout.count("Known: ") == 2


def test_a_folder_without_a_film_is_exit_1(run: Run, tmp_path: Path) -> None:
    (tmp_path / "card").mkdir()
    told = run("add", tmp_path / "card", "--yes")
    assert told.exit_code == 1 and "no film" in told.stderr


@pytest.mark.parametrize(
    ("answer", "added"), [("y\n", {"a", "b", "c"}), ("2\n", {"a", "c"}), ("n\n", set()), ("9\n1 3\n", {"b"})]
)
def test_a_person_may_leave_cases_out(answer: str, added: set[str]) -> None:
    from click.testing import CliRunner

    from indexer.console import proposals
    from indexer.intake.cards import Found, Proposal

    three = [Proposal((Found(Path(f"{name}.mp4"), 1, 0.0),), None) for name in "abc"]
    with CliRunner().isolation(input=answer):
        chosen = proposals.confirmed(three)
    assert {each.recordings[0].stem for each in chosen} == added


def test_what_was_cut_off_goes_on_with_the_next_command(run: Run, film: Path, tmp_path: Path) -> None:
    folder = tmp_path / "library"
    for number, command in enumerate((["resume"], ["check"], ["add", film])):
        one = write_film(tmp_path / f"cut {number}.mp4", 60 + number, options={"movflags": "faststart"})
        with Library.open(folder, vocabulary=Vocabulary([])) as library:
            library.begin_case(CaseDraft(title=f"Cut {number}", sources=(one,)))
        told = run(*command)
        assert told.exit_code == 0, told.output
        assert f"Added: Cut {number} (0:02, no words to search yet)" in told.stdout
    assert run("resume").stdout == "Nothing is unfinished.\n"


def test_resume_gives_up_on_request(run: Run, tmp_path: Path) -> None:
    with Library.open(tmp_path / "library", vocabulary=Vocabulary([])) as library:
        library.begin_case(CaseDraft(title="Gone", sources=(tmp_path / "gone.mp4",)))
    assert run("resume").exit_code == 1
    assert run("resume", "--give-up").stdout == "Given up: Gone\n"
    assert run("check").exit_code == 0


def test_check_tells_what_is_missing_and_what_to_do(run: Run, film: Path) -> None:
    run("add", film)
    assert run("check").stdout.startswith("All is well with 1 case in ")
    film.unlink()
    told = run("check")
    # A drive that is away is nothing broken.
    assert (told.exit_code, told.stdout) == (0, "") and "Connect its drive" in told.stderr


def test_a_library_that_cannot_be_used_is_exit_1(run: Run, tmp_path: Path) -> None:
    (tmp_path / "library").mkdir()
    (tmp_path / "library" / "holiday.jpg").touch()
    for command in (["find", "rhexis"], ["check"], ["resume"]):
        told = run(*command)
        assert told.exit_code == 1 and "holiday.jpg" in told.stderr


def test_find_tells_passages_as_json_and_in_words(run: Run, film: Path) -> None:
    run("add", film, "--title", "Loose bag")
    (first, *_) = json.loads(run("find", "rhexis", "--limit", "5", "--json").stdout)
    assert (first["title"], first["step"], first["matched"]) == ("Loose bag", "capsulorhexis", ["rhexis"])
    assert 0 <= first["segment_start"] <= first["start"] < first["end"] <= 10
    told = run("find", "rhexis").stdout
    assert "Loose bag" in told and "Capsulorhexis" in told and "rhexis with the forceps" in told


def test_find_without_an_answer_is_no_failure(run: Run) -> None:
    assert (run("find", "zebra", "--json").stdout, run("find", "zebra", "--json").exit_code) == ("[]\n", 0)
    told = run("find", "zebra")
    assert told.exit_code == 0 and "No passage answers this" in told.stdout


@pytest.mark.parametrize("query", ["", "   ", "\0", "a" * 1001, '"', "rhexis over six"])
def test_odd_queries_are_answered_or_refused_in_a_line(run: Run, query: str) -> None:
    told = run("find", query, "--json")
    assert told.exit_code in (0, 1)
    assert (told.stdout == "[]\n") if told.exit_code == 0 else (told.stderr.count("\n") == 1)


def test_files_with_odd_names_are_added(run: Run, film: Path) -> None:
    odd = film.with_name("-é rhexis 100% [x] 'q' \u4e00.mp4")
    shutil.copy(film, odd)
    told = run("add", "--", odd)
    assert told.exit_code == 0 and "100% [x]" in told.stdout
