"""A small points file, and a table of ten instruments that teach it."""

POINTS = """# what the workshop looks at
format = 1
id = "small"
title = "Small (invented)"
covers = ["1950-01", "1959-12"]
edition = "1"
author = "Nobody"
licence = "CC0-1.0"
about = "Invented."
[source.papers]
title = "Papers (invented)"
kind = "document"
[[point]]
id = "screws"
area = "screws"
kind = "pick"
source = ["papers"]
[[point.seen]]
id = "slot"
label = "Slot"
[[point.seen]]
id = "cross"
label = "Cross"
"""


def table() -> str:
    """Return the table as CSV."""
    rows = [
        f"no. {year},{year}-06,{'slot' if year < 1955 else 'cross'}" for year in range(1950, 1960)
    ]
    return "\n".join(["instrument,month,screws", *rows])


def faulty_table() -> str:
    """Return the table with faults in two rows."""
    return table().replace("1951-06", "1951-16").replace("1957-06,cross", "1957-06,crss")
