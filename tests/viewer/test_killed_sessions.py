"""A desk that is killed at any moment leaves a whole file, which lacks the last 5 seconds of work at most.

Time is the turns': 40 ms each, as at 25 a second, however quick or slow the machine is.
"""

import random
import subprocess
import sys

import pytest

from lamphouse.graph.reel.store import load
from lamphouse.viewer.models.recovery import Recovery

TURN, MOST = 40_000_000, 5_000_000_000  # nanoseconds
SESSION = """
import os, random, sys
from pathlib import Path
from lamphouse.graph.edits.cues import set_cue
from lamphouse.graph.reel_files.opened import open_reel
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.viewer.models.commands.command import Inputs
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.saving import begin
from lamphouse.viewer.models.seen import Textures
from lamphouse.viewer.turn.display import News
from lamphouse.viewer.turn.hands import Hands
from lamphouse.viewer.turn.loop import Loop

class Nothing:
    textures, is_complete = Textures(), True
    def news(self): return News()
    def begin(self): return Inputs()
    def __getattr__(self, name): return lambda *given, **named: None

desk, nothing, now = Desk(open_reel(Path(sys.argv[1]), Catalogue())), Nothing(), 10**9
begin(desk)
loop = Loop(desk, Panels(), nothing, surface=nothing, hands=Hands([]), ear=nothing, clock=lambda: now)
choose, drag, number, rests = random.Random(int(sys.argv[2])), None, 0, 0
while True:
    now += 40_000_000
    if rests:
        rests -= 1
    elif choose.random() < 0.02:
        rests, drag = choose.randrange(60), None
    else:
        number += 1
        if choose.random() < 0.1:
            drag = desk.grasp("name")
        os.write(1, f"{now} {number}\\n".encode())
        desk.rename(4, str(number), drag)
        if number % 50 == 0:
            desk.edit(lambda reel: set_cue(reel, 5 + number // 50 % 30, desk.controls, {}))
    os.write(1, f"{now}\\n".encode())
    loop.turn()
"""


def killed(reel_file, seed):
    """Kill a session after some work; return its last moment, and when each edit was begun."""
    command = [sys.executable, "-c", SESSION, str(reel_file), str(seed)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as session:
        choose, lines = random.Random(seed), []
        for _ in range(choose.randrange(20, 1000)):  # at whatever it does then, and writes meanwhile
            lines.append(session.stdout.readline())
        session.kill()
        lines += session.stdout.readlines()
    whole = [line.split() for line in lines if line.endswith("\n")]
    return int(whole[-1][0]), {int(words[1]): int(words[0]) for words in whole if len(words) > 1}


def lost(reel_file, seed):
    """Return how long before the kill the first edit was that is lost, in nanoseconds; then begin anew."""
    end, edits = killed(reel_file, seed)
    recovery = Recovery(reel_file, load(reel_file))
    found = recovery.offered()
    kept = int(found.reel.cues[0].name) if found else 0
    recovery.saved(load(reel_file))
    recovery.answered()
    recovery.path.unlink(missing_ok=True)
    recovery.close()
    return end - edits[kept + 1] if kept + 1 in edits else 0


@pytest.mark.slow
def test_what_a_killed_desk_leaves_is_whole_and_lacks_the_last_five_seconds_at_most(reel_file):
    for seed in range(2):
        assert lost(reel_file, seed) <= MOST, f"seed {seed}"
