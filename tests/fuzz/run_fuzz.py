"""Fuzz one target, guided by coverage: python run_fuzz.py TARGET INPUTS. A crash is left in tests/fuzz/crashes."""

import hashlib
import sys
from pathlib import Path

import atheris

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE)]
SECONDS, MEBIBYTES, LARGEST = 10, 1024, 8192

with atheris.instrument_imports(include=["cutbook"]):
    from targets import TARGETS

from seeds import WORDS, seeds  # noqa: E402


def keeping(target, crashes, last):
    """The target; an input that crashes it is kept, and the one at hand is in `last` should it hang or be killed."""

    def kept(content):
        last.write_bytes(content)
        try:
            target(content)
        except BaseException:
            (crashes / hashlib.sha256(content).hexdigest()[:16]).write_bytes(content)
            raise

    return kept


def main(name, inputs):
    corpus = HERE / "corpus" / name
    corpus.mkdir(parents=True, exist_ok=True)
    for number, content in enumerate(seeds()[name]):
        (corpus / f"seed-{number}").write_bytes(content)
    crashes = HERE / "crashes" / name
    crashes.mkdir(parents=True, exist_ok=True)
    words = HERE / "corpus" / f"{name}.words"
    escaped = ["".join(c if c.isascii() else "".join(f"\\x{b:02x}" for b in c.encode()) for c in word)
               for word in WORDS.get(name, ["0"])]  # fmt: skip
    words.write_text("".join(f'"{word}"\n' for word in escaped), encoding="ascii")
    atheris.Setup(
        [
            sys.argv[0], f"-runs={inputs}", f"-timeout={SECONDS}", f"-rss_limit_mb={MEBIBYTES}",
            f"-max_len={max(LARGEST, 2 * max(map(len, seeds()[name])))}", f"-artifact_prefix={crashes}/", f"-dict={words}", "-print_final_stats=1",
            "-verbosity=0" if inputs < 50_000 else "-verbosity=1", str(corpus),
        ],
        keeping(TARGETS[name], crashes, HERE / "corpus" / f"{name}.last"),
    )  # fmt: skip
    atheris.Fuzz()


if __name__ == "__main__":
    if sys.argv[1] == "names":
        print(*TARGETS)
        sys.exit()
    main(sys.argv[1], int(sys.argv[2]))
