"""Job files against Python's zipfile, json and jsonschema, pictures' own words against Pillow, sizes as text against csv."""

import csv
import hashlib
import io
import json
import pathlib
import tempfile
import zipfile

import jsonschema
from PIL import Image, ImageOps

from core import Job, Refused
from row import all_of, holds, near, same

ROOT = pathlib.Path(__file__).parents[3]
MARKUP = '<b onclick="x">plan & "elevation"</b>.png'


def drawing(folder, name="plan.png", **how):
    """A small picture written by Pillow."""
    path = pathlib.Path(folder) / name
    Image.new("L", (60, 40), 200).save(path, **how)
    return path


def sample(folder):
    """A job with a picture, a true length, a named mark, a size to build, and something taken back."""
    job = Job()
    job.add("open-picture", file=str(drawing(folder, dpi=(300, 300))))
    job.last.update(picture=1, view=1)
    known = job.place([(5, 5), (55, 5)], name="width, <i>outside</i>")
    job.known(known, "24")
    other = job.place([(5, 5), (5, 35)], name="height")
    job.build(known, "12 1/2")
    job.add("name-mark", mark=other, name="wrong")
    job.add("undo")
    return job, known, other


def saved(core, intents, path):
    """The job file that the core writes after these intents, opened by Python."""
    core.play([*intents, {"kind": "save-job", "file": str(path)}])
    return zipfile.ZipFile(path)


def written(core, folder):
    """What stands in a job file."""
    job, known, other = sample(folder)
    path = pathlib.Path(folder) / "a.scrieve"
    zip_ = saved(core, job.intents, path)
    source = "Python zipfile"
    yield same("the job file is a sound zip", source, None, zip_.testzip())
    told = json.loads(zip_.read("job.json"))
    yield same("job.json says what it is", "Python json", ("scrieve-job", 1), (told.get("format"), told.get("version")))
    facts = [i["kind"] for i in job.intents]
    facts[0] = "add-picture"
    yield same("its log has every fact in order, the one taken back too", "Python json", facts, [f["kind"] for f in told["log"]])
    names = [m["name"] for m in told["document"]["marks"]]
    yield same("its document is readable and has the marks", "Python json", ["width, <i>outside</i>", "height"], names)
    yield near("24 in stands in it as mm", "24 × 25.4", 609.6, told["document"]["marks"][0]["known"]["mm"], 1e-9)
    inside = [n for n in zip_.namelist() if n != "job.json"]
    original = (pathlib.Path(folder) / "plan.png").read_bytes()
    yield same("the picture is in it byte for byte", "hashlib sha256 of the file", [hashlib.sha256(original).hexdigest()], [hashlib.sha256(zip_.read(n)).hexdigest() for n in inside])
    again = pathlib.Path(folder) / "b.scrieve"
    saved(core, [{"kind": "open-job", "file": str(path)}], again)
    yield same("opened and saved again: the same bytes", "hashlib sha256", hashlib.sha256(path.read_bytes()).hexdigest(), hashlib.sha256(again.read_bytes()).hexdigest())
    before, after = core.play(job.intents), core.play([{"kind": "open-job", "file": str(path)}])
    yield same("opened: the same sizes", "the sizes before saving", [before.finished(m) for m in (known, other)], [after.finished(m) for m in (known, other)])
    back = core.play([{"kind": "open-job", "file": str(path)}, {"kind": "redo"}])
    yield same("opened: what was taken back can still be put back", "by hand", "wrong", back.row(other)["name"])


