"""`/inspect/<id>/answer`: one point's answer."""

from typing import Any
from urllib.parse import quote

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from werkzeug.datastructures import MultiDict

from tests.web.checklist import Changing, OfInspection
from tests.web.kit import Site, assert_says, fieldset, has_trace


class TestChecklist(Changing, OfInspection):
    """What holds at every endpoint."""

    path = "/inspect/{id}/answer"


KEPT: list[tuple[str, str, dict[str, Any], dict[str, Any]]] = [
    ("pick", "knobs", {"seen": "wood"}, {"seen": "wood"}),
    ("none of these", "knobs", {"seen": "other"}, {"seen": "other"}),
    ("unsure", "knobs", {"seen": "wood", "unsure": "1"}, {"seen": "wood", "sure": False}),
    ("state", "knobs", {"seen": "wood", "state": "signs"}, {"seen": "wood", "state": "signs"}),
    ("changed alone", "knobs", {"state": "changed"}, {"state": "changed"}),
    ("note", "knobs", {"seen": "wood", "note": " chip "}, {"seen": "wood", "note": "chip"}),
    ("note alone", "knobs", {"note": "look again"}, {"note": "look again"}),
    ("not seen", "knobs", {"not_seen": "no-time"}, {"not_seen": "no-time"}),
    ("fraction", "neck-depth", {"seen": "15/16"}, {"value": 0.9375, "unit": "in"}),
    ("own unit", "neck-depth", {"seen": "23,8 mm"}, {"value": 23.8, "unit": "mm"}),
    ("unit", "neck-depth", {"seen": "23.8", "unit": "mm"}, {"value": 23.8, "unit": "mm"}),
    ("serial", "serial", {"seen": "0420"}, {"read": "0420"}),
    ("code", "volume-pot", {"seen": "53-12"}, {"read": "53-12"}),
    ("one sign", "edge-sign", {"seen": "sanded"}, {"seen": "sanded"}),
    (
        "signs",
        "finish-signs",
        {"seen": ["overspray", "patch"], "where": ["front", "edge"]},
        {"seen": ["overspray", "patch"], "where": ["front", "edge"]},
    ),
]


@pytest.mark.parametrize("script", [False, True], ids=["form", "script"])
@pytest.mark.parametrize(
    ("point", "fields", "kept"), [k[1:] for k in KEPT], ids=[k[0] for k in KEPT]
)
def test_kept(
    site: Site, point: str, fields: dict[str, Any], kept: dict[str, Any], *, script: bool
) -> None:
    """What was given at a point is stored as its answer, by form and by script alike."""
    inspection = site.begin()
    response = site.answer(inspection, point, script=script, **fields)
    assert response.status_code == (200 if script else 303)
    assert site.answers(inspection) == {point: kept}


def test_script_gets_the_changed_parts(site: Site) -> None:
    """A script gets strip, what to look at next and an empty fault; no page."""
    inspection = site.begin()
    site.answer(inspection, "knobs", script=True, seen="wood")
    response = site.answer(inspection, "serial", script=True, seen="420")
    assert "<html" not in response.text
    for part in ("strip", "next", "fault"):
        assert f'id="{part}"' in response.text
    assert response.text.count("hx-swap-oob") == 3
    assert "2 of 6" in response.text
    assert "data-verdict=" in response.text


@pytest.mark.parametrize(
    ("go", "leads"),
    [
        ("", "?at=knobs"),
        ("next", "?at=serial"),
        ("back", ""),
        ("places", ""),
        ("clear", "?at=knobs"),
        ("nonsense", "?at=knobs"),
    ],
)
def test_form_goes_on(site: Site, go: str, leads: str) -> None:
    """A plain form leads on to where its button says."""
    inspection = site.begin()
    response = site.answer(inspection, "knobs", seen="wood", go=go)
    assert (response.status_code, response.location) == (303, f"/inspect/{inspection}{leads}")


def test_last_point_leads_to_the_verdict(site: Site) -> None:
    """When nothing is open any more, "next" shows the verdict."""
    inspection = site.begin(access="handle")
    for point in ("knobs", "neck-depth", "serial", "finish-signs"):
        site.answer(inspection, point, not_seen="no-time")
    response = site.answer(inspection, "edge-sign", seen="none", go="next")
    assert response.location == f"/inspect/{inspection}/verdict"


