"""Our pictures of DICOM objects against those of pydicom, pixel by pixel.

pydicom (with numpy, and pylibjpeg for packed pixels) is another reading of the standard by other people. It brings
object files of many kinds; pydicom-data brings larger ones. Each of them either looks the same in both programs or is
refused by ours for the reason that stands in refused.toml; a refusal that is not in the list fails, and so does one
that does not happen.

Usage: pictures.py PROGRAM, where PROGRAM is the example `picture`.
"""

import importlib.util
import subprocess
import sys
import tempfile
import tomllib
import warnings
from fnmatch import fnmatchcase
from pathlib import Path

import numpy
import pydicom
from PIL import Image
from pydicom.pixels import apply_color_lut, apply_modality_lut, apply_voi_lut, pixel_array

# The standard leaves open how a value is rounded to eight bits.
ROUNDING = 1
# Decoders may differ by a step in the luminance and in each colour difference, which red, green and blue add up.
JPEG_MEAN, JPEG_WORST = 0.2, 6
# With loss, JPEG 2000 is reckoned in real numbers, whose last bit is everybody's own; a narrow window widens it.
J2K_MEAN, J2K_WORST = 0.05, 3

LOSSY_JPEG = {"1.2.840.10008.1.2.4.50", "1.2.840.10008.1.2.4.51"}
LOSSY_J2K = {"1.2.840.10008.1.2.4.91"}

REFUSED = [
    (name, reason)
    for reason, names in tomllib.loads(Path(__file__).with_name("refused.toml").read_text()).items()
    for name in names
]


def refusal(name):
    """The reason not to show this file, or None."""
    return next((reason for pattern, reason in REFUSED if fnmatchcase(name, pattern)), None)


def objects():
    """Every object file of both packages, by a name without the folders of this machine. Nothing is downloaded."""
    for package, folder in (("pydicom", "data/test_files"), ("data_store", "data")):
        found = importlib.util.find_spec(package)
        if found is None:
            continue
        root = Path(next(iter(found.submodule_search_locations))) / folder
        for path in sorted(root.rglob("*")):
            if path.is_file() and path.read_bytes()[128:132] == b"DICM":
                yield path.relative_to(root).as_posix(), path


def expected(path, index):
    """One frame as pydicom shows it, as bytes of grey or of red, green and blue."""
    data = flattened(pydicom.dcmread(path), index)
    raw = pixel_array(data, index=index)  # three colours come as red, green and blue
    kind = data.PhotometricInterpretation
    if kind == "PALETTE COLOR":
        swap_palette(data)
        return eight_bits(apply_color_lut(raw, data), data.RedPaletteColorLookupTableDescriptor[2])
    if data.get("SamplesPerPixel", 1) == 3:
        return eight_bits(raw, data.BitsStored)
    return grey(data, raw, index)


def flattened(data, index):
    """What a frame's functional groups say about rescaling and windows, as if the object said it itself."""
    groups = list(data.get("SharedFunctionalGroupsSequence", []))
    groups += list(data.get("PerFrameFunctionalGroupsSequence", []))[index : index + 1]
    for group in groups:
        for name in ("PixelValueTransformationSequence", "FrameVOILUTSequence"):
            for item in group.get(name, []):
                data.update(item)
    return data


def swap_palette(data):
    """pydicom reads plain palettes as little-endian, those of big-endian objects too (3.0.2)."""
    if not data.original_encoding[1]:
        for colour in ("Red", "Green", "Blue"):
            name = f"{colour}PaletteColorLookupTableData"
            if name in data:
                setattr(data, name, numpy.frombuffer(getattr(data, name), ">u2").astype("<u2").tobytes())


def eight_bits(values, bits):
    return values.astype(numpy.float64) * 255 / (2**bits - 1)


def grey(data, raw, index):
    """Rescaled, windowed and inverted. Without a window pydicom has none either: ours is taken from the pixels."""
    values = apply_modality_lut(raw, data).astype(numpy.float64)
    if "VOILUTSequence" in data:
        bits = data.VOILUTSequence[0].LUTDescriptor[2]
        light = apply_voi_lut(values.astype(raw.dtype), data).astype(numpy.float64) / (2**bits - 1)
    elif "WindowWidth" in data:
        shown = apply_voi_lut(values, data)
        low, high = window_ends(data)
        light = (shown - low) / (high - low)
    else:
        light = spread(data, values)
    return 255 * (1 - light if data.PhotometricInterpretation == "MONOCHROME1" else light)


