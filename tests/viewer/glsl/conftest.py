"""A picture drawn with no display, and the definition it is compared with."""

from __future__ import annotations

import os
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
import pytest

from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.order import SCAN
from lamphouse.graph.chain.rewrite import simplify
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.glsl.offscreen import Offscreen

# Signals from -1 to 4, thick about black, and the greys.
RNG = np.random.default_rng(83)
CODES = np.concatenate(
    [RNG.uniform(-1, 4, (3, 2000)), RNG.normal(0, 0.05, (3, 1000)), np.tile(np.linspace(-1, 4, 904), (3, 1))],
    axis=1,
)
CODES = CODES.reshape(3, 61, 64).astype(np.float32)
CLOSE = 1e-3  # of signal, or of the value where that is above 1

# The same but for the last bits: where they decide, a float32 may be right by luck.
NUDGED = [CODES * (1 + RNG.choice([-1, 1], CODES.shape) * 2.0**-20).astype(np.float32) for _ in range(2)]


@dataclass
class Drawing:
    """A shader in a context, and the scan's picture in it. Use `draw`, or hold it against the definition."""

    offscreen: Offscreen
    shader: Any
    scan: int
    definition: NumpyRun

    def draw(self, program: Any, inputs: Any = None, pixel_aspect: float = 1.0, **pictures: int) -> Any:
        """Return what the shader makes of the scan, and of pictures by other names."""
        self.offscreen.bind()
        self.shader.draw(
            program, inputs or {}, {SCAN: self.scan, **pictures}, self.offscreen.size, pixel_aspect
        )
        return self.offscreen.read()

    def hold(self, program: Any, inputs: Any = None, pixel_aspect: float = 1.0) -> float:
        """Hold the shader to the definition; return the share of pixels where float32 can say."""
        made = self.draw(program, inputs, pixel_aspect)
        # With its numbers known more could be rewritten, and past the brightest light there is that shows.
        defined = partial(
            self.definition.run, simplify(program, {}), pixel_aspect=pixel_aspect, inputs=inputs or {}
        )
        meant = defined({SCAN: CODES.astype(np.float64)})
        large = np.maximum(1, np.abs(meant))
        singles = [defined({SCAN: codes}) for codes in (CODES, *NUDGED)]
        firm = np.all([np.abs(single - meant) <= CLOSE / 3 * large for single in singles], axis=0)
        assert np.isfinite(made).all()
        np.testing.assert_array_less((np.abs(made - meant) / large)[firm], CLOSE)
        return float(firm.mean())


@pytest.fixture(scope="module")
def context():
    """GL without a display."""
    try:
        context = Offscreen(CODES.shape[:0:-1]).__enter__()
    except BadInput as error:
        if os.environ.get("CI"):
            raise
        pytest.skip(str(error))
    yield context
    context.__exit__(None, None, None)


@pytest.fixture(scope="module")
def drawing(context):
    from lamphouse.viewer.glsl.shader import ChainShader

    with NumpyRun(2) as definition:
        shader = ChainShader()
        yield Drawing(context, shader, context.upload(CODES), definition)
        shader.delete()
