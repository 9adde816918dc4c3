"""The native back end: the same bytes on any threads, no compiling for a new value, a shared cache."""

import gc
import subprocess
import sys
import weakref
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

from lamphouse.graph.chain import back_end
from lamphouse.graph.chain.native.code import Compiler
from lamphouse.graph.chain.native.run import NativeRun
from lamphouse.graph.chain.native.vectors import LANES
from lamphouse.graph.chain.numpy_run import NumpyRun
from lamphouse.graph.chain.rewrite import bind
from lamphouse.graph.files.folders import CACHE_VARIABLE
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.maths import curve, join, matrix, mix, offset, power, scale
from lamphouse.nodes.trace import call, constant, frame_input, picture, place

RNG = np.random.default_rng(91)


def _program(gamma=2.4):
    x = power(offset(scale(picture("scan"), RNG.uniform(0.5, 2, (3, 1))), 0.1), 1 / gamma)
    drawn = curve(x, np.sort(RNG.uniform(0, 1, (3, 65)), axis=1), np.ones((3, 2)))
    return bind(mix(matrix(drawn, RNG.uniform(-1, 1, (3, 3))), power(x, 3.0), 0.3), {})


@pytest.fixture
def cache(tmp_path):
    return tmp_path / "cache"


@pytest.mark.parametrize(
    "shape", [(3, LANES), (3, 1, LANES + 1), (3, 211, 317), (3, 3, 5 * LANES - 1), (3, 7, 16)]
)
def test_the_bytes_do_not_depend_on_the_number_of_threads(cache, shape):
    program, codes = _program(), RNG.uniform(-0.2, 1.2, shape).astype(np.float32)
    results = []
    for threads in (1, 2, 3, 8):
        with NativeRun(threads, Compiler(cache)) as run:
            results.append(run.run(program, {"scan": codes}))
    assert all(r.shape == shape and r.dtype == np.float32 for r in results)
    assert len({r.tobytes() for r in results}) == 1


def test_a_new_value_compiles_nothing_and_a_new_chain_does(cache):
    compiler = Compiler(cache)
    codes = RNG.uniform(0, 1, (3, 8, 32)).astype(np.float32)
    with NativeRun(1, compiler) as run:
        results = {run.run(_program(gamma), {"scan": codes}).tobytes() for gamma in np.linspace(1.5, 2.9, 20)}
        assert (len(results), compiler.compiled) == (20, 1)
        run.run(bind(power(picture("scan"), 2.0), {}), {"scan": codes})
        assert compiler.compiled == 2


