"""Ours and the general peer on the same instances in one run: value, bound, time, memory.

    cargo build --release -p axlewright-planning --example sop
    pip install -r reference/planning/requirements.txt
    python reference/planning/compare.py target/release/examples/sop FILE.sop [FILE.sop ...]

Each runs in a process of its own, one after the other; peak memory is the process's own.
"""

import argparse
import json
import os
import pathlib
import subprocess
import sys
import time

PEER = pathlib.Path(__file__).with_name("cpsat_sop.py")


def run(command):
    """What it printed, its seconds by the clock and its peak memory in MB."""
    start = time.monotonic()
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    said = process.stdout.read()
    _, _, used = os.wait4(process.pid, 0)
    return said, time.monotonic() - start, used.ru_maxrss / 1024


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("ours")
    parser.add_argument("files", nargs="+", type=pathlib.Path)
    parser.add_argument("--seconds", type=float, default=60.0)
    asked = parser.parse_args()
    limit = str(asked.seconds)
    print("| instance | solver | value | proven bound | s | MB |")
    print("|---|---|---|---|---|---|")
    for path in asked.files:
        said, seconds, memory = run([asked.ours, str(path), "--seconds", limit, "--json"])
        found = json.loads(said)
        row = f"{found['value']} | {found['bound']} | {seconds:.1f} | {memory:.0f} |"
        print(f"| {path.stem} | ours | {row}", flush=True)
        said, seconds, memory = run([sys.executable, str(PEER), str(path), "--seconds", limit])
        _, value, bound, *_ = said.split()
        print(f"| {path.stem} | CP-SAT | {value} | {bound} | {seconds:.1f} | {memory:.0f} |",
              flush=True)


if __name__ == "__main__":
    main()