def by_python(core, folder):
    """A job file that Python wrote, packed and with strange company."""
    job, known, other = sample(folder)
    log = [dict(i) for i in job.intents]
    log[0] = {"kind": "add-picture", "name": "plan.png", "width": 60, "height": 40, "digest": "abc123"}
    path = pathlib.Path(folder) / "python.scrieve"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as zip_:
        zip_.writestr("readme.txt", "not ours")
        zip_.writestr("pictures/abc123", (pathlib.Path(folder) / "plan.png").read_bytes())
        zip_.writestr("job.json", json.dumps({"version": 1, "log": log, "format": "scrieve-job", "document": {}}, indent=3))
    scene = core.play([{"kind": "open-job", "file": str(path)}])
    yield near("a job file written by Python opens: 24 in reads, mm", "Python zipfile and json", 609.6, scene.real(known).value, 1e-9)
    # 30 px against 50 px; their ends are good to ¼ px at best, so the bias taken off is small but there.
    yield near("and 30 px beside 50 px at 12 1/2 in comes to, mm", "12.5 × 25.4 × 30/50", 190.5, scene.finished(other).value, 0.2)


def by_schema(core, folder):
    """job.json against the schema that stands beside the documentation, and what the schema must refuse."""
    schema = json.loads((ROOT / "docs/job.schema.json").read_text())
    jsonschema.Draft202012Validator.check_schema(schema)
    judge = jsonschema.Draft202012Validator(schema)
    jobs = {"a small job": sample(folder)[0].intents}
    for name in ("tests/bench/job-300.jsonl", "docs/marsh-hen.jsonl"):
        lines = (ROOT / name).read_text().splitlines()
        jobs[name] = [json.loads(line) for line in lines if line and not line.startswith("#")]
    # The example's picture is a kind that replay can't look into: its size is told instead.
    jobs["docs/marsh-hen.jsonl"][0] = {"kind": "add-picture", "name": "hen", "width": 2400, "height": 1600, "digest": "hen"}
    # Every kind of fact that a list of intents has, as far as the job takes it.
    begun = [
        {"kind": "add-picture", "name": "a.png", "width": 3000, "height": 2000, "digest": "d"},
        {"kind": "place", "picture": 1, "mark": "length", "points": [[100, 100], [1300, 100]], "zoom": 8, "seen": True},
        {"kind": "place", "picture": 1, "mark": "outline", "points": [[100, 500], [900, 500], [900, 900], [100, 900]], "zoom": 8, "seen": True},
    ]
    all_kinds = [json.loads(line) for line in (ROOT / "tests/faults/intents.jsonl").read_text().splitlines()]
    jobs["a fact of most kinds"] = begun + all_kinds
    kinds = set()
    for name, intents in jobs.items():
        path = pathlib.Path(folder) / "schema.scrieve.zip"
        core.answers([*intents, {"kind": "save-job", "file": str(path)}])
        told = json.loads(zipfile.ZipFile(path).read("job.json"))
        kinds |= {fact["kind"] for fact in told["log"]}
        errors = [f"{list(e.path)}: {e.message[:80]}" for e in judge.iter_errors(told)]
        yield same(f"job.json of {name} is as its schema says", "jsonschema, draft 2020-12", [], errors[:3])
    yield holds("kinds of facts among them", "counted", 30, len(kinds) >= 30, len(kinds))
    good = {"format": "scrieve-job", "version": 1, "document": {}, "log": begun}
    bad = [
        {**good, "version": 2},
        {**good, "format": "other"},
        {**good, "log": None},
        {**good, "log": [{"kind": "explode"}]},
        {**good, "log": [{**begun[0], "more": 1}]},
        {**good, "log": [{k: v for k, v in begun[0].items() if k != "width"}]},
        {**good, "log": [{**begun[1], "points": [[1, "2"]]}]},
        {**good, "log": [{**begun[1], "mark": "blob"}]},
        {**good, "log": [{"kind": "settle"}]},
    ]
    yield same("the good one is taken", "jsonschema", True, judge.is_valid(good))
    yield all_of("and the schema refuses nine that are none", "made by hand", [(str(b)[:60], False, judge.is_valid(b)) for b in bad])


