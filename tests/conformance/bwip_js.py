"""bwip-js (npm, MIT), a maker and judge of symbols from outside this project."""
import concurrent.futures
import json
import os
import subprocess
import unittest
from pathlib import Path

HERE = Path(__file__).parent / "bwip"


def run(script, lines, *arguments):
    """Runs one of the scripts beside its package, which tests/run installs."""
    folder = os.environ.get("LOTWARDEN_TEST_NODE")
    if not folder or not (Path(folder) / "node_modules" / "bwip-js").is_dir():
        raise unittest.TestCase.failureException(
            "LOTWARDEN_TEST_NODE names no folder with bwip-js: run tests/run, or run npm ci in a "
            "copy of tests/conformance/bwip and set it to that folder"
        )
    done = subprocess.run(
        ["node", str(HERE / script), *arguments], input="".join(line + "\n" for line in lines),
        capture_output=True, text=True, timeout=500,
        env={**os.environ, "NODE_PATH": str(Path(folder) / "node_modules")},
    )
    if done.returncode:
        raise unittest.TestCase.failureException(f"{script}: {done.stderr.strip()}")
    return done.stdout.splitlines()


def judge(texts, companions):
    """For each bracketed text "" where bwip-js accepts it, else its error.

    With companions, an AI also needs the ones that the standard asks for beside it.
    """
    flag = str(companions).lower()
    lines = [json.dumps(text) for text in texts]
    half = (len(lines) + 1) // 2
    with concurrent.futures.ThreadPoolExecutor() as pool:
        parts = list(pool.map(lambda part: run("judge.js", part, flag), [lines[:half], lines[half:]]))
    return parts[0] + parts[1]


def draw(symbols, folder):
    """Draws each symbol (bwip-js's options) and gives the files in order."""
    run("draw.js", [json.dumps(symbol) for symbol in symbols], str(folder))
    return [Path(folder) / f"{at}.png" for at in range(len(symbols))]
