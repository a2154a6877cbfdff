"""The book: every inspection, newest first; open one again."""

from flask import Blueprint, render_template, request

from quickcheck import desk
from quickcheck.web import photos
from quickcheck.web.context import inspection_id, settings

pages = Blueprint("book", __name__)
_PAGE = 20


@pages.get("/book")
def index() -> str:
    """List the inspections with their verdicts."""
    store = settings().store
    before = request.args.get("before")
    found = store.book.list(_PAGE, inspection_id(before) if before else None)
    entries = [(saved, desk.judge_saved(store, saved)) for saved in found]
    older = str(found[-1].id) if len(found) == _PAGE else ""
    pictured = {saved.id: photos.of(store, saved) for saved in found}
    return render_template(
        "book/list.html",
        entries=entries,
        older=older,
        cards=store.cards.counts(saved.id for saved in found),
        undecided=store.book.undecided(),
        documented=store.documented.of(saved.id for saved in found),
        photos={key: shown for key, shown in pictured.items() if shown},
    )
