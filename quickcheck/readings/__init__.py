"""What is read off an instrument or its parts: months, quantities, serials and date codes."""

from quickcheck.readings.datecodes import SCHEMES, Meaning, Reading, Scheme, read_code
from quickcheck.readings.months import month_of, month_text, month_words, parse_month, run_words
from quickcheck.readings.serials import SerialPattern, serial_number
from quickcheck.readings.units import UNITS, Quantity, Unit, convert, parse_quantity

__all__ = [
    "SCHEMES",
    "UNITS",
    "Meaning",
    "Quantity",
    "Reading",
    "Scheme",
    "SerialPattern",
    "Unit",
    "convert",
    "month_of",
    "month_text",
    "month_words",
    "parse_month",
    "parse_quantity",
    "read_code",
    "run_words",
    "serial_number",
]
