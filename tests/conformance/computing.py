"""Runs `lotwarden compute` on many objects at once."""
import json, os, subprocess
from pathlib import Path


def compute(what, objects):
    """Gives the answers to a list of objects, in order; a refusal fails the test."""
    program = Path(os.environ["LOTWARDEN_TEST_BIN"]) / "lotwarden"
    lines = "\n".join(json.dumps(each) for each in objects)
    done = subprocess.run([program, "compute", what], input=lines, capture_output=True, text=True, timeout=120)
    if done.returncode != 0:
        raise AssertionError(done.stderr)
    answers = [json.loads(line) for line in done.stdout.splitlines()]
    if len(answers) != len(objects):
        raise AssertionError(f"{len(answers)} answers to {len(objects)} objects")
    return answers