def test_what_was_compiled_serves_the_next_process_and_what_is_damaged_is_made_again(cache):
    codes, program = RNG.uniform(0, 1, (3, 8, 32)).astype(np.float32), _program()

    def compiled():
        with NativeRun(1, compiler := Compiler(cache)) as run:
            return run.run(program, {"scan": codes}).tobytes(), compiler.compiled

    first, count = compiled()
    assert count == 1
    assert compiled() == (first, 0)
    (file,) = cache.iterdir()
    whole = file.read_bytes()
    for damaged in (b"", whole[:-1], whole[: len(whole) // 2], b"x" + whole[1:]):
        file.write_bytes(damaged)
        assert compiled() == (first, 1)
    assert file.read_bytes() == whole
    assert [path.suffix for path in cache.iterdir()] == [".o"]


@pytest.mark.slow
def test_several_processes_may_share_an_empty_cache(cache, tmp_path):
    code = (
        "import numpy as np\n"
        "from lamphouse.graph.chain.native.run import NativeRun\n"
        "from lamphouse.nodes.maths import power\n"
        "from lamphouse.nodes.trace import picture\n"
        "with NativeRun(1) as run:\n"
        "    print(run.run(power(picture('s'), 0.5), {'s': np.full((3, 2, 32), 0.25, np.float32)}).mean())\n"
    )
    environment = {CACHE_VARIABLE: str(cache), "PATH": "/usr/bin:/bin"}

    def run(_):
        return subprocess.run(
            [sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=True
        )

    with ThreadPoolExecutor(4) as pool:
        said = [done.stdout.strip() for done in pool.map(run, range(4))]
    assert [float(text) for text in said] == pytest.approx([0.5] * 4, abs=1e-6)
    assert len(list(cache.glob("kernels/*.o"))) == 1


def test_a_cache_that_cannot_be_written_is_done_without(tmp_path):
    nowhere = tmp_path / "file"
    nowhere.write_text("no folder")
    with NativeRun(1, Compiler(nowhere / "cache")) as run:
        made = run.run(scale(picture("s"), constant(2.0)), {"s": np.ones((3, 2, 32), np.float32)})
    np.testing.assert_array_equal(made, 2)


@pytest.mark.parametrize("shape", [(3, 41, 50), (3, 5, LANES), (3, 9, 1000)])
def test_a_pixel_knows_its_place_on_any_raster(cache, shape):
    where = place()
    program = join(where.across, where.down, 0.0)
    codes = np.zeros(shape, np.float32)
    with NativeRun(3, Compiler(cache)) as run, NumpyRun(1) as definition:
        made = run.run(program, {"s": codes}, 1.4)
        np.testing.assert_allclose(made, definition.run(program, {"s": codes}, 1.4), rtol=1e-6, atol=1e-5)


@pytest.mark.parametrize(
    ("shape", "kind"), [((3, 4, 40), np.float64), ((3, 6, 9), np.float32), ((3, 5), np.float32)]
)
def test_what_it_is_not_made_for_is_the_definitions_work(cache, shape, kind):
    program, codes = _program(), RNG.uniform(0, 1, shape).astype(kind)
    with NativeRun(2, Compiler(cache)) as run, NumpyRun(1) as definition:
        np.testing.assert_array_equal(
            run.run(program, {"scan": codes}), definition.run(program, {"scan": codes})
        )


def test_a_plain_function_runs_between_compiled_parts(cache):
    doubled = call(lambda rgb: rgb * 2, "doubled", power(picture("s"), 2.0), whole=False)
    softened = call(
        lambda rgb: (rgb + np.roll(rgb, 1, axis=1)) / 2, "softened", offset(doubled, 0.1), whole=True
    )
    codes = RNG.uniform(0, 1, (3, 20, 33)).astype(np.float32)
    with NativeRun(2, Compiler(cache)) as run, NumpyRun(2) as definition:
        made = run.run(scale(softened, 0.5), {"s": codes})
        meant = definition.run(scale(softened, 0.5), {"s": codes.astype(np.float64)})
    np.testing.assert_allclose(made, meant, atol=1e-5)


@pytest.mark.parametrize("whole", [True, False])
def test_a_plain_function_is_given_the_numbers_of_the_frame_as_they_are(cache, whole):
    def drawn(rgb, points):
        assert points.shape == (2, 2)
        return rgb * points[1, 0] + points[0, 1]

    numbers = {"n.points": np.array([[0.0, 0.25], [2.0, 1.0]])}
    program = scale(
        call(drawn, "n", picture("s"), numbers=[frame_input("n.points")], whole=whole), frame_input("gain")
    )
    codes = RNG.uniform(0, 1, (3, 8, 40)).astype(np.float32)
    with NativeRun(2, Compiler(cache)) as run, NumpyRun(1) as definition:
        for gain in (0.5, 3.0):
            for back_end in (run, definition):
                made = back_end.run(program, {"s": codes}, inputs=numbers | {"gain": np.array([[gain]])})
                np.testing.assert_allclose(made, (codes * 2 + 0.25) * gain, rtol=1e-6)


def test_numbers_that_are_none_harm_nothing(cache):
    edges = np.array([np.nan, np.inf, -np.inf, 3e38, -3e38, 0.0, -0.0, 1e-40], np.float32)
    codes = np.stack(np.meshgrid(edges, edges, edges, indexing="ij")).reshape(3, 8, 64)
    with NativeRun(2, Compiler(cache)) as run:
        assert run.run(_program(), {"scan": np.ascontiguousarray(codes)}).shape == codes.shape


def test_pictures_that_do_not_lie_in_one_piece_are_read_as_they_are(cache):
    wide = RNG.uniform(0, 1, (3, 30, 80)).astype(np.float32)
    program = scale(picture("s"), constant(3.0))
    with NativeRun(2, Compiler(cache)) as run:
        np.testing.assert_array_equal(
            run.run(program, {"s": wide[:, ::2, 10:60]}), wide[:, ::2, 10:60] * np.float32(3)
        )


def _cannot(*given):
    raise RuntimeError("no memory may be run")


@pytest.mark.parametrize("lacking", ["library", "leave"])
def test_where_nothing_can_be_compiled_numpy_serves_and_that_is_said(monkeypatch, lacking):
    if lacking == "library":
        monkeypatch.setitem(sys.modules, "lamphouse.graph.chain.native.run", None)
    else:
        monkeypatch.setattr(Compiler, "_loaded", _cannot)
    with pytest.warns(UserWarning, match="Chains run in NumPy here, and slower"):
        run = back_end.open_run(1)
    assert isinstance(run, NumpyRun)
    run.close()


def test_the_back_end_is_the_one_that_is_named(monkeypatch):
    for name, kind in {"numpy": NumpyRun, "native": NativeRun, "": NativeRun}.items():
        monkeypatch.setenv(back_end.BACK_END_VARIABLE, name)
        with back_end.open_run(1) as run:
            assert isinstance(run, kind)
    monkeypatch.setenv(back_end.BACK_END_VARIABLE, "numpi")
    with pytest.raises(BadInput, match=r"^LAMPHOUSE_BACK_END is numpi; give native or numpy, or unset it\.$"):
        back_end.open_run(1)


def test_only_so_many_kernels_and_programs_are_held(cache, monkeypatch):
    codes = np.zeros((3, 2, LANES), np.float32)
    monkeypatch.setattr("lamphouse.graph.chain.native.run.KERNELS", 3)
    monkeypatch.setattr("lamphouse.graph.chain.native.run.READY", 2)
    kernels, programs = [], []
    with NativeRun(1, compiler := Compiler(cache)) as run:
        load = compiler.function
        monkeypatch.setattr(
            compiler, "function", lambda module: kernels.append(weakref.ref(made := load(module))) or made
        )
        for steps in range(1, 7):
            program = picture("s")
            for _ in range(steps):
                program = offset(program, held := np.full((1, 1), 0.5))
            programs.append(weakref.ref(held))
            assert run.run(program, {"s": codes})[0, 0, 0] == steps / 2
        del program, held
        gc.collect()
        assert [kernel() is not None for kernel in kernels] == [False] * 3 + [True] * 3
        assert [constants() is not None for constants in programs] == [False] * 4 + [True] * 2