def versions(core, folder):
    """A sample of each version of the job file, kept for ever: it opens, and is written again the same."""
    expected = {"version-1.scrieve.zip": ["24", "12"]}
    for name, sizes in expected.items():
        path = ROOT / "tests/jobs" / name
        again = pathlib.Path(folder) / name
        opened = {"kind": "open-job", "file": str(path)}
        scene = core.play([opened])
        got = [row["finished"]["figure"]["text"] for row in scene.told["rows"] if row["finished"]]
        yield same(f"{name} opens: its sizes", "as it was saved, by hand: 600 px beside 1200 px at 24 in", sizes, got)
        saved(core, [opened], again)
        old, new = zipfile.ZipFile(path), zipfile.ZipFile(again)
        yield same(f"{name}: the log comes back as it was", "Python json", json.loads(old.read("job.json"))["log"], json.loads(new.read("job.json"))["log"])
        others = [n for n in old.namelist() if n != "job.json"]
        yield same(f"{name}: pictures and preview, byte for byte", "Python zipfile", [old.read(n) for n in others], [new.read(n) for n in others])
        yield same(f"{name}: written again, byte for byte", "the file itself", path.read_bytes(), again.read_bytes())


def hostile(core, folder):
    """Files that are made to harm: refused in words, the job as before, and no more memory than this."""
    good, _, _ = sample(folder)
    path = pathlib.Path(folder) / "small.scrieve.zip"
    saved(core, good.intents, path)
    told = json.loads(zipfile.ZipFile(path).read("job.json"))

    def bomb(name, pack=zipfile.ZIP_DEFLATED, **entries):
        file = pathlib.Path(folder) / f"{name}.zip"
        with zipfile.ZipFile(file, "w", pack) as zip_:
            for entry, parts in entries.items():
                with zip_.open(entry.replace("__", "/").replace("_json", ".json"), "w") as out:
                    for part in parts:
                        out.write(part)
        return file

    head, million = b'{"format":"scrieve-job","version":1,"log":[', b" " * 1_000_000
    files = [
        bomb("a json of 2 GB", job_json=[million] * 2_000),
        bomb("a picture that swells to 2 GB", job_json=[json.dumps(told).encode()], pictures__abc=[b"\0" * 1_000_000] * 2_000),
        bomb("a hundred pictures of 30 MB", job_json=[json.dumps(told).encode()], **{f"pictures__a{i}": [b"\0" * 1_000_000] * 30 for i in range(100)}),
        bomb("a list of 60 million numbers", job_json=[head, *([b"0," * 500_000] * 120), b"0]}"]),
        bomb("brackets, 50 million deep", job_json=[head, *([b"[" * 1_000_000] * 50)]),
        bomb("a name of 100 MB", job_json=[head, b'{"kind":"name-job","name":"', *([b"a" * 1_000_000] * 100), b'"},{}]}']),
    ]
    with zipfile.ZipFile(pathlib.Path(folder) / "many.zip", "w") as zip_:
        for i in range(100_000):
            zip_.writestr(f"pictures/{i}", b"")
    files.append(pathlib.Path(folder) / "many.zip")
    pairs, most = [], 0
    for file in files:
        lines = [*good.intents, {"kind": "open-job", "file": str(file)}, {"kind": "show", "table": "sizes"}]
        answers, peak = core.measured(lines)
        before, answer, after = answers[-3:]
        most = max(most, peak)
        ok = isinstance(answer, Refused) and " " in str(answer) and after.told["rows"] == before.told["rows"]
        pairs.append((file.stem, True, ok))
    yield all_of("files made to harm are refused in words, the job as before", "made with Python zipfile", pairs)
    yield holds("and take no more memory than 1 GB", "ru_maxrss of the process that reads them", "≤ 1000 MB", most <= 1_000_000, f"{most // 1000} MB")


