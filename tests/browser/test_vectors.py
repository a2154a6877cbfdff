"""The engine in a real browser, squeezed as the server gives it."""

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Page

from tests.browser.alone import alone
from tests.browser.pages import Site
from tests.vectors import kept
from tests.vectors.kept import Doc, differences, in_order

pytestmark = pytest.mark.browser

AT_ONCE = 20  # references handed to the page in one go

JUDGE = """
async ([address, lines]) => {
  const { FaultsError, compileModel, judgeAndTell } = await import(address);
  let model = null;
  const outcomes = [];
  for (const line of lines) {
    if (line.model) {
      model = compileModel(line.model);
      continue;
    }
    try {
      const { result, sentences } = judgeAndTell(model, line.document, line.window);
      outcomes.push({ result, sentences: sentences.map((s) => [s.about, s.text, s.points]) });
    } catch (error) {
      if (!(error instanceof FaultsError)) throw error;
      outcomes.push({ faults: error.faults });
    }
  }
  return outcomes;
}
"""


def batches(lines: list[Doc]) -> Iterator[list[Doc]]:
    """Yield the lines, a few whole references at a time."""
    starts = [i for i, line in enumerate(lines) if "model" in line][::AT_ONCE]
    for start, end in zip(starts, [*starts[1:], len(lines)], strict=True):
        yield lines[start:end]


def test_the_browser_judges_as_python_does(page: Page, site: Site, complaints: list[str]) -> None:
    """Every vector comes out of the modules that the server serves as Python made it."""
    address, wrong, count = f"{alone(page)}/engine/index.js", [], 0
    page.goto(site.server.url)
    for lines in batches(kept.read()):
        sent = [{k: v for k, v in line.items() if k != "canonical"} for line in lines]
        vectors = [line for line in lines if "name" in line]
        outcomes: list[Any] = page.evaluate(JUDGE, [address, sent])
        for vector, outcome in zip(vectors, outcomes, strict=True):
            wanted = {k: vector[k] for k in ("result", "sentences", "faults") if k in vector}
            came = {k: in_order(v) if k == "faults" else v for k, v in outcome.items()}
            wrong += [f"{vector['name']} {place}" for place in differences(wanted, came)[:3]]
            count += 1
    assert not wrong, f"{len(wrong)} places, among them:\n" + "\n".join(wrong[:20])
    assert count >= 300
    assert complaints == []
