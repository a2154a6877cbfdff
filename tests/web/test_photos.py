"""Photos: sent once, kept without anything but their pixels, shown again."""

import io
from hashlib import sha256
from uuid import UUID

import pytest
from PIL import Image

from quickcheck.errors import NotFoundError
from tests.store.pictures import GPS_MARK, located, photo, refused
from tests.web.kit import NOBODY, Site
from tests.web.sending import put_photo, send
from tests.web.test_api import fault

SENT = located("JPEG")
NAME = sha256(SENT).hexdigest()
PATH = f"/inspections/{NOBODY}/photos/{NAME}"


def test_photo(site: Site) -> None:
    """Announced, missed, sent and shown; what is shown does not tell where it was taken."""
    other = "0" * 64
    told = send(site, photos={"knobs": [NAME, other]}).get_json()
    assert sorted(told["missing"]) == sorted([NAME, other])
    assert site.get(PATH).status_code == 404
    receipt = put_photo(site, NAME, SENT)
    assert receipt.status_code == 200
    told = receipt.get_json()
    assert (told["uuid"], told["sha256"], told["missing"]) == (NOBODY, NAME, [other])
    assert site.get(f"/api/inspections/{NOBODY}").get_json()["missing_photos"] == [other]
    shown = site.get(PATH)
    assert (shown.status_code, shown.mimetype) == (200, "image/jpeg")
    assert shown.headers["Cache-Control"] == "no-store"
    assert GPS_MARK not in shown.data
    assert Image.open(io.BytesIO(shown.data)).size == (64, 40)


def test_the_same_twice(site: Site) -> None:
    """A photo sent again, for this inspection or another, is the same photo."""
    send(site, photos={"knobs": [NAME], "serial": [NAME]})
    other = site.begin()
    first = put_photo(site, NAME, SENT).get_json()
    commits = first.pop("commits"), first.pop("mark")
    again = put_photo(site, NAME, SENT).get_json()
    assert (again.pop("commits"), again.pop("mark")) == commits
    assert again == first
    assert put_photo(site, NAME, SENT, other).status_code == 200
    assert site.get(f"/inspections/{other}/photos/{NAME}").status_code == 200
    assert site.store.health()["photos"] == 1


def test_of_another_inspection(site: Site) -> None:
    """A photo is shown only with an inspection that has it."""
    send(site, photos={"knobs": [NAME]})
    put_photo(site, NAME, SENT)
    other = site.begin()
    assert site.get(f"/inspections/{other}/photos/{NAME}").status_code == 404


def test_before_its_document(site: Site) -> None:
    """A photo of an inspection that is not here yet is to be sent again after the document."""
    told = fault(put_photo(site, NAME, SENT), 404)
    assert told["again"] is True
    with pytest.raises(NotFoundError):
        site.store.photos.get(UUID(NOBODY), NAME)


def test_not_announced(site: Site) -> None:
    """A photo that no document speaks of is kept all the same."""
    send(site)
    assert put_photo(site, NAME, SENT).status_code == 200
    assert site.get(PATH).status_code == 200


def test_cut_on_the_way(site: Site) -> None:
    """Bytes that do not have the hash of the name are refused, whatever they show."""
    send(site)
    told = fault(put_photo(site, NAME, SENT[:-1]), 422)
    assert "Send it again" in told["text"]
    assert site.store.health()["photos"] == 0


@pytest.mark.parametrize("why", sorted(refused().keys() - {"too many bytes"}))
def test_refused(site: Site, why: str) -> None:
    """What is no photo for us is refused in JSON and not kept; the document stays."""
    send(site)
    content = refused()[why]
    told = fault(put_photo(site, sha256(content).hexdigest(), content), 422)
    assert "JPEG, PNG or WebP" in told["text"]
    assert site.store.health()["photos"] == 0


def test_too_large(site: Site) -> None:
    """More than 12 MB is too large for a photo, and more than 256 kB is not."""
    send(site)
    content = refused()["too many bytes"]
    assert fault(put_photo(site, sha256(content).hexdigest(), content), 413)["error"] == "Too large"
    large = photo("PNG", (900, 700), compress_level=0)
    assert len(large) > 1_000_000
    assert put_photo(site, sha256(large).hexdigest(), large).status_code == 200


@pytest.mark.parametrize("name", ["x", "A" * 64, "0" * 63, "%00"])
def test_bad_name(site: Site, name: str) -> None:
    """A photo is named by its hash and by nothing else."""
    send(site)
    fault(put_photo(site, name, SENT), 400)
    assert site.get(f"/inspections/{NOBODY}/photos/{name}").status_code == 404


@pytest.mark.parametrize("kind", ["text/html", "application/json"])
def test_content_type(site: Site, kind: str) -> None:
    """Bytes that say they are a page or a document are no photo."""
    send(site)
    fault(put_photo(site, NAME, SENT, Content_Type=kind), 415)
