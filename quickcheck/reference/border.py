"""What to say where a material is declared or suspected that borders ask about.

No row tells what an instrument is made of, or what is lawful: rules change, national law may be
stricter, and the text in force is the authority's. The rows are here so that whoever asks knows
what to ask about. Each says how it is known: ``read`` in a text, or ``memory`` where nobody has
looked it up yet; where only the day is from memory, its year alone is told.
"""

from dataclasses import dataclass
from typing import Final

CAUTION: Final = (
    "This is not legal advice. Species cannot be told from a look. Before any cross-border sale or "
    "travel ask your national CITES Management Authority; national law may be stricter."
)
IN_FORCE: Final = "The text in force is the authority’s: cites.org/eng/app."
SHORT: Final = (
    "Material declared or suspected, not established: before any border ask your national CITES "
    "Management Authority."
)
"""Where there is room for a line: small paper, a picture."""
SHORTEST: Final = "Protected materials: before a border ask the CITES authority."
"""On small paper where nothing is declared, or nobody knows."""


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule that a border may ask about: on what, since when, and how that is known."""

    about: str
    says: str
    since: str  # a year, or a day where that was read
    known: str  # "read", or "memory"
    source: str = ""

    @property
    def text(self) -> str:
        """The rule as a line."""
        since = f", {self.since}" if self.since else ""
        known = f"read in: {self.source}" if self.known == "read" else "from memory, not looked up"
        return f"{self.about}: {self.says}{since} ({known})."


RULES: Final = (
    Rule(
        "Dalbergia nigra (a rosewood)",
        "Appendix I; the exception for finished instruments does not apply to it",
        "1992",
        "read",
        "CITES document on rosewoods for CoP17; annotation #15",
    ),
    Rule(
        "All other Dalbergia (rosewoods), and three Guibourtia",
        "Appendix II with annotation #15",
        "2017",
        "read",
        "decision of CoP17, 2016; the day from memory",
    ),
    Rule(
        "Dalbergia cochinchinensis",
        "Appendix II; a limb of annotation #15 of its own",
        "2013",
        "read",
        "annotation #15, paragraph d",
    ),
    Rule(
        "Annotation #15",
        "excepts finished musical instruments, their finished parts and accessories",
        "26 Nov 2019",
        "read",
        "text as revised at CoP18; upheld at CoP20, closed 5 Dec 2025, by a trade body’s report",
    ),
    Rule(
        "Pernambuco (bows)",
        "Appendix II; annotation #10 revised at CoP20",
        "2026",
        "read",
        "a trade body’s report",
    ),
    Rule(
        "Ivory, tortoiseshell, whalebone",
        "Appendix I",
        "",
        "read",
        "handbook of a federation of musicians; since when is from memory: 1975 to 1990",
    ),
    Rule(
        "Abalone shell",
        "mostly not listed; rules on declaring wildlife may still apply",
        "",
        "memory",
    ),
    Rule(
        "Specimens acquired before the Convention applied to them",
        "a certificate of the Management Authority is needed (Article VII.2)",
        "1 July 1975",
        "read",
        "preamble of Resolution Conf. 16.8 (Rev. CoP17)",
    ),
    Rule(
        "The musical instrument certificate",
        "frequent non-commercial travel only: a sale is not covered",
        "2013",
        "read",
        "Resolution Conf. 16.8 (Rev. CoP17)",
    ),
)
"""As looked up in November 2026; none is legal advice."""
