"""[crew] of crew.toml: who the crew is, and what is said of a logo that cannot be used."""

from __future__ import annotations

import pytest

from grading.crew.card import LARGEST_LOGO
from grading.crew.model import FILE, default_crew
from grading.crew.reading import crew_of, read_crew
from grading.errors import SiteError

PNG = b"\x89PNG\r\n\x1a\n" + bytes(20)
SVG = b'<?xml version="1.0"?>\n<svg xmlns="http://www.w3.org/2000/svg"/>'


def wrong(folder, text: str) -> str:
    """Return the sentences that a crew.toml gets."""
    (folder / FILE).write_text(text, encoding="utf-8")
    with pytest.raises(SiteError) as error:
        read_crew(folder, "ft")
    return str(error.value)


def test_nothing_is_asked_for():
    for crew in (default_crew(), crew_of({}, "ft"), crew_of({"crew": {}}, "ft")):
        assert crew.card.name is None
        assert crew.logo is None
        assert crew.card.show_prices is False


def test_a_crew_is_read(tmp_path):
    (tmp_path / "own").mkdir()
    (tmp_path / "own" / "mark.PNG").write_bytes(PNG)
    (tmp_path / FILE).write_text(
        '[crew]\nname = "Plumb  and Level"\nphone = "555 0142"\nemail = "a@example.invalid"\n'
        'registration = "no. 0"\nlogo = "own/mark.PNG"\nshow_prices = true\n',
        encoding="utf-8",
    )
    (tmp_path / "site").mkdir()
    for folder in (tmp_path, tmp_path / "site"):
        crew = read_crew(folder, "ft")
        assert crew.card.name == "Plumb and Level"
        assert crew.card.show_prices is True
        assert crew.logo is not None
        assert crew.logo.resolve() == (tmp_path / "own" / "mark.PNG").resolve()


@pytest.mark.parametrize("name", ["logo.svg", "logo.jpg", "logo.jpeg", "logo.png"])
def test_a_logo_of_each_kind_is_taken(tmp_path, name):
    data = {"svg": SVG, "png": PNG}.get(name[-3:], b"\xff\xd8\xff\xe0" + bytes(20))
    (tmp_path / name).write_bytes(data)
    (tmp_path / FILE).write_text(f'[crew]\nlogo = "{name}"\n', encoding="utf-8")
    assert read_crew(tmp_path, "ft").logo == tmp_path / name


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[crew]\nphone = 5550142", 'crew.toml, key crew.phone: found 5550142, expected'),
        ('[crew]\nname = " "', "crew.toml, key crew.name:"),
        ('[crew]\nnmae = "x"', "found the key `nmae`"),
        ('[crew]\nnmae = "x"', "Did you mean `name`?"),
        ('[crew]\nshow_prices = "yes"', "crew.toml, key crew.show_prices:"),
        ('crew = "us"', "crew.toml, key crew:"),
        ('[crew]\nlogo = "gone.png"', 'found "gone.png", which is not there'),
        ('[crew]\nlogo = "../crew.png"', "which leaves the folder"),
        ('[crew]\nlogo = "/etc/hostname"', "which leaves the folder"),
        ('[crew]\nlogo = "logo.gif"', "expected a picture that ends in .png, .jpg or .svg"),
        ('[crew]\nlogo = "fake.png"', "which holds no png picture"),
        ('[crew]\nlogo = "fake.svg"', "which holds no svg picture"),
        ('[crew]\nlogo = "bomb.svg"', "which holds no svg picture"),
        ('[crew]\nlogo = "html.svg"', "which holds no svg picture"),
        ('[crew]\nlogo = "large.png"', "expected a picture of at most 5 MB"),
        ('[crew]\nlogo = "link.png"', "which leaves the folder"),
        ('[crew]\nlogo = "folder.png"', "which is not there"),
    ],
)  # fmt: skip
def test_what_cannot_be_used_gets_a_sentence(tmp_path, text, said):
    home = tmp_path / "home"
    home.mkdir()
    (tmp_path / "crew.png").write_bytes(PNG)
    (home / "logo.gif").write_bytes(b"GIF89a")
    (home / "fake.png").write_bytes(b"plain words")
    (home / "fake.svg").write_bytes(b"<svg")
    (home / "html.svg").write_bytes(b"<html/>")
    (home / "bomb.svg").write_bytes(b'<!DOCTYPE svg [<!ENTITY a "aa">]><svg>&a;</svg>')
    (home / "large.png").write_bytes(PNG + bytes(LARGEST_LOGO))
    (home / "link.png").symlink_to(tmp_path / "crew.png")
    (home / "folder.png").mkdir()
    assert said in wrong(home, text)


def test_all_that_is_wrong_is_told_at_once(tmp_path):
    said = wrong(tmp_path, '[crew]\nlogo = "gone.png"\n[rates]\nlay-pavers = "x"\n')
    assert "crew.logo" in said
    assert "rates.lay-pavers" in said


@pytest.mark.parametrize("value", ["0", '"0 h/m3"', '["0 h/m3", "3 h/m3", "4 h/m3"]'])
def test_work_that_takes_no_time_is_refused(tmp_path, value):
    said = wrong(tmp_path, f"[rates]\ndig-clay = {value}\n")
    assert "crew.toml, key rates.dig-clay: found" in said
    assert "expected more than zero" in said


def test_waiting_may_take_no_time(tmp_path):
    (tmp_path / FILE).write_text("[rates]\nbarrow-tip = 0\nset-out = 0\n", encoding="utf-8")
    assert read_crew(tmp_path, "ft").rates["barrow-tip"].likely == 0


def test_a_file_in_the_folder_above_is_told_with_its_path(tmp_path):
    (tmp_path / FILE).write_text('[crew]\nlogo = "gone.png"\ncolour = 3\n', encoding="utf-8")
    site = tmp_path / "site"
    site.mkdir()
    with pytest.raises(SiteError) as error:
        read_crew(site, "ft")
    assert str(error.value).startswith(f"{tmp_path / FILE}, key crew.colour: found")
