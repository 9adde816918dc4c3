"""Machine code for this processor, kept on disk so that a chain is compiled once."""

from __future__ import annotations

import ctypes
import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import llvmlite
from llvmlite import binding, ir

from lamphouse.graph.chain.native.function import NAME
from lamphouse.graph.files.folders import cache_folder
from lamphouse.graph.files.kept import Kept

KERNELS: Final = "kernels"  # the folder of object files in that of what can be made again

Kernel = Callable[..., None]
_POINTERS: Final = 4
_LONGS: Final = 4
_FUNCTION: Final = ctypes.CFUNCTYPE(None, *[ctypes.c_void_p] * _POINTERS, *[ctypes.c_int64] * _LONGS)


class Compiler:
    """Turns LLVM modules into functions; holds the processor's description.

    `compiled` counts what was not in the cache.
    """

    def __init__(self, folder: Path | None = None) -> None:
        self.compiled = 0
        binding.initialize_native_target()
        binding.initialize_native_asmprinter()
        self._kept = Kept(cache_folder() / KERNELS if folder is None else folder, ".o", "Compiled chains")
        self._processor = (binding.get_host_cpu_name(), binding.get_host_cpu_features().flatten())

    def function(self, module: ir.Module) -> Kernel:
        """Return the kernel in `module`. A call releases the interpreter."""
        text = str(module)
        named = "\n".join((text, *self._processor, llvmlite.__version__))
        name = hashlib.sha256(named.encode()).hexdigest()
        code = self._kept.read(name)
        if code is None:
            code = self._compiled(text)
            self.compiled += 1
            self._kept.keep(name, code)
        return self._loaded(code)

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
        kernel = _FUNCTION(engine.get_function_address(NAME))
        kernel.engine = engine  # type: ignore[attr-defined]  # goes when nobody can call it
        return kernel