def test_changed_and_taken_back(site: Site) -> None:
    """A later answer stands in place of the earlier; a cleared one is gone; all are history."""
    inspection = site.begin()
    site.answer(inspection, "knobs", seen="wood")
    site.answer(inspection, "knobs", seen="horn")
    assert site.answers(inspection) == {"knobs": {"seen": "horn"}}
    site.answer(inspection, "knobs", seen="horn", go="clear")
    assert site.answers(inspection) == {}
    assert len(site.history(inspection)) == 4


def test_empty_fields_take_the_answer_back(site: Site) -> None:
    """A point whose fields are all empty has no answer."""
    inspection = site.begin()
    site.answer(inspection, "serial", seen="420")
    site.answer(inspection, "serial", script=True, seen=" ", state="", not_seen="", note="")
    assert site.answers(inspection) == {}


def test_sent_twice(site: Site) -> None:
    """The same answer sent again is stored once."""
    inspection = site.begin()
    for _ in range(3):
        assert site.answer(inspection, "knobs", script=True, seen="wood").status_code == 200
    assert len(site.history(inspection)) == 2


def test_other_points_fields_are_passed_over(site: Site) -> None:
    """Only the fields of the named point count."""
    inspection = site.begin()
    site.post(
        f"/inspect/{inspection}/answer", {"_point": "knobs", "knobs": "wood", "serial": "420"}
    )
    assert site.answers(inspection) == {"knobs": {"seen": "wood"}}


@pytest.mark.parametrize("point", ["", "horns", "_point", "knobs ", "\0", "k" * 300])
def test_unknown_point(site: Site, point: str) -> None:
    """A point that the reference has not changes nothing and is answered with what to do."""
    inspection = site.begin()
    response = site.post(f"/inspect/{inspection}/answer", {"_point": point, point: "x"})
    assert_says(response, 404, "point", "a point of Loom One")
    assert len(site.history(inspection)) == 1


def test_no_point_named(site: Site) -> None:
    """A form that names no point changes nothing."""
    assert_says(site.post(f"/inspect/{site.begin()}/answer", {}), 404, "point")


WRONG: list[tuple[str, str, dict[str, Any], list[str]]] = [
    ("variant", "knobs", {"seen": "ivory"}, ["Knobs", "wood, horn, other", '"ivory"']),
    ("state", "knobs", {"seen": "wood", "state": "fine"}, ["Knobs, change", '"fine"']),
    ("state alone", "knobs", {"state": "no-sign"}, ["the state alone"]),
    ("reason", "knobs", {"not_seen": "tired"}, ["Knobs, not seen", '"tired"']),
    ("both", "knobs", {"seen": "wood", "not_seen": "no-time"}, ["both", "Take one of them out"]),
    ("number", "neck-depth", {"seen": "about an inch"}, ['"about an inch"', "number"]),
    ("outside", "neck-depth", {"seen": "9.35"}, ["0.7 to 1.1 in", '"9.35 in"', "Measure again"]),
    ("no unit", "neck-depth", {"seen": "0.9", "unit": "ell"}, ['"ell"', "in, mm"]),
    ("wrong unit", "neck-depth", {"seen": "0.9", "unit": "kg"}, ["length"]),
    ("serial", "serial", {"seen": "A-17"}, ["Serial", "a serial such as", '"A-17"']),
    ("code", "volume-pot", {"seen": "99"}, ["Volume pot", '"99"']),
    ("state of a sign", "edge-sign", {"seen": "none", "state": "signs"}, ["no state", "sign"]),
]


@pytest.mark.parametrize("script", [False, True], ids=["form", "script"])
@pytest.mark.parametrize(
    ("point", "fields", "said"), [w[1:] for w in WRONG], ids=[w[0] for w in WRONG]
)
def test_bad_input(
    site: Site, point: str, fields: dict[str, Any], said: list[str], *, script: bool
) -> None:
    """What can't be taken is told with what came and what is expected, and nothing is stored."""
    inspection = site.begin()
    response = site.answer(inspection, point, script=script, **fields)
    assert_says(response, 422, *said)
    assert len(site.history(inspection)) == 1
    assert ("<html" in response.text) is not script


@pytest.mark.parametrize(
    ("point", "fields", "kept"),
    [
        ("neck-depth", {"seen": "about <1> inch", "unit": "mm"}, 'value="about &lt;1&gt; inch"'),
        ("neck-depth", {"seen": "9.35", "unit": "mm"}, '<option value="mm" selected>'),
        ("serial", {"seen": "A-17", "note": "worn"}, ">worn</textarea>"),
        ("volume-pot", {"seen": "53-99", "unsure": "1"}, '.unsure" value="1" checked'),
    ],
    ids=["text", "unit", "note", "unsure"],
)
def test_typed_text_stays(site: Site, point: str, fields: dict[str, str], kept: str) -> None:
    """A plain form that can't be taken comes back as it was filled in, at its point."""
    inspection = site.begin()
    response = site.answer(inspection, point, go="next", **fields)
    assert response.status_code == 422
    html = fieldset(response, point)
    assert kept in html
    assert "hidden disabled" not in html
    assert 'role="alert"' in response.text


