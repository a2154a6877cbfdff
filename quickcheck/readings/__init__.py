"""What is read off an instrument or its parts: months, quantities, serials, codes and marks."""

from quickcheck.readings.months import month_of, month_text, month_words, parse_month, run_words
from quickcheck.readings.records import Meaning, Reading
from quickcheck.readings.scheme import Scheme
from quickcheck.readings.schemes import DATE_SCHEMES, SCHEMES, read_code, read_text
from quickcheck.readings.serials import SerialPattern, serial_number
from quickcheck.readings.units import UNITS, Quantity, Unit, convert, parse_quantity

__all__ = [
    "DATE_SCHEMES",
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
    "read_text",
    "run_words",
    "serial_number",
]
