"""The shelf: exhibits of the gallery as committed, beside the jobs first, and none where there is no gallery."""

from pathlib import Path

from wheelsim.page import gallery
from wheelsim.page.gallery import exhibits, gallery_of

FIGURES = Path(__file__).parents[2] / "figures"
BOOK = """# Title

Preface, with [a link](x).

## Why?

![what it shows](one.svg)

**Because of
this.**

Some more, see [there](../there.py).

## No picture

Words.
"""


def test_every_question_of_the_book_with_its_picture():
    place, found = gallery_of(None)
    assert place == FIGURES
    assert [one.question for one in found] == [
        line[3:] for line in (FIGURES / "README.md").read_text().splitlines() if line.startswith("## ")]
    for one in found:
        assert (FIGURES / f"{one.name}.svg").is_file()
        assert one.shown
        assert one.answer.endswith(".")
        assert not any("](" in line or "**" in line for line in (*one.more, one.answer))


def test_what_an_exhibit_says():
    (one,) = exhibits(BOOK)
    assert (one.name, one.question, one.answer) == ("one", "Why?", "Because of this.")
    assert (one.more, one.shown) == (("Some more, see there.",), "what it shows")


def test_one_beside_the_jobs_comes_first(tmp_path):
    (tmp_path / "figures").mkdir()
    (tmp_path / "figures" / "README.md").write_text(BOOK)
    assert gallery_of(tmp_path)[0] == FIGURES  # no picture there: no gallery
    (tmp_path / "figures" / "one.svg").write_text("<svg/>")
    place, found = gallery_of(tmp_path)
    assert (place, len(found)) == (tmp_path / "figures", 1)


def test_none_is_none(tmp_path, monkeypatch):
    monkeypatch.setattr(gallery, "places", lambda folder: [tmp_path])
    assert gallery_of(None) is None


def test_names_that_lead_elsewhere_are_no_pictures():
    assert exhibits("\n## Q\n![x](../secret.svg)\n## Q\n![x](/etc/passwd)\n") == []
