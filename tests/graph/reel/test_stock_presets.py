"""Every stock fits the chain that it names, and moves the picture."""

import pytest

from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.reel.presets import chain_preset, preset_names, stock_preset
from lamphouse.nodes.catalogue import Catalogue


@pytest.mark.parametrize("name", preset_names("stocks"))
def test_a_stock_fits_the_chain_that_it_names(name):
    stock = stock_preset(name)
    controls = Controls(chain_preset(stock.chain).chain, Catalogue())
    settings = controls.check(stock.settings, "")
    assert any(value != controls.neutral[key] for key, value in settings.items())
    assert "starting point" in stock.sentence
