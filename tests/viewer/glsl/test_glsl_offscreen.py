"""Graphics without a display: a picture there and back, and one sentence where there are none."""

import os
import subprocess
import sys

import numpy as np

SAYS = """
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.glsl.offscreen import Offscreen
try:
    with Offscreen((4, 4)):
        print("a context")
except BadInput as error:
    print(error)
"""


def test_a_picture_comes_back_as_it_was_first_row_first(drawing):
    from lamphouse.nodes.trace import picture

    width, height = drawing.offscreen.size
    marked = np.zeros((3, height, width), np.float32)
    marked[0, 0, 1], marked[1, -1, 0], marked[2, 5, 7] = -1.5, 1e-7, 4.25
    texture = drawing.offscreen.upload(marked)
    np.testing.assert_array_equal(drawing.draw(picture("marked"), marked=texture), marked)


def test_without_graphics_one_sentence_says_so():
    # GLVND finds no EGL driver where its list names none.
    environment = os.environ | {"__EGL_VENDOR_LIBRARY_FILENAMES": "/nowhere.json"}
    result = subprocess.run(
        [sys.executable, "-W", "error", "-c", SAYS],
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )
    assert result.stdout.startswith("There are no graphics here: EGL offers no OpenGL 3.3 (")
    assert result.stdout.count("\n") == 1
    assert result.stderr == ""
