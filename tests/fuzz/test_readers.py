"""Every reader answers inputs made wrong by chance with a sentence. More by hand: see `run.py`."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

RUN = Path(__file__).with_name("run.py")
COUNT = os.environ.get("LAMPHOUSE_FUZZ", "250")
FIRST = os.environ.get("LAMPHOUSE_FUZZ_FIRST", "1")


@pytest.mark.slow
def test_mutated_inputs_over_every_reader_end_in_a_sentence_each():
    command = [sys.executable, str(RUN), "--count", COUNT, "--first", FIRST]
    done = subprocess.run(command, check=False, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
