"""Photos on the server's own pages: at their point and in the book, those that have come."""

from hashlib import sha256

from tests.store.pictures import photo
from tests.web.kit import NOBODY, Site, words
from tests.web.sending import put_photo, send

SENT = photo()
NAME = sha256(SENT).hexdigest()
ABSENT = "0" * 64
PATH = f"/inspections/{NOBODY}/photos/{NAME}"


def test_at_its_point(site: Site) -> None:
    """A photo that has come is shown at its point; of the others it is said that they have not."""
    send(site, photos={"knobs": [NAME, ABSENT], "serial": [ABSENT]})
    put_photo(site, NAME, SENT)
    page = site.get(f"/inspect/{NOBODY}?at=knobs")
    assert page.text.count(f'src="{PATH}"') == 1
    assert ABSENT not in page.text.partition('<template id="saved">')[0]
    assert words(page).count("1 photo still on a phone.") == 2
    assert page.text.count('aria-label="Photos" hidden') == page.text.count("<fieldset") - 2


def test_named_twice(site: Site) -> None:
    """A photo that a document names twice at a point is shown there once."""
    send(site, photos={"knobs": [NAME, NAME]})
    put_photo(site, NAME, SENT)
    assert site.get(f"/inspect/{NOBODY}").text.count(f'src="{PATH}"') == 1


def test_in_the_book(site: Site) -> None:
    """The book counts an inspection's photos, each once, and shows the first three."""
    sent = [photo(size=(64, 40 + more)) for more in range(4)]
    names = [sha256(content).hexdigest() for content in sent]
    send(site, photos={"knobs": [*names, ABSENT], "serial": names})
    for name, content in zip(names, sent, strict=True):
        put_photo(site, name, content)
    page = site.get("/book")
    assert "5 photos, 1 still on a phone" in words(page)
    assert page.text.count("/photos/") == 3


def test_none(site: Site) -> None:
    """An inspection without a photo has nothing of photos in the book."""
    site.begin(name="The Curtain")
    assert 'class="photos"' not in site.get("/book").text


def test_what_is_no_list(site: Site) -> None:
    """A document whose photos are something else is shown as one without."""
    send(site, photos={"knobs": 3, "serial": ["not a hash"]})
    page = site.get(f"/inspect/{NOBODY}")
    assert page.status_code == 200
    assert "/photos/" not in page.text.partition('<template id="saved">')[0]
