"""Machine code for this processor, kept on disk so that a chain is compiled once.

The cache is a folder of object files, each named by a digest of what was compiled and for which
processor. A file appears only when it is whole, and one that is damaged is made again: any number of
processes may share it.
"""

from __future__ import annotations

import ctypes
import hashlib
import os
import sys
import tempfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

import llvmlite
from llvmlite import binding, ir

from lamphouse.graph.chain.native.frame import NAME

CACHE_VARIABLE: Final = "LAMPHOUSE_CACHE"

Kernel = Callable[..., None]
_POINTERS: Final = 4
_LONGS: Final = 4
_FUNCTION: Final = ctypes.CFUNCTYPE(None, *[ctypes.c_void_p] * _POINTERS, *[ctypes.c_int64] * _LONGS)
_DIGEST: Final = hashlib.sha256().digest_size


def cache_folder() -> Path:
    """Return the folder of compiled chains: LAMPHOUSE_CACHE, or the user's own cache."""
    if given := os.environ.get(CACHE_VARIABLE):
        return Path(given)
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", tempfile.gettempdir())) / "lamphouse"
    return Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache")) / "lamphouse"


class Compiler:
    """Turns LLVM modules into functions; holds the processor's description and what was loaded.

    `compiled` counts what was not in the cache.
    """

    def __init__(self, folder: Path | None = None) -> None:
        self.compiled = 0
        binding.initialize_native_target()
        binding.initialize_native_asmprinter()
        self._folder = cache_folder() if folder is None else folder
        self._processor = (binding.get_host_cpu_name(), binding.get_host_cpu_features().flatten())
        self._engines: list[Any] = []

    def function(self, module: ir.Module) -> Kernel:
        """Return the kernel in `module`. A call releases the interpreter."""
        text = str(module)
        named = "\n".join((text, *self._processor, llvmlite.__version__))
        path = self._folder / f"{hashlib.sha256(named.encode()).hexdigest()}.o"
        code = self._kept(path)
        if code is None:
            code = self._compiled(text)
            self.compiled += 1
            _keep(path, code)
        return self._loaded(code)

    def _kept(self, path: Path) -> bytes | None:
        with suppress(OSError):
            data = path.read_bytes()
            code, digest = data[:-_DIGEST], data[-_DIGEST:]
            if hashlib.sha256(code).digest() == digest:
                return code
        return None

    def _machine(self) -> Any:
        target = binding.Target.from_default_triple()
        cpu, features = self._processor
        return target.create_target_machine(cpu=cpu, features=features, opt=3)

    def _compiled(self, text: str) -> bytes:
        machine = self._machine()
        parsed = binding.parse_assembly(text)
        parsed.verify()
        builder = binding.create_pass_builder(machine, binding.create_pipeline_tuning_options(speed_level=3))
        builder.getModulePassManager().run(parsed, builder)
        return bytes(machine.emit_object(parsed))

    def _loaded(self, code: bytes) -> Kernel:
        engine = binding.create_mcjit_compiler(binding.parse_assembly(""), self._machine())
        engine.add_object_file(binding.ObjectFileRef.from_data(code))
        engine.finalize_object()
        self._engines.append(engine)
        kernel: Kernel = _FUNCTION(engine.get_function_address(NAME))
        return kernel


def _keep(path: Path, code: bytes) -> None:
    """Write `code` and its digest at `path`, whole or not at all; where that fails, go without."""
    with suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, suffix=".part", delete=False) as file:
            file.write(code + hashlib.sha256(code).digest())
        Path(file.name).replace(path)
