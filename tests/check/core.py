"""The only place that knows how the core is asked: intents in, scenes out, through its native door.

Everything else here speaks of jobs, marks and sizes. When an intent or the scene changes, change it here.
"""

import dataclasses
import json
import os
import pathlib
import re
import subprocess
import tempfile

from PIL import Image

ROOT = pathlib.Path(__file__).resolve().parents[2]


class Refused(Exception):
    """The core said no, in words."""

    def __init__(self, error):
        super().__init__(error.get("text") or error.get("key") or str(error))
        self.key = error.get("key", "")
        told = {name: re.sub(r"\D", "", value) for name, value in error.get("args", []) if value.startswith("Count(")}
        self.at = int(told["at"]) if "at" in told else None
        self.len = int(told.get("len", 1))


def build(fault=False):
    """Builds the native door and gives its path. The build with planted faults has a folder of its own."""
    command = ["cargo", "build", "--profile", "native", "--quiet", "--package", "replay", "--message-format", "json"]
    if fault:
        command += ["--features", "fault", "--target-dir", str(ROOT / "target" / "fault")]
    made = subprocess.run(command, cwd=ROOT, stdout=subprocess.PIPE, text=True, check=True)
    for line in made.stdout.splitlines():
        told = json.loads(line)
        if told.get("reason") == "compiler-artifact" and told.get("executable") and told["target"]["name"] == "replay":
            return told["executable"]
    raise SystemExit("the native door was not built")