def refusals(core, folder):
    """Files that are no job: plain words, and the job as before."""
    good, _, _ = sample(folder)
    path = pathlib.Path(folder) / "good.scrieve"
    saved(core, good.intents, path)
    told = json.loads(zipfile.ZipFile(path).read("job.json"))

    def zipped(name, content, entry="job.json"):
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w") as zip_:
            zip_.writestr(entry, content if isinstance(content, str) else json.dumps(content))
        return name, out.getvalue()

    whole = path.read_bytes()
    bad = [
        ("nothing", b""),
        ("no zip", b"GIF89a not a zip at all"),
        ("cut short", whole[: len(whole) // 2]),
        zipped("another format", {**told, "format": "other"}),
        zipped("a newer version", {**told, "version": 2}),
        zipped("no log", {"format": "scrieve-job", "version": 1}),
        zipped("broken json", "{"),
        zipped("no job.json", told, "other.json"),
        zipped("a gesture in the log", {**told, "log": [{"kind": "settle"}]}),
        zipped("an unknown fact", {**told, "log": [{"kind": "explode"}]}),
    ]
    pairs = []
    for i, (name, content) in enumerate(bad):
        file = pathlib.Path(folder) / f"bad{i}"
        file.write_bytes(content)
        before, answer, after = core.answers([*good.intents, {"kind": "open-job", "file": str(file)}, {"kind": "show", "table": "sizes"}])[-3:]
        ok = isinstance(answer, Refused) and " " in str(answer) and after.told["rows"] == before.told["rows"]
        pairs.append((name, True, ok))
    yield all_of("ten files that are no job are refused in words, the job as before", "made with Python zipfile", pairs)


def pictures(core, folder):
    """Size and pixels per inch as Pillow reads them from files that Pillow wrote."""
    exif = Image.Exif()
    exif[0x0112] = 6
    cases = [
        ("png at 300", "a.png", {"dpi": (300, 300)}, True),
        ("png at 300 × 150", "b.png", {"dpi": (300, 150)}, True),
        ("png without", "c.png", {}, False),
        ("png at 96, a placeholder", "d.png", {"dpi": (96, 96)}, False),
        ("jpeg at 300", "e.jpg", {"dpi": (300, 300)}, True),
        ("jpeg at 72, a placeholder", "f.jpg", {"dpi": (72, 72)}, False),
        ("jpeg at 200 on its side", "g.jpg", {"dpi": (200, 200), "exif": exif}, True),
        ("webp", "h.webp", {}, False),
    ]
    for name, file, how, meant in cases:
        path = drawing(folder, file, **how)
        out = pathlib.Path(folder) / (file + ".scrieve")
        zip_ = saved(core, [{"kind": "open-picture", "file": str(path)}], out)
        sheet = json.loads(zip_.read("job.json"))["document"]["pictures"][0]
        image = Image.open(path)
        want = [round(float(v), 2) for v in image.info["dpi"]] if meant else None
        got = sheet["resolution"] and [round(v, 2) for v in sheet["resolution"]]
        yield same(f"{name}: pixels per inch", "Pillow; 72 and 96 say nothing: common practice, no source", want, got)
        yield same(f"{name}: size as seen", "Pillow, exif_transpose", ImageOps.exif_transpose(image).size, (sheet["width"], sheet["height"]))


def sizes_as_text(core, folder):
    """Sizes as comma-separated values, and names that look like markup."""
    job, known, other = sample(folder)
    job.add("name-mark", mark=other, name='=SUM(A1), "quoted"')
    text = core.csv(job.intents)
    lines = list(csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline="")))
    scene = core.play(job.intents)
    yield same("CSV: a line a size and the heads", "Python csv", [9] * (1 + len(scene.told["rows"])), [len(line) for line in lines])
    yield holds("CSV: the finished size of the first", "Python csv; the size that was chosen", "12 1/2", "12 1\u20442" in lines[1][3], lines[1][3])
    yield same("CSV: a name with commas and quotes comes through, and is no formula", "Python csv", "'=SUM(A1), \"quoted\"", lines[2][1])
    named = Job()
    named.add("add-picture", name=MARKUP, width=60, height=40)
    yield same("a picture's name with markup in it is kept as text", "by hand", MARKUP, core.play(named.intents).told["pictures"][0]["name"])


def rows(core, trials=2_000):
    """Every row of this area."""
    with tempfile.TemporaryDirectory() as folder:
        for part in (written, by_python, by_schema, versions, refusals, hostile, pictures, sizes_as_text):
            yield from part(core, folder)
