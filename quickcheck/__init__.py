"""Tell whether the parts of an instrument agree with the months its owner claims."""

from typing import Final

__version__: Final = "0.1.0"
