"""What a test needs to take photos on a phone and to look at what is kept of them."""

import io
import re
from hashlib import sha256
from typing import Any

from PIL import Image
from PIL.ExifTags import GPS, IFD, Base
from playwright.sync_api import FilePayload, Locator, Page

from quickcheck.store import open_store
from tests.browser.walking import Shop, at

GPS_MARK = b"Poplin Hall, north door"
_PHOTOS = """async () => {
  const database = await new Promise((done, fail) => {
    const opening = indexedDB.open('quickcheck');
    opening.onsuccess = () => done(opening.result);
    opening.onerror = () => fail(opening.error);
  });
  const asked = database.transaction('photos').objectStore('photos').getAll();
  const found = await new Promise((done) => { asked.onsuccess = () => done(asked.result); });
  database.close();
  return found.map(({ bytes, ...rest }) => ({
    ...rest, kind: bytes.constructor.name, bytes: [...new Uint8Array(bytes)] }));
}"""


def picture(shade: int = 90, size: tuple[int, int] = (64, 40), *, noise: bool = False) -> bytes:
    """Return a JPEG that says where it was taken; upright only after a quarter turn."""
    image = Image.effect_noise(size, 90) if noise else Image.new("L", size, shade)
    exif = Image.Exif()
    exif[Base.Orientation] = 6
    exif[Base.ImageDescription] = GPS_MARK.decode()
    exif.get_ifd(IFD.GPSInfo)[GPS.GPSLatitude] = (51.0, 30.0, 26.0)
    exif.get_ifd(IFD.GPSInfo)[GPS.GPSAreaInformation] = GPS_MARK
    out = io.BytesIO()
    image.convert("RGB").save(out, "JPEG", exif=exif, comment=GPS_MARK)
    return out.getvalue()


def file(content: bytes, name: str = "photo.jpg") -> FilePayload:
    """Return a file as a person chooses it."""
    return {"name": name, "mimeType": "image/jpeg", "buffer": content}


def choose_photos(page: Page, point: str, *contents: bytes, button: str = "Choose photos") -> None:
    """Press the button at a point, which must be on the screen, and choose files."""
    with page.expect_file_chooser() as chooser:
        at(page, point).get_by_role("button", name=button).tap()
    chooser.value.set_files([file(content) for content in contents])


def thumbnails(page: Page, point: str) -> Locator:
    """Return the pictures at a point that are drawn."""
    return page.locator(f'fieldset[data-point="{point}"] .photos img')


def kept(page: Page) -> list[dict[str, Any]]:
    """Return the photos on the device, their bytes as bytes."""
    return [record | {"bytes": bytes(record["bytes"])} for record in page.evaluate(_PHOTOS)]


def arrived(shop: Shop) -> dict[str, Any]:
    """Return the photos that a server has, by the hash under which they were sent."""
    with open_store(shop.server.data / "book.sqlite3") as store:
        found: dict[str, Any] = {}
        for saved in store.book.list(50, None):
            missing = set(store.photos.missing(saved.id))
            for names in saved.document.get("photos", {}).values():
                found |= {n: store.photos.get(saved.id, n) for n in names if n not in missing}
        assert store.health()["photos"] >= len(found)
        return found


def is_named_by_its_hash(record: dict[str, Any]) -> bool:
    """Whether the bytes of a photo on the device are those that it is named by."""
    return str(record["sha256"]) == sha256(record["bytes"]).hexdigest()


def puts(page: Page) -> list[str]:
    """Gather the hashes of all photos that a page sends."""
    found: list[str] = []

    def sent(request: Any) -> None:
        name = re.search(r"/photos/([0-9a-f]{64})$", request.url)
        if request.method == "PUT" and name:
            found.append(name[1])

    page.on("request", sent)
    return found