def test_script_fault_replaces_nothing_else(site: Site) -> None:
    """To a script a fault is one part of the page, so that what was typed stays where it is."""
    response = site.answer(site.begin(), "serial", script=True, seen="A-17")
    assert response.text.count("hx-swap-oob") == 1
    assert 'id="fault"' in response.text
    assert "<input" not in response.text


def test_too_many_fields(site: Site) -> None:
    """Thousands of fields are taken or refused, and never a fault of the program."""
    fields = MultiDict([("_point", "knobs"), *((f"f{n}", "1") for n in range(5000))])
    response = site.post(f"/inspect/{site.begin()}/answer", fields)
    assert response.status_code in (303, 413)


def test_not_a_form(site: Site) -> None:
    """A body of another type names no point; one that is no form at all neither."""
    inspection = site.begin()
    for kind in ("application/json", "multipart/form-data; boundary=x", "text/plain", "nonsense"):
        response = site.client.post(
            f"/inspect/{inspection}/answer",
            data=b'{"_point": "knobs"}\xff\xfe',
            content_type=kind,
            headers={"Sec-Fetch-Site": "same-origin"},
        )
        assert response.status_code in (400, 404)
        assert not has_trace(response)
    assert len(site.history(inspection)) == 1


def test_bytes_that_are_no_text(site: Site) -> None:
    """Bytes that are no UTF-8 are read with replacement, never a fault of the program."""
    inspection = site.begin()
    response = site.client.post(
        f"/inspect/{inspection}/answer",
        data=b"_point=knobs&knobs=wood&knobs.note=%ff%fe%ed%a0%80",
        content_type="application/x-www-form-urlencoded",
        headers={"Sec-Fetch-Site": "same-origin"},
    )
    assert response.status_code in (303, 422)
    assert site.get(f"/inspect/{inspection}").status_code == 200


POINTS = ("knobs", "neck-depth", "serial", "volume-pot", "finish-signs", "edge-sign")
PARTS = ("", ".unsure", ".state", ".not-seen", ".note", ".where", ".unit")
NAMES = st.one_of(
    st.builds("{}{}".format, st.sampled_from(POINTS), st.sampled_from(PARTS)),
    st.sampled_from(["_go", "_point"]),
    st.text(max_size=12),
)
VALUES = st.one_of(
    st.text(max_size=40),
    st.sampled_from(["wood", "horn", "other", "overspray", "none", "1", "changed", "no-sign"]),
    st.sampled_from(["no-time", "next", "clear", "back", "in", "mm", "kg", "front", "0420"]),
    st.from_regex(r"[0-9]{0,5}[ .,/-]{0,2}[0-9]{0,5} ?(in|mm|lb|k)?", fullmatch=True),
    st.floats().map(str),
    st.sampled_from(["1e400", "-0", "0/0", "1/0", "9" * 50, "\0", "\u202e", "\ud800", "٣"]),
)


@settings(
    max_examples=50, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None
)
@given(
    point=st.sampled_from(POINTS),
    fields=st.lists(st.tuples(NAMES, VALUES), max_size=12),
    script=st.booleans(),
)
def test_any_fields(site: Site, point: str, fields: list[tuple[str, str]], *, script: bool) -> None:
    """Whatever is sent is taken, refused in words or led on; never a fault of the program."""
    inspection = site.begin()
    body = "&".join(
        f"{quote(name, errors='surrogatepass')}={quote(value, errors='surrogatepass')}"
        for name, value in [("_point", point), *fields]
    )
    response = site.client.post(
        f"/inspect/{inspection}/answer",
        data=body,
        content_type="application/x-www-form-urlencoded",
        headers={"Sec-Fetch-Site": "same-origin", **({"HX-Request": "true"} if script else {})},
    )
    assert response.status_code in (200, 303, 422)
    assert not has_trace(response)
    kept = site.answers(inspection)
    assert set(kept) <= {point}
    assert response.status_code != 422 or not kept
    for page in (f"/inspect/{inspection}?at={point}", f"/inspect/{inspection}/verdict"):
        assert site.get(page).status_code == 200
