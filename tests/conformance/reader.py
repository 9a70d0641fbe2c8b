"""The label reader under test: `lotwarden read` of the build that tests/run made."""
import json
import os
import subprocess
import unittest
from pathlib import Path

# The day of every reading here; it settles the century of two-digit years.
DATE = "2026-11-24"


def binary():
    """The path of `lotwarden`, or a failure that says what is missing."""
    folder = os.environ.get("LOTWARDEN_TEST_BIN")
    if not folder:
        raise unittest.TestCase.failureException(
            "LOTWARDEN_TEST_BIN names no folder: run tests/run, or set it to the folder of the "
            "built programs, such as $PWD/target/debug"
        )
    path = Path(folder) / "lotwarden"
    if not path.is_absolute() or not os.access(path, os.X_OK):
        raise unittest.TestCase.failureException(
            f"LOTWARDEN_TEST_BIN: there is no program at {path}; build it with "
            "cargo build --workspace --bins and give an absolute path"
        )
    return str(path)


def lotwarden(*arguments, text=None, folder=None):
    """Runs one command and gives its standard output; a failure shows its errors."""
    done = subprocess.run(
        [binary(), *arguments], input=text, capture_output=True, text=True, cwd=folder, timeout=300
    )
    if done.returncode:
        raise unittest.TestCase.failureException(
            f"lotwarden {' '.join(arguments)} ended with {done.returncode}: {done.stderr.strip()}"
        )
    return done.stdout


def read(labels, date=DATE, associations="off"):
    """One answer of the reader for each label, in order."""
    lines = "".join(json.dumps(label) + "\n" for label in labels)
    flags = ["--date", date, "--associations", associations]
    answers = lotwarden("read", *flags, text=lines).splitlines()
    assert len(answers) == len(labels), f"{len(answers)} answers to {len(labels)} labels"
    return [json.loads(answer) for answer in answers]