class Core:
    """Asks the native door; one process for each batch of intents."""

    def __init__(self, binary, fault=None):
        self.command = [binary] + ([f"--fault={fault}"] if fault else [])

    def lines(self, intents):
        """The answer to each intent, as it was printed."""
        with tempfile.NamedTemporaryFile("w", suffix=".jsonl", encoding="utf-8") as file:
            for intent in intents:
                file.write(json.dumps(intent, ensure_ascii=False) + "\n")
            file.flush()
            done = subprocess.run([*self.command, file.name], capture_output=True, text=True, encoding="utf-8")
        lines = done.stdout.splitlines()
        if done.returncode != 0 or len(lines) != len(intents):
            raise RuntimeError(f"the core stopped with {done.returncode} after {len(lines)} of {len(intents)}: {done.stderr[-400:]}")
        return lines

    def play(self, intents):
        """The last scene; raises at the first refusal."""
        answers = [json.loads(line) for line in self.lines(intents)]
        for answer in answers:
            if "error" in answer:
                raise Refused(answer["error"])
        return Scene(answers[-1])

    def last(self, intents):
        """The last scene alone, for many intents; raises at a refusal."""
        with tempfile.NamedTemporaryFile("w", suffix=".jsonl", encoding="utf-8") as file:
            file.writelines(json.dumps(i) + "\n" for i in intents)
            file.flush()
            told = subprocess.run([*self.command, file.name, "--last"], capture_output=True, check=True, text=True, encoding="utf-8")
        for line in told.stdout.splitlines():
            if "error" in json.loads(line):
                raise Refused(json.loads(line)["error"])
        return Scene(json.loads(told.stdout.splitlines()[-1]))

    def jobs(self, many):
        """For each list of intents, a job by itself: the answers that are refusals, raw, and the last scene."""
        with tempfile.NamedTemporaryFile("w", suffix=".jsonl", encoding="utf-8") as file:
            for intents in many:
                file.writelines(json.dumps(i) + "\n" for i in [*intents, {"kind": "next-job"}])
            file.flush()
            told = subprocess.run([*self.command, file.name, "--last"], capture_output=True, check=True, text=True, encoding="utf-8").stdout
        out = [[]]
        for answer in map(json.loads, told.splitlines()):
            out[-1].append(answer)
            if "error" not in answer:
                out.append([])
        # The last is the empty job that was begun and never used.
        if len(out) != len(many) + 2:
            raise RuntimeError(f"{len(many)} jobs gave {len(out) - 2} scenes")
        return out[: len(many)]

    def scenes(self, many):
        """For each list of intents, a job by itself, its last scene; raises at a refusal."""
        out = []
        for answers in self.jobs(many):
            if "error" in answers[0]:
                raise Refused(answers[0]["error"])
            out.append(Scene(answers[-1]))
        return out

    def play_at(self, intents, places):
        """The scenes after the intents at `places` only; refusals elsewhere aren't looked for."""
        lines = self.lines(intents)
        out = []
        for place in places:
            answer = json.loads(lines[place])
            if "error" in answer:
                raise Refused(answer["error"])
            out.append(Scene(answer))
        return out

    def answers(self, intents):
        """What each intent gave: a Scene, or the Refused."""
        told = [json.loads(line) for line in self.lines(intents)]
        return [Refused(a["error"]) if "error" in a else Scene(a) for a in told]

    def measured(self, intents):
        """What each intent gave, as `answers`, and the most memory that took, kB."""
        with tempfile.NamedTemporaryFile("w", suffix=".jsonl", encoding="utf-8") as file, tempfile.TemporaryFile("w+", encoding="utf-8") as out:
            file.writelines(json.dumps(i) + "\n" for i in intents)
            file.flush()
            pid = subprocess.Popen([*self.command, file.name], stdout=out).pid
            _, status, usage = os.wait4(pid, 0)
            if status != 0:
                raise RuntimeError(f"the core stopped with {status}")
            out.seek(0)
            told = [json.loads(line) for line in out]
        return [Refused(a["error"]) if "error" in a else Scene(a) for a in told], usage.ru_maxrss

    def csv(self, intents):
        """The sizes as comma-separated values, after the last scene."""
        with tempfile.NamedTemporaryFile("w", suffix=".jsonl", encoding="utf-8") as file:
            file.writelines(json.dumps(i) + "\n" for i in intents)
            file.flush()
            told = subprocess.run([*self.command, file.name, "--last", "--csv"], capture_output=True, check=True)
        return told.stdout.decode("utf-8").partition("\n")[2]

    def seek_in(self, asks):
        """What is found for each (picture file, ask), or the Refused."""
        out = []
        for line in self.lines([{"kind": "seek", "file": str(file), "ask": ask} for file, ask in asks]):
            answer = json.loads(line)
            out.append(Refused(answer["error"]) if "error" in answer else answer["found"])
        return out

    def reshape(self, shapings):
        """What is made of outlines: for each thing asked the shaped one, or the Refused."""
        out = []
        for line in self.lines([{"kind": "reshape", "shaping": one} for one in shapings]):
            answer = json.loads(line)
            out.append(Refused(answer["error"]) if "error" in answer else answer["found"]["shaped"])
        return out

    def seek(self, picture, asks, quality=None):
        """What is found for each thing asked of a grey picture's pixels, or None where there is nothing to hold.
        `quality` stores it as a JPEG."""
        with tempfile.TemporaryDirectory() as folder:
            name = f"{folder}/seen.{'jpg' if quality else 'png'}"
            Image.fromarray(picture).save(name, **({"quality": quality} if quality else {"compress_level": 1}))
            out = []
            for line in self.lines([{"kind": "seek", "file": name, "ask": ask} for ask in asks]):
                answer = json.loads(line)
                if "error" in answer and answer["error"]["key"] != "seek.nothing":
                    raise Refused(answer["error"])
                out.append(answer.get("found"))
        return out

    def drawings(self, pieces, style="millimetres", step="0.1 mm"):
        """What stands on paper for each piece: a list of drawings, or the Refused."""
        paper = {"name": "a4", "size": [210, 297], "margins": [6, 6, 6, 6], "turn": "fewest", "lap": 12.7, "printer": [1, 1]}
        order = {"job": "", "date": "", "revision": 1, "style": style, "step": step, "direction": "nearest", "paper": paper, "words": []}
        out = []
        for line in self.lines([{"kind": "drawing", "order": order | {"pieces": [piece]}} for piece in pieces]):
            answer = json.loads(line)
            out.append(Refused(answer["error"]) if "error" in answer else answer["drawings"])
        return out

    def parts(self, asks):
        """What is reckoned of parts, for each thing asked."""
        out = []
        for line in self.lines([{"kind": "part", "ask": ask} for ask in asks]):
            answer = json.loads(line)
            if "error" in answer:
                raise Refused(answer["error"])
            out.append(answer["part"])
        return out

    def lay(self, lots):
        """Each lot laid out: {"laid", "cuts"}."""
        out = []
        for line in self.lines([{"kind": "lay", "lots": [one]} for one in lots]):
            answer = json.loads(line)
            if "error" in answer:
                raise Refused(answer["error"])
            out.append(answer["lots"][0])
        return out

    def part_refused(self, ask):
        """The name of the refusal of what is asked, or what was told instead."""
        try:
            return self.parts([ask])[0]
        except Refused as refused:
            return refused.key

    def answers_raw(self, intents):
        """What the last intent gave, as it was printed."""
        answer = json.loads(self.lines(intents)[-1])
        if "error" in answer:
            raise Refused(answer["error"])
        return answer

    def table(self, intents):
        """The cutting list as comma-separated values."""
        return self.answers_raw([*intents, {"kind": "cutting-table"}])["csv"]

    def odd_offsets(self, tables):
        """For each (stations, offsets, step), in mm: [station, how far off, what would be fair] of those that stand off."""
        asks = [{"kind": "fair", "stations": x, "offsets": y, "step": step} for x, y, step in tables]
        return [json.loads(line)["odd"] for line in self.lines(asks)]

    def read_lengths(self, texts, style):
        """Each text's length in mm with its figure as text, or the Refused."""
        out = []
        for line in self.lines([{"kind": "ask-length", "text": t, "style": style} for t in texts]):
            answer = json.loads(line)
            out.append(Refused(answer["error"]) if "error" in answer else answer["answer"])
        return out