def window_ends(data):
    """Between which values pydicom spreads a window: those of the stored bits, rescaled."""
    bits, signed = data.BitsStored, data.PixelRepresentation
    low, high = (-(2 ** (bits - 1)), 2 ** (bits - 1) - 1) if signed else (0, 2**bits - 1)
    slope, intercept = float(data.get("RescaleSlope", 1)), float(data.get("RescaleIntercept", 0))
    return low * slope + intercept, high * slope + intercept


def spread(data, values):
    """Our own rule for pictures without a window, said a second time."""
    if data.BitsStored <= 8:
        low, high = (-128, 127) if data.PixelRepresentation else (0, 2**data.BitsStored - 1)
    else:
        ordered = numpy.sort(middle_frame(data, values).ravel())
        clipped = ordered.size // 200
        low, high = ordered[clipped], ordered[ordered.size - 1 - clipped]
    return numpy.clip((values - low) / (high - low), 0, 1) if high > low else (values > low) * 1.0


def middle_frame(data, values):
    frames = int(data.get("NumberOfFrames", 1) or 1)
    if frames == 1:
        return values
    return apply_modality_lut(pixel_array(data, index=frames // 2), data).astype(numpy.float64)


def ours(program, path, number, out):
    """Our frame as an array, or the words of the refusal."""
    ran = subprocess.run([program, path, str(number), out], capture_output=True, text=True, check=False)
    if ran.returncode == 3:
        return ran.stderr.strip().splitlines()[-1]
    if ran.returncode != 0:
        raise AssertionError(f"{path.name}: ended with {ran.returncode}: {ran.stderr}")
    return numpy.asarray(Image.open(out)).astype(numpy.float64)


def limits(path):
    syntax = pydicom.dcmread(path, stop_before_pixels=True).file_meta.TransferSyntaxUID
    if syntax in LOSSY_JPEG:
        return JPEG_MEAN, JPEG_WORST
    return (J2K_MEAN, J2K_WORST) if syntax in LOSSY_J2K else (ROUNDING, ROUNDING)


def differs(path, number, shown):
    """Why the two pictures are not the same, or None."""
    theirs = numpy.squeeze(expected(path, number - 1))
    if theirs.shape != shown.shape:
        return f"frame {number}: {shown.shape} instead of {theirs.shape}"
    apart = numpy.abs(numpy.round(numpy.clip(theirs, 0, 255)) - shown)
    mean, worst = limits(path)
    if apart.mean() > mean or apart.max() > worst:
        return f"frame {number}: {apart.mean():.3f} apart on average, {apart.max():.0f} at most"
    return None


def frames(path):
    """The first, the middle and the last."""
    count = int(pydicom.dcmread(path, stop_before_pixels=True).get("NumberOfFrames", 1) or 1)
    return sorted({1, count // 2 + 1, count})


def check(program, name, path, out):
    """Returns what was found, `same` or `refused`, and what is wrong with it."""
    try:
        shown = ours(program, path, 1, out)
        if isinstance(shown, str):
            return "refused", None if refusal(name) == shown else f"refused: {shown!r}"
        if refusal(name):
            return "same", "stands in the list of refusals"
        for number in frames(path):
            wrong = differs(path, number, ours(program, path, number, out))
            if wrong:
                return "same", wrong
    except (AttributeError, AssertionError, NotImplementedError, RuntimeError, ValueError) as fault:
        return "same", f"{type(fault).__name__}: {fault}"
    return "same", None


def main(program):
    warnings.simplefilter("ignore")
    counts, wrong, names = {"same": 0, "refused": 0}, [], []
    with tempfile.TemporaryDirectory() as folder:
        for name, path in objects():
            found, fault = check(program, name, path, Path(folder) / "out.png")
            counts[found] += 1
            names.append(name)
            if fault:
                wrong.append(f"{name}: {fault}")
    gone = [name for name, _ in REFUSED if not any(fnmatchcase(known, name) for known in names)]
    wrong += [f"{name}: stands in the list of refusals, and is no file" for name in gone]
    print("\n".join(wrong))
    print(f"{counts['same']} shown, {counts['refused']} refused, {len(wrong)} not as expected")
    return 1 if wrong or counts["same"] == 0 else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
