"""Makes the photos beside it with Pillow and ExifTool (Debian: python3-pil, libimage-exiftool-perl), and checks with Pillow that each,
turned as its EXIF says, has red, green, blue and yellow quarters, from the top left."""

import pathlib
import subprocess

from PIL import Image, ImageOps

here = pathlib.Path(__file__).parent
upright = Image.new("RGB", (96, 64))
for x, y, colour in ((0, 0, "red"), (48, 0, "lime"), (0, 32, "blue"), (48, 32, "yellow")):
    upright.paste(Image.new("RGB", (48, 32), colour), (x, y))

# What was done to the picture by holding the camera so: the opposite of EXIF 2.32, 4.6.4.
held = {
    1: None, 2: Image.FLIP_LEFT_RIGHT, 3: Image.ROTATE_180, 4: Image.FLIP_TOP_BOTTOM,
    5: Image.TRANSPOSE, 6: Image.ROTATE_90, 7: Image.TRANSVERSE, 8: Image.ROTATE_270,
}
located = ["-GPSLatitude=10.5", "-GPSLatitudeRef=N", "-GPSLongitude=20.25", "-GPSLongitudeRef=E", "-XMP-iptcCore:Location=Nowhere", "-XMP-x:XMPToolkit=", "-Comment=invented",
           "-SerialNumber=INVENTED-1", "-DateTimeOriginal=2026:03:02 09:10:00"]
for n, how in held.items():
    for kind in ("jpg", "png"):
        file = here / f"held-{n}.{kind}"
        file.unlink(missing_ok=True)
        (upright if how is None else upright.transpose(how)).save(file, quality=92)
        subprocess.run(["exiftool", "-q", "-overwrite_original", f"-Orientation#={n}", *located, file], check=True)
        back = ImageOps.exif_transpose(Image.open(file)).convert("RGB")
        for at in ((20, 12), (70, 12), (20, 50), (70, 50)):
            assert all(abs(a - b) < 30 for a, b in zip(back.getpixel(at), upright.getpixel(at))), (file, at)
