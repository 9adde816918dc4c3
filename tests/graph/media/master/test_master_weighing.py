"""Resized pictures have one order of sums: the same bits by every back end, on every processor."""

import os
import subprocess
import sys

import numpy as np
import pytest

from lamphouse.graph.chain.native.code import Compiler
from lamphouse.graph.chain.native.run import NativeRun
from lamphouse.graph.media.codes.resample import FILTERS, Line, resize, taps

RNG = np.random.default_rng(61)


def _one_after_the_other(line, size, name):
    """A line (n,) scaled sample by sample: the first product, and then each of those after it added."""
    read, out = taps(Line(len(line), range(size), len(line) / size), name), []
    for first, weights in zip(read.first, read.weights, strict=True):
        total = line[first] * weights[0]
        for tap in range(1, len(weights)):
            total = np.float32(total + np.float32(line[first + tap] * weights[tap]))
        out.append(total)
    return np.array(out, np.float32)


@pytest.mark.parametrize("name", FILTERS)
@pytest.mark.parametrize(("width", "height"), [(25, 20), (40, 33), (30, 7)])
def test_a_sum_is_taken_in_the_order_that_is_written(name, width, height):
    picture = RNG.uniform(0, 1, (3, 20, 30)).astype(np.float32)
    meant = picture
    if height != 20:
        meant = np.apply_along_axis(_one_after_the_other, 1, meant, height, name)
    if width != 30:
        meant = np.apply_along_axis(_one_after_the_other, 2, meant, width, name)
    assert resize(picture, width, height, name).tobytes() == meant.tobytes()


@pytest.fixture(scope="module")
def compiler(tmp_path_factory):
    return Compiler(tmp_path_factory.mktemp("cache"))


@pytest.fixture(scope="module", params=[1, 3])
def native(compiler, request):
    with NativeRun(request.param, compiler) as run:
        yield run


@pytest.mark.parametrize("name", FILTERS)
@pytest.mark.parametrize(
    ("width", "height"), [(97, 61), (50, 61), (97, 40), (31, 17), (16, 90), (15, 9), (203, 130), (97, 1)]
)
def test_machine_code_gives_the_bits_of_the_definition(native, name, width, height):
    picture = RNG.uniform(-0.5, 1.5, (3, 61, 97)).astype(np.float32)
    meant = resize(picture, width, height, name)
    assert resize(picture, width, height, name, native.weighted).tobytes() == meant.tobytes()


def test_machine_code_reads_a_picture_that_lies_in_memory_otherwise(native):
    wide = RNG.uniform(0, 1, (3, 80, 120)).astype(np.float32)
    for picture in (wide[:, ::2, 10:90], wide[:, ::-1, ::2], wide.transpose(0, 2, 1)):
        made = resize(picture, 55, 33, "cubic", native.weighted)
        assert made.tobytes() == resize(np.ascontiguousarray(picture), 55, 33, "cubic").tobytes()


CODE = """
import hashlib
import numpy as np
from lamphouse.graph.media.codes.resample import resize
picture = np.random.Generator(np.random.Philox(7)).random((3, 120, 160), np.float32)
print(hashlib.sha256(resize(picture, 150, 96, "lanczos3").tobytes()).hexdigest())
"""


def test_the_bits_do_not_depend_on_the_linear_algebra_that_a_processor_is_given():
    # OpenBLAS, which NumPy's wheels bring, takes the kernels of the processor that is named here.
    found = set()
    for processor in ("Prescott", "Nehalem", "Haswell"):
        variables = os.environ | {"OPENBLAS_CORETYPE": processor}
        done = subprocess.run(
            [sys.executable, "-c", CODE], env=variables, capture_output=True, text=True, check=True
        )
        found.add(done.stdout)
    assert len(found) == 1