@dataclasses.dataclass
class Size:
    """A size: mm (or mm², radians), with what it may be off by below and above, 95 %."""

    value: float
    minus: float
    plus: float
    text: str

    @property
    def half(self):
        """The half-width where both sides are the same; their mean where not."""
        return (self.minus + self.plus) / 2

    def covers(self, truth):
        """Whether the truth lies within the stated bounds."""
        return self.value - self.minus <= truth <= self.value + self.plus


def size_of(told):
    """A Size out of the scene's."""
    return None if told is None else Size(told["value"], told["minus"], told["plus"], told["figure"]["text"])


class Scene:
    """What came back, read in our words."""

    def __init__(self, told):
        self.told = told

    def row(self, mark):
        """The size board's row of a mark."""
        return next(r for r in self.told["rows"] if r["id"] == mark)

    def real(self, mark):
        """A mark's size in life."""
        return size_of(self.row(mark)["real"])

    def finished(self, mark):
        """A mark's size as built."""
        return size_of(self.row(mark)["finished"])

    def more(self, mark, word):
        """One of a mark's further measures, by its word."""
        return next(size_of(m["size"]) for m in self.row(mark)["more"] if word in m["label"].lower())

    def ratio(self, mark):
        """A mark's row of the ratio table."""
        return next(r for r in self.told["ratios"] if r["id"] == mark)

    def gone_wrong(self, mark):
        """What is missing or wrong with a mark, in words; nothing when it is measured."""
        missing = self.row(mark)["missing"]
        return missing and missing["text"]

    def notes(self):
        """Every question, warning and remark, with the remarks on marks, as one text."""
        notes = [n["id"] + ": " + n["text"] for n in self.told["notes"]]
        return notes + [f for r in self.told["rows"] for f in r["flags"]]


def mm(length):
    """A length for an intent: text as it is, a number as mm."""
    return length if isinstance(length, str) else {"mm": float(length)}


class Job:
    """Intents in the making, with the ids that the core will give out."""

    def __init__(self):
        self.intents = []
        self.last = {"picture": 0, "view": 0, "mark": 0}
        self.hand = {"by": "mouse", "zoom": 1.0, "seen": True}

    def add(self, kind, **fields):
        """Any intent; names with _ stand for those with -."""
        self.intents.append({"kind": kind, **{k.rstrip("_").replace("_", "-"): v for k, v in fields.items()}})

    def _next(self, *what):
        for w in what:
            self.last[w] += 1
        return self.last[what[0]]

    def picture(self, width=4000, height=3000, resolution=None, focal=None):
        """A picture; its whole is a view of its own. `focal` is what its file tells, as on 35 mm film."""
        told = {} if focal is None else {"focal_35mm": focal}
        self.add("add-picture", name="plan.png", width=width, height=height, resolution=resolution, **told)
        return self._next("picture", "view")

    def view(self, picture, role, at, size, tilt_degrees=0.0, name=""):
        """A view's box, turned about its first corner."""
        box = {"at": list(at), "size": list(size), "tilt": tilt_degrees}
        self.add("add-view", picture=picture, name=name, role=role, box=box)
        return self._next("view")

    def place(self, points, picture=1, mark="length", ends="between", name=""):
        """A mark, put with the hand as it stands."""
        points = [[float(x), float(y)] for x, y in points]
        self.add("place", picture=picture, mark=mark, points=points, ends=ends, name=name, **self.hand)
        return self._next("mark")

    def move(self, mark, point, at):
        """One point of a mark put somewhere else."""
        self.add("move-point", mark=mark, point=point, at=[float(at[0]), float(at[1])], **self.hand)

    def known(self, mark, length, pm=None, how="tape", pulls=True):
        """A true length (or a check length); `pm` is its ±, 95 %, in mm."""
        self.add("set-known", mark=mark, length=mm(length), how=how, pm=None if pm is None else mm(pm), pulls=pulls)

    def square_on(self, view, corners, width=None, height=None, sheet=None, of="thing"):
        """Four corners of a rectangle, in order round it, the first side the width."""
        self.add("square-on", view=view, corners=[[float(x), float(y)] for x, y in corners], sheet=sheet,
                 width=None if width is None else mm(width), height=None if height is None else mm(height), of=of, **self.hand)

    def build(self, mark, length):
        """The finished length of one mark."""
        self.add("set-build", mark=mark, length=mm(length))

    def units(self, style="inches", step="1/16 in", direction="nearest"):
        """How lengths are told and rounded."""
        self.add("set-units", style=style, step=step, direction=direction)

    def ratios(self, base):
        """Shows the ratio table against `base`."""
        self.add("set-base", mark=base)
        self.add("show", table="ratios")

    def here(self):
        """The place of the latest intent."""
        return len(self.intents) - 1
