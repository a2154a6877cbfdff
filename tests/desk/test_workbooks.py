"""A workbook comes from anybody: it is looked at before it is unpacked, and nothing in it is an error of ours."""

import io
import zipfile
from contextlib import suppress

import openpyxl
import pytest

from quickcheck.desk import rows_of_table
from quickcheck.errors import ReferenceFaultsError

LAUGHS = "".join(
    f'<!ENTITY l{n} "{"&l" + str(n - 1) + ";" if n else "ha"}{10 * ("&l" + str(n - 1) + ";") if n else ""}">'
    for n in range(9)
)
CELLS = '<row r="1"><c r="A1" t="inlineStr"><is><t>{}</t></is></c></row>'


def workbook(**members: bytes) -> bytes:
    """Return a workbook whose members are others; ``sheet`` stands for its sheet."""
    out, changed = io.BytesIO(), io.BytesIO()
    book = openpyxl.Workbook()
    book.active.append(["point", "variant"])
    book.save(out)
    with zipfile.ZipFile(out) as old, zipfile.ZipFile(changed, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            given = {"xl/worksheets/sheet1.xml": "sheet", "xl/styles.xml": "styles"}.get(name, "")
            new.writestr(name, members.get(given, old.read(name)))
    return changed.getvalue()


def sheet(head: str, cells: str) -> bytes:
    """Return the XML of a sheet."""
    space = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    text = f'{head}<worksheet xmlns="{space}"><sheetData>{cells}</sheetData></worksheet>'
    return text.encode()


def cut(content: bytes) -> bytes:
    """Return it without its middle."""
    return content[:400] + content[800:]


ODD = {
    "bomb": workbook(sheet=sheet("", CELLS.format("x" * 60_000_000))),
    "entities": workbook(sheet=sheet(f"<!DOCTYPE w [{LAUGHS}]>", CELLS.format("&l8;"))),
    "file of ours": workbook(
        sheet=sheet('<!DOCTYPE w [<!ENTITY x SYSTEM "file:///etc/hostname">]>', CELLS.format("&x;"))
    ),
    "no XML": workbook(sheet=b"\xff\xfe\0"),
    "no styles": workbook(styles=b"<x/>"),
    "cut": cut(workbook()),
    "no workbook": b"PK\x03\x04" + bytes(100),
}


def test_it_is_read_where_nothing_is_odd() -> None:
    """The control: what the tests below change is taken as it is."""
    assert rows_of_table(workbook(), name="t.xlsx") == []


@pytest.mark.parametrize("why", sorted(ODD.keys() - {"no styles"}))
def test_what_is_odd_is_refused(why: str) -> None:
    """Bombs, entities, files of this machine, damage: a fault of the table, with what to do."""
    assert len(ODD[why]) < 1_300_000
    with pytest.raises(ReferenceFaultsError, match=r"t\.xlsx: expected a workbook") as caught:
        rows_of_table(ODD[why], name="t.xlsx")
    assert len(str(caught.value)) < 2000


def test_styles_that_are_none() -> None:
    """What is wrong where no cell is, is passed over or refused, and no other error."""
    with suppress(ReferenceFaultsError):
        assert rows_of_table(ODD["no styles"], name="t.xlsx") == []
