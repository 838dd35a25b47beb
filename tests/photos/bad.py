"""Bad photos and damaged files: each must be told in a sentence, within capped memory.

`python -m tests.photos.bad 20 5` takes 20 photos of each bad kind, and 200 damaged files.
"""

from __future__ import annotations

import argparse
import io
import resource
import tempfile
from collections import Counter
from pathlib import Path

import numpy as np
from PIL import Image, ImageOps

from preprocess.errors import Refusal, UserError
from preprocess.photo.coupon_tones import photo_tones
from preprocess.photo.doubts import doubts
from preprocess.photo.photo_reading import read_photo
from preprocess.photo.reading.picture import read_picture
from tests.photos.__main__ import Bench, frame_of
from tests.photos.scenes import PLATE

MOST_MEMORY = 3 * 1024**3
BAD = ("blurred", "glared", "clipped")
GOOD = {"glare": 0.0, "blur": 0.8, "exposure": 0.8}


def bad_scene(bench, rng, page, how):
    say = dict(GOOD)
    if how == "glared":
        say |= {"glare": rng.uniform(0.2, 0.4), "lamp": (*rng.uniform(-0.1, 0.1, 2), 0.08, 0.08)}
    if how == "clipped":
        say |= {"exposure": rng.uniform(1.4, 1.8)}
    wide = int(rng.uniform(1200, 1700))
    if how == "blurred":  # 0.3 mm at this size
        say |= {"blur": 0.3 * wide / 140}
    return bench.scene(rng, page, "row-span", conditions=say, wide=wide)


def told(path, bench, thickness=3.0, kind="row-span"):
    """What the product says of a file: a refusal, doubts, cells left out; empty for nothing."""
    try:
        picture = read_picture(path)
        reading = read_photo(picture, bench.drawings[kind], thickness)
        tones = photo_tones(reading, bench.places[kind])
    except UserError as error:
        return error.complaints[0].found
    except Refusal as refusal:
        return refusal.found
    out = [tone.place.cell for tone in tones if tone.why]
    codes = [f.code for f in doubts(picture, reading) if f.code != "focal-length-not-told"]
    return ", ".join([*codes, *(f"left out {cell}" for cell in out)])


def two_frames(image, _rng):
    both = Image.new("RGB", (image.width, 2 * image.height))
    both.paste(image, (0, 0))
    both.paste(image, (0, image.height))
    return jpeg(both)


def middle(image, _rng):
    w, h = image.size
    return jpeg(image.crop((w // 3, h // 3, 2 * w // 3, 2 * h // 3)))


def bomb(_image, _rng):
    out = io.BytesIO()
    Image.new("1", (30000, 30000)).save(out, "PNG")
    return out.getvalue()


def flipped(data, rng):
    places = rng.integers(0, len(data), int(rng.integers(1, 40)))
    data[places] ^= rng.integers(1, 255, len(places)).astype(np.uint8)
    return data


def zeros(data, rng):
    at = int(rng.integers(0, len(data)))
    data[at : at + int(rng.integers(10, 4000))] = 0
    return data


def shuffled(data, rng):
    at = int(rng.integers(0, len(data)))
    data[at : at + 4000] = rng.permutation(data[at : at + 4000])
    return data


PICTURES = {
    "another coupon": lambda image, _: jpeg(image),
    "mirrored": lambda image, _: jpeg(ImageOps.mirror(image)),
    "two frames": two_frames,
    "no frame": middle,
    "one pixel": lambda image, _: jpeg(image.resize((1, 1))),
    "200 MP": lambda _image, _: jpeg(Image.new("L", (16000, 12500), 120)),
    "negative": lambda image, _: jpeg(ImageOps.invert(image)),
    "half": lambda image, _: jpeg(image.crop((0, 0, image.width // 2, image.height))),
    "text": lambda _image, rng: b"recipe: 1\n" * int(rng.integers(1, 400)),
    "bomb": bomb,
}
BYTES = {
    "cut off": lambda data, rng: data[: int(rng.integers(0, len(data)))],
    "flipped bits": flipped,
    "zeros": zeros,
    "shuffled": shuffled,
}
ABSURD = (*PICTURES, *BYTES)


def damaged(data, how, rng):
    """A file in which one thing is wrong."""
    if how in PICTURES:
        return PICTURES[how](Image.open(io.BytesIO(data)), rng)
    return BYTES[how](np.frombuffer(data, np.uint8).copy(), rng).tobytes()


def jpeg(image):
    out = io.BytesIO()
    image.convert("RGB").save(out, "JPEG", quality=85)
    return out.getvalue()


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("count", type=int)
    parser.add_argument("seed", type=int)
    args = parser.parse_args()
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    rng = np.random.default_rng(args.seed)
    bench, page = Bench(), frame_of(PLATE, rng=rng)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "photo.jpg"
        for how in BAD:
            said = []
            for _ in range(args.count):
                scene = bad_scene(bench, rng, page, how)
                path.write_bytes(scene.shot.data)
                said.append(told(path, bench, scene.thickness))
            print(f"{how}: told {sum(map(bool, said))} of {args.count}", flush=True)
            print("   ", Counter(s[:40] for s in said).most_common(3), flush=True)
        good = bench.scene(rng, page, "row-span", conditions=GOOD, wide=1100).shot.data
        answers: Counter[str] = Counter()
        for number in range(10 * args.count):
            how = ABSURD[number % len(ABSURD)]
            kind = "blades" if how == "another coupon" else "row-span"
            path.write_bytes(damaged(good, how, rng))
            said = told(path, bench, kind=kind)
            answers[f"{how}: {said[:60] or 'measured'}"] += 1
        print(f"damaged files: {sum(answers.values())}, none without an answer")
        for line, count in sorted(answers.items()):
            print(f"{count:4d} {line}")
    print(f"most memory: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB")


if __name__ == "__main__":
    main()
